"""What a studio may not say, so that nothing it says takes a caution away or lets in what a safety rule rules out.

A safety rule falls silent only where something holds that stands, through any chain of rules, behind one of its ``unless`` sentences. Its
verdict is lost only where the proposal is freed. An option gets in only through a sentence that an ``unless`` keeps from what is ruled
out. These three kinds of sentence are closed to rules and things of a studio; all others can only add to what safety rules find.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from finishing_kg.rules import Rule, RuleBase, RuleFault
from finishing_kg.statements import Language, Statement, rule_id
from finishing_kg.studio.sources import in_pack
from finishing_kg.vocabulary import Vocabulary

_JUDGED = "isJudgedBy"


@dataclass(frozen=True, slots=True)
class Guard:
    """What safety rests on.

    Attributes:
        closed: for each predicate that a studio may not state or conclude, why.
        looked_at: the predicates whose presence safety rules need, through any chain of rules.
        named: ids of the things that stand by name in the rules of these chains.
    """

    closed: dict[str, str]
    looked_at: frozenset[str]
    named: frozenset[str]


def guard_of(vocabulary: Vocabulary, base: RuleBase) -> Guard:
    """The guard of the shipped rules."""
    concluding: dict[str, list[Rule]] = {}
    for rule in base.rules:
        for conclusion in rule.conclusions:
            concluding.setdefault(conclusion.predicate, []).append(rule)
    safety = [rule for rule in base.rules if rule.safety]
    needed, silencing, named = _behind(concluding, safety)
    dangers = {conclusion.predicate for rule in safety for conclusion in rule.conclusions}
    # From a safety rule's proposal to the verdict: what frees a proposal, and what that follows from. Further back nothing need be closed:
    # a proposal is freed only by a rule that overrides it, and none overrides a safety rule.
    to_verdicts = [rule for rule in base.rules if _stands_in(dangers, rule.conditions) and _verdicts(vocabulary, rule)]
    frees = {exception.predicate for rule in to_verdicts for exception in rule.exceptions}
    freeing = frees | {condition.predicate for predicate in frees for rule in concluding.get(predicate, ()) for condition in rule.conditions}
    dangers |= {conclusion.predicate for rule in to_verdicts for conclusion in rule.conclusions}
    admitting = {conclusion.predicate for rule in base.rules if _stands_in(dangers, rule.exceptions) for conclusion in rule.conclusions}
    closed = dict.fromkeys(admitting, "what lets work go ahead follows from the shipped rules alone, since safety rules can stop it")
    closed |= dict.fromkeys(freeing, "what a safety rule rules out is freed by nothing")
    closed |= dict.fromkeys(silencing, "a safety rule is silent where this is so")
    return Guard(closed, needed, named)


def _stands_in(predicates: set[str], sentences: Iterable[Statement]) -> bool:
    return any(sentence.predicate in predicates for sentence in sentences)


def _verdicts(vocabulary: Vocabulary, rule: Rule) -> bool:
    return any(vocabulary.phrases[conclusion.predicate].verdict for conclusion in rule.conclusions)


def _behind(concluding: dict[str, list[Rule]], rules: Iterable[Rule]) -> tuple[frozenset[str], frozenset[str], frozenset[str]]:
    """What rules need, what silences them, and the things that they name, through any chain of rules.

    What concludes an exception silences; an exception of what concludes an exception makes it speak, and is needed.
    """
    needed, silencing, named = set[str](), set[str](), set[str]()
    work: list[tuple[Statement, bool]] = [(sentence, wanted) for rule in rules for sentence, wanted in _looks_at(rule, wanted=True)]
    while work:
        sentence, wanted = work.pop()
        named |= {term for term in (sentence.subject, sentence.object) if isinstance(term, str)}
        seen = needed if wanted else silencing
        if sentence.predicate not in seen:
            seen.add(sentence.predicate)
            for rule in concluding.get(sentence.predicate, ()):
                work += _looks_at(rule, wanted=wanted)
    return frozenset(needed), frozenset(silencing), frozenset(named)


def _looks_at(rule: Rule, *, wanted: bool) -> list[tuple[Statement, bool]]:
    return [(sentence, wanted) for sentence in rule.conditions] + [(sentence, not wanted) for sentence in rule.exceptions]


def rule_faults(guard: Guard, language: Language, rules: Iterable[Rule]) -> Iterator[RuleFault]:
    """The faults of a studio's rules that conclude what is closed to it."""
    for rule in rules:
        for conclusion in rule.conclusions:
            why = guard.closed.get(conclusion.predicate)
            # The loader itself adds that a rule which overrides others judges the option.
            if why and not (conclusion.predicate == _JUDGED and conclusion.object == rule_id(rule.id) and rule.overrides):
                said = language.print(conclusion)
                text = f"A studio's rule may not conclude {said!r}: {why}. Take this conclusion out; a rule may conclude: ?option is ruled out"
                yield RuleFault(rule.file, rule.line, rule.id, "then", text)


def faults_between(guard: Guard, language: Language, shipped: RuleBase, own: Iterable[Rule]) -> Iterator[RuleFault]:
    """The faults of rules that weaken a safety rule of another source: of the studio's own files, or of one of its packs.

    A source may say what its own safety rules look at; what comes from elsewhere is closed to it like what is shipped.

    Args:
        guard: of the shipped rules; what it closes is reported by ``rule_faults``.
        language: of all of them.
        shipped: the shipped rules.
        own: the rules of all sources.
    """
    by_source: dict[str | None, list[Rule]] = {}
    for rule in own:
        by_source.setdefault(in_pack(rule.file), []).append(rule)
    for source, rules in by_source.items():
        others = [rule for other, these in by_source.items() if other != source for rule in these]
        if any(rule.safety for rule in others):
            wider = guard_of(language.vocabulary, RuleBase((*shipped.rules, *others), ()))
            closed = {predicate: why for predicate, why in wider.closed.items() if predicate not in guard.closed}
            yield from rule_faults(replace(wider, closed=closed), language, rules)


def owed_traits(vocabulary: Vocabulary, guard: Guard, kind: str) -> Iterator[tuple[str, str]]:
    """The hazards of which a new thing of a kind must say whether it has them: the trait, and the one that denies it."""
    for phrase in vocabulary.phrases.values():
        for other in phrase.excludes:
            hazard = other if other in guard.looked_at else ""
            if hazard and phrase.shape == "trait" and not phrase.given and vocabulary.fits(kind, phrase.subjects):
                yield hazard, phrase.id
