"""The best way from a surface to a finish, over the options that the rules offer."""

from __future__ import annotations

from collections.abc import Sequence
from heapq import heappop, heappush
from itertools import count, pairwise
from typing import TYPE_CHECKING

from finishing_kg.record import record
from finishing_kg.routes.cost import QUICKEST, RULES_FIRST, Cost, Order, Parts, added
from finishing_kg.routes.remaining import remaining
from finishing_kg.routes.ways import Candidate, Ending, Footing, Key, Place, Ways

if TYPE_CHECKING:
    import networkx as nx


_FEW = 500
"""Steps that are taken up in the time in which it is worked out what is left at least where minutes count."""

_A_CHANGE = Cost(changes=1).parts

Waiting = tuple[Parts, Candidate]
"""A step that waits, with what it costs at least, in the look ahead up to the finish."""


@record(frozen=True)
class Found:
    """A route that was found: the places after each step, and what it costs."""

    places: tuple[Place, ...]
    cost: Cost


class Search(Ways):
    """Looks for routes in one judged case."""

    def best(
        self,
        without: frozenset[str] = frozenset(),
        last_not: frozenset[Ending] = frozenset(),
        by: Order = RULES_FIRST,
        *,
        below: tuple[float, ...] | None = None,
    ) -> Found | None:
        """The cheapest route, or ``None`` if there is none; no option is left out for being one of many.

        Args:
            without: options not to use.
            last_not: how the last step may not end.
            by: in which order the parts of the cost count.
            below: what the first parts in this order must come below; nobody looks on for a route that cannot.
        """
        start = self.start()
        if start is None or self.case.finish is None:
            return None
        return _Looking(self, start, without, last_not, by).best(below)

    def minutes(self, found: Found) -> float | None:
        """The middles of the minutes of a route's steps, summed and not rounded; ``None`` where those of a step are not known."""
        start = self.start()
        assert start is not None
        each = [self.amounts(here, there)[1] for here, there in pairwise((start, *found.places))]
        known = [minutes for minutes in each if minutes is not None]
        return sum(known) if len(known) == len(each) else None

    def graph(self, without: frozenset[str] = frozenset(), last_not: frozenset[Ending] = frozenset()) -> nx.DiGraph[Place]:
        """All places that can be reached, for other looks at the ways than the cheapest.

        Each step is an edge with its ``cost``, its ``verdicts`` (those of the rules on its option), and the middles of its
        ``removal_um`` and ``minutes``, ``None`` where they are not known.

        Args:
            without, last_not: as for ``best``.

        Raises:
            ValueError: the surface to begin with is not known.
        """
        import networkx as nx

        start = self.start()
        if start is None:
            raise ValueError("The surface to begin with is not known.")
        graph: nx.DiGraph[Place] = nx.DiGraph()
        graph.add_node(start)
        verdicts = [phrase.id for phrase in self.vocabulary.phrases.values() if phrase.verdict]
        of_option: dict[str | None, tuple[str, ...]] = {}
        work = [start]
        while work:
            here = work.pop(0)
            for there, cost in self.steps_from(here, start, without, last_not):
                if there not in graph and not self.is_goal(there):
                    work.append(there)
                if there.option not in of_option:
                    of_option[there.option] = tuple(verdict for verdict in verdicts if self.model.holds(verdict, str(there.option)))
                removal, minutes = self.amounts(here, there)
                graph.add_edge(here, there, cost=cost, verdicts=of_option[there.option], removal_um=removal, minutes=minutes)
        return graph


class _Looking:
    """Looks for the cheapest way, laid out as it goes.

    Every step costs something, so a place is settled when it comes up first. Two things keep a look from laying out what no cheapest way
    can use, and neither leaves a way out. The steps from a place are taken up one by one, in the order of what each costs at least,
    and wait in the heap until something that cheap is due. And of places that lead on alike only the first takes up all steps: a
    later one costs no less, and saves at most a change of carrier, so it takes up those that stay with its own. Below a bound no step is
    taken up that would change the carrier once too often.

    Where the rules come first it looks twice. The first look goes ahead (A*): what waits is ordered by what it has cost together with what
    is left at least (``remaining``), so it soon knows what the cheapest way costs. The second look (Dijkstra 1959) goes in the order of
    cost alone and leaves out what would come to more than that. It decides between ways that cost the same, so that which of them is told
    does not hang on what is left at least. Where minutes come first, what is left takes longer to work out, so that is done only once a
    simple look has not soon come to its end. In other orders it says too little to be worth a look of its own.
    """

    def __init__(self, search: Search, start: Place, without: frozenset[str], last_not: frozenset[Ending], by: Order) -> None:
        self._search, self._start, self._without, self._last_not, self._by, self._ranked = search, start, without, last_not, by, by.ranked
        self._allowed: dict[int, list[Candidate]] = {}
        self._left: dict[int, Parts] | None = None
        self._limit: tuple[int, ...] | None = None

    def best(self, below: tuple[float, ...] | None = None) -> Found | None:
        goals = self._look(below, _FEW if self._by is QUICKEST else None) if self._by is not RULES_FIRST else None
        if goals is None:
            self._left = self._remaining()
            ahead = self._look(below)
            if not ahead:
                return None
            self._limit = self._cheapest[ahead[0].key]
            goals = self._look(below)
        if not goals:
            return None
        goal = min(goals, key=str)
        places = [goal]
        while (earlier := self._before[places[-1].key]) is not self._start:
            places.append(earlier)
        return Found(tuple(reversed(places)), Cost(*self._costs[goal.key]))

    def _remaining(self) -> dict[int, Parts]:
        """What is left at least, by level."""
        after = (each for stage in self._search.stages_after(self._start) for each in self._may(self._search.onward(stage)))
        return remaining(self._search, self._start, after, self._ranked, timed=self._by is QUICKEST)

    @property
    def _ahead(self) -> dict[int, Parts] | None:
        """What is left at least, while it says in which order to look."""
        return self._left if self._limit is None else None

    def _look(self, below: tuple[float, ...] | None, most: int | None = None) -> list[Place] | None:
        """The goals that cost least; none where there is none, or none that costs less than a bound.

        Args:
            below: the bound.
            most: how many steps may be taken up; ``None`` comes back where they do not suffice.
        """
        search, start, nothing = self._search, self._start, Cost().parts
        self._order = count()
        self._heap: list[tuple[tuple[int, ...], int, Parts, Place, _Lane | None]] = []
        self._cheapest: dict[Key, tuple[int, ...]] = {}
        self._costs: dict[Key, Parts] = {}
        self._before: dict[Key, Place] = {}
        self._sorted: dict[int, dict[str | None, list[Waiting]]] = {}
        heappush(self._heap, (self._ranked(nothing), next(self._order), nothing, start, None))
        settled, taken = set[Key](), 0
        led_on: set[Footing] = set()
        goals: list[Place] = []
        while self._heap:
            rank, _, cost, here, lane = heappop(self._heap)
            if goals and rank > self._cheapest[goals[0].key]:
                break  # of goals that cost the same all are settled, so that the choice does not hang on their order
            if below is not None and rank[: len(below)] >= below:
                return []
            if lane is not None:
                if most is not None and (taken := taken + 1) > most:
                    return None
                self._take_up(cost, here, lane)
            elif here.key not in settled:
                settled.add(here.key)
                if here is not start and search.is_goal(here):
                    goals.append(here)
                    continue
                footing = search.footing(here)
                carrier = here.carrier if footing in led_on else None
                led_on.add(footing)
                stays = here.carrier if below is not None and self._ranked(added(cost, _A_CHANGE))[: len(below)] >= below else None
                for stage in search.stages_from(here, start):
                    self._wait(cost, here, _Lane(footing, self._candidates(here, stage).get(carrier, ()), stays))
        return goals

    def _wait(self, cost: Parts, here: Place, lane: _Lane) -> None:
        """Have the next step of a lane wait until something that costs as much as it does at least is due."""
        footing, candidates, at = lane.footing, lane.candidates, lane.at
        known, reaches = footing.reach.get, self._search.reaches
        while at < len(candidates):
            candidate = candidates[at][1]
            within = known(candidate.rung)  # looked up here, since it is asked more often than anything else in a look
            if within or (within is None and reaches(footing, candidate)):
                break
            at += 1
        lane.at = at
        if at < len(candidates):
            heappush(self._heap, (self._ranked(added(cost, candidates[at][0])), next(self._order), cost, here, lane))

    def _take_up(self, cost: Parts, here: Place, lane: _Lane) -> None:
        """Take the next step of a lane."""
        candidate = lane.candidates[lane.at][1]
        may_change = lane.stays is None or lane.stays == candidate.place.carrier
        if may_change and (self._left is None or self._may_lead(self._left, added(cost, candidate.least), candidate)):
            there = added(cost, self._search.step(here, lane.footing, candidate))
            if self._left is None or self._may_lead(self._left, there, candidate):
                self._reach(candidate, there, here)
        lane.at += 1
        self._wait(cost, here, lane)

    def _may_lead(self, every: dict[int, Parts], cost: Parts, candidate: Candidate) -> bool:
        """Whether a way over a step can come to the finish for no more than the cheapest, as far as that is known."""
        left = every.get(candidate.level)
        return left is not None and (self._limit is None or self._ranked(added(cost, left)) <= self._limit)

    def _reach(self, candidate: Candidate, cost: Parts, here: Place) -> None:
        """Note a place that is reached, unless it was for less."""
        there, ahead = candidate.place, self._ahead
        rank, known = self._ranked(cost if ahead is None else added(cost, ahead[candidate.level])), self._cheapest.get(there.key)
        if known is None or rank < known:
            self._cheapest[there.key], self._costs[there.key], self._before[there.key] = rank, cost, here
            heappush(self._heap, (rank, next(self._order), cost, there, None))

    def _may(self, every: list[Candidate]) -> list[Candidate]:
        """The candidates of a stage that may be used."""
        found = self._allowed.get(id(every))  # the search keeps each list, so that its id is its own
        if found is None:
            barred = self._last_not if every and every[0].place.stage == self._search.case.finish else frozenset()
            may = (each for each in every if each.place.option not in self._without and each.ending not in barred)
            found = self._allowed[id(every)] = list(may) if self._without or barred else every
        return found

    def _candidates(self, here: Place, stage: str) -> dict[str | None, list[Waiting]]:
        """The candidates of a stage, the cheapest first: all of them under ``None``, and those of each carrier under its id."""
        every = self._search.candidates(here, stage)
        found = self._sorted.get(id(every))
        if found is None:
            may, ahead = self._may(every), self._ahead
            if ahead is None:
                waiting = [(each.least, each) for each in may]
            else:
                waiting = [(added(each.least, ahead[each.level]), each) for each in may if each.level in ahead]
            waiting.sort(key=lambda each: self._ranked(each[0]))
            found = self._sorted[id(every)] = {None: waiting}
            for each in waiting:
                found.setdefault(each[1].place.carrier, []).append(each)
        return found


class _Lane:
    """The steps of one stage from a place, the cheapest first.

    Those before ``at`` were taken up. Where a change of carrier would cost too much already, ``stays`` is the carrier to stay with.
    """

    __slots__ = ("at", "candidates", "footing", "stays")

    def __init__(self, footing: Footing, candidates: Sequence[Waiting], stays: str | None) -> None:
        self.footing, self.candidates, self.stays, self.at = footing, candidates, stays, 0


__all__ = ["Cost", "Found", "Place", "Search"]
