"""Surface speeds against figures of the safety rules for grinding wheels.

The feet-per-minute figures are those of ANSI B7.1 and of Table O-1 of 29 CFR 1910.215; the belt range of glass is from two catalogues
of coated abrasives. Metres per second follow from the definition of the foot, 0.3048 m, and not from our own table.
"""

from decimal import Decimal
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError, read_quantity
from finishing_kg.quantities.speed import surface_speed, turning_speed

UNITS = VOCABULARY.units


def speed(diameter: str, turning: str) -> Quantity:
    """Surface speed of written quantities."""
    return surface_speed(read_quantity(diameter), read_quantity(turning), UNITS)


@pytest.mark.parametrize(("feet", "metres"), [(6500, "33.02"), (9500, "48.26"), (12000, "60.96"), (14200, "72.14"), (16000, "81.28")])
def test_surface_feet_become_metres_a_second(feet: int, metres: str) -> None:
    """ANSI B7.1: 6500 and 9500; 29 CFR 1910.215 Table O-1: 14 200 and 16 000 surface feet per minute."""
    assert round(UNITS.convert(Quantity.of(feet, "sfpm"), "m/s").mid, 2) == Decimal(metres)


@pytest.mark.parametrize(
    ("diameter", "turning", "metres", "feet"),
    [
        ("76.2 mm", "600 rpm", "2.39", 471),
        ("76.2 mm", "1300 rpm", "5.19", 1021),
        ("150 mm", "1400 rpm", "11.00", 2165),
        ("8 in", "1725 rpm", "18.35", 3613),
        ("300 mm", "600 rpm", "9.42", 1855),
        ("6 in", "3450 rpm", "27.53", 5419),
    ],
)
def test_surface_speed_is_pi_times_diameter_times_turns(diameter: str, turning: str, metres: str, feet: int) -> None:
    """v = π·D·n in m/s, and 0.2618·D·n in feet a minute for D in inches."""
    found = speed(diameter, turning)
    assert round(found.mid, 2) == Decimal(metres)
    assert UNITS.convert(found, "sfpm").mid == pytest.approx(feet, abs=1.5)


@pytest.mark.parametrize(
    ("run", "diameter", "rpm"),
    [("35 m/s", "300 mm", 2228), ("50 m/s", "125 mm", 7639), ("8 m/s", "250 mm", 611), ("15 m/s", "250 mm", 1145)],
)
def test_the_highest_turning_speed_follows_from_a_rated_speed(run: str, diameter: str, rpm: int) -> None:
    """n = v/(π·D): wheels of 35 and 50 m/s, and a belt drum at the ends of 8 to 15 m/s; cut to whole turns, since a limit is not passed."""
    assert int(turning_speed(read_quantity(diameter), read_quantity(run), UNITS).mid) == rpm


def test_a_range_of_speeds_gives_a_range_of_turns() -> None:
    """Belt on glass, 8 to 15 m/s (catalogues of coated abrasives) on a drum of 250 mm: 611 to 1146 rpm."""
    turns = turning_speed(Quantity.of(250, "mm"), Quantity.between(8, 15, "m/s"), UNITS)
    assert (turns.low, turns.high) == (pytest.approx(Decimal(611), abs=1), pytest.approx(Decimal(1146), abs=1))


@given(st.integers(1, 2000), st.integers(1, 30_000))
def test_it_equals_the_plain_formula(millimetres: int, rpm: int) -> None:
    """Four digits agree with floating-point arithmetic."""
    assert float(speed(f"{millimetres} mm", f"{rpm} rpm").mid) == pytest.approx(pi * millimetres / 1000 * rpm / 60, rel=6e-4)


@given(st.integers(5, 2000), st.integers(1, 100))
def test_turning_so_fast_never_passes_the_speed_asked_for(millimetres: int, metres: int) -> None:
    """The turning speed found, put back in the formula, stays at or below the limit and within a thousandth of it."""
    turns = turning_speed(Quantity.of(millimetres, "mm"), Quantity.of(metres, "m/s"), UNITS).mid
    back = pi * millimetres / 1000 * float(turns) / 60
    assert metres * 0.999 <= back <= metres * (1 + 1e-12)


@pytest.mark.parametrize(("diameter", "turning"), [("300 rpm", "600 rpm"), ("300 mm", "600 m/s"), ("300 ells", "600 rpm")])
def test_other_quantities_are_refused(diameter: str, turning: str) -> None:
    """A diameter is a length and a turning speed is turns in a time."""
    with pytest.raises(QuantityError):
        speed(diameter, turning)


def test_a_wheel_of_no_width_is_refused() -> None:
    """Division by nought is refused as a sentence, not as a crash."""
    with pytest.raises(QuantityError):
        turning_speed(Quantity.of(0, "mm"), Quantity.of(10, "m/s"), UNITS)
