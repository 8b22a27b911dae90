"""Exposure limits and other rules of safety as they are published, against what our rules and values print of them.

The figures are typed in here from 29 CFR 1910.1025 (appendix B), explanatory pages on 29 CFR 1910.1053, Table Z-3 of
29 CFR 1910.1000 as corrected in 58 FR 40191, and NIOSH and ACGIH pages on crystalline silica; none is read from our own files.
"""

import re
from decimal import Decimal

import pytest

from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule
from finishing_kg.vocabulary import Basis

KNOWLEDGE = Knowledge.shipped()
VOCABULARY = KNOWLEDGE.vocabulary

# By section of 29 CFR: exposure limit and action level over 8 h, µg/m³.
PUBLISHED = {"1910.1053": (50, 25), "1910.1025": (50, 30)}
SILICA = ["quartz-sand", "tripoli", "pumice", "emery", "rottenstone"]
CITING = [rule for rule in KNOWLEDGE.base.rules if any(section in (rule.basis.source or "") for section in PUBLISHED)]


def basis_of(thing: str, property_: str) -> Basis:
    """What a value rests on."""
    (claim,) = VOCABULARY.claims_about(thing, property_)
    return claim.basis


@pytest.mark.parametrize("section", PUBLISHED)
def test_a_rule_cites_each_section(section: str) -> None:
    """29 CFR 1910.1053 and 1910.1025 are each the basis of some rule, and cited as regulations."""
    citing = [rule for rule in CITING if section in (rule.basis.source or "")]
    assert citing
    assert all(rule.basis.kind == "regulation" for rule in citing)


@pytest.mark.parametrize("rule", CITING, ids=[rule.id for rule in CITING])
def test_a_locator_prints_the_limits_of_its_section(rule: Rule) -> None:
    """29 CFR 1910.1053: 50 and 25 µg/m³ of respirable silica; 29 CFR 1910.1025: 50 and 30 µg/m³ of lead."""
    section = next(section for section in PUBLISHED if section in (rule.basis.source or ""))
    limit, action = PUBLISHED[section]
    locator = rule.basis.locator or ""
    found = dict(re.findall(r"(exposure limit|action level) (\d+) µg/m³", locator))
    assert found
    assert {name: int(number) for name, number in found.items()}.items() <= {"exposure limit": limit, "action level": action}.items()
    assert len(re.findall(r"\d+ µg/m³", locator)) == len(found)


@pytest.mark.parametrize("mineral", SILICA)
def test_silica_has_the_limits_of_its_rule(mineral: str) -> None:
    """29 CFR 1910.1053: 50 µg/m³, action level 25; NIOSH 50 and ACGIH 25 stand in the locator."""
    assert VOCABULARY.quantity(mineral, "exposureLimit") == Quantity.of(50, "µg/m³")
    assert VOCABULARY.quantity(mineral, "actionLevel") == Quantity.of(25, "µg/m³")
    locator = basis_of(mineral, "exposureLimit").locator or ""
    assert dict(re.findall(r"(NIOSH|ACGIH) (\d+)", locator)) == {"NIOSH": "50", "ACGIH": "25"}


def test_lead_has_the_limits_of_its_rule() -> None:
    """29 CFR 1910.1025: 50 µg/m³, action level 30."""
    assert VOCABULARY.quantity("lead-crystal", "exposureLimit") == Quantity.of(50, "µg/m³")
    assert VOCABULARY.quantity("lead-crystal", "actionLevel") == Quantity.of(30, "µg/m³")


@pytest.mark.parametrize(("hours", "limit"), [(8, 50), (10, 40)])
def test_a_longer_day_lowers_the_limit_for_lead(hours: int, limit: int) -> None:
    """29 CFR 1910.1025, appendix B: over 8 hours the limit is 400 divided by the hours, 40 µg/m³ for a day of 10."""
    printed = re.search(r"(\d+) divided by the hours", basis_of("lead-crystal", "exposureLimit").locator or "")
    assert printed
    assert Decimal(printed.group(1)) / hours == limit


GENERIC = [
    mineral.id
    for mineral in VOCABULARY.things("mineral")
    if (value := VOCABULARY.quantity(mineral.id, "exposureLimit")) and value.unit == "mg/m³" and value.mid == 15
]


@pytest.mark.parametrize("mineral", GENERIC)
def test_other_dust_has_the_limit_for_dust_not_listed(mineral: str) -> None:
    """29 CFR 1910.1000, Table Z-3 (58 FR 40191): inert or nuisance dust, total 15 and respirable 5 mg/m³, as our locators print them."""
    basis = basis_of(mineral, "exposureLimit")
    assert basis.kind in ("regulation", "web page")
    if "1910.1000" in (basis.source or ""):
        assert "; 5 for the respirable part" in (basis.locator or "")


def test_most_minerals_are_such_dust() -> None:
    """Diamond, silicon carbide, aluminium oxide, garnet and cerium oxide are among what no table lists by name."""
    assert {"diamond", "silicon-carbide", "aluminium-oxide", "garnet", "cerium-oxide", "iron-oxide", "glass-bead"} <= set(GENERIC)
    assert not set(SILICA) & set(GENERIC)


def test_a_microgram_is_a_thousandth_of_a_milligram() -> None:
    """NIOSH prints its limit for silica as 0.05 mg/m³: our 50 µg/m³."""
    limit = VOCABULARY.quantity("quartz-sand", "exposureLimit")
    assert limit is not None
    assert VOCABULARY.units.convert(limit, "mg/m³") == Quantity.of("0.05", "mg/m³")


def test_the_ban_on_blasting_with_sand_is_a_rule_of_safety() -> None:
    """HSE operational circular OC 273/18: sand and other free silica are prohibited for blasting; a rule that nobody may override cites it."""
    assert VOCABULARY.holds("quartz-sand", "holdsCrystallineSilica")
    assert any("OC 273/18" in (rule.basis.source or "") and rule.safety for rule in KNOWLEDGE.base.rules)
