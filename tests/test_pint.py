"""The boundary to pint: every function of the room, asked with pint quantities."""

from collections.abc import Callable
from decimal import Decimal

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from inputs import INPUTS, TABLE, UNITS, nested
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.quantities.computations import (
    BEARABLE_DIFFERENCE,
    COEFFICIENT_FOR_GRAIN,
    CRACKS_WHEN_STOPPED,
    DAMAGE_FACTOR,
    DISC_AREA,
    KNOOP_RATIO,
    MEAN_PRESSURE,
    MINUTES,
    QUOTIENT,
    REMOVAL_RATE,
    SURFACE_SPEED,
    THERMAL_STRESS,
    TURNING_SPEED,
)
from finishing_kg.quantities.contrast import contrast, knoop_ratio
from finishing_kg.quantities.damage import damage_factor
from finishing_kg.quantities.expected import expect_step
from finishing_kg.quantities.heat import EDGE, bearable_difference, thermal_stress
from finishing_kg.quantities.preston import coefficient_for_grain, disc_area, mean_pressure, minutes_to_remove, removal_rate
from finishing_kg.quantities.ranges import quotient
from finishing_kg.quantities.removal import cracks_when_stopped, removal_owed
from finishing_kg.quantities.speed import surface_speed, turning_speed
from finishing_kg.quantities.with_pint import PintRange, with_pint

# The boundary to pint, against pint's own arithmetic

REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
small = st.integers(1, 5000).map(lambda n: Decimal(n) / 10)


def of(value: Decimal | int | str, unit: str) -> "pint.Quantity[Decimal]":
    """A pint quantity with a decimal magnitude."""
    return REGISTRY.Quantity(Decimal(value), unit)


@given(small, small, small, small)
def test_pint_works_out_the_same(a: Decimal, b: Decimal, c: Decimal, d: Decimal) -> None:
    """Rates, minutes, pressures, areas, speeds and stresses equal pint's own arithmetic to four digits, whatever units go in."""
    rub, press, run = of(a, "micrometer ** 2 / newton"), of(b, "kilopascal"), of(c, "meter / second")
    pi = Decimal("3.14159265358979323846")
    cases = [
        (with_pint(removal_rate, UNITS)(rub, press, run), rub * press * run),
        (with_pint(minutes_to_remove, UNITS)(of(d, "millimeter"), rub, press, run), of(d, "millimeter") / (rub * press * run)),
        (with_pint(mean_pressure, UNITS)(of(a, "newton"), of(b, "millimeter ** 2")), of(a, "newton") / of(b, "millimeter ** 2")),
        (with_pint(disc_area, UNITS)(of(a, "inch")), of(a, "inch") ** 2 * pi / 4),
        (with_pint(surface_speed, UNITS)(of(a, "inch"), of(b, "revolution / minute")), of(a, "inch") * pi * of(b, "1 / minute")),
        (
            with_pint(thermal_stress, UNITS)(of(a, "gigapascal"), EDGE, of(b, "micrometer / meter / kelvin"), of(c, "kelvin")),
            of(a, "gigapascal") * of(b, "micrometer / meter / kelvin") * of(c, "kelvin"),
        ),
        (
            with_pint(removal_owed, UNITS)(of(a, "millimeter"), of(b, "micrometer")),
            max(of(a, "millimeter") - of(b, "micrometer"), of(0, "micrometer")),
        ),
    ]
    for ours, theirs in cases:
        expected = REGISTRY.Quantity(theirs.magnitude, theirs.units).to(str(ours.units)).magnitude
        assert ours.magnitude == pytest.approx(expected, rel=Decimal("0.0006"), abs=Decimal("1e-9"))


FUNCTIONS: dict[str, Callable[..., Quantity]] = {
    SURFACE_SPEED: surface_speed,
    TURNING_SPEED: turning_speed,
    DAMAGE_FACTOR: damage_factor,
    QUOTIENT: quotient,
    CRACKS_WHEN_STOPPED: cracks_when_stopped,
    DISC_AREA: disc_area,
    MEAN_PRESSURE: mean_pressure,
    COEFFICIENT_FOR_GRAIN: coefficient_for_grain,
    REMOVAL_RATE: removal_rate,
    MINUTES: minutes_to_remove,
    THERMAL_STRESS: thermal_stress,
    BEARABLE_DIFFERENCE: bearable_difference,
    KNOOP_RATIO: knoop_ratio,
}


def in_pint(quantity: Quantity) -> object:
    """A quantity of ours as it goes to the boundary: a rank as it is, a range as a ``PintRange``."""
    if not UNITS.by_symbol[quantity.unit].pint:
        return quantity
    low, mid, high = (UNITS.to_pint(Quantity(number, quantity.unit)) for number in (quantity.lowest, quantity.mid, quantity.highest))
    return PintRange(low, mid, high) if quantity.low is not None else mid


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
@given(data=st.data())
def test_each_function_gives_the_same_through_pint(name: str, data: st.DataObject) -> None:
    """Asked with pint quantities, single or as ranges, a function gives to the last digit what it gives with ours."""
    for inputs in data.draw(nested(name, INPUTS[name])):
        found = with_pint(FUNCTIONS[name], UNITS)(*map(in_pint, inputs))
        assert found == in_pint(TABLE[name](inputs))


def test_a_pair_of_pint_quantities_is_a_range() -> None:
    """A pair goes in as a range, whatever units its ends have; the answer has both ends, and can be put in again."""
    speeds = with_pint(turning_speed, UNITS)(of(250, "millimeter"), (of(8, "meter / second"), of(90000, "centimeter / minute")))
    assert isinstance(speeds, PintRange)
    assert (speeds.low.magnitude, speeds.high.magnitude) == (Decimal("611.1"), Decimal("1145"))
    back = with_pint(surface_speed, UNITS)(of(250, "millimeter"), speeds)
    ends = [end.to("meter / second").magnitude for end in (back.low, back.high)]
    assert ends == [pytest.approx(8, rel=Decimal("0.001")), pytest.approx(15, rel=Decimal("0.001"))]
    assert ends[1] <= 15


def test_anything_of_the_room_takes_pint() -> None:
    """A whole step, a contrast of ranks and a limit can be asked with pint quantities, of a plain float registry too."""
    floats = pint.UnitRegistry()
    found = with_pint(expect_step, UNITS)(
        VOCABULARY,
        mineral="silicon-carbide",
        hold="loose",
        carrier="plate",
        glass="borosilicate",
        entering=floats.Quantity(0.064, "millimeter"),
        grain=floats.Quantity(29, "micrometer"),
    )
    ours = expect_step(
        VOCABULARY,
        mineral="silicon-carbide",
        hold="loose",
        carrier="plate",
        glass="borosilicate",
        entering=Quantity.of("0.064", "mm"),
        grain=Quantity.of(29, "µm"),
    ).minutes
    assert ours is not None
    assert (found["minutes"].low.magnitude, found["minutes"].high.magnitude) == (ours.low, ours.high)
    assert found["unknown"] == {}
    assert with_pint(contrast, UNITS)(Quantity.of(9, "Mohs"), Quantity.of(6, "Mohs"))["mineral"] == Quantity.of(9, "Mohs")
    kelvin = with_pint(bearable_difference, UNITS)(of(30, "megapascal"), of(70, "gigapascal"), of("0.2", ""), of("0.000009", "1 / kelvin"))
    assert (kelvin.magnitude, str(kelvin.units)) == (Decimal("38.09"), "kelvin")


@pytest.mark.parametrize("wrong", [("3", "candela"), ("-4", "micrometer"), ("NaN", "micrometer")])
def test_pint_quantities_that_measure_nothing_here_are_refused(wrong: tuple[str, str]) -> None:
    """A luminous intensity, a length below nought and no number at all are refused as sentences."""
    with pytest.raises(QuantityError):
        with_pint(disc_area, UNITS)(of(*wrong))
