"""Where single steps lead to, whatever they cost: the grades that a method can be used with at a stage, and what each leaves."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from finishing_kg.measure import Quantity
from finishing_kg.quantities import Pace, grain
from finishing_kg.routes.case import Case
from finishing_kg.routes.stock import grades_for
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Vocabulary

_NANOMETRES = 1000
_Sized = list[tuple[str | None, Quantity]]


class Landing(NamedTuple):
    """Where a mineral in a hold leads to with some grade, on whatever carrier.

    Attributes:
        surface, grain, grade: what it leaves, and what it is done with.
        entry: the coarsest grain that a mineral which only rubs can take over; ``None`` for one that cuts.
        rung: the same for all that are in reach from the same surfaces: stage, grain left, and entry.
        level: the same for all that the same steps are in reach from: stage and grain left.
        removal: the least that such a step takes off, µm; ``None`` where that is not known.
        damage: the depth of the cracks that it leaves, nm.
    """

    surface: str
    grain: Quantity
    grade: str | None
    entry: Decimal | None
    rung: int
    level: int
    removal: float | None
    damage: int


class _OfGlasses(dict[str | None, "Landings"]):
    """The landings of cases without a shelf and without a grade that is asked for, by glass: nothing else of a case changes them."""

    def __init__(self, _vocabulary: Vocabulary) -> None:
        super().__init__()


def landings_in(vocabulary: Vocabulary, case: Case, pace: Pace) -> Landings:
    """The landings of a case; those that hang on its glass alone are kept.

    Args:
        vocabulary, case, pace: as for ``Landings``.
    """
    if case.stock or case.goal_grade is not None:
        return Landings(vocabulary, case, pace)
    kept = vocabulary.derived(_OfGlasses)
    if case.glass not in kept:
        kept[case.glass] = Landings(vocabulary, Case(glass=case.glass), pace)
    return kept[case.glass]


class Landings:
    """The landings of one case; carriers share them, unless the shelf lists grades of a carrier.

    Args:
        vocabulary: for stages, grains and grades.
        case: for the shelf, and a grade that is asked for.
        pace: for what a step takes off and leaves.
    """

    def __init__(self, vocabulary: Vocabulary, case: Case, pace: Pace) -> None:
        self._vocabulary, self._case, self._pace = vocabulary, case, pace
        self._found: dict[tuple[str, str, str | None, str, bool], list[Landing]] = {}
        self._grades: dict[tuple[str, str, str | None], _Sized] = {}
        self._rungs: dict[tuple[str, Quantity, Decimal | None], int] = {}
        self._levels: dict[tuple[str, Quantity], int] = {}

    def of(self, option: str, stage: str, *, alone: bool) -> list[Landing]:
        """Where an option leads to, with each of the grades that have the usual grain of its stage.

        Args:
            option: an id.
            stage: its stage.
            alone: whether the step is no rung of a ladder, so that no surface asks for one grade more than for another.
        """
        mineral, hold, carrier, _ = option_parts(option)
        key = (mineral, hold, carrier if self._case.stock else None, stage, alone)
        found = self._found.get(key)
        if found is None:
            surface, entry, found = self._vocabulary.related(stage, "leavesSurface")[0], self._entry(mineral, stage), []
            for grade, size in self._sized(mineral, hold, carrier, stage, alone=alone):
                damage = round((self._pace.cracks(size, hold) or 0) * _NANOMETRES)
                rung = self._rungs.setdefault((stage, size, entry), len(self._rungs))
                level = self._levels.setdefault((stage, size), len(self._levels))
                found.append(Landing(surface, size, grade, entry, rung, level, self._pace.least(size, hold), damage))
            self._found[key] = found
        return found

    def _entry(self, mineral: str, stage: str) -> Decimal | None:
        vocabulary = self._vocabulary
        if not vocabulary.quantity(mineral, "leftGrain"):
            return None
        limits = [limit.mid for thing in (mineral, stage) if (limit := vocabulary.quantity(thing, "coarsestEntry"))]
        return min(limits, default=Decimal("Infinity"))

    def _sized(self, mineral: str, hold: str, carrier: str, stage: str, *, alone: bool) -> _Sized:
        """The grades that a step can be done with, each with the grain that it leaves."""
        vocabulary = self._vocabulary
        if rubs := vocabulary.quantity(mineral, "leftGrain"):
            # The size on its jar does not decide where a grain leads that rubs or polishes.
            grades = grades_for(vocabulary, self._case, mineral, hold, carrier) if not vocabulary.holds(mineral, "isUngraded") else []
            usual = [grade for grade in grades if grade in vocabulary.related(stage, "isUsuallyDoneWith")]
            if not usual and self._case.stock:  # on the shelf, but not in the usual grade
                usual = grades[-1:]
                if not usual and not vocabulary.holds(mineral, "isUngraded"):
                    return []
            return [(usual[0] if usual else None, rubs)]
        band = vocabulary.quantity(stage, "grainBand")
        if not band:
            return []
        lowest, highest = band.lowest, band.highest
        sized = [(grade, size) for grade, size in self._graded(mineral, hold, carrier) if lowest <= size.mid <= highest]
        if not sized and vocabulary.holds(stage, "isABlast") and vocabulary.holds(mineral, "isUngraded"):
            sized.append((None, band))
        asked_for = self._case.goal_grade is not None and stage == self._case.finish
        return _middle(sized, band) if alone and not asked_for else sized

    def _graded(self, mineral: str, hold: str, carrier: str) -> _Sized:
        """The grades of a mineral in a hold on a carrier that can be had, coarse to fine on each scale, with their sizes."""
        key = (mineral, hold, carrier if self._case.stock else None)
        found = self._grades.get(key)
        if found is None:
            grades = grades_for(self._vocabulary, self._case, mineral, hold, carrier)
            found = self._grades[key] = [(grade, grain(self._vocabulary, grade)) for grade in grades]
        return found


def _middle(sized: _Sized, band: Quantity) -> _Sized:
    """Of several grades the one nearest to the middle of the usual grain: no surface before it asks for another."""
    middle = (band.lowest * band.highest).sqrt()
    return sorted(sized, key=lambda each: (max(each[1].mid / middle, middle / each[1].mid), str(each[0])))[:1]
