"""What a way costs at least from a surface to the finish, so that a search leaves aside what cannot become the cheapest in time.

Steps are looked at without their carriers and without what only shows once it is known where they begin: each costs what it costs at
least (``Candidate.least``). The cheapest way through these costs no more than any real one, and a step never shortens it by more than it
costs; so a search that adds it to what it has spent (A*, Hart, Nilsson and Raphael 1968) finds the same cheapest way.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from finishing_kg.routes.cost import Parts, added

if TYPE_CHECKING:
    from finishing_kg.routes.ways import Candidate, Place, Ways

_NOTHING: Parts = (0,) * 10


def remaining(ways: Ways, start: Place, candidates: Iterable[Candidate], ranked: Callable[[Parts], tuple[int, ...]]) -> dict[int, Parts]:
    """By level the least that is left to pay from there; a level from which no way leads to the finish is not in it.

    Args:
        ways: says what is within reach, and what the finish is.
        start: where the route begins.
        candidates: all steps that may be taken after the first.
        ranked: puts the parts of a cost in the order in which they count.
    """
    cheapest: dict[int, tuple[tuple[int, ...], Candidate]] = {}
    levels: dict[int, Place] = {}
    left: dict[int, Parts] = {}
    for each in candidates:
        rank, known = ranked(each.least), cheapest.get(each.rung)
        if known is None or rank < known[0]:
            cheapest[each.rung] = rank, each
        levels.setdefault(each.level, each.place)
        if each.level not in left and ways.is_goal(each.place):
            left[each.level] = _NOTHING
    steps = [step for _, step in cheapest.values()]
    order = sorted(levels, key=lambda level: levels[level].grain.mid)  # from the finish backwards, so that once through is mostly enough
    onward = {level: _onward(ways, start, levels[level], steps) for level in order}
    ranks = {level: ranked(cost) for level, cost in left.items()}
    changed = True
    while changed:
        changed = False
        for level in order:
            for step in onward[level]:
                if step.level in left:
                    cost = added(step.least, left[step.level])
                    rank = ranked(cost)
                    if level not in left or rank < ranks[level]:
                        left[level], ranks[level], changed = cost, rank, True
    return left


def _onward(ways: Ways, start: Place, here: Place, steps: list[Candidate]) -> list[Candidate]:
    """The steps that are within reach of a level."""
    footing, stages = ways.footing(here), set(ways.stages_from(here, start))
    return [step for step in steps if step.place.stage in stages and ways.reaches(footing, step)]
