"""The computations whose results stand in proofs, by name, so that the proof checker can do them again."""

from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Context

from finishing_kg.measure import Quantity, QuantityError, Units
from finishing_kg.quantities.contrast import knoop_ratio
from finishing_kg.quantities.damage import LAW, damage_factor, size_band
from finishing_kg.quantities.heat import bearable_difference, thermal_stress
from finishing_kg.quantities.pace import corrected
from finishing_kg.quantities.preston import coefficient_for_grain, disc_area, mean_pressure, minutes_to_remove, removal_rate
from finishing_kg.quantities.ranges import greatest, product, quotient, widest
from finishing_kg.quantities.removal import cracks_when_stopped, removal_owed
from finishing_kg.quantities.speed import surface_speed, turning_speed, working_speed

GRAIN_RATIO = "grain ratio"
SURFACE_SPEED = "surface speed"
TURNING_SPEED = "turning speed"
WORKING_SPEED = "working speed"
SIZE_BAND = "size band"
DAMAGE_FACTOR = "damage factor"
WIDEST = "widest range"
GREATEST = "greatest"
PRODUCT = "product"
QUOTIENT = "quotient"
REMOVAL_OWED = "removal owed"
CRACKS_WHEN_STOPPED = "cracks when stopped"
DISC_AREA = "disc area"
MEAN_PRESSURE = "mean pressure"
COEFFICIENT_FOR_GRAIN = "coefficient for grain"
REMOVAL_RATE = "removal rate"
MINUTES = "minutes to remove"
CORRECTED_MINUTES = "corrected minutes"
THERMAL_STRESS = "thermal stress"
BEARABLE_DIFFERENCE = "bearable difference"
KNOOP_RATIO = "Knoop ratio"

_THREE_DIGITS = Context(prec=3, rounding=ROUND_HALF_EVEN)

Computation = Callable[[tuple[Quantity, ...]], Quantity]


def grain_ratio(entering: Quantity, grain: Quantity, units: Units) -> Quantity:
    """How many times coarser the surface is than the grain that is to smooth it.

    Args:
        entering: effective grain of the surface; its middle counts.
        grain: size of the grain, above nought; its middle counts.
        units: the table of units.

    Returns:
        The ratio in ``times``, to three significant digits.
    """
    coarse, fine = units.convert(entering, "µm"), units.convert(grain, "µm")
    return Quantity(_THREE_DIGITS.divide(coarse.mid, fine.mid), "times")


def computations(units: Units) -> dict[str, Computation]:
    """All computations by name; each takes its inputs in the order in which a proof lists them.

    A computation raises ``QuantityError`` for inputs of another number or dimension than its own.
    """

    def of(function: Callable[..., Quantity], *counts: int) -> Computation:
        def computed(inputs: tuple[Quantity, ...]) -> Quantity:
            if len(inputs) not in counts:
                raise QuantityError(", ".join(map(str, inputs)), f"this takes {' or '.join(map(str, counts))} quantities.", "1 µm")
            return function(*inputs, units=units)

        return computed

    def of_any(function: Callable[[tuple[Quantity, ...], Units], Quantity]) -> Computation:
        def computed(inputs: tuple[Quantity, ...]) -> Quantity:
            if not inputs:
                raise QuantityError("", "this takes at least one quantity.", "1 µm")
            return function(inputs, units)

        return computed

    def owed(before: Quantity, own: Quantity, defect: Quantity | None = None, *, units: Units) -> Quantity:
        return removal_owed(before, own, units, defect)

    def band(size: Quantity, *law: Quantity, units: Units) -> Quantity:
        return size_band(size, **dict(zip(LAW, law, strict=True)), units=units)

    return {
        GRAIN_RATIO: of(grain_ratio, 2),
        SURFACE_SPEED: of(surface_speed, 2),
        TURNING_SPEED: of(turning_speed, 2),
        WORKING_SPEED: of(working_speed, 2),
        SIZE_BAND: of(band, 1 + len(LAW)),
        DAMAGE_FACTOR: of(damage_factor, 4),
        WIDEST: of_any(widest),
        GREATEST: of_any(greatest),
        PRODUCT: of_any(product),
        QUOTIENT: of(quotient, 2),
        REMOVAL_OWED: of(owed, 2, 3),
        CRACKS_WHEN_STOPPED: of(cracks_when_stopped, 4),
        DISC_AREA: of(disc_area, 1),
        MEAN_PRESSURE: of(mean_pressure, 2),
        COEFFICIENT_FOR_GRAIN: of(coefficient_for_grain, 3),
        REMOVAL_RATE: of(removal_rate, 3),
        MINUTES: of(minutes_to_remove, 4),
        CORRECTED_MINUTES: of(corrected, 2),
        THERMAL_STRESS: of(thermal_stress, 4),
        BEARABLE_DIFFERENCE: of(bearable_difference, 4),
        KNOOP_RATIO: of(knoop_ratio, 2),
    }
