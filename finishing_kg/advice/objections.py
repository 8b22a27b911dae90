"""What the rules hold against options, told once for each rule and for just those parts of the method that it looked at."""

from collections.abc import Iterator
from typing import NamedTuple

from finishing_kg.advice.contract import RuledOut
from finishing_kg.advice.reasons import Reasons
from finishing_kg.engine import Knowledge, Model
from finishing_kg.rules import Rule, RuleBase
from finishing_kg.statements import Statement, option_parts

_PARTS = frozenset(("usesMineral", "hasHold", "usesCarrier", "worksToward"))

_Method = tuple[str | None, str | None, str | None]


class Objection(NamedTuple):
    """A verdict against an option, and the phrase that rules propose it with."""

    verdict: str
    proposal: str


RULED_OUT = Objection("isRuledOut", "isProposedAsRuledOutBy")
DISCOURAGED = Objection("isDiscouraged", "isProposedAsDiscouragedBy")


def objections(
    knowledge: Knowledge, model: Model, reasons: Reasons, finish: str | None, objection: Objection, *, whole: bool = True
) -> Iterator[RuledOut]:
    """The objections of a kind to all options of a case.

    An option that is ruled out is not listed as discouraged as well.

    Args:
        knowledge: for the names.
        model: with the verdicts.
        reasons: of the same model.
        finish: the stage that an objection is told for if it does not look at the stage itself.
        objection: which verdict.
        whole: tell also what holds of every piece of glass, and not only what the question brings about.
    """
    names, rules = knowledge.vocabulary.names, knowledge.base.derived(_Told)
    judged = set(model.subjects(objection.verdict))
    if objection is DISCOURAGED:
        judged.difference_update(model.subjects(RULED_OUT.verdict))
    told: list[tuple[str, str, _Method, str]] = []
    for rule in map(str, model.every_object(objection.proposal)):
        seen: set[tuple[str | None, ...]] = set()
        freed = model.subjects("isFreedFrom", rule)
        always = rules.by(rule, objection)
        proposed = model.subjects(objection.proposal, rule) if whole else model.new_subjects(objection.proposal, rule)
        for option in sorted(judged.intersection(proposed).difference(freed)):
            looked_at = _looked_at(reasons, option, rule, objection) if always is None else always
            mineral, hold, carrier, stage = option_parts(option)
            at = stage if "worksToward" in looked_at or finish is None else finish
            parts: _Method = (
                mineral if "usesMineral" in looked_at else None,
                hold if "hasHold" in looked_at else None,
                carrier if "usesCarrier" in looked_at else None,
            )
            if (*parts, at) not in seen:
                seen.add((*parts, at))
                told.append((option, rule, parts, at))
    for option, rule, parts, at in sorted(told, key=lambda each: each[:2]):
        rid = reasons.of_firing(Statement(objection.verdict, option), "rule", rule)
        shown = [names[part].notation if part else None for part in parts]
        yield RuledOut(mineral=shown[0], hold=shown[1], carrier=shown[2], stage=names[at].notation, reason=rid)


class _Told:
    """What rules tell by themselves of the parts that they look at, so that not every objection's proof must be opened."""

    def __init__(self, base: RuleBase) -> None:
        self._rules = base.by_id
        self._concluding: dict[str, list[Rule]] = {}
        for rule in base.rules:
            for made in rule.conclusions:
                self._concluding.setdefault(made.predicate, []).append(rule)
        self._found: dict[tuple[str, str], frozenset[str] | None] = {}

    def by(self, rule: str, objection: Objection) -> frozenset[str] | None:
        """The parts of an option that a rule's objection rests on; ``None`` where that hangs on how its conditions came to hold."""
        key = (rule, objection.proposal)
        if key not in self._found:
            held = self._rules[rule.removeprefix("rule/")]
            place = next(place for place, made in enumerate(held.conclusions) if made.predicate == objection.proposal)
            self._found[key] = self._looks_at(held, place, frozenset())
        return self._found[key]

    def _looks_at(self, rule: Rule, conclusion: int, above: frozenset[str]) -> frozenset[str] | None:
        """The parts that a rule and those behind it look at, of what it concludes about."""
        about, parts = rule.conclusions[conclusion].subject, set[str]()
        for condition in rule.conditions:
            if condition.predicate in _PARTS and condition.subject == about:
                parts.add(condition.predicate)
            elif condition.predicate in _PARTS or condition.predicate in above:
                return None
            elif self._reaches_a_part([condition.predicate]):
                behind = self._behind(condition.predicate, above) if condition.subject == about else None
                if behind is None:
                    return None
                parts |= behind
        return frozenset(parts)

    def _behind(self, predicate: str, above: frozenset[str]) -> frozenset[str] | None:
        """The parts behind something that is concluded of an option, if they are the same by whichever rule."""
        found = {
            self._looks_at(rule, place, above | {predicate})
            for rule in self._concluding.get(predicate, ())
            for place, made in enumerate(rule.conclusions)
            if made.predicate == predicate
        }
        return found.pop() if len(found) == 1 else None

    def _reaches_a_part(self, predicates: list[str]) -> bool:
        """Whether a rule behind one of the predicates, however far, looks at a part of an option."""
        seen: set[str] = set()
        while predicates:
            here = predicates.pop()
            if here not in seen:
                seen.add(here)
                needed = [condition.predicate for rule in self._concluding.get(here, ()) for condition in rule.conditions]
                if not _PARTS.isdisjoint(needed):
                    return True
                predicates += needed
        return False


def _looked_at(reasons: Reasons, option: str, rule: str, objection: Objection) -> frozenset[str]:
    """Which parts of an option a rule's objection rests on, by its proof."""
    proof = reasons.prover.proof_with(Statement(objection.proposal, option, rule), "option", option)
    return frozenset(below.statement.predicate for below in proof.walk() if below.statement.subject == option)
