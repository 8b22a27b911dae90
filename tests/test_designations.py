"""What a text can be as a grade, before any grade is looked up: by hand, from how makers write."""

import re

import pytest
from inputs import UNITS
from shipped_words import VOCABULARY

from finishing_kg.measure import QuantityError
from finishing_kg.quantities import UnknownGrade, describe_grade, designation, grain, read_grade, refusal
from finishing_kg.quantities.designations import ALL_SCALES, tidy, ways_of_writing

F, P, D, PUMICE = ("fepa-f",), ("fepa-p",), ("fepa-d",), ("pumice-grades",)
GRIT = tuple(scale for scale in ALL_SCALES if scale not in ("fepa-d", "pumice-grades", "micron"))
JIS_FIRST = ("jis", *(scale for scale in GRIT if scale != "jis"))

WRITTEN = [
    ("F220", [(F, "220", False)]),
    ("fepa f 220", [(F, "220", False)]),
    ("f-0220", [(F, "220", False)]),
    ("P400", [(P, "400", False)]),
    ("FEPA-P 400", [(P, "400", False)]),
    ("D126", [(D, "126", False)]),
    ("B126", [(D, "126", False)]),
    ("ANSI coated 120", [(("ansi-coated",), "120", False)]),
    ("CAMI 120", [(("ansi-coated",), "120", False)]),
    ("ANSI bonded 120", [(("ansi-bonded",), "120", False)]),
    ("ansi loose 120", [(("ansi-bonded",), "120", False)]),
    ("ANSI 120", [(("ansi-coated", "ansi-bonded"), "120", False)]),
    ("JIS #1000", [(("jis",), "1000", False)]),
    ("120 mesh", [(("us-mesh",), "120", False)]),
    ("US mesh 120", [(("us-mesh",), "120", False)]),
    ("2 pumice", [(PUMICE, "2", False)]),
    ("pumice 2", [(PUMICE, "2", False)]),
    ("2F", [(PUMICE, "2F", False)]),
    ("2 f pumice", [(PUMICE, "2F", False)]),
    ("1 f pumice", [(PUMICE, "F", False)]),
    ("F", [(PUMICE, "F", False)]),
    ("FF", [(PUMICE, "2F", False)]),
    ("fff", [(PUMICE, "3F", False)]),
    ("FFFF", [(PUMICE, "4F", False)]),
    ("1/2", [(PUMICE, "half", False)]),
    ("½ pumice", [(PUMICE, "half", False)]),
    ("1½ pumice", [(PUMICE, "1-half", False)]),
    ("no. 0 pumice", [(PUMICE, "0", False)]),
    ("000 pumice", [(PUMICE, "F", False)]),
    ("120/140", [(("us-mesh", "fepa-d"), "120/140", False)]),
    ("120 / 140 mesh", [(("us-mesh", "fepa-d"), "120/140", False)]),
    ("400", [(ALL_SCALES, "400", True)]),
    ("0400", [(ALL_SCALES, "400", True)]),
    ("400 grit", [(GRIT, "400", True)]),
    ("grit 400", [(GRIT, "400", True)]),
    ("400-grid", [(GRIT, "400", True)]),
    ("#400", [(JIS_FIRST, "400", True)]),
    ("6 µm", [(("micron", "fepa-d", "us-mesh"), "6", False)]),
    ("0.006 mm", [(("micron", "fepa-d", "us-mesh"), "6", False)]),
    ("banana", []),
    ("", []),
    ("400 belt", []),
]


def _is_well_written(why: str) -> bool:
    """Whether names and letters of scales stand in capitals and nothing else does, with nothing around it."""
    return not re.search(r"\b(fepa|jis|ansi|d numbers?)\b|letters? [a-z]\b|[A-Z]{5}|XX|\s\s|^\s|\s$", why)


@pytest.mark.parametrize(("text", "ways"), WRITTEN)
def test_a_text_is_taken_as_makers_write(text: str, ways: list[tuple[tuple[str, ...], str, bool]]) -> None:
    """Letters name a scale, a bare number is looked for on all, grit on those of grits, and a size on those that are told by size."""
    found = ways_of_writing(UNITS, text)
    assert [(way.scales, way.name, way.bare) for way in found] == ways
    for way in found:
        assert re.match(r'(the|JIS|ANSI|pumice|letters|two|"grit") ', way.why) and re.search("[a-z0-9]$", way.why)
        assert _is_well_written(way.why)
        assert ("pumice is named" in way.why) is ("pumice" in text)
        assert (way.size is not None) is text.endswith("m")


@pytest.mark.parametrize("text", ["3-6 µm", "3 – 6 µm", "3 to 6 µm", "0.003-0.006 mm"])
def test_a_span_has_both_of_its_ends(text: str) -> None:
    """However the two ends of a size are joined, both are read, in µm."""
    (way,) = ways_of_writing(UNITS, text)
    assert way.size is not None and way.size.low is not None and way.size.high is not None
    assert (f"{way.size.low.normalize():f}", f"{way.size.high.normalize():f}", way.size.unit) == ("3", "6", "µm")


@pytest.mark.parametrize("text", ["6 rpm", "1,5 µm"])
def test_a_size_that_is_no_length_or_has_a_comma_is_refused(text: str) -> None:
    """A size that cannot be one is told as such, and not as an unknown grade."""
    with pytest.raises(QuantityError):
        ways_of_writing(UNITS, text)


LABEL = {scale.id: scale.label for scale in VOCABULARY.things("grading scale")}


@pytest.mark.parametrize(
    ("text", "why", "nearest"),
    [
        ("F221", f"There is no such grade in {LABEL['fepa-f']}.", ["F220", "F230"]),
        ("P402", f"There is no such grade in {LABEL['fepa-p']}.", ["P400", "P360"]),
        ("ANSI 99999", f"There is no such grade in {LABEL['ansi-coated']} or {LABEL['ansi-bonded']}.", None),
        ("banana", "This is not written like a grade of any scale.", []),
        ("6 rpm", "This is no grain size: rpm measures turning speed, not length. Write '6 µm'.", []),
        ("  a   " + "b" * 100, "This is not written like a grade of any scale.", []),
    ],
)
def test_what_is_no_grade_says_why_and_what_is_near(text: str, why: str, nearest: list[str] | None) -> None:
    """The scales that were looked on are named, and the grades nearest by number, as a ratio, come first."""
    told = refusal(VOCABULARY, text)
    assert told.why == why and (nearest is None or list(told.nearest) == nearest)
    assert told.text == " ".join(text.split())[:60]
    with pytest.raises(UnknownGrade, match=re.escape(why)):
        describe_grade(VOCABULARY, text)


def test_a_slip_in_a_grade_offers_three_at_most() -> None:
    """Of all grades with one letter mistyped some have three near ones, none has more, and each offer is a grade that exists."""
    counts = set()
    for grade in VOCABULARY.things("grade"):
        told = refusal(VOCABULARY, f"{grade.label}q")
        if "not written" in told.why:
            counts.add(len(told.nearest))
            assert all(read_grade(VOCABULARY, near) for near in told.nearest)
    assert max(counts) == 3


@pytest.mark.parametrize("text", ["400", "120", "600 grit", "#1000", "2000", "220"])
def test_a_description_is_of_the_likeliest_grade_for_mineral_and_hold(text: str) -> None:
    """What is told of a text is told of the first reading, the others are named beside it, whatever it is said of."""
    found = set()
    for mineral in (None, "diamond", "silicon-carbide", "aluminium-oxide"):
        for hold in (None, "loose", "coated", "resin-bond"):
            first, *others = read_grade(VOCABULARY, text, mineral, hold)
            told = describe_grade(VOCABULARY, text, mineral, hold)
            assert (told.grade, told.why, told.system) == (first.grade, first.why, LABEL[first.scale])
            assert told.designation == designation(VOCABULARY, first.grade) and told.mid == grain(VOCABULARY, first.grade).mid
            assert [(each.system, each.designation, each.mid) for each in told.others] == [
                (LABEL[other.scale], designation(VOCABULARY, other.grade), grain(VOCABULARY, other.grade).mid) for other in others
            ]
            for why in (told.why, *(each.why for each in told.others)):
                assert why.startswith("Read as ") and why.endswith(".") and _is_well_written(why)
                assert "None" not in why and "grain grain" not in why
            found.add(told.grade)
    assert len(found) > 1


_SPREAD = "and over the scales that have it the grain runs from"
SAID = [
    ("400", None, None, "F400", f"FEPA F: the number is bare, {_SPREAD} 17.3 to 35 µm.", "P400, ANSI 400, ANSI bonded 400, JIS 400, 400 mesh"),
    ("400", "silicon-carbide", "coated", "P400", "FEPA P: the number is bare, and this scale serves for coated grain.", None),
    ("400", "diamond", "resin-bond", "400 mesh", "US mesh: the number is bare, and this scale serves for diamond.", None),
    ("400", "aluminium-oxide", "loose", "F400", "FEPA F: the number is bare, and this scale serves for loose grain.", None),
    (
        "3000", "diamond", "resin-bond", "JIS 3000",
        f"JIS: no sieve has this number, and such discs run on mostly as JIS does, {_SPREAD} 4 to 6.5 µm.", "P3000",
    ),
    ("5000", "diamond", "resin-bond", "P5000", "FEPA P: the number is bare.", ""),
    ("#400", None, None, "JIS 400", f"JIS: the mark # is JIS's own, though any number may be sold with it, {_SPREAD} 17.3 to 35 µm.", None),
    ("9 µm", None, None, "9 µm", "micron grades: the size itself is given.", ""),
    ("106-125 µm", None, None, "D126", "FEPA D: the size itself is given.", "120 mesh"),
    ("120/140", None, None, "120 mesh", "US mesh: two sieve numbers bound the grain.", "D126"),
    ("2", "pumice", None, "2 pumice", "pumice grades: the number is bare, and this scale serves for pumice.", "2 µm"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "mineral", "hold", "shown", "why", "others"), SAID)
def test_what_is_told_of_a_grade(text: str, mineral: str | None, hold: str | None, shown: str, why: str, *, others: str | None) -> None:
    """The scale that mineral and hold lead to, why, and between which sizes the other readings lie."""
    told = describe_grade(VOCABULARY, text, mineral, hold)
    assert (told.designation, told.why) == (shown, f"Read as {why}")
    if others is not None:
        assert ", ".join(other.designation for other in told.others) == others


@pytest.mark.parametrize(
    ("text", "mineral", "hold", "scales", "nearest"),
    [
        ("401", None, "coated", "FEPA P", "P400, P360"),
        ("99 grit", None, None, "FEPA F or FEPA P", "F100, F90, P100, P120"),
        ("7 µm", None, None, "micron grades or FEPA D", "8 µm, 6 µm, 9 µm"),
        ("7 µm", "diamond", "resin-bond", "micron grades or FEPA D", "8 µm, 6 µm, 9 µm"),
        ("999", "diamond", "resin-bond", "FEPA D or micron grades", "D1001, D852, 74 µm, 60 µm"),
        ("F2001", "silicon-carbide", "coated", "FEPA F", "F2000, F1500"),
        ("2001", "pumice", "loose", "pumice grades", "2 pumice, 1 pumice"),
        ("0.3 µm", None, None, "micron grades or FEPA D", "0.5 µm, 1 µm, 1.5 µm"),
        ("5F", None, None, "pumice grades", "F pumice, 4F"),
        ("121/141", None, None, "US mesh or FEPA D", "120 mesh, 140 mesh"),
        ("999", None, None, "FEPA F or FEPA P", "F1000, F1200, P1000, P1200"),
    ],
)
def test_the_nearest_is_near_as_a_ratio(text: str, mineral: str | None, hold: str | None, scales: str, nearest: str) -> None:
    """Two grades a scale by number, three by size: 7 µm is nearer to 8 than to 6, for 8/7 is less than 7/6.

    Mineral and hold decide only where the scale was left open.
    """
    told = refusal(VOCABULARY, text, mineral, hold)
    assert (told.why, ", ".join(told.nearest)) == (f"There is no such grade in {scales}.", nearest)


def test_a_grade_that_nobody_knows_has_no_size() -> None:
    """Who asks for the size of what is no grade is told so, with the nearest where there are any."""
    with pytest.raises(UnknownGrade) as told:
        grain(VOCABULARY, "nobody")
    assert str(told.value) == "'nobody': No grain size is known for it." and told.value.nearest == ()
    assert str(UnknownGrade("F221", "Why.", ["F220", "F230"])) == "'F221': Why. Nearest: F220, F230."


def test_one_spelling_of_a_text() -> None:
    """Small letters, single spaces, one µ, fractions written out, and no more than eighty characters."""
    assert tidy("  6\t ΜM ") == "6 µm"
    assert tidy("1½ Pumice") == "1 1/2 pumice"
    assert tidy("F²") == "f2"
    assert len(tidy("x" * 100)) == 80
