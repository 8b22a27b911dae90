"""Single steps of the way: where one leads from a surface, over the options that the rules offer, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from finishing_kg.engine import Model
from finishing_kg.measure import Quantity
from finishing_kg.quantities import Pace, Results, grain
from finishing_kg.record import record
from finishing_kg.routes.case import Case
from finishing_kg.routes.cost import Cost, Parts, rounded
from finishing_kg.routes.face import face_area
from finishing_kg.routes.stages import stages_to
from finishing_kg.routes.stock import grades_for
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Vocabulary

_LEAST_GAIN = Decimal("1.15")  # a grade that is not finer by this much is no step (rules/ladder.toml says why)
_HALVED = Decimal(2)
_ALIKE = Decimal("1.3")  # a grade as near as this to the one asked for may stand for it
_NANOMETRES = 1000

Key = tuple[str | None, str | None]
Ending = tuple[str, str]
"""A mineral and a carrier that a route ends with."""


@record(frozen=True)
class Place:
    """A node of the graph: the surface, and the method and grade that left it."""

    surface: str
    grain: Quantity
    stage: str | None = None
    option: str | None = None
    grade: str | None = None

    @cached_property
    def key(self) -> Key:
        """What tells it from all other places of one search."""
        return self.option, self.grade

    @cached_property
    def alike(self) -> tuple[object, ...]:
        """What the steps from here hang on, but for a change of carrier."""
        return self.surface, self.stage, self.grain, option_parts(self.option)[1] if self.option else None

    @cached_property
    def carrier(self) -> str | None:
        """The carrier that left it."""
        return option_parts(self.option)[2] if self.option else None


class Candidate(NamedTuple):
    """A place that a step of some stage can lead to, wherever the step begins.

    Attributes:
        place: where it leads.
        least: the parts of a cost that the step has at least.
        ending: the mineral and the carrier.
        entry: the coarsest grain that a mineral which only rubs can take over; ``None`` for one that cuts.
        rung: the same for all that are in reach from the same surfaces: stage, grain left, and entry.
    """

    place: Place
    least: Parts
    ending: Ending
    entry: Decimal | None
    rung: int


class Footing:
    """What places share that lead on alike, but for a change of carrier: the surface, the grain, and the hold that left it."""

    __slots__ = ("place", "reach", "removals", "steps")

    def __init__(self, place: Place) -> None:
        self.place = place  # one of them, whichever came first
        self.reach: dict[int, bool] = {}  # by rung
        self.steps: dict[Key, Parts] = {}  # by the place that they lead to
        self.removals: dict[tuple[int, str], float | None] = {}  # by rung and hold


class Ways:
    """All single steps in one judged case.

    Args:
        vocabulary: for stages, grains and grades.
        model: with the verdicts on all options.
        case: with surface and finish known.
        paced: whether minutes are those of the studio, where its bench log tells them.
        worked_out: what was worked out in another case, if anything.
    """

    def __init__(self, vocabulary: Vocabulary, model: Model, case: Case, *, paced: bool = True, worked_out: Results | None = None) -> None:
        self.vocabulary, self.model, self.case, self._paced = vocabulary, model, case, paced
        self._worked_out = worked_out
        self._candidates: dict[tuple[str, bool], list[Candidate]] = {}
        self._stocked: dict[tuple[str, str, str | None], list[str]] = {}
        self._footings: dict[tuple[object, ...], Footing] = {}
        self._footing_of: dict[Key, Footing] = {}
        self._rungs: dict[tuple[str, Quantity, Decimal | None], int] = {}
        self._judgements: dict[str, tuple[int, int, int, int]] = {}

    def is_goal(self, place: Place) -> bool:
        """Whether the finish is reached here, fine enough to count as it, and at the grade asked for if that can be had."""
        limit = self.vocabulary.quantity(place.stage, "coarsestResult") if place.stage else None
        if place.stage != self.case.finish or (limit is not None and place.grain.mid > limit.mid):
            return False
        return not self._last_grades or place.grade in self._last_grades

    @cached_property
    def _last_grades(self) -> frozenset[str]:
        """The grades that the last step may end at where one was asked for: that grade, else those nearest in size; empty for any."""
        wanted, finish = self.case.goal_grade, self.case.finish
        if wanted is None or finish is None:
            return frozenset()
        places = [place for option in self.offered(finish) for place in self._places(option, finish, alone=False)]
        sizes = {place.grade: place.grain.mid for place in places if place.grade and not self._rubs(place)}
        if wanted in sizes:
            return frozenset({wanted})
        size = grain(self.vocabulary, wanted).mid
        off = {grade: max(mid / size, size / mid) for grade, mid in sizes.items()}
        nearest = min(off.values(), default=_HALVED)
        return frozenset(grade for grade, ratio in off.items() if ratio == nearest <= _ALIKE)

    def _rubs(self, place: Place) -> bool:
        """Whether the size on the jar says nothing of the surface that a step leaves."""
        return self.vocabulary.quantity(option_parts(str(place.option))[0], "leftGrain") is not None

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

    # --- Which steps there are ---

    def stages_from(self, here: Place, start: Place) -> Iterator[str]:
        """The stages that a step from here can work at."""
        chain = self._chain
        for stage in chain[chain.index(here.stage) if here.stage else 0 :]:
            if here.stage is None and stage != chain[0] and self.vocabulary.holds(start.surface, "isOutOfShape"):
                return
            if stage != chain[0] or self._needs_shaping(start, chain):
                yield stage

    def footing(self, here: Place) -> Footing:
        """What steps from here hang on."""
        found = self._footing_of.get(here.key)
        if found is None:
            found = self._footing_of[here.key] = self._footings.setdefault(here.alike, Footing(here))
        return found

    def candidates(self, here: Place, stage: str) -> list[Candidate]:
        """Where the steps of a stage can lead; ``reaches`` says which of them are within a step from here."""
        alone = self._stands_alone(here, stage)
        found = self._candidates.get((stage, alone))
        if found is None:
            found = self._candidates[stage, alone] = [
                self._candidate(place) for option in self.offered(stage) for place in self._places(option, stage, alone=alone)
            ]
        return found

    def reaches(self, footing: Footing, candidate: Candidate) -> bool:
        """Whether a step leads to a candidate: it gains something over the surface, without too large a jump."""
        found = footing.reach.get(candidate.rung)
        if found is None:
            found = footing.reach[candidate.rung] = self._leads(footing.place, candidate)
        return found

    def step(self, here: Place, footing: Footing, candidate: Candidate) -> Parts:
        """The parts of what a step costs that leads from here to a candidate within its reach."""
        there = candidate.place
        parts = footing.steps.get(there.key)
        if parts is None:
            parts = footing.steps[there.key] = self._parts(footing, candidate)
        return (*parts[:7], 1, *parts[8:]) if here.option is not None and here.carrier != there.carrier else parts

    def steps_from(self, here: Place, start: Place, without: frozenset[str], last_not: frozenset[Ending]) -> list[tuple[Place, Cost]]:
        """The places that one step leads to, with what the step costs.

        Args:
            here: where it begins.
            start: where the route begins.
            without: options not to use.
            last_not: how the last step may not end.
        """
        found, footing = [], self.footing(here)
        for stage in self.stages_from(here, start):
            barred = last_not if stage == self.case.finish else frozenset()
            for candidate in self.candidates(here, stage):
                if candidate.place.option not in without and candidate.ending not in barred and self.reaches(footing, candidate):
                    found.append((candidate.place, Cost(*self.step(here, footing, candidate))))
        return found

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

    def _may_start_with(self, here: Place, stage: str) -> bool:
        """Where the first step need not be finer than the surface: shaping, or a finish rougher than the surface."""
        vocabulary, finish = self.vocabulary, self.case.finish
        assert finish is not None
        shaping = vocabulary.holds(stage, "worksRough") and not vocabulary.related(stage, "comesAfter")
        if shaping and (vocabulary.holds(here.surface, "isOutOfShape") or finish == stage):
            return True
        rougher = vocabulary.holds(finish, "isRougherThanASoundSurface")
        return rougher and vocabulary.holds(here.surface, "isSound") and vocabulary.holds(stage, "takesStock")

    def _stands_alone(self, here: Place, stage: str) -> bool:
        """Whether the step is no rung of a ladder, so that no surface asks for one grade more than for another."""
        free = here.option is None and stage == self.case.finish and self._may_start_with(here, stage)
        return free or self.vocabulary.holds(stage, "isABlast")

    def _places(self, option: str, stage: str, *, alone: bool) -> list[Place]:
        """The places that an option leads to with the grades that have the usual grain of its stage."""
        vocabulary = self.vocabulary
        mineral, hold, carrier, _ = option_parts(option)
        surface, band = vocabulary.related(stage, "leavesSurface")[0], vocabulary.quantity(stage, "grainBand")
        if rubs := vocabulary.quantity(mineral, "leftGrain"):
            # The size on its jar does not decide where a grain leads that rubs or polishes.
            grades = self._grades(mineral, hold, carrier) if not vocabulary.holds(mineral, "isUngraded") else []
            usual = [grade for grade in grades if grade in vocabulary.related(stage, "isUsuallyDoneWith")]
            if not usual and self.case.stock:  # on the shelf, but not in the usual grade
                usual = grades[-1:]
                if not usual and not vocabulary.holds(mineral, "isUngraded"):
                    return []
            return [Place(surface, rubs, stage, option, usual[0] if usual else None)]
        sized = [(grade, grain(vocabulary, grade)) for grade in self._grades(mineral, hold, carrier)] if band else []
        places = [Place(surface, size, stage, option, grade) for grade, size in sized if band and band.lowest <= size.mid <= band.highest]
        if not places and band and vocabulary.holds(stage, "isABlast") and vocabulary.holds(mineral, "isUngraded"):
            places.append(Place(surface, band, stage, option))
        asked_for = self.case.goal_grade is not None and stage == self.case.finish
        return _middle(places, band) if alone and band and not asked_for else places

    def _grades(self, mineral: str, hold: str, carrier: str) -> list[str]:
        """The grades of a mineral in a hold on a carrier that can be had, coarse to fine on each scale."""
        key = (mineral, hold, carrier if self.case.stock else None)
        found = self._stocked.get(key)
        if found is None:
            found = self._stocked[key] = grades_for(self.vocabulary, self.case, mineral, hold, carrier)
        return found

    def _candidate(self, place: Place) -> Candidate:
        vocabulary = self.vocabulary
        mineral, hold, carrier, stage = option_parts(str(place.option))
        entry = None
        if vocabulary.quantity(mineral, "leftGrain"):
            limits = [limit.mid for thing in (mineral, stage) if (limit := vocabulary.quantity(thing, "coarsestEntry"))]
            entry = min(limits, default=Decimal("Infinity"))
        discouraged, elsewhere, unfavoured, favour = self.standing(str(place.option))
        # Where the minutes are not known after all, the step counts as untimed, which comes before minutes in every order.
        minutes = self._pace.minutes((mineral, hold, carrier), self._pace.least(place.grain, hold), place.grain)
        damage = round((self._pace.cracks(place.grain, hold) or 0) * _NANOMETRES)
        least = (discouraged, elsewhere, unfavoured, 1, favour, 0, rounded(minutes), 0, 0, damage)
        rung = self._rungs.setdefault((stage, place.grain, entry), len(self._rungs))
        return Candidate(place, least, (mineral, carrier), entry, rung)

    def _leads(self, here: Place, candidate: Candidate) -> bool:
        there, entry = candidate.place, candidate.entry
        assert there.stage is not None
        if entry is not None:
            if there.stage == "clean-up":
                finest = self.vocabulary.quantity(there.stage, "finestResult")
                return finest is None or here.grain.mid >= finest.mid
            return there.grain.mid < here.grain.mid <= entry
        if self.vocabulary.holds(there.stage, "isABlast") or (here.option is None and self._may_start_with(here, there.stage)):
            return True
        most = self.vocabulary.quantity(there.stage, "largestRatio")
        return here.grain.mid >= there.grain.mid * _LEAST_GAIN and (most is None or here.grain.mid <= there.grain.mid * most.mid)

    # --- What they cost ---

    def standing(self, option: str) -> tuple[int, int, int, int]:
        """What the rules say of a step with an option, wherever it begins: the first three parts of a cost, and favour."""
        found = self._judgements.get(option)
        if found is None:
            model = self.model
            discouraged, favour = self._standing(option)
            elsewhere = option_parts(option)[3] in self._stages_at_hand and not model.holds("usesWhatIsAtHand", option)
            found = self._judgements[option] = (int(discouraged), int(elsewhere), int(not model.holds("isPreferred", option)), favour)
        return found

    @cached_property
    def _stages_at_hand(self) -> frozenset[str]:
        """The stages that something at hand can do."""
        return frozenset(stage for stage, options in self._offered.items() if any(self.model.holds("usesWhatIsAtHand", option) for option in options))

    def _parts(self, footing: Footing, candidate: Candidate) -> Parts:
        """The parts of what a step costs, without a change of carrier."""
        here, there, least = footing.place, candidate.place, candidate.least
        mineral, hold, carrier, _ = option_parts(str(there.option))
        key = (candidate.rung, hold)
        if key not in footing.removals:
            footing.removals[key] = self._removal(here, there)
        minutes = self._pace.minutes((mineral, hold, carrier), footing.removals[key], there.grain)
        known = here.option is not None or self.vocabulary.holds(here.surface, "isGraded")
        jump = here.grain.mid / there.grain.mid if known and self.vocabulary.holds(mineral, "cutsGlass") else _HALVED
        return (*least[:5], int(minutes is None), rounded(minutes), 0, round(abs(jump - _HALVED) * 100), least[9])

    def amounts(self, here: Place, there: Place) -> tuple[float | None, float | None]:
        """What a step takes off in µm, and its minutes: middles, without the ranges; ``None`` where they are not known."""
        mineral, hold, carrier, _ = option_parts(str(there.option))
        removal = self._removal(here, there)
        return removal, self._pace.minutes((mineral, hold, carrier), removal, there.grain)

    def _removal(self, here: Place, there: Place) -> float | None:
        _, hold, _, stage = option_parts(str(there.option))
        entering_hold = option_parts(here.option)[1] if here.option else None
        return self._pace.removal(stage, here.grain, entering_hold, there.grain, hold)

    @cached_property
    def results(self) -> Results:
        """What is worked out about steps of this piece, for the search and for the steps that are shown."""
        return Results(self.vocabulary) if self._worked_out is None else self._worked_out

    @cached_property
    def _pace(self) -> Pace:
        area = face_area(self.vocabulary, self.case)
        return Pace(self.vocabulary, self.case.glass, self.case.form, area, self.results, paced=self._paced)


def _middle(places: list[Place], band: Quantity) -> list[Place]:
    """Of several grades the one nearest to the middle of the usual grain: no surface before it asks for another."""
    middle = (band.lowest * band.highest).sqrt()
    return sorted(places, key=lambda place: (max(place.grain.mid / middle, middle / place.grain.mid), str(place.grade)))[:1]
