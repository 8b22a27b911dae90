"""Faults of the rule base: first those that show without running a case, then dead rules, things that no rule touches, unsourced values."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from finishing_kg.casebook.cases import Case, Heard, run
from finishing_kg.engine import Knowledge
from finishing_kg.health import Fault, faults_of_base

# What a rule base is about. Degrees, scales, cues and grades only describe these.
_KINDS = ("glass", "make", "form", "surface", "finish", "mineral", "hold", "carrier", "machine", "finding")
_ONLY_A_NOTE = "Only a note: it may well be meant."
_PLAIN = ("common practice", "from memory", "assumed", "computed", "you said")


@dataclass(frozen=True, slots=True)
class AuditFault:
    """One fault.

    Attributes:
        fault: one of ``health.KINDS``, or ``dead rule``, ``thing without a rule`` or ``unsourced value``.
        rules: ids of the rules concerned.
        about: the rule or the thing concerned, as a waiver names it.
        text: what is wrong and what would mend it.
        witness: what to run to see it, or empty.
        waived: why it may stay, or ``None``.
    """

    fault: str
    rules: tuple[str, ...]
    about: str
    text: str
    witness: str = ""
    waived: str | None = None


def audit(
    knowledge: Knowledge,
    cases: Sequence[Case],
    waivers: Mapping[tuple[str, str], str] | None = None,
    progress: Callable[[str], None] = lambda _line: None,
) -> list[AuditFault]:
    """All faults: what shows without a case, then what shows by running the cases once.

    Args:
        knowledge: ontology and rules.
        cases: what must bring every rule and thing up; if there are none, only what shows without them is looked for.
        waivers: for a fault and what it is about the reason why it may stay.
        progress: told a line for each stage and case.
    """
    progress("what shows without running a case")
    found = [_of_health(knowledge, fault) for fault in faults_of_base(knowledge.language, knowledge.base)]
    found += _unsourced(knowledge)
    if cases:
        found += _with_cases(knowledge, cases, progress)
    return [replace(fault, waived=(waivers or {}).get((fault.fault, fault.about), fault.waived)) for fault in found]


def _of_health(knowledge: Knowledge, fault: Fault) -> AuditFault:
    witness = fault.witness(knowledge.language)
    return AuditFault(fault.fault, fault.rules, fault.about, fault.text, witness, _ONLY_A_NOTE if fault.note else None)


def _with_cases(knowledge: Knowledge, cases: Sequence[Case], progress: Callable[[str], None]) -> Iterator[AuditFault]:
    heard = Heard(knowledge, things=True)
    for place, case in enumerate(cases, 1):
        progress(f"{place} of {len(cases)}: {case.id}")
        run(heard.knowledge, case)
    constants = {
        term
        for rule in knowledge.base.rules
        for s in (*rule.conditions, *rule.conclusions)
        for term in (s.subject, s.object)
        if isinstance(term, str)
    }
    yield from _dead(knowledge, heard.fired)
    yield from _untouched(knowledge, heard.touched | constants)


def _dead(knowledge: Knowledge, fired: set[str]) -> Iterator[AuditFault]:
    for rule in knowledge.base.rules:
        if rule.id not in fired:
            yield AuditFault(
                "dead rule",
                (rule.id,),
                rule.id,
                f"The rule {rule.id} fires in no case. Write a case that shows it, or take it out.",
                f"finishing-kg rules show {rule.id}",
            )


def _untouched(knowledge: Knowledge, touched: set[str]) -> Iterator[AuditFault]:
    for kind in _KINDS:
        for thing in knowledge.vocabulary.things(kind):
            if thing.id not in touched:
                about = f"{kind} {thing.label}"
                yield AuditFault("thing without a rule", (), about, f"No rule says anything of the {about}. Write one, or a case that brings it up.")


def _unsourced(knowledge: Knowledge) -> Iterator[AuditFault]:
    """A value or a rule whose basis is a published source, and that names none."""
    for claim in knowledge.vocabulary.claims:
        if claim.basis.kind not in _PLAIN and not claim.basis.source:
            about = f"{claim.subject}, {claim.predicate}"
            yield AuditFault("unsourced value", (), about, f"{about}: the basis is a {claim.basis.kind}, and none is named.")
    for rule in knowledge.base.rules:
        if rule.basis.kind not in _PLAIN and not rule.basis.source:
            yield AuditFault("unsourced value", (rule.id,), rule.id, f"The rule {rule.id} rests on a {rule.basis.kind} and names none.")
