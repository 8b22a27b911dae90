"""Glasses against the SciGlass database, a handbook, and the law on crystal glass.

``tests/data/outside/glasses.toml`` names package, table and licence; the other figures are typed in here from the sources named.
"""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity

TABLE = tomllib.loads((Path(__file__).parents[1] / "data" / "outside" / "glasses.toml").read_text(encoding="utf-8"), parse_float=Decimal)
FAMILIES = {"soda-lime-float": "soda-lime", "lead-crystal": "lead", "borosilicate": "borosilicate", "fused-silica": "silica"}
GLASSES = [glass.id for glass in VOCABULARY.things("glass")]

# The definition of the kilogram-force: 1 kgf/mm² is 9.80665 MPa, so that a Knoop number is so many gigapascals.
GPA_A_KNOOP = Decimal("9.80665") / 1000
# Property, its column of the table, and how many of our units one unit of the column is.
PERCENTILES = [
    ("knoopHardness", "microhardness_GPa", 1 / GPA_A_KNOOP),
    ("poissonRatio", "poisson", Decimal(1)),
    ("expansion", "expansion_1e-7_K", Decimal("0.1")),
    ("strainPoint", "strain_C", Decimal(1)),
    ("annealingPoint", "annealing_C", Decimal(1)),
    ("softeningPoint", "littleton_C", Decimal(1)),
]


def held(glass: str, property_: str) -> Quantity:
    """A value that the ontology holds."""
    value = VOCABULARY.quantity(glass, property_)
    assert value is not None
    return value


@pytest.mark.parametrize("glass", FAMILIES)
@pytest.mark.parametrize(("property_", "column", "scale"), PERCENTILES, ids=[row[0] for row in PERCENTILES])
def test_a_value_lies_among_most_of_its_family(glass: str, property_: str, column: str, scale: Decimal) -> None:
    """SciGlass: our middle lies between the 10th and the 90th percentile of the family."""
    found = TABLE[FAMILIES[glass]][column]
    assert found["p10"] * scale <= held(glass, property_).mid <= found["p90"] * scale


@pytest.mark.parametrize("glass", [glass for glass in FAMILIES if glass != "lead-crystal"])
def test_densities_are_those_of_the_family(glass: str) -> None:
    """SciGlass: within 2 % of the median."""
    assert held(glass, "density").mid == pytest.approx(TABLE[FAMILIES[glass]]["density_g_cm3"]["median"], rel=Decimal("0.02"))


def test_lead_crystal_is_as_dense_as_its_lead_makes_it() -> None:
    """SciGlass, 8 to 14 mol% of lead oxide: our whole range lies between the 10th and the 90th percentile."""
    found, ours = TABLE["lead"]["density_g_cm3"], held("lead-crystal", "density")
    assert found["p10"] <= ours.lowest <= ours.highest <= found["p90"]


@pytest.mark.parametrize("glass", FAMILIES)
def test_moduli_are_those_of_the_family(glass: str) -> None:
    """SciGlass: Young's modulus within 6 % of the median."""
    assert held(glass, "youngModulus").mid == pytest.approx(TABLE[FAMILIES[glass]]["young_GPa"]["median"], rel=Decimal("0.06"))


@pytest.mark.parametrize(("harder", "softer"), [("fused-silica", "soda-lime-float"), ("soda-lime-float", "lead-crystal")])
def test_hardness_ranks_glasses_as_the_medians_do(harder: str, softer: str) -> None:
    """SciGlass medians: silica 7.0 GPa, soda-lime 5.5, lead 4.4. Soda-lime and borosilicate overlap and are not compared."""
    medians = [TABLE[FAMILIES[glass]]["microhardness_GPa"]["median"] for glass in (harder, softer)]
    assert medians[0] > medians[1]
    assert held(harder, "knoopHardness").mid > held(softer, "knoopHardness").mid


@pytest.mark.parametrize("glass", GLASSES)
def test_every_glass_lies_within_what_a_handbook_gives_for_glasses(glass: str) -> None:
    """Kalpakjian and Schmid, section 8.4: modulus 55 to 90 GPa, Poisson's ratio 0.16 to 0.28, Mohs 5 to 7, bulk strength under 140 MPa."""
    assert held(glass, "youngModulus").lowest >= 55
    assert held(glass, "youngModulus").highest <= 90
    assert Decimal("0.16") <= held(glass, "poissonRatio").mid <= Decimal("0.28")
    assert held(glass, "hardness").lowest >= 5
    assert held(glass, "hardness").highest <= 7
    strength = VOCABULARY.quantity(glass, "strength")
    assert strength is None or strength.highest < 140


@pytest.mark.parametrize(("glass", "least"), [("lead-crystal", "2.90"), ("lead-free-crystal", "2.45")])
def test_crystal_has_the_density_that_the_directive_asks(glass: str, least: str) -> None:
    """Directive 69/493/EEC, annex I: lead crystal from 2.90, crystal glass without lead from 2.45 g/cm³."""
    assert held(glass, "density").lowest >= Decimal(least)


@pytest.mark.parametrize(
    ("glass", "property_", "printed"),
    [
        ("optical-crown", "knoopHardness", "610"),
        ("optical-crown", "density", "2.51"),
        ("optical-crown", "youngModulus", "82"),
        ("optical-crown", "poissonRatio", "0.206"),
        ("borosilicate", "expansion", "3.3"),
        ("borosilicate", "poissonRatio", "0.2"),
        ("borosilicate", "thermalConductivity", "1.2"),
        ("borosilicate", "annealingPoint", "560"),
        ("soda-lime-float", "youngModulus", "70"),
        ("soda-lime-float", "expansion", "9.0"),
        ("soda-lime-float", "thermalConductivity", "1.0"),
        ("soda-lime-float", "strainPoint", "511"),
        ("soda-lime-float", "annealingPoint", "548"),
        ("soda-lime-float", "softeningPoint", "715"),
        ("fused-silica", "annealingPoint", "1140"),
        ("fused-silica", "strainPoint", "1070"),
        ("fused-silica", "expansion", "0.55"),
    ],
)
def test_sourced_values_are_those_that_the_sheet_prints(glass: str, property_: str, printed: str) -> None:
    """Sheets on optical crown, borosilicate 3.3, float by EN 572 and bulletin ATS-129, fused quartz: the value, and a basis that is not memory."""
    assert held(glass, property_).mid == Decimal(printed)
    (claim,) = VOCABULARY.claims_about(glass, property_)
    assert claim.basis.kind in ("data sheet", "web page")


def test_the_hardest_float_is_the_six_gigapascals_that_a_sheet_prints() -> None:
    """A sheet by EN 572 prints Knoop 6 GPa; by the kilogram-force that is our 612."""
    assert round(held("soda-lime-float", "knoopHardness").highest * GPA_A_KNOOP, 2) == Decimal("6.00")


def test_crown_grinds_as_its_class_says() -> None:
    """ISO 12844 as a sheet prints it: crown is in class 3 of 6, below half of the fastest class, and so of middling grindability."""
    assert VOCABULARY.related("optical-crown", "hasGrindability") == ["degree-medium"]
    (claim,) = VOCABULARY.claims_about("optical-crown", "hasGrindability")
    assert claim.basis.locator is not None
    assert "HG 3" in claim.basis.locator
