"""Grades that are cut by sieves, against the sieve series of the package ``fluids`` (MIT).

Its tables ``ASTM_E11_sieves`` and ``ISO_3310_1_sieves`` give openings in metres; only ``opening`` is used, since its wire diameters are
mis-scaled. Nothing finer than 635 mesh is sieved.
"""

from decimal import Decimal
from functools import cache

import pytest
from shipped_words import VOCABULARY

from finishing_kg.quantities.grades import describe_grade, grades_on
from finishing_kg.quantities.scales import designation, grain

MESH = [grade.removeprefix("mesh-") for grade in grades_on(VOCABULARY, "us-mesh")]
DIAMOND = grades_on(VOCABULARY, "fepa-d")
MACRO = [grade for grade in grades_on(VOCABULARY, "fepa-f") if grain(VOCABULARY, grade).low is not None and grain(VOCABULARY, grade).mid > 60]


@cache
def astm_e11() -> dict[int, Decimal]:
    """Openings in µm by sieve number."""
    sizes = pytest.importorskip("fluids.particle_size_distribution")
    return {
        int(sieve.old_designation.removeprefix("No. ")): Decimal(str(round(sieve.opening * 1e6, 3)))
        for sieve in sizes.ASTM_E11_sieves.values()
        if sieve.old_designation and sieve.old_designation.removeprefix("No. ").isdigit()
    }


@cache
def iso_3310() -> set[Decimal]:
    """Openings in µm of all series."""
    sizes = pytest.importorskip("fluids.particle_size_distribution")
    return {Decimal(str(round(sieve.opening * 1e6, 3))) for sieve in sizes.ISO_3310_1_sieves.values()}


@pytest.mark.parametrize("number", MESH)
def test_a_mesh_number_is_its_sieve(number: str) -> None:
    """fluids, ASTM_E11_sieves: a mesh grade passes its own sieve and stays on the next finer one."""
    openings = astm_e11()
    described = describe_grade(VOCABULARY, f"{number} mesh")
    finer = [other for other in sorted(openings) if other > int(number)]
    assert described.high == openings[int(number)]
    assert described.low == (openings[finer[0]] if finer else described.low)


@pytest.mark.parametrize("grade", DIAMOND)
def test_a_diamond_number_follows_from_its_wider_sieve(grade: str) -> None:
    """fluids, ASTM_E11_sieves, and FEPA 61's rule: the wider opening plus 1, or plus 2 where the grade spans more than two neighbouring sieves."""
    size = grain(VOCABULARY, grade)
    openings = sorted(astm_e11().values())
    assert size.low is not None
    assert size.high is not None
    spanned = openings.index(size.high) - openings.index(size.low)
    assert designation(VOCABULARY, grade) == f"D{size.high + (1 if spanned == 1 else 2):f}"


@pytest.mark.parametrize("grade", MACRO)
def test_limits_of_macro_grits_are_sieves(grade: str) -> None:
    """fluids, ISO_3310_1_sieves: both limits of the core fraction of an F grade are openings of the standard."""
    size = grain(VOCABULARY, grade)
    assert {size.low, size.high} <= iso_3310()
