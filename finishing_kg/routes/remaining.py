"""What a way costs at least from a surface to the finish, so that a search leaves aside what cannot become the cheapest in time.

Steps are looked at without their carriers and without what only shows once it is known where they begin: each costs what it costs at
least (``Candidate.least``). The cheapest way through these costs no more than any real one, and a step never shortens it by more than it
costs; so a search that adds it to what it has spent (A*, Hart, Nilsson and Raphael 1968) finds the same cheapest way.

Where minutes count early that says too little: what a step takes off, and so how long it is at work, follows mostly from the grain that
it finds. Then its minutes are those of the fastest method over that grain, in whichever hold it was.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from finishing_kg.routes.cost import Parts, added, rounded

if TYPE_CHECKING:
    from finishing_kg.routes.ways import Candidate, Place, Ways

_NOTHING: Parts = (0,) * 10
_JUST_UNDER = 1 - 1e-9  # what is least must be so however a product of floats falls


class _Step(NamedTuple):
    """Candidates that are taken together.

    Attributes:
        candidate: one of them; all are in reach from the same surfaces.
        least: of each part of their costs the least.
        pace: minutes a µm of the fastest; ``None`` where they are not known of any, or do not matter.
    """

    candidate: Candidate
    least: Parts
    pace: float | None


def remaining(
    ways: Ways, start: Place, candidates: Iterable[Candidate], ranked: Callable[[Parts], tuple[int, ...]], *, timed: bool = False
) -> dict[int, Parts]:
    """By level the least that is left to pay from there; a level from which no way leads to the finish is not in it.

    Args:
        ways: says what is within reach, and what the finish is.
        start: where the route begins.
        candidates: all steps that may be taken after the first.
        ranked: puts the parts of a cost in the order in which they count.
        timed: whether minutes count so early that it pays to look where each step begins.
    """
    every = list(candidates)
    levels: dict[int, dict[str, Place]] = {}  # places by the hold that left them
    left: dict[int, Parts] = {}
    for each in every:
        levels.setdefault(each.level, {}).setdefault(each.hold, each.place)
        if each.level not in left and ways.is_goal(each.place):
            left[each.level] = _NOTHING
    steps = list(_by_pace(ways, every) if timed else _cheapest(every, ranked))
    order = sorted(levels, key=lambda level: _any(levels[level]).grain.mid)  # from the finish backwards, so that once through is mostly enough
    onward = {level: list(_onward(ways, start, list(levels[level].values()), steps, timed=timed)) for level in order}
    ranks = {level: ranked(cost) for level, cost in left.items()}
    changed = True
    while changed:
        changed = False
        for level in order:
            for least, there in onward[level]:
                if there in left:
                    cost = added(least, left[there])
                    rank = ranked(cost)
                    if level not in left or rank < ranks[level]:
                        left[level], ranks[level], changed = cost, rank, True
    return left


def _any(places: dict[str, Place]) -> Place:
    return next(iter(places.values()))


def _cheapest(candidates: Iterable[Candidate], ranked: Callable[[Parts], tuple[int, ...]]) -> Iterator[_Step]:
    """The cheapest of all that are in reach from the same surfaces."""
    cheapest: dict[int, tuple[tuple[int, ...], Candidate]] = {}
    for each in candidates:
        rank, known = ranked(each.least), cheapest.get(each.rung)
        if known is None or rank < known[0]:
            cheapest[each.rung] = rank, each
    return (_Step(each, each.least, None) for _, each in cheapest.values())


def _by_pace(ways: Ways, candidates: Iterable[Candidate]) -> Iterator[_Step]:
    """Those in reach from the same surfaces with grain in the same hold together, but those of which no minutes are known by themselves."""

    def key(each: tuple[Candidate, float | None]) -> tuple[int, str, bool]:
        return each[0].rung, each[0].hold, each[1] is None

    paced = sorted(((each, ways.pace(each)) for each in candidates), key=key)
    for _, group in groupby(paced, key):
        alike = list(group)
        least = tuple(map(min, *(each.least for each, _ in alike), alike[0][0].least))
        yield _Step(alike[0][0], least, min((pace for _, pace in alike if pace is not None), default=None))


def _onward(ways: Ways, start: Place, here: list[Place], steps: list[_Step], *, timed: bool) -> Iterator[tuple[Parts, int]]:
    """The steps that are within reach of a level: what each costs at least, and the level that it leads to."""
    footing, stages = ways.footing(here[0]), set(ways.stages_from(here[0], start))
    for candidate, least, pace in steps:
        if candidate.place.stage in stages and ways.reaches(footing, candidate):
            yield _with_minutes(ways, here, candidate, least, pace) if timed else least, candidate.level


def _with_minutes(ways: Ways, here: list[Place], candidate: Candidate, least: Parts, pace: float | None) -> Parts:
    """What a step costs at least with its minutes over a surface, in whichever hold the grain was that left it."""
    depths = (ways.depth(ways.footing(place), candidate) for place in here) if pace is not None else ()
    depth = min((depth for depth in depths if depth is not None), default=None)
    minutes = depth * pace * _JUST_UNDER if pace is not None and depth is not None else None
    discouraged, elsewhere, unfavoured, steps, favour, _, _, changes, coarseness, damage = least
    return discouraged, elsewhere, unfavoured, steps, favour, int(minutes is None), rounded(minutes), changes, coarseness, damage
