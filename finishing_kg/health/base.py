"""All that is wrong with a rule base and shows without running a case, with the kinds that there are."""

from collections.abc import Container, Iterator

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


def faults_of_base(language: Language, base: RuleBase, own: frozenset[str] = frozenset(), kinds: Container[str] = KINDS) -> list[Fault]:
    """All faults and notes, by kind and then by what they are about.

    Args:
        language: of the rules, with the vocabulary that they draw on.
        base: the rules, of one hand or of several together.
        own: ids of the rules that somebody adds to a base of others; between the two priority must be declared. If there are
            any, only what concerns one of them is reported, and no phrases and gaps.
        kinds: to look for; to leave some out is quicker and changes nothing about the others.
    """
    found = [fault for fault in _all(language, base, own, kinds) if fault.fault in kinds and (not own or own & set(fault.rules))]
    return sorted(found, key=lambda fault: (KINDS.index(fault.fault), fault.about))


def _all(language: Language, base: RuleBase, own: frozenset[str], kinds: Container[str]) -> Iterator[Fault]:
    supply = Supply(language, base)
    asked = own or frozenset(base.by_id)
    out_of_reach = list(unreachable(supply))
    yield from out_of_reach
    # A rule that never fires, or says nothing, is covered by others and contradicts none: it has one fault, and then is left out.
    supply = _without(supply, out_of_reach)
    itself = list(concludes_itself(supply))
    yield from itself
    supply = _without(supply, itself)
    impossible = list(never_true(supply, asked))
    yield from impossible
    supply = _without(supply, impossible)
    if "duplicate" in kinds or "subsumed" in kinds:
        yield from redundant(supply, asked)
    if "masked" in kinds:
        yield from masked(supply, asked)
    if "conflict" in kinds:
        yield from conflicts(supply, asked, own)
    if "dead override" in kinds:
        yield from dead_overrides(supply, asked)
    if "leaves out" in kinds:
        yield from outliers(supply, asked)
    if "shared sentence" in kinds and not own:
        yield from shared_sentences(language)
    if "gap" in kinds and not own:
        yield from gaps(supply)


def _without(supply: Supply, faults: list[Fault]) -> Supply:
    """The same without the rules that faults are about."""
    left_out = {fault.about for fault in faults}
    if not left_out:
        return supply
    kept = tuple(rule for rule in supply.base.rules if rule.id not in left_out)
    return Supply(supply.language, RuleBase(kept, supply.base.strata, supply.base.facts))
