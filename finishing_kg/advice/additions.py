"""The fewest things that a bench lacks for a route: what to get, or to allow, where a restriction leaves no way."""

from itertools import combinations, islice

from finishing_kg.record import replace
from finishing_kg.routes import Case, Search
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Vocabulary

_MOST_PAIRS = 300  # of things, tried before a larger set is taken as it comes


def is_restricted(case: Case) -> bool:
    """Whether the maker named a limit that could be lifted."""
    return bool(case.limited_in or case.unwanted)


def unrestricted(case: Case) -> Case:
    """The case as it would be with everything at hand; what is at hand stays named, so that it is still preferred."""
    return replace(case, unwanted=(), limited_in=frozenset(), stock=())


def with_things(case: Case, things: tuple[str, ...]) -> Case:
    """The case with some things added to the shelf, those included that were not wanted."""
    unwanted = tuple(thing for thing in case.unwanted if thing not in things)
    return replace(case, at_hand=tuple(dict.fromkeys((*case.at_hand, *things))), unwanted=unwanted)


def smallest_addition(case: Case, free: Search) -> tuple[str, ...]:
    """Ids of the fewest things that, once allowed, leave a way; what the maker refuses outright is asked for last.

    Args:
        case: with its restrictions.
        free: a search in the same case without them.

    Returns:
        Empty if there is no way even with everything at hand. Up to two things it is the fewest; of larger sets
        it is one from which nothing can be left out.
    """
    best = free.best()
    if best is None:
        return ()
    barred = {option: _barred(free, case, option) for option in free.model.subjects("isOffered")}

    def rank(things: tuple[str, ...]) -> tuple[int, int, tuple[str, ...]]:
        return len(things), sum(thing in case.unwanted for thing in things), things

    def ways(sets: list[tuple[str, ...]]) -> tuple[str, ...]:
        found = [(route.cost, rank(things)) for things in sets if (route := free.best(_without(barred, things)))]
        return min(((refused, cost, things) for cost, (_, refused, things) in found), default=(0, best.cost, ()))[2]

    every = sorted({thing for things in barred.values() for thing in things})
    singles: list[tuple[str, ...]] = [(thing,) for thing in every if _can_end(case, barred, (thing,))]
    if found := ways(singles):
        return found
    pairs = (pair for pair in combinations(every, 2) if _can_end(case, barred, pair))
    if found := ways(list(islice(pairs, _MOST_PAIRS))):
        return found
    needed = tuple(dict.fromkeys(thing for place in best.places if place.option for thing in sorted(barred[place.option])))
    for thing in needed:
        fewer = tuple(other for other in needed if other != thing)
        needed = fewer if free.best(_without(barred, fewer)) else needed
    return needed


def _without(barred: dict[str, frozenset[str]], things: tuple[str, ...]) -> frozenset[str]:
    """The options that stay barred once some things are allowed."""
    return frozenset(option for option, missing in barred.items() if not missing.issubset(things))


def _can_end(case: Case, barred: dict[str, frozenset[str]], things: tuple[str, ...]) -> bool:
    """Whether anything is left for the last stage: a quick look before a whole search."""
    return any(missing.issubset(things) and option_parts(option)[3] == case.finish for option, missing in barred.items())


def _barred(free: Search, case: Case, option: str) -> frozenset[str]:
    """What keeps an option from being used on this bench."""
    mineral, hold, carrier, _ = option_parts(option)
    missing = {part for part in (mineral, hold, carrier) if part in case.unwanted}
    if "mineral" in case.limited_in and mineral not in case.at_hand:
        missing.add(mineral)
    if "carrier" in case.limited_in and carrier not in case.at_hand and not free.model.holds("isDrivenAtHand", carrier):
        missing.add(carrier)
    return frozenset(missing | _refused_machines(free.vocabulary, case, carrier))


def _refused_machines(vocabulary: Vocabulary, case: Case, carrier: str) -> set[str]:
    if vocabulary.holds(carrier, "isHandDriven"):
        return set()
    return {machine for machine in vocabulary.related(carrier, "isDrivenBy") if machine in case.unwanted}
