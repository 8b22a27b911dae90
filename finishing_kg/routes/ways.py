"""Single steps of the way: where one leads from a surface, over the options that the rules offer, and what it costs."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property
from typing import NamedTuple

from finishing_kg.compiled.digest import blake2b
from finishing_kg.engine import Model
from finishing_kg.measure import Quantity
from finishing_kg.quantities import Pace, grain
from finishing_kg.quantities.middles import Marks, depth
from finishing_kg.record import record
from finishing_kg.routes.case import Case
from finishing_kg.routes.cost import Cost, Parts, rounded
from finishing_kg.routes.face import face_area
from finishing_kg.routes.landings import Landings, landings_in
from finishing_kg.routes.stages import stages_to
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Vocabulary

_LEAST_GAIN = Decimal("1.15")  # a grade that is not finer by this much is no step (rules/ladder.toml says why)
_HALVED = Decimal(2)
_ALIKE = Decimal("1.3")  # a grade as near as this to the one asked for may stand for it

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
        level: the same for all that the same steps are in reach from: stage and grain left.
        hold: of its grain.
    """

    place: Place
    least: Parts
    ending: Ending
    entry: Decimal | None
    rung: int
    level: int
    hold: str


class Footing:
    """What places share that lead on alike, but for a change of carrier: the surface, the grain, and the hold that left it."""

    __slots__ = ("found", "place", "reach", "removals", "steps")

    def __init__(self, place: Place) -> None:
        self.place = place  # one of them, whichever came first
        self.reach: dict[int, bool] = {}  # by rung
        self.steps: dict[Key, Parts] = {}  # by the place that they lead to
        self.removals: dict[tuple[int, str], float | None] = {}  # by rung and hold
        self.found: Marks | None = None


class Ways:
    """All single steps in one judged case.

    Args:
        vocabulary: for stages, grains and grades.
        model: with the verdicts on all options.
        case: with surface and finish known.
        paced: whether minutes are those of the studio, where its bench log tells them.
    """

    def __init__(self, vocabulary: Vocabulary, model: Model, case: Case, *, paced: bool = True) -> None:
        self.vocabulary, self.model, self.case, self._paced = vocabulary, model, case, paced
        self._candidates: dict[tuple[str, bool], list[Candidate]] = {}
        self._footings: dict[tuple[object, ...], Footing] = {}
        self._footing_of: dict[Key, Footing] = {}
        self._left: dict[tuple[int, str], Marks | None] = {}  # by rung and hold; none where the form is changed
        self._judgements: dict[str, tuple[int, int, int, int]] = {}

    def is_goal(self, place: Place) -> bool:
        """Whether the finish is reached here, fine enough to count as it, and at the grade asked for if that can be had."""
        if place.stage is None or place.stage != self.case.finish:
            return False
        limit = self.vocabulary.quantity(place.stage, "coarsestResult")
        if limit is not None and place.grain.mid > limit.mid:
            return False
        return not self._last_grades or place.grade in self._last_grades

    @cached_property
    def _last_grades(self) -> frozenset[str]:
        """The grades that the last step may end at where one was asked for: that grade, else those nearest in size; empty for any."""
        wanted, finish = self.case.goal_grade, self.case.finish
        if wanted is None or finish is None:
            return frozenset()
        cutting = (option for option in self.offered(finish) if not self._rubs(option))
        landings = (landing for option in cutting for landing in self._landings.of(option, finish, alone=False))
        sizes = {landing.grade: landing.grain.mid for landing in landings if landing.grade}
        if wanted in sizes:
            return frozenset({wanted})
        size = grain(self.vocabulary, wanted).mid
        off = {grade: max(mid / size, size / mid) for grade, mid in sizes.items()}
        nearest = min(off.values(), default=_HALVED)
        return frozenset(grade for grade, ratio in off.items() if ratio == nearest <= _ALIKE)

    def _rubs(self, option: str) -> bool:
        """Whether the size on the jar says nothing of the surface that a step leaves."""
        return self.vocabulary.quantity(option_parts(option)[0], "leftGrain") is not None

    def start(self) -> Place | None:
        """The surface as it came, or ``None`` if its coarseness is not known."""
        sizes = [size for size in self.model.objects("surfaceGrain", "piece") if isinstance(size, Quantity)]
        if self.case.surface is None or not sizes:
            return None
        return Place(self.case.surface, self.vocabulary.units.convert(sizes[0], "µm"))

    @cached_property
    def hangs_on(self) -> str:
        """All that a search reads of the judged case, in short: with the same case and the same of this the same is found."""
        read = [f"{option} {option in self._using_at_hand} {self.standing(option)}" for options in self._offered.values() for option in options]
        read += [str(self._paced), str(self.start()), *self.model.subjects("isDrivenAtHand")]
        return blake2b("\n".join(read).encode()).hexdigest()

    def offered(self, stage: str) -> list[str]:
        """The options offered for a stage, the best-placed first."""
        return self._offered.get(stage, [])

    @cached_property
    def _offered(self) -> dict[str, list[str]]:
        by_stage: dict[str, list[str]] = {}
        for option in self.model.subjects("isOffered"):
            by_stage.setdefault(option_parts(option)[3], []).append(option)

        def place(option: str) -> tuple[bool, bool, int, str]:
            return option in self._discouraged, option not in self._using_at_hand, self._favour(option), option

        return {stage: sorted(options, key=place) for stage, options in by_stage.items()}

    @cached_property
    def _discouraged(self) -> frozenset[str]:
        return frozenset(self.model.subjects("isDiscouraged"))

    @cached_property
    def _using_at_hand(self) -> frozenset[str]:
        return frozenset(self.model.subjects("usesWhatIsAtHand"))

    @cached_property
    def _preferred(self) -> frozenset[str]:
        return frozenset(self.model.subjects("isPreferred"))

    @cached_property
    def _proposed(self) -> frozenset[str]:
        return frozenset(self.model.every_subject("isProposedAsPreferredBy"))

    def _favour(self, option: str) -> int:
        """Minus the number of rules that prefer an option."""
        return -self.model.count("isProposedAsPreferredBy", option) if option in self._proposed else 0

    # --- Which steps there are ---

    def stages_from(self, here: Place, start: Place) -> Iterator[str]:
        """The stages that a step from here can work at."""
        chain = self._chain
        for stage in chain[chain.index(here.stage) if here.stage else 0 :]:
            if here.stage is None and stage != chain[0] and self.vocabulary.holds(start.surface, "isOutOfShape"):
                return
            if stage != chain[0] or self._needs_shaping(start, chain):
                yield stage

    def stages_after(self, start: Place) -> list[str]:
        """The stages that steps after the first can work at, if the first is at any of them."""
        chain = self._chain
        return chain if self._needs_shaping(start, chain) else chain[1:]

    def footing(self, here: Place) -> Footing:
        """What steps from here hang on."""
        found = self._footing_of.get(here.key)
        if found is None:
            found = self._footing_of[here.key] = self._footings.setdefault(here.alike, Footing(here))
        return found

    def candidates(self, here: Place, stage: str) -> list[Candidate]:
        """Where the steps of a stage can lead; ``reaches`` says which of them are within a step from here."""
        return self._of_stage(stage, alone=self._stands_alone(here, stage))

    def onward(self, stage: str) -> list[Candidate]:
        """The same where it is not the first step."""
        return self._of_stage(stage, alone=self.vocabulary.holds(stage, "isABlast"))

    def _of_stage(self, stage: str, *, alone: bool) -> list[Candidate]:
        found = self._candidates.get((stage, alone))
        if found is None:
            found = self._candidates[stage, alone] = [
                each for option in self.offered(stage) for each in self._candidates_of(option, stage, alone=alone)
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

    def _candidates_of(self, option: str, stage: str, *, alone: bool) -> Iterator[Candidate]:
        """The places that an option leads to, with what the steps cost at least."""
        mineral, hold, carrier, _ = option_parts(option)
        discouraged, elsewhere, unfavoured, favour = self.standing(option)
        ending, method, pace = (mineral, carrier), (mineral, hold, carrier), self._pace
        for surface, size, grade, entry, rung, level, removal, damage in self._landings.of(option, stage, alone=alone):
            # Where the minutes are not known after all, the step counts as untimed, which comes before minutes in every order.
            minutes = rounded(pace.minutes(method, removal, size))
            least = (discouraged, elsewhere, unfavoured, 1, favour, 0, minutes, 0, 0, damage)
            yield Candidate(Place(surface, size, stage, option, grade), least, ending, entry, rung, level, hold)

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
            elsewhere = option_parts(option)[3] in self._stages_at_hand and option not in self._using_at_hand
            discouraged, unfavoured = option in self._discouraged, option not in self._preferred
            found = self._judgements[option] = (int(discouraged), int(elsewhere), int(unfavoured), self._favour(option))
        return found

    @cached_property
    def _stages_at_hand(self) -> frozenset[str]:
        """The stages that something at hand can do."""
        return frozenset(stage for stage, options in self._offered.items() if not self._using_at_hand.isdisjoint(options))

    def _parts(self, footing: Footing, candidate: Candidate) -> Parts:
        """The parts of what a step costs, without a change of carrier."""
        here, there, least = footing.place, candidate.place, candidate.least
        mineral, carrier = candidate.ending
        minutes = self._pace.minutes((mineral, candidate.hold, carrier), self.depth(footing, candidate), there.grain)
        known = here.option is not None or self.vocabulary.holds(here.surface, "isGraded")
        jump = here.grain.mid / there.grain.mid if known and self.vocabulary.holds(mineral, "cutsGlass") else _HALVED
        return (*least[:5], int(minutes is None), rounded(minutes), 0, round(abs(jump - _HALVED) * 100), least[9])

    def pace(self, candidate: Candidate) -> float | None:
        """The middle of the minutes in which a step takes a µm off; ``None`` where they are not known."""
        mineral, carrier = candidate.ending
        return self._pace.minutes((mineral, candidate.hold, carrier), 1.0, candidate.place.grain)

    def depth(self, footing: Footing, candidate: Candidate) -> float | None:
        """The middle of the µm that a step takes off; ``None`` where they are not known."""
        key = (candidate.rung, candidate.hold)
        if key not in footing.removals:
            if footing.found is None:
                footing.found = self._pace.found(footing.place.grain, option_parts(footing.place.option)[1] if footing.place.option else None)
            if key not in self._left:
                told = not self.vocabulary.holds(str(candidate.place.stage), "changesTheForm")
                self._left[key] = self._pace.left(candidate.place.grain, candidate.hold) if told else None
            footing.removals[key] = depth(footing.found, self._left[key])
        return footing.removals[key]

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
    def _pace(self) -> Pace:
        area = face_area(self.vocabulary, self.case)
        return Pace(self.vocabulary, self.case.glass, self.case.form, area, paced=self._paced)

    @cached_property
    def _landings(self) -> Landings:
        return landings_in(self.vocabulary, self.case, self._pace)
