"""Thermal stress against published figures and worked examples.

Inputs are typed in here from the sheets and the textbook named. Where a sheet prints no result, the expected value is the formula
worked by hand on the sheet's own figures; where it prints one, that is what is compared with.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.quantities.heat import EDGE, bearable_difference, thermal_stress

UNITS = VOCABULARY.units
Glass = tuple[Quantity, Quantity, Quantity]
ONE_KELVIN = Quantity.of(1, "K")


def glass(modulus: str, poisson: str, expansion: str) -> Glass:
    """Young's modulus in GPa, Poisson's ratio, expansion in 1e-6/K."""
    return Quantity.of(modulus, "GPa"), Quantity.of(poisson, "times"), Quantity.of(expansion, "µm/(m·K)")


FLOAT_EN_572 = glass("70", "0.2", "9.0")
FLOAT_BULLETIN = glass("72", "0.23", "8.3")
BOROSILICATE = glass("64", "0.2", "3.3")
SILICA = glass("72", "0.17", "0.55")


def held(name: str) -> Glass:
    """A glass as the ontology holds it."""
    found = [VOCABULARY.quantity(name, property_) for property_ in ("youngModulus", "poissonRatio", "expansion")]
    assert all(found)
    return found[0], found[1], found[2]  # type: ignore[return-value]


@pytest.mark.parametrize(
    ("material", "megapascals"),
    [
        pytest.param(FLOAT_EN_572, "0.7875", id="float by EN 572"),
        pytest.param(FLOAT_BULLETIN, "0.7761", id="float by bulletin ATS-129"),
        pytest.param(BOROSILICATE, "0.2640", id="borosilicate 3.3 by its data sheets"),
        pytest.param(SILICA, "0.04771", id="fused quartz by its data sheet"),
    ],
)
def test_stress_for_each_kelvin(material: Glass, megapascals: str) -> None:
    """E·α/(1 − ν) of published figures."""
    assert thermal_stress(*material, ONE_KELVIN, UNITS) == Quantity.of(megapascals, "MPa")


def test_the_printed_coefficient_of_thermal_stress() -> None:
    """Bulletin ATS-129 prints 0.62 MPa for each kelvin (50 psi for each °F): that is E·α, as at an edge, and not a held surface's."""
    modulus, poisson, expansion = FLOAT_BULLETIN
    printed = Decimal("0.62")
    assert Decimal(50) * Decimal("0.006894757") * Decimal("1.8") == pytest.approx(printed, abs=Decimal("0.005"))
    assert thermal_stress(modulus, EDGE, expansion, ONE_KELVIN, UNITS).mid == pytest.approx(printed, rel=Decimal("0.04"))
    assert thermal_stress(modulus, poisson, expansion, ONE_KELVIN, UNITS).mid > printed * Decimal("1.2")


@pytest.mark.parametrize(
    ("modulus", "expansion", "kelvin"),
    [pytest.param("69", "9.0", "80.51", id="soda-lime"), pytest.param("70", "3.3", "216.4", id="borosilicate")],
)
def test_the_textbook_problem_on_thermal_shock(modulus: str, expansion: str, kelvin: str) -> None:
    """Callister and Rethwisch, thermal shock at a high rate, σ/(E·α) with a strength of 50 MPa."""
    material = glass(modulus, "0", expansion)
    assert bearable_difference(Quantity.of(50, "MPa"), *material, UNITS) == Quantity.of(kelvin, "K")


@pytest.mark.parametrize(
    ("material", "strength", "kelvin"),
    [
        pytest.param(FLOAT_BULLETIN, "19", "24.4", id="float at the design stress of ATS-129"),
        pytest.param(FLOAT_EN_572, "45", "57.1", id="float at the bending strength of EN 572"),
        pytest.param(BOROSILICATE, "7", "26.5", id="borosilicate at the stress that EN 1595 permits"),
        pytest.param(BOROSILICATE, "35", "132.5", id="borosilicate at a database's flexural strength"),
    ],
)
def test_difference_that_a_published_strength_bears(material: Glass, strength: str, kelvin: str) -> None:
    """σ·(1 − ν)/(E·α), cut to a tenth since it is a limit."""
    found = bearable_difference(Quantity.of(strength, "MPa"), *material, UNITS)
    assert found.mid // Decimal("0.1") * Decimal("0.1") == Decimal(kelvin)


def test_the_printed_limit_of_borosilicate_lies_between_the_two_forms() -> None:
    """A materials database prints 160 K as the greatest shock of borosilicate: between a held surface and a bar at its 35 MPa."""
    modulus, poisson, expansion = BOROSILICATE
    strength = Quantity.of(35, "MPa")
    surface, bar = (bearable_difference(strength, modulus, ratio, expansion, UNITS).mid for ratio in (poisson, EDGE))
    assert surface < 160 < bar


def test_borosilicate_bears_three_times_what_float_bears() -> None:
    """The ontology's own figures give the ratio of the published ones, 2.98, at one strength."""
    strength = Quantity.of(30, "MPa")
    float_glass, borosilicate = (bearable_difference(strength, *held(name), UNITS).mid for name in ("soda-lime-float", "borosilicate"))
    assert borosilicate / float_glass == pytest.approx(Decimal("2.983"), rel=Decimal("0.001"))


def test_figures_of_the_ontology_are_those_of_the_sheets() -> None:
    """Float by EN 572, borosilicate 3.3 and fused quartz stress as their sheets' figures do."""
    for name, material in (("soda-lime-float", FLOAT_EN_572), ("borosilicate", BOROSILICATE), ("fused-silica", SILICA)):
        assert thermal_stress(*held(name), ONE_KELVIN, UNITS) == thermal_stress(*material, ONE_KELVIN, UNITS)


# The formulas themselves.

MODULI = st.integers(40, 120)
RATIOS = st.integers(0, 40)
EXPANSIONS = st.integers(1, 130)


@given(MODULI, RATIOS, EXPANSIONS, st.integers(1, 200))
def test_a_bearable_difference_never_stresses_beyond_the_strength(modulus: int, poisson: int, expansion: int, strength: int) -> None:
    """Put back into the formula in floating point, the difference found gives the strength within a thousandth, and never more."""
    material = glass(str(modulus), f"0.{poisson:02d}", str(Decimal(expansion) / 10))
    kelvin = bearable_difference(Quantity.of(strength, "MPa"), *material, UNITS).mid
    back = modulus * 1e9 * expansion * 1e-7 * float(kelvin) / (1 - poisson / 100) / 1e6
    assert strength * 0.998 <= back <= strength * (1 + 1e-9)


@given(MODULI, RATIOS, EXPANSIONS, st.integers(1, 300))
def test_stress_equals_the_plain_formula(modulus: int, poisson: int, expansion: int, kelvin: int) -> None:
    """Four digits agree with floating-point arithmetic."""
    material = glass(str(modulus), f"0.{poisson:02d}", str(Decimal(expansion) / 10))
    plain = modulus * 1e9 * expansion * 1e-7 * kelvin / (1 - poisson / 100) / 1e6
    assert float(thermal_stress(*material, Quantity.of(kelvin, "K"), UNITS).mid) == pytest.approx(plain, rel=6e-4)


def test_ranges_give_their_worst_and_best() -> None:
    """A wide expansion gives a wide difference: its low end is the glass that expands most."""
    opal = (Quantity.of(70, "GPa"), Quantity.of("0.22", "times"), Quantity.between(7, 10, "µm/(m·K)"))
    found = bearable_difference(Quantity.of(28, "MPa"), *opal, UNITS)
    assert (found.low, found.high) == (Decimal("31.2"), Decimal("44.57"))
    stressed = thermal_stress(*opal, ONE_KELVIN, UNITS)
    assert (stressed.low, stressed.high) == (Decimal("0.6282"), Decimal("0.8974"))


@pytest.mark.parametrize(
    ("place", "wrong"),
    [
        pytest.param(0, Quantity.of(70, "°C"), id="a modulus in degrees"),
        pytest.param(0, Quantity.of(0, "GPa"), id="no modulus"),
        pytest.param(1, Quantity.of(1, "times"), id="a Poisson ratio of 1"),
        pytest.param(1, Quantity.of("0.2", "GPa"), id="a Poisson ratio in GPa"),
        pytest.param(2, Quantity.of(0, "µm/(m·K)"), id="no expansion"),
        pytest.param(2, Quantity.of(9, "µm"), id="an expansion in micrometres"),
    ],
)
def test_what_no_glass_has_is_refused(place: int, wrong: Quantity) -> None:
    """A wrong dimension, or a value that the formula cannot take, is refused as a sentence."""
    material = list(FLOAT_EN_572)
    material[place] = wrong
    with pytest.raises(QuantityError):
        bearable_difference(Quantity.of(30, "MPa"), material[0], material[1], material[2], UNITS)


@pytest.mark.parametrize("difference", [Quantity.of(40, "°C"), Quantity.of(40, "MPa")])
def test_a_difference_is_in_kelvin(difference: Quantity) -> None:
    """A temperature is no difference of temperatures."""
    with pytest.raises(QuantityError):
        thermal_stress(*FLOAT_EN_572, difference, UNITS)
