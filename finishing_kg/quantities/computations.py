"""The computations whose results stand in proofs, by name, so that the proof checker can do them again."""

from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Context

from finishing_kg.measure import Quantity, Units
from finishing_kg.quantities.speed import surface_speed

GRAIN_RATIO = "grain ratio"
SURFACE_SPEED = "surface speed"

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
    """All computations by name; each takes its inputs in the order in which a proof lists them."""
    return {
        GRAIN_RATIO: lambda inputs: grain_ratio(inputs[0], inputs[1], units),
        SURFACE_SPEED: lambda inputs: surface_speed(inputs[0], inputs[1], units),
    }
