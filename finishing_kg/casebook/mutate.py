"""Whether every rule matters: each is taken out, or its verdict turned round, and some case must answer differently."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from finishing_kg.casebook.cases import Case, Heard, run
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.rules import NotStratifiable, Rule, make_base

# A verdict turned round: what was spoken for is spoken against.
_TURNED = {
    "isProposedAsRuledOutBy": "isProposedAsSuitingBy",
    "isProposedAsSuitingBy": "isProposedAsRuledOutBy",
    "isProposedAsDiscouragedBy": "isProposedAsPreferredBy",
    "isProposedAsPreferredBy": "isProposedAsDiscouragedBy",
}


@dataclass(frozen=True, slots=True)
class Survivor:
    """A change to a rule that no case notices: ``how`` is ``"taken out"`` or ``"turned round"``."""

    rule: str
    how: str


def mutations(rule: Rule) -> Iterator[tuple[str, Rule | None]]:
    """The changes to try on a rule, each with what becomes of it."""
    yield "taken out", None
    turned = tuple(c._replace(predicate=_TURNED.get(c.predicate, c.predicate)) for c in rule.conclusions)
    if turned != rule.conclusions and rule.subject != "verdicts":
        yield "turned round", replace(rule, conclusions=turned)


def survivors(
    knowledge: Knowledge, cases: Sequence[Case], only: Sequence[str] = (), progress: Callable[[str], None] = lambda _line: None
) -> list[Survivor]:
    """The changes to rules that leave every case as it is.

    Args:
        knowledge: ontology and rules.
        cases: the cases to try them on; only those in which a rule fires can notice a change to it.
        only: ids of rules to try; all if empty.
        progress: told a line for each rule.
    """
    before: dict[str, str] = {}
    fires_in: dict[str, list[Case]] = {}
    heard = Heard(knowledge)
    for case in cases:
        heard.fired.clear()
        before[case.id] = run(heard.knowledge, case)
        for name in sorted(heard.fired):
            fires_in.setdefault(name, []).append(case)
    found = []
    wanted = [rule for rule in knowledge.base.rules if not only or rule.id in only]
    for place, rule in enumerate(wanted, 1):
        for how, changed in mutations(rule):
            if not _noticed(knowledge, rule, changed, fires_in.get(rule.id, []), before):
                found.append(Survivor(rule.id, how))
        progress(f"{place} of {len(wanted)}: {rule.id}")
    return found


def _noticed(knowledge: Knowledge, rule: Rule, changed: Rule | None, cases: Sequence[Case], before: dict[str, str]) -> bool:
    """Whether some case answers differently once a rule is changed."""
    rules = [other for other in knowledge.base.rules if other.id != rule.id]
    try:
        base = make_base([*rules, changed] if changed else rules)
    except NotStratifiable:
        return True  # the changed rules are refused when they are loaded
    mutant = Knowledge(knowledge.vocabulary, knowledge.language, base)
    # Setups are the quickest to run, so they go first.
    return any(run(mutant, case) != before[case.id] for case in sorted(cases, key=lambda case: case.sort != "setup"))
