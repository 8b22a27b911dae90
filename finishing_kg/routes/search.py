"""The best way from a surface to a finish, over the options that the rules offer."""

from __future__ import annotations

from decimal import Decimal
from functools import cached_property
from heapq import heappop, heappush
from itertools import count, pairwise
from typing import TYPE_CHECKING

from finishing_kg.engine import Model
from finishing_kg.measure import Quantity
from finishing_kg.quantities import Pace, Results, grain, scales_for, stocked
from finishing_kg.record import record
from finishing_kg.routes.case import Case
from finishing_kg.routes.cost import RULES_FIRST, Cost, Order, added, rounded
from finishing_kg.routes.face import face_area
from finishing_kg.routes.stages import stages_to
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Vocabulary

if TYPE_CHECKING:
    import networkx as nx

_LEAST_GAIN = Decimal("1.15")  # a grade that is not finer by this much is no step (rules/ladder.toml says why)
_HALVED = Decimal(2)
_METHODS_A_STAGE = 8  # of the best-placed methods, by name where they stand alike; more only make the graph larger
_NANOMETRES = 1000


@record(frozen=True)
class Place:
    """A node of the graph: the surface, and the method and grade that left it."""

    surface: str
    grain: Quantity
    stage: str | None = None
    option: str | None = None
    grade: str | None = None

    @cached_property
    def key(self) -> _Key:
        """What tells it from all other places of one search."""
        return self.option, self.grade


_Key = tuple[str | None, str | None]


@record(frozen=True)
class Found:
    """A route that was found: the places after each step, and what it costs."""

    places: tuple[Place, ...]
    cost: Cost


@record(frozen=True)
class Search:
    """Looks for routes in one judged case.

    Attributes:
        vocabulary: for stages, grains and grades.
        model: with the verdicts on all options.
        case: with surface and finish known.
        worked_out: what a search in another case worked out already, if there was one.
    """

    vocabulary: Vocabulary
    model: Model
    case: Case
    worked_out: Results | None = None

    def best(
        self, without: frozenset[str] = frozenset(), last_not: frozenset[tuple[str, str]] = frozenset(), by: Order = RULES_FIRST
    ) -> Found | None:
        """The cheapest route, or ``None`` if there is none.

        Args:
            without: options not to use.
            last_not: mineral and carrier pairs that the last step may not have.
            by: in which order the parts of the cost count.
        """
        start = self.start()
        if start is None or self.case.finish is None:
            return None
        # Dijkstra 1959, laid out as it goes: every step costs something, so a place is settled when it comes up first.
        order, ranked, nothing = count(), by.ranked, Cost().parts
        heap = [(ranked(nothing), next(order), nothing, start)]
        cheapest = {start.key: ranked(nothing)}
        costs = {start.key: nothing}
        before: dict[_Key, Place] = {}
        settled: set[_Key] = set()
        goals: list[Place] = []
        while heap:
            rank, _, cost, here = heappop(heap)
            if goals and rank > cheapest[goals[0].key]:
                break  # of goals that cost the same all are settled, so that the choice does not hang on their order
            if here.key in settled:
                continue
            settled.add(here.key)
            if here is not start and self.is_goal(here):
                goals.append(here)
                continue
            for there, more in self.steps_from(here, start, without, last_not):
                total, known = added(cost, more.parts), cheapest.get(there.key)
                rank = ranked(total)
                if known is None or rank < known:
                    cheapest[there.key], costs[there.key], before[there.key] = rank, total, here
                    heappush(heap, (rank, next(order), total, there))
        if not goals:
            return None
        goal = min(goals, key=str)
        places = [goal]
        while (earlier := before[places[-1].key]) is not start:
            places.append(earlier)
        return Found(tuple(reversed(places)), Cost(*costs[goal.key]))

    def graph(self, without: frozenset[str] = frozenset(), last_not: frozenset[tuple[str, str]] = frozenset()) -> nx.DiGraph[Place]:
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
        work = [start]
        while work:
            here = work.pop(0)
            for there, cost in self.steps_from(here, start, without, last_not):
                if there not in graph and not self.is_goal(there):
                    work.append(there)
                removal, minutes = self._amounts(here, there)
                graph.add_edge(here, there, cost=cost, verdicts=self._verdicts(there.option), removal_um=removal, minutes=minutes)
        return graph

    def _verdicts(self, option: str | None) -> tuple[str, ...]:
        verdicts = [phrase.id for phrase in self.vocabulary.phrases.values() if phrase.verdict]
        return tuple(verdict for verdict in verdicts if option is not None and self.model.holds(verdict, option))

    def is_goal(self, place: Place) -> bool:
        """Whether the finish is reached here, fine enough to count as it."""
        limit = self.vocabulary.quantity(place.stage, "coarsestResult") if place.stage else None
        return place.stage == self.case.finish and (limit is None or place.grain.mid <= limit.mid)

    def start(self) -> Place | None:
        """The surface as it came, or ``None`` if its coarseness is not known."""
        sizes = [size for size in self.model.objects("surfaceGrain", "piece") if isinstance(size, Quantity)]
        if self.case.surface is None or not sizes:
            return None
        return Place(self.case.surface, self.vocabulary.units.convert(sizes[0], "µm"))

    def offered(self, stage: str) -> list[str]:
        """The options offered for a stage, the best-placed first."""
        return self._offered.get(stage, [])

    @cached_property
    def _offered(self) -> dict[str, list[str]]:
        by_stage: dict[str, list[str]] = {}
        for option in self.model.subjects("isOffered"):
            by_stage.setdefault(option_parts(option)[3], []).append(option)

        def place(option: str) -> tuple[bool, bool, int, str]:
            discouraged, favour = self._standing(option)
            return discouraged, not self.model.holds("usesWhatIsAtHand", option), favour, option

        return {stage: sorted(options, key=place) for stage, options in by_stage.items()}

    def _standing(self, option: str) -> tuple[bool, int]:
        """Discouraged or not, and minus the number of rules that prefer it."""
        return self.model.holds("isDiscouraged", option), -len(self.model.objects("isProposedAsPreferredBy", option))

    def steps_from(self, here: Place, start: Place, without: frozenset[str], last_not: frozenset[tuple[str, str]]) -> list[tuple[Place, Cost]]:
        """The places that one step leads to, with what the step costs; ``without`` and ``last_not`` as for ``best``."""
        assert self.case.finish is not None
        chain = self._chain
        first = chain.index(here.stage) if here.stage else 0
        found: list[tuple[Place, Cost]] = []
        for stage in chain[first:]:
            if here.stage is None and self.vocabulary.holds(start.surface, "isOutOfShape") and stage != chain[0]:
                break
            if stage == chain[0] and not self._needs_shaping(start, chain):
                continue
            options = self.offered(stage)
            if without:
                options = [option for option in options if option not in without]
            if stage == self.case.finish:
                options = [option for option in options if (option_parts(option)[0], option_parts(option)[2]) not in last_not]
            for option in options[:_METHODS_A_STAGE]:
                found += self._steps_with(here, option, stage)
        return found

    def weighed(self, stage: str, without: frozenset[str] = frozenset()) -> list[str]:
        """The options of a stage that a search tries, ``without`` as for ``best``."""
        return [option for option in self.offered(stage) if option not in without][:_METHODS_A_STAGE]

    def standing(self, option: str) -> tuple[int, int, int, int]:
        """What the rules make a step with an option cost wherever it begins: discouraged, elsewhere, unfavoured, favour."""
        return self._judged(option)[:4]

    def _steps_with(self, here: Place, option: str, stage: str) -> list[tuple[Place, Cost]]:
        """The places that a step with one option leads to, with its cost; found once, however many searches come by."""
        key = (here.key, option)
        found = self._steps.get(key)
        if found is None:
            found = self._steps[key] = [(place, self._cost(here, place)) for place in self._places(here, option, stage)]
        return found

    @cached_property
    def _steps(self) -> dict[tuple[_Key, str], list[tuple[Place, Cost]]]:
        return {}

    @cached_property
    def _chain(self) -> list[str]:
        """The stages up to the finish."""
        assert self.case.finish is not None
        return stages_to(self.vocabulary, self.case.finish)

    def _needs_shaping(self, start: Place, chain: list[str]) -> bool:
        """Whether the work begins with the first stage of its chain: it is the finish, or the surface is out of shape or too coarse."""
        if len(chain) == 1 or self.vocabulary.holds(start.surface, "isOutOfShape"):
            return True
        band, most = self.vocabulary.quantity(chain[1], "grainBand"), self.vocabulary.quantity(chain[1], "largestRatio")
        return band is not None and most is not None and start.grain.mid > band.highest * most.mid

    def _cost(self, here: Place, there: Place) -> Cost:
        assert there.option is not None
        discouraged, elsewhere, unfavoured, favour, carrier, cuts = self._judged(there.option)
        before = self._judged(here.option)[4] if here.option else None
        known = here.option is not None or self.vocabulary.holds(here.surface, "isGraded")
        jump = here.grain.mid / there.grain.mid if known and cuts else _HALVED
        halvings = round(abs(jump - _HALVED) * 100)
        changes = int(before is not None and before != carrier)
        return Cost(discouraged, elsewhere, unfavoured, 1, favour, rounded(self._amounts(here, there)[1]), changes, halvings, self._damage(there))

    def _amounts(self, here: Place, there: Place) -> tuple[float | None, float | None]:
        """What a step takes off in µm, and its minutes: middles, without the ranges."""
        assert there.option is not None
        mineral, hold, carrier, stage = option_parts(there.option)
        entering_hold = option_parts(here.option)[1] if here.option else None
        removal = self._pace.removal(stage, here.grain, entering_hold, there.grain, hold)
        return removal, self._pace.minutes((mineral, hold, carrier), removal, there.grain)

    def minutes(self, found: Found) -> float:
        """The middle of the minutes of a route's steps, as far as they are known, summed; not rounded."""
        places = [place for place in (self.start(), *found.places) if place is not None]
        return sum(self._amounts(here, there)[1] or 0 for here, there in pairwise(places))

    def _damage(self, there: Place) -> int:
        assert there.option is not None
        found = self._damages.get(there.key)
        if found is None:
            found = self._damages[there.key] = round((self._pace.cracks(there.grain, option_parts(there.option)[1]) or 0) * _NANOMETRES)
        return found

    @cached_property
    def _damages(self) -> dict[_Key, int]:
        return {}

    @cached_property
    def results(self) -> Results:
        """What is worked out about steps of this piece, for the search and for the steps that are shown."""
        return Results(self.vocabulary) if self.worked_out is None else self.worked_out

    @cached_property
    def _pace(self) -> Pace:
        return Pace(self.vocabulary, self.case.glass, self.case.form, face_area(self.vocabulary, self.case), self.results)

    def _judged(self, option: str) -> tuple[int, int, int, int, str, bool]:
        """What a step with an option costs wherever it begins: the first three parts of a cost, favour, carrier, and whether it cuts."""
        found = self._judgements.get(option)
        if found is None:
            model, (mineral, _, carrier, stage) = self.model, option_parts(option)
            discouraged, favour = self._standing(option)
            elsewhere = stage in self._stages_at_hand and not model.holds("usesWhatIsAtHand", option)
            unfavoured = not model.holds("isPreferred", option)
            cuts = self.vocabulary.holds(mineral, "cutsGlass")
            found = self._judgements[option] = (int(discouraged), int(elsewhere), int(unfavoured), favour, carrier, cuts)
        return found

    @cached_property
    def _judgements(self) -> dict[str, tuple[int, int, int, int, str, bool]]:
        return {}

    @cached_property
    def _stages_at_hand(self) -> frozenset[str]:
        """The stages that something at hand can do."""
        return frozenset(stage for stage, options in self._offered.items() if any(self.model.holds("usesWhatIsAtHand", option) for option in options))

    def _places(self, here: Place, option: str, stage: str) -> list[Place]:
        """The places that an option can lead to from here, one a grade."""
        vocabulary = self.vocabulary
        mineral, surface, rubs, band, blast = self._held(option, stage)
        if rubs is not None:
            return self._rubbed(here, option, stage, surface, rubs)
        graded = self._graded(option, stage, surface, band)
        places = [*graded] if blast else self._steps_down(here, graded, stage)
        if not places and blast and vocabulary.holds(mineral, "isUngraded") and band:
            places.append(Place(surface, band, stage, option))
        no_ladder = blast or (here.option is None and stage == self.case.finish and self._may_start_with(here, stage))
        return self._middle(places, band) if no_ladder and band else places

    def _held(self, option: str, stage: str) -> tuple[str, str, Quantity | None, Quantity | None, bool]:
        """Of an option its mineral, the surface and the grain that it leaves if it rubs, and the grain of its stage and whether that is a blast."""
        found = self._holdings.get(option)
        if found is None:
            vocabulary, mineral = self.vocabulary, option_parts(option)[0]
            surface, rubs = vocabulary.related(stage, "leavesSurface")[0], vocabulary.quantity(mineral, "leftGrain")
            band, blast = vocabulary.quantity(stage, "grainBand"), vocabulary.holds(stage, "isABlast")
            found = self._holdings[option] = (mineral, surface, rubs, band, blast)
        return found

    @cached_property
    def _holdings(self) -> dict[str, tuple[str, str, Quantity | None, Quantity | None, bool]]:
        return {}

    def _graded(self, option: str, stage: str, surface: str, band: Quantity | None) -> list[Place]:
        """The places that an option leads to with the grades that have the usual grain of its stage, wherever it begins."""
        found = self._laid_out.get(option)
        if found is None:
            mineral, hold, _, _ = option_parts(option)
            sized = [(grade, grain(self.vocabulary, grade)) for grade in self._grades(mineral, hold)] if band else []
            found = self._laid_out[option] = [
                Place(surface, size, stage, option, grade) for grade, size in sized if band and band.lowest <= size.mid <= band.highest
            ]
        return found

    @cached_property
    def _laid_out(self) -> dict[str, list[Place]]:
        return {}

    def _grades(self, mineral: str, hold: str) -> list[str]:
        """The grades of a mineral in a hold that a studio usually stocks, coarse to fine on each scale."""
        found = self._stocked.get((mineral, hold))
        if found is None:
            found = self._stocked[mineral, hold] = [
                grade for scale in scales_for(self.vocabulary, mineral, hold) for grade in stocked(self.vocabulary, scale)
            ]
        return found

    @cached_property
    def _stocked(self) -> dict[tuple[str, str], list[str]]:
        return {}

    def _middle(self, places: list[Place], band: Quantity) -> list[Place]:
        """Of several blast grades the one nearest to the middle of the usual grain: no surface before it asks for another."""
        middle = (band.lowest * band.highest).sqrt()
        return sorted(places, key=lambda place: (max(place.grain.mid / middle, middle / place.grain.mid), str(place.grade)))[:1]

    def _rubbed(self, here: Place, option: str, stage: str, surface: str, leaves: Quantity) -> list[Place]:
        """Where a grain that rubs or polishes leads: the size on its jar does not decide, what it can take over does."""
        vocabulary = self.vocabulary
        mineral, hold, _, _ = option_parts(option)
        limits = [limit.mid for thing in (mineral, stage) if (limit := vocabulary.quantity(thing, "coarsestEntry"))]
        if stage != "clean-up" and (here.grain.mid > min(limits, default=here.grain.mid) or here.grain.mid <= leaves.mid):
            return []
        grades = self._grades(mineral, hold) if not vocabulary.holds(mineral, "isUngraded") else []
        usual = [grade for grade in grades if self._suits_stage(grade, stage)]
        return [Place(surface, leaves, stage, option, usual[0] if usual else None)]

    def _suits_stage(self, grade: str, stage: str) -> bool:
        return grade in self.vocabulary.related(stage, "isUsuallyDoneWith")

    def _steps_down(self, here: Place, places: list[Place], stage: str) -> list[Place]:
        """Of the places that cutting grains lead to those that gain something over the surface here without too large a jump."""
        if not places or (here.option is None and self._may_start_with(here, stage)):
            return [*places]
        most, size = self.vocabulary.quantity(stage, "largestRatio"), here.grain.mid
        finer = [place for place in places if size >= place.grain.mid * _LEAST_GAIN]
        return finer if most is None else [place for place in finer if size <= place.grain.mid * most.mid]

    def _may_start_with(self, here: Place, stage: str) -> bool:
        """Where the first step need not be finer than the surface: shaping, or a finish rougher than the surface."""
        vocabulary, finish = self.vocabulary, self.case.finish
        assert finish is not None
        shaping = vocabulary.holds(stage, "worksRough") and not vocabulary.related(stage, "comesAfter")
        if shaping and (vocabulary.holds(here.surface, "isOutOfShape") or finish == stage):
            return True
        rougher = vocabulary.holds(finish, "isRougherThanASoundSurface")
        return rougher and vocabulary.holds(here.surface, "isSound") and vocabulary.holds(stage, "takesStock")


__all__ = ["Cost", "Found", "Place", "Search"]
