"""All that is wrong with a rule base and shows without running a case, with the kinds that there are."""

from collections.abc import Iterator

from finishing_kg.health.contradictory import never_true
from finishing_kg.health.fault import Fault
from finishing_kg.health.gaps import gaps
from finishing_kg.health.outliers import outliers
from finishing_kg.health.phrases import shared_sentences
from finishing_kg.health.priority import conflicts, dead_overrides
from finishing_kg.health.reach import concludes_itself, unreachable
from finishing_kg.health.redundant import masked, redundant
from finishing_kg.health.supply import Supply
from finishing_kg.rules import RuleBase
from finishing_kg.statements import Language

KINDS = (
    "unreachable",
    "never true",
    "duplicate",
    "subsumed",
    "masked",
    "circular",
    "dead override",
    "conflict",
    "shared sentence",
    "gap",
    "leaves out",
)
"""The kinds of fault, in the order in which they are reported; the last is a note."""


def faults_of_base(language: Language, base: RuleBase, own: frozenset[str] = frozenset()) -> list[Fault]:
    """All faults and notes, by kind and then by what they are about.

    Args:
        language: of the rules, with the vocabulary that they draw on.
        base: the rules, of one hand or of several together.
        own: ids of the rules that somebody adds to a base of others; between the two priority must be declared. If there are
            any, only what concerns one of them is reported, and no phrases and gaps.
    """
    found = [fault for fault in _all(language, base, own) if not own or own & set(fault.rules)]
    return sorted(found, key=lambda fault: (KINDS.index(fault.fault), fault.about))


def _all(language: Language, base: RuleBase, own: frozenset[str]) -> Iterator[Fault]:
    supply = Supply(language, base)
    out_of_reach = list(unreachable(supply))
    yield from out_of_reach
    unreached = {fault.about for fault in out_of_reach}
    impossible = list(never_true(supply, frozenset(rule.id for rule in base.rules if rule.id not in unreached)))
    yield from impossible
    yield from concludes_itself(supply)
    dead = unreached | {fault.about for fault in impossible}
    # A rule that never fires is covered by every other and contradicts none: one fault each.
    for fault in (*redundant(supply), *masked(supply), *conflicts(supply, own)):
        if not dead & set(fault.rules):
            yield fault
    yield from (fault for fault in dead_overrides(supply) if not dead & set(fault.rules))
    yield from outliers(supply)
    if not own:
        yield from shared_sentences(language)
        yield from gaps(supply)
