"""Grain sizes against published tables. The values are typed in here from the sources named, not read from our own files."""

from decimal import Decimal

import pytest
from shipped_words import VOCABULARY

from finishing_kg.quantities.grades import describe_grade, grades_on, grain

# FEPA 42-D-1986: openings in µm of the two sieves between which some 80 % of a macro grit lies.
FEPA_42 = {
    "F4": (4000, 5600), "F5": (3350, 4750), "F6": (2800, 4000), "F7": (2360, 3350), "F8": (2000, 2800), "F10": (1700, 2360),
    "F12": (1400, 2000), "F14": (1180, 1700), "F16": (1000, 1400), "F20": (850, 1180), "F22": (710, 1000), "F24": (600, 850),
    "F30": (500, 710), "F36": (425, 600), "F40": (355, 500), "F46": (300, 425), "F54": (250, 355), "F60": (212, 300),
    "F70": (180, 250), "F80": (150, 212), "F90": (125, 180), "F100": (106, 150), "F120": (90, 125), "F150": (63, 106),
    "F180": (63, 90), "F220": (53, 75),
}  # fmt: skip

# ISO 6344-2 (P12 to P220: means) and ISO 6344-3 (P240 to P2500: medians), µm.
ISO_6344 = {
    12: "1815", 16: "1324", 20: "1000", 24: "764", 30: "642", 36: "538", 40: "425", 50: "336", 60: "269", 80: "201", 100: "162", 120: "125",
    150: "100", 180: "82", 220: "68", 240: "58.5", 280: "52.2", 320: "46.2", 360: "40.5", 400: "35.0", 500: "30.2", 600: "25.8", 800: "21.8",
    1000: "18.3", 1200: "15.3", 1500: "12.6", 2000: "10.3", 2500: "8.4",
}  # fmt: skip

# ANSI B74.18 (coated), average particle size in µm.
ANSI_COATED = {60: "265", 80: "190", 100: "140", 120: "115", 150: "92", 180: "82", 220: "68", 240: "53.0", 320: "36.0", 400: "23.0", 600: "16.0"}

# JIS R 6001:1987, fine powders by electrical resistance, µm: largest d3, median, smallest d94.
JIS_R_6001 = {
    240: ("103", "57.0", "40"), 280: ("87", "48.0", "33"), 320: ("74", "40.0", "27"), 360: ("66", "35.0", "23"), 400: ("58", "30.0", "20"),
    500: ("50", "25.0", "16"), 600: ("43", "20.0", "13"), 700: ("37", "17.0", "11"), 800: ("31", "14.0", "9.0"), 1000: ("27", "11.5", "7.0"),
    1200: ("23", "9.5", "5.5"), 1500: ("20", "8.0", "4.5"), 2000: ("17", "6.7", "4.0"), 2500: ("14", "5.5", "3.0"), 3000: ("11", "4.0", "2.0"),
    4000: ("8.0", "3.0", "1.3"), 6000: ("5.0", "2.0", "0.8"), 8000: ("3.5", "1.2", "0.6"),
}  # fmt: skip

# ASTM E11: openings in µm by sieve number.
ASTM_E11 = {
    20: 850, 25: 710, 30: 600, 35: 500, 40: 425, 45: 355, 50: 300, 60: 250, 70: 212, 80: 180, 100: 150, 120: 125, 140: 106, 170: 90, 200: 75,
    230: 63, 270: 53, 325: 45, 400: 38, 450: 32, 500: 25, 635: 20,
}  # fmt: skip

# FEPA 61 / ISO 6106: D number to mesh pair and sieve openings in µm.
FEPA_61 = {
    301: ("50/60", 250, 300), 251: ("60/70", 212, 250), 213: ("70/80", 180, 212), 181: ("80/100", 150, 180), 151: ("100/120", 125, 150),
    126: ("120/140", 106, 125), 107: ("140/170", 90, 106), 91: ("170/200", 75, 90), 76: ("200/230", 63, 75), 64: ("230/270", 53, 63),
    54: ("270/325", 45, 53), 46: ("325/400", 38, 45),
}  # fmt: skip


@pytest.mark.parametrize(("name", "limits"), FEPA_42.items())
def test_macro_f_grades_have_the_sieve_limits_of_fepa_42(name: str, limits: tuple[int, int]) -> None:
    """F4 to F220: the core fraction lies between the published sieves."""
    described = describe_grade(VOCABULARY, name)
    assert (described.low, described.high) == limits
    assert described.range_kind == "core sieve fraction"


@pytest.mark.parametrize("number", [name[1:] for name in FEPA_42 if name not in ("F4", "F5", "F6", "F7", "F22", "F40")])
def test_macro_grades_are_alike_in_ansi_b74_12_and_jis(number: str) -> None:
    """ANSI B74.12-2001 and JIS R 6001:1987 share the FEPA macro limits at the sizes that they share (trade association's comparison)."""
    for name in (f"ANSI bonded {number}", f"JIS #{number}"):
        described = describe_grade(VOCABULARY, name)
        assert (described.low, described.high) == FEPA_42[f"F{number}"]


@pytest.mark.parametrize("name", ["ANSI bonded 22", "ANSI bonded 40", "JIS 4", "JIS 7", "JIS 22", "JIS 40"])
def test_sizes_that_a_scale_lacks_are_lacking(name: str) -> None:
    """ANSI and JIS have no 22 and no 40, and JIS begins at 8 (the same comparison)."""
    with pytest.raises(ValueError, match="no such grade"):
        describe_grade(VOCABULARY, name)


@pytest.mark.parametrize(("number", "size"), ISO_6344.items())
def test_p_grades_have_the_sizes_of_iso_6344(number: int, size: str) -> None:
    """P12 to P220 by mean, P240 to P2500 by median."""
    assert describe_grade(VOCABULARY, f"P{number}").mid == Decimal(size)


@pytest.mark.parametrize(("number", "size"), ANSI_COATED.items())
def test_coated_ansi_grades_have_the_published_means(number: int, size: str) -> None:
    """ANSI B74.18 as two open tables give it."""
    assert describe_grade(VOCABULARY, f"ANSI {number}").mid == Decimal(size)


@pytest.mark.parametrize(("number", "row"), JIS_R_6001.items())
def test_fine_jis_grades_have_the_values_of_jis_r_6001(number: int, row: tuple[str, str, str]) -> None:
    """#240 to #8000: largest d3, median and smallest d94 by electrical resistance."""
    described = describe_grade(VOCABULARY, f"JIS #{number}")
    assert (described.high, described.mid, described.low) == tuple(map(Decimal, row))


@pytest.mark.parametrize(("coarse", "fine"), list(zip(ASTM_E11, list(ASTM_E11)[1:], strict=False)))
def test_mesh_grades_lie_between_neighbouring_sieves_of_astm_e11(coarse: int, fine: int) -> None:
    """A mesh number stands for what passes its sieve and stays on the next."""
    described = describe_grade(VOCABULARY, f"{coarse} mesh")
    assert (described.low, described.high) == (ASTM_E11[fine], ASTM_E11[coarse])


@pytest.mark.parametrize(("number", "row"), FEPA_61.items())
def test_diamond_grades_have_the_sieves_of_fepa_61(number: int, row: tuple[str, int, int]) -> None:
    """D46 to D301: limits, mesh pair, and the number itself is the wider opening plus 1."""
    pair, low, high = row
    described = describe_grade(VOCABULARY, f"D{number}")
    assert (described.low, described.high) == (low, high)
    assert number == high + 1
    assert f"D{number}" in {other.designation for other in describe_grade(VOCABULARY, pair).others}


def test_every_macro_limit_is_an_opening_of_the_standard_sieves() -> None:
    """No limit below 850 µm was mistyped: each is an opening of ASTM E11."""
    openings = set(ASTM_E11.values())
    for scale in ("fepa-d", "us-mesh"):
        for grade in grades_on(VOCABULARY, scale):
            size = grain(VOCABULARY, grade)
            assert {end for end in (size.low, size.high) if end is not None and end <= 850} <= openings


def test_one_number_means_sizes_far_apart() -> None:
    """P600 25.8, coated ANSI 600 16.0, JIS #600 20.0 µm; the first two stand 1.61 to 1 (two open tables and JIS R 6001)."""
    p, ansi, jis = (describe_grade(VOCABULARY, name).mid for name in ("P600", "ANSI 600", "JIS 600"))
    assert round(p / ansi, 2) == Decimal("1.61")
    assert (p, ansi, jis) == (Decimal("25.8"), Decimal(16), Decimal(20))
