"""Inputs for every computation: points inside ranges inside wider ranges, in the units that each takes."""

from decimal import Decimal

from hypothesis import strategies as st
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity
from finishing_kg.quantities import computations as computed_by_name
from finishing_kg.quantities.computations import (
    BEARABLE_DIFFERENCE,
    COEFFICIENT_FOR_GRAIN,
    CORRECTED_MINUTES,
    CRACKS_WHEN_STOPPED,
    DAMAGE_FACTOR,
    DISC_AREA,
    GRAIN_RATIO,
    GREATEST,
    KNOOP_RATIO,
    MEAN_PRESSURE,
    MINUTES,
    PRODUCT,
    QUOTIENT,
    REMOVAL_OWED,
    REMOVAL_RATE,
    SIZE_BAND,
    SURFACE_SPEED,
    THERMAL_STRESS,
    TURNING_SPEED,
    WIDEST,
    WORKING_SPEED,
)

UNITS = VOCABULARY.units
TABLE = computed_by_name(UNITS)

# Each computation that takes ranges, with the units of its inputs. Constants of a law are single values and stand as such.
LAW = tuple(
    Quantity.of(value, unit) for value, unit in (("0.3", "times"), ("0.68", "times"), (2, "times"), ("0.85", "times"), (3, "µm"), (200, "µm"))
)
INPUTS: dict[str, tuple[str, ...]] = {
    SURFACE_SPEED: ("mm", "rpm"),
    TURNING_SPEED: ("mm", "m/s"),
    SIZE_BAND: ("µm",),
    DAMAGE_FACTOR: ("GPa", "HK", "GPa", "HK"),
    WIDEST: ("µm", "µm", "µm"),
    GREATEST: ("µm", "µm", "µm"),
    PRODUCT: ("µm²/N", "times", "times"),
    QUOTIENT: ("times", "times"),
    REMOVAL_OWED: ("µm", "µm", "µm"),
    CRACKS_WHEN_STOPPED: ("µm", "µm", "min", "min"),
    DISC_AREA: ("mm",),
    MEAN_PRESSURE: ("N", "cm²"),
    COEFFICIENT_FOR_GRAIN: ("µm²/N", "µm", "µm"),
    REMOVAL_RATE: ("µm²/N", "kPa", "m/s"),
    MINUTES: ("µm", "µm²/N", "kPa", "m/s"),
    THERMAL_STRESS: ("GPa", "times<1", "µm/(m·K)", "K"),
    BEARABLE_DIFFERENCE: ("MPa", "GPa", "times<1", "µm/(m·K)"),
    KNOOP_RATIO: ("HK", "HK"),
}
# The depth of a defect may be left out.
CASES = [*sorted(INPUTS.items()), (REMOVAL_OWED, ("µm", "µm"))]
# A grain ratio goes by the middles alone, a working speed by two single speeds, and corrected minutes by the middle of what was expected.
NOT_BY_POINTS = {CORRECTED_MINUTES, GRAIN_RATIO, WORKING_SPEED}
# By place: the grain that a coefficient was measured with is no uncertain value but the ends of a band; it stays while the others move.
FIXED = {COEFFICIENT_FOR_GRAIN: {2}}

Inputs = tuple[Quantity, ...]


def numbers(unit: str) -> st.SearchStrategy[Decimal]:
    """Positive numbers in a size that the unit makes sense at."""
    most = 9 if unit == "times<1" else 4000
    return st.integers(1, most).map(lambda n: Decimal(n) / 10)


@st.composite
def nested(draw: st.DrawFn, name: str, units: tuple[str, ...]) -> tuple[Inputs, Inputs, Inputs]:
    """Points inside ranges inside wider ranges, for one computation."""
    points, ranges, wider = [], [], []
    for place, unit in enumerate(units):
        five = sorted(draw(st.lists(numbers(unit), min_size=5, max_size=5)))
        symbol = unit.removesuffix("<1")
        if place in FIXED.get(name, ()):
            points.append(Quantity.between(five[1], five[3], symbol))
            ranges.append(points[-1])
            wider.append(points[-1])
            continue
        points.append(Quantity(five[2], symbol))
        ranges.append(Quantity.between(five[1], five[3], symbol))
        wider.append(Quantity.between(five[0], five[4], symbol))
    more = LAW if name == SIZE_BAND else ()
    return (*points, *more), (*ranges, *more), (*wider, *more)


def within(inner: Quantity, outer: Quantity) -> bool:
    """Whether a range, or a value, lies inside another."""
    return outer.lowest <= inner.lowest <= inner.mid <= inner.highest <= outer.highest
