"""Quantities: reading, printing and converting."""

from decimal import Decimal
from itertools import permutations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError, Units, read_quantity

UNITS: Units = VOCABULARY.units
SYMBOLS = sorted(UNITS.by_symbol)
PAIRS = [(a, b) for a, b in permutations(SYMBOLS, 2) if UNITS.by_symbol[a].dimension == UNITS.by_symbol[b].dimension and UNITS.by_symbol[a].pint]

numbers = st.decimals(min_value=0, max_value=999_999, allow_nan=False, allow_infinity=False, places=4)
units = st.sampled_from(SYMBOLS)


@st.composite
def ranges(draw: st.DrawFn) -> Quantity:
    """A range, its middle stated or not."""
    low, mid, high = sorted(draw(st.tuples(numbers, numbers, numbers)))
    return Quantity.between(low, high, draw(units), draw(st.sampled_from([None, mid])))


@given(st.one_of(st.builds(Quantity, numbers, units), ranges()))
def test_a_printed_quantity_reads_back(quantity: Quantity) -> None:
    """Whatever is printed is read as the same quantity."""
    assert read_quantity(str(quantity)) == quantity


@given(st.integers(0, 999), st.integers(0, 9_999), units)
def test_a_comma_in_a_number_is_refused(whole: int, rest: int, unit: str) -> None:
    """A decimal comma is never taken, neither as a point nor as a thousands mark, and the repair can be read."""
    with pytest.raises(QuantityError) as refused:
        read_quantity(f"{whole},{rest} {unit}")
    assert read_quantity(refused.value.repair) == Quantity(Decimal(f"{whole}.{rest}"), unit)


@pytest.mark.parametrize("text", ["", "µm", "60", "-5 µm", "1e3 µm", "six µm", "9 to 3 µm", "3 to µm", "5 (6 to 9) µm", "1.5.2 µm", "٣ µm x 4 5"])
def test_what_is_no_quantity_is_refused(text: str) -> None:
    """Text without number, without unit, with a sign, an exponent or ends that run backwards is refused."""
    with pytest.raises(QuantityError):
        UNITS.settle(read_quantity(text))


@pytest.mark.parametrize("text", ["9 to 3 µm", "60 furlongs", "60 rpm"])
def test_a_refusal_offers_a_length_that_would_be_accepted(text: str) -> None:
    """The repair offered for a bad length is itself a length."""
    with pytest.raises(QuantityError) as refused:
        UNITS.settle(read_quantity(text), ("µm",))
    assert UNITS.settle(read_quantity(refused.value.repair), ("µm",)).unit == "µm"


def test_there_are_pairs_to_compare() -> None:
    """The table holds several units of length and of speed, so that the comparison below compares something."""
    assert {("mm", "µm"), ("in", "mm"), ("sfpm", "m/s")} <= set(PAIRS)


@pytest.mark.parametrize(("source", "target"), PAIRS)
def test_conversion_equals_pints(source: str, target: str) -> None:
    """Every pair of units of one dimension converts by the factor that the library pint gives."""
    registry = pint.UnitRegistry(non_int_type=Decimal)
    for magnitude in (Decimal("0.0375"), Decimal(1), Decimal(1200)):
        ours = UNITS.convert(Quantity(magnitude, source), target).mid
        theirs = registry.Quantity(magnitude, UNITS.by_symbol[source].pint).to(UNITS.by_symbol[target].pint).magnitude
        assert abs(ours / theirs - 1) < Decimal("1e-24")


@pytest.mark.parametrize("symbol", [s for s in SYMBOLS if UNITS.by_symbol[s].pint])
def test_pint_knows_every_unit_of_measure_by_its_name(symbol: str) -> None:
    """The name for pint beside each unit is one that pint reads, and the number passes unchanged."""
    assert UNITS.to_pint(Quantity(Decimal("2.5"), symbol)).magnitude == Decimal("2.5")


@given(numbers, st.sampled_from(PAIRS))
def test_converting_there_and_back_changes_nothing(number: Decimal, pair: tuple[str, str]) -> None:
    """A value converted to another unit and back is the same to twenty digits."""
    source, target = pair
    back = UNITS.convert(UNITS.convert(Quantity(number, source), target), source).mid
    assert abs(back - number) <= abs(number) * Decimal("1e-20")


def test_units_of_different_dimensions_do_not_convert() -> None:
    """A speed is no length, whatever the numbers are."""
    with pytest.raises(QuantityError):
        UNITS.convert(Quantity.of(1, "m/s"), "mm")


def test_a_rank_is_no_unit_of_measure() -> None:
    """Mohs' scale ranks: it goes into no calculation."""
    with pytest.raises(QuantityError):
        UNITS.to_pint(Quantity.of(7, "Mohs"))


@pytest.mark.parametrize("spelling", ["µm", "um", "micron", "Microns", "micrometre"])
def test_spellings_settle_on_one_symbol(spelling: str) -> None:
    """Every spelling of a unit gives the same quantity."""
    assert UNITS.settle(read_quantity(f"6 {spelling}")) == Quantity.of(6, "µm")
