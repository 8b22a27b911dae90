"""The middles of what steps take and leave, for a search that weighs thousands of them.

The same relations as in ``expect_step``, by the same functions; only the ranges are left out, and what many steps share is worked
out once. ``expect_step`` has the last word on the few steps that are shown.
"""

from finishing_kg.measure import Quantity
from finishing_kg.quantities.computations import MEAN_PRESSURE, WORKING_SPEED
from finishing_kg.quantities.marks import cracks_left, depth_to_take, roughness_left
from finishing_kg.quantities.operations import coefficient, operation_of
from finishing_kg.quantities.pace import pace_of
from finishing_kg.quantities.preston import PER_MINUTE
from finishing_kg.quantities.working import Held, Results, Working
from finishing_kg.vocabulary import Vocabulary

_PER_MINUTE = float(PER_MINUTE)
_CRACKS, _ROUGHNESS, _DEPTH = range(3)  # what a step leaves, and what practice takes off after it, each in µm; ``None`` where no relation is known


Marks = tuple[float, float]
"""Two depths of one surface, µm."""


class Pace:
    """How long steps take in one piece, by the middles of the ranges.

    Args:
        vocabulary: the ontology.
        glass, form: ids, or ``None`` where nobody said.
        area: of the face, if known.
        paced: whether minutes are corrected by a studio's own pace, where one is held.
    """

    def __init__(self, vocabulary: Vocabulary, glass: str | None, form: str | None, area: Quantity | None, *, paced: bool = True) -> None:
        self._vocabulary, self._glass, self._paced = vocabulary, glass, paced
        self._working, self._middles = Working(vocabulary), vocabulary.derived(Results).middles
        usual = (self._working.held(form, "workArea") if form else None) or self._working.held("bench", "workArea")
        self._area = Held(area) if area is not None else usual
        self._drives: dict[str, float | None] = {}
        self._rates: dict[tuple[str, str, str, Quantity], float | None] = {}

    def removal(self, stage: str, entering: Quantity, entering_hold: str | None, left: Quantity, hold: str) -> float | None:
        """The middle of the depth that a step takes off, µm.

        Args:
            stage: id.
            entering: effective grain of the surface that the step finds.
            entering_hold: hold of the grain that left it, if known.
            left: effective grain of the surface that the step leaves; for a grain that cuts its size.
            hold: of the step's grain.

        Returns:
            ``None`` where ``expect_step`` would not know it either; so in ``minutes``.
        """
        if self._vocabulary.holds(stage, "changesTheForm"):
            return None
        return depth(self.found(entering, entering_hold), self.left(left, hold))

    def found(self, entering: Quantity, hold: str | None) -> Marks | None:
        """Of a surface that a step finds the cracks and the usual depth to take off, µm."""
        return _both(self._mark(_CRACKS, entering, hold), self._mark(_DEPTH, entering, hold))

    def left(self, left: Quantity, hold: str) -> Marks | None:
        """Of a surface that a step leaves the cracks and the roughness, µm."""
        return _both(self._mark(_CRACKS, left, hold), self._mark(_ROUGHNESS, left, hold))

    def least(self, left: Quantity, hold: str) -> float | None:
        """No step that leaves some grain takes less off than this, µm: its own roughness; ``None`` where that is not known."""
        return self._mark(_ROUGHNESS, left, hold)

    def minutes(self, method: tuple[str, str, str], removal: float | None, grain: Quantity) -> float | None:
        """The middle of the minutes in which a mineral in a hold on a carrier, with some grain, takes a depth off.

        Where a studio's pace of the operation on the glass is held, they are corrected by its middle.
        """
        rate = self._rate(*method, grain) if removal is not None else None
        return removal / rate if removal is not None and rate is not None else None

    def cracks(self, left: Quantity, hold: str) -> float | None:
        """The middle of the depth of the cracks that a step leaves, µm."""
        return self._mark(_CRACKS, left, hold)

    def _mark(self, which: int, size: Quantity, hold: str | None) -> float | None:
        marks, key = self._middles.marks, (which, size, hold, self._glass if which == _CRACKS else None)
        if key not in marks:
            working, held = self._working, Held(Quantity(size.mid, size.unit))
            if which == _CRACKS:
                made = cracks_left(working, held, hold, self._glass)
            else:
                made = (roughness_left if which == _ROUGHNESS else depth_to_take)(working, held, hold)
            marks[key] = float(made.quantity.mid) if made else None
        return marks[key]

    def _rate(self, mineral: str, hold: str, carrier: str, grain: Quantity) -> float | None:
        """How fast a method takes glass off with some grain, µm a minute."""
        key = (mineral, hold, carrier, grain)
        if key not in self._rates:
            self._rates[key] = self._worked_rate(mineral, hold, carrier, grain)
        return self._rates[key]

    def _worked_rate(self, mineral: str, hold: str, carrier: str, grain: Quantity) -> float | None:
        operations, coefficients = self._middles.operations, self._middles.coefficients
        if (mineral, hold, carrier) not in operations:
            operations[mineral, hold, carrier] = operation_of(self._vocabulary, mineral, hold, carrier)
        operation, drive = operations[mineral, hold, carrier], self._drive(carrier)
        if operation is None or drive is None:
            return None
        key = (operation, mineral, grain, self._glass, self._paced)
        if key not in coefficients:
            made = coefficient(self._working, operation, mineral, self._glass, Held(Quantity(grain.mid, grain.unit)))
            coefficients[key] = None if isinstance(made, str) else float(made.quantity.mid) / self._factor(operation)
        rate = coefficients[key]
        return rate * drive * _PER_MINUTE if rate is not None else None

    def _factor(self, operation: str) -> float:
        """How many times the expected minutes a studio takes for an operation on the glass."""
        pace = pace_of(self._vocabulary, operation, self._glass) if self._paced else None
        factor = self._working.held(pace, "minutesFactor") if pace is not None else None
        return float(factor.quantity.mid) if factor is not None else 1.0

    def _drive(self, carrier: str) -> float | None:
        """Pressure times speed, kPa·m/s."""
        if carrier not in self._drives:
            working = self._working
            ends = [end for part in ("leastSpeed", "greatestSpeed") if (end := working.held(carrier, part))]
            force = working.held(carrier, "workingForce")
            known = force is not None and self._area is not None and len(ends) == 2
            self._drives[carrier] = None
            if known and force is not None and self._area is not None:
                pressure, speed = working.compute(MEAN_PRESSURE, force, self._area), working.compute(WORKING_SPEED, *ends)
                self._drives[carrier] = float(pressure.quantity.mid * speed.quantity.mid)
        return self._drives[carrier]


def depth(found: Marks | None, left: Marks | None) -> float | None:
    """The depth that a step takes off between the surface that it finds and the one that it leaves; ``None`` where one is not known."""
    if found is None or left is None:
        return None
    return max(found[0] - left[0], 0.0, found[1], left[1])


def _both(one: float | None, other: float | None) -> Marks | None:
    return None if one is None or other is None else (one, other)


__all__ = ["Marks", "Pace", "depth"]
