"""Rules that say what another says already, and rules whose verdict never stands."""

from collections.abc import Iterator

from finishing_kg.health.fault import Fault
from finishing_kg.health.imply import covers
from finishing_kg.health.pairs import always_with, case_together, proposals
from finishing_kg.health.solve import example
from finishing_kg.health.supply import Supply
from finishing_kg.rules import Rule, as_written
from finishing_kg.statements import Statement, Variable


def redundant(supply: Supply, only: frozenset[str]) -> Iterator[Fault]:
    """Pairs of rules of which one, or each, concludes nothing that the other does not conclude as well; one is among ``only``."""
    seen = set()
    for special, general in _candidates(supply):
        if not only & {general.id, special.id}:
            continue
        if (general.id, special.id) in seen or not _may_stand_for(supply, general, special) or not covers(supply, general, special):
            continue
        both = _may_stand_for(supply, special, general) and covers(supply, special, general)
        if both:
            seen.add((special.id, general.id))
        facts = example(supply, special)
        if both:
            text = f"The rules {general.id} and {special.id} say the same in other words. Take one of them out."
            yield Fault("duplicate", (special.id, general.id), special.id, text, facts, "both fire and conclude the same")
        else:
            text = f"The rule {special.id} adds nothing: wherever it fires, {general.id} fires and concludes the same. Take it out."
            yield Fault("subsumed", (special.id, general.id), special.id, text, facts, f"{special.id} fires, and so does {general.id}")


def masked(supply: Supply, only: frozenset[str]) -> Iterator[Fault]:
    """Rules whose verdict never stands, since a rule that overrides them fires wherever they do; one is among ``only``."""
    made = {(proposal.rule.id, proposal.verdict): proposal for proposal in proposals(supply)}
    for winner in made.values():
        for loser in (other for (name, _), other in made.items() if name in winner.rule.overrides):
            if only & {winner.rule.id, loser.rule.id} and always_with(supply, winner, loser):
                first, second = loser.rule.id, winner.rule.id
                text = f"The rule {first} never counts: wherever it fires, {second} fires and overrides it. Take it out, or narrow the other."
                case = case_together(supply, winner, loser)
                yield Fault("masked", (first, second), first, text, case.facts if case else (), "both fire, and the first is overridden")


def _candidates(supply: Supply) -> Iterator[tuple[Rule, Rule]]:
    """Ordered pairs of different rules, the first of which concludes nothing of a sort that the second does not."""
    sorts = {rule.id: frozenset(_sort(made) for made in as_written(rule, supply.vocabulary)) for rule in supply.base.rules}
    by_sort: dict[tuple[str, object], list[Rule]] = {}
    for rule in supply.base.rules:
        for sort in sorts[rule.id]:
            by_sort.setdefault(sort, []).append(rule)
            if sort[1] is not None:
                by_sort.setdefault((sort[0], "any"), []).append(rule)
    for special in supply.base.rules:
        first = min(sorts[special.id], key=lambda sort: len(by_sort[sort]), default=None)
        if first is not None:
            alike = [*by_sort[first], *(by_sort.get((first[0], Variable), []) if first[1] is not Variable else [])]
            yield from ((special, general) for general in alike if general is not special and _needs_met(supply, general, special))


def _sort(made: Statement) -> tuple[str, object]:
    """What a conclusion must share with another to say the same: its phrase, and the thing that it names."""
    return made.predicate, Variable if isinstance(made.object, Variable) else made.object


def _needs_met(supply: Supply, general: Rule, special: Rule) -> bool:
    """Whether each condition of the general rule has some source beside what could only be said: quick, and necessary."""
    said = {condition.predicate for condition in special.conditions}
    return all(c.predicate in said or c.predicate in supply.held or c.predicate in supply.makers for c in general.conditions)


def _may_stand_for(supply: Supply, general: Rule, special: Rule) -> bool:
    """Whether priority leaves the special rule nothing that the general one cannot do: what it overrides, and who overrides it."""
    overriders = {rule.id for rule in supply.base.rules if general.id in rule.overrides}
    spared = {rule.id for rule in supply.base.rules if special.id in rule.overrides}
    return set(special.overrides) - {general.id} <= set(general.overrides) and overriders - {special.id} <= spared
