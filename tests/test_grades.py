"""Grades: reading what makers write, saying what else it could mean, and refusing what does not exist."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shipped_words import VOCABULARY

from finishing_kg.places import shipped
from finishing_kg.quantities import comparing, find_scale, nearest_on
from finishing_kg.quantities.grades import (
    UnknownGrade,
    describe_grade,
    designation,
    grades_on,
    grain,
    nearest_of_size,
    read_grade,
    refusal,
    scale_for,
    scales_for,
    stocked,
)
from finishing_kg.vocabulary import Basis, Claim, Vocabulary, load_vocabulary

# What these tests need of minerals and holds, so that they stand whatever else the ontology says of them.
GRADED = {
    "test-diamond": ("fepa-d", "micron"),
    "test-carbide": ("fepa-f", "fepa-p"),
    "test-pumice": ("pumice-grades",),
    "test-loose": ("fepa-f",),
    "test-coated": ("fepa-p",),
}
_SHIPPED = VOCABULARY
_ADDED = [Claim("isGradedIn", thing, scale, Basis("common practice")) for thing, scales in GRADED.items() for scale in scales]
VOCABULARY = replace(_SHIPPED, claims=(*_SHIPPED.claims, *_ADDED))
SCALES = [name.id for name in VOCABULARY.things("grading scale")]
GRADES = [name.id for name in VOCABULARY.things("grade")]


def first(text: str, mineral: str | None = None, hold: str | None = None) -> str:
    """Id of the likeliest reading."""
    return read_grade(VOCABULARY, text, mineral, hold)[0].grade


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("F220", "F220"),
        ("f 220", "F220"),
        ("FEPA F220", "F220"),
        ("P600", "P600"),
        ("p 600", "P600"),
        ("ANSI 600", "ANSI-600"),
        ("CAMI 600", "ANSI-600"),
        ("ANSI bonded 220", "ANSI-bonded-220"),
        ("JIS 1000", "JIS-1000"),
        ("JIS #1000", "JIS-1000"),
        ("D126", "D126"),
        ("B126", "D126"),
        ("120 mesh", "mesh-120"),
        ("mesh 120", "mesh-120"),
        ("120/140", "mesh-120"),
        ("120/140 mesh", "mesh-120"),
        ("60/80", "D252"),
        ("6 µm", "micron-6"),
        ("6 μm", "micron-6"),  # the Greek letter instead of the micro sign
        ("6um", "micron-6"),
        ("6 micron", "micron-6"),
        ("0.006 mm", "micron-6"),
        ("4-8 µm", "micron-6"),
        ("4 to 8 µm", "micron-6"),
        ("6 µm diamond", "micron-6"),
        ("4.5 µm", "micron-4.5"),
        ("F", "pumice-F"),
        ("1F", "pumice-F"),
        ("2F", "pumice-2F"),
        ("FF", "pumice-2F"),
        ("FFFF", "pumice-4F"),
        ("2F pumice", "pumice-2F"),
        ("1/2 pumice", "pumice-half"),
        ("½ pumice", "pumice-half"),
        ("1½ pumice", "pumice-1-half"),
        ("pumice 0", "pumice-0"),
        ("2 pumice", "pumice-2"),
    ],
)
def test_a_grade_is_read_as_makers_write_it(text: str, grade: str) -> None:
    """The usual ways of writing a grade lead to it."""
    assert first(text) == grade


@pytest.mark.parametrize("grade", GRADES)
def test_every_name_of_a_grade_leads_to_it(grade: str) -> None:
    """Label, alternative labels and printed designation of each grade are read as that grade first."""
    name = VOCABULARY.names[grade]
    for text in (name.label, *name.alternatives, designation(VOCABULARY, grade)):
        assert first(text) == grade, text


@pytest.mark.parametrize(
    ("text", "mineral", "hold", "grade"),
    [
        ("400", "test-carbide", "test-loose", "F400"),
        ("400", "test-carbide", "test-coated", "P400"),
        ("400", None, "test-coated", "P400"),
        ("400 grit", None, "test-coated", "P400"),
        ("400", "test-diamond", "test-coated", "mesh-400"),
        ("#400", "test-diamond", None, "mesh-400"),
        ("126", "test-diamond", None, "D126"),
        ("30", "test-diamond", None, "mesh-30"),
        ("6", "test-diamond", None, "micron-6"),
        ("600", "test-diamond", None, "JIS-600"),
        ("2", "test-pumice", None, "pumice-2"),
        ("400", None, None, "F400"),
        ("400 grit", None, None, "F400"),
        ("#400", None, None, "JIS-400"),
        ("ANSI 400", None, "test-loose", "ANSI-bonded-400"),
        ("ANSI 400", None, "test-coated", "ANSI-400"),
        ("F400", None, "test-coated", "F400"),
    ],
)
def test_mineral_and_hold_decide_a_bare_number(text: str, mineral: str | None, hold: str | None, grade: str) -> None:
    """A number without its scale goes by what it is said of; a named scale is never overruled."""
    assert first(text, mineral, hold) == grade


@pytest.mark.parametrize(
    ("mineral", "hold", "grade"),
    [
        ("diamond", "plated", "mesh-400"),
        ("diamond", "loose", "mesh-400"),
        ("silicon-carbide", "loose", "F400"),
        ("silicon-carbide", "coated", "P400"),
        ("aluminium-oxide", "vitrified-bond", "F400"),
        ("garnet", "air-borne", "F400"),
    ],
)
def test_the_shipped_minerals_and_holds_decide_a_bare_number(mineral: str, hold: str, grade: str) -> None:
    """What the ontology itself says of minerals and holds takes a bare 400 as the trade takes it."""
    read = read_grade(_SHIPPED, "400", mineral, hold)[0]
    assert read.grade == grade
    assert any(_SHIPPED.names[thing].label in read.why for thing in (mineral, hold))


def test_a_bare_number_tells_its_other_meanings() -> None:
    """A bare 400 says how it was taken and lists the other scales with their sizes."""
    taken = describe_grade(VOCABULARY, "400")
    others = {other.designation: other.system for other in taken.others}
    assert others.items() >= {"P400": "FEPA P", "ANSI 400": "ANSI coated", "JIS 400": "JIS", "400 mesh": "US mesh"}.items()
    assert all(grain(VOCABULARY, read_grade(VOCABULARY, other.designation)[0].grade).mid == other.mid for other in taken.others)
    assert "bare" in taken.why
    assert "17.3 to 35" in taken.why


def test_a_named_scale_leaves_no_other_meaning() -> None:
    """P600 means one thing."""
    assert [read.grade for read in read_grade(VOCABULARY, "P600")] == ["P600"]


@pytest.mark.parametrize(
    ("text", "nearest"),
    [
        ("F9999", "F2000"),
        ("P610", "P600"),
        ("D120", "D126"),
        ("JIS 900", "JIS 1000"),
        ("7 µm", "6 µm"),
        ("600 mesh", "500 mesh"),
        ("120/150", "120 mesh"),
        ("00 pumice", "0 pumice"),
        ("5F", "4F"),
        ("99999", "F2000"),
    ],
)
def test_a_grade_that_does_not_exist_names_the_nearest(text: str, nearest: str) -> None:
    """An unknown grade is refused with designations that exist, the near one among them."""
    with pytest.raises(UnknownGrade) as refused:
        describe_grade(VOCABULARY, text)
    assert nearest in refused.value.nearest
    assert refused.value.text == text
    assert all(read_grade(VOCABULARY, near) for near in refused.value.nearest)


@pytest.mark.parametrize("text", ["", "banana", "1,5 µm", "60 rpm", "0 µm", "F0", "9" * 400, "F-", "/", "1/0", "P²20x", "\n", "pumice"])
def test_what_is_no_grade_is_refused(text: str) -> None:
    """Text that names no grade is refused with a reason, never guessed at."""
    with pytest.raises(UnknownGrade) as refused:
        describe_grade(VOCABULARY, text)
    assert refused.value.why


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    """No text whatever makes the reader fail in another way."""
    reads = read_grade(VOCABULARY, text)
    assert len({read.grade for read in reads}) == len(reads)
    assert reads or refusal(VOCABULARY, text).why


@given(st.sampled_from(["F", "P", "JIS ", "D", "ANSI ", "#", ""]), st.integers(0, 12_000), st.sampled_from(["", " mesh", " grit", " µm"]))
def test_readings_exist_and_carry_the_number(prefix: str, number: int, suffix: str) -> None:
    """Every reading of a written number is a grade that is there, by that number."""
    for read in read_grade(VOCABULARY, f"{prefix}{number}{suffix}"):
        assert read.grade in GRADES
        assert read.grade.endswith(str(number))


@pytest.mark.parametrize("scale", SCALES)
def test_scales_run_from_coarse_to_fine(scale: str) -> None:
    """The grades of a scale come in falling size, and every one of them has a size and a basis."""
    grades = grades_on(VOCABULARY, scale)
    sizes = [grain(VOCABULARY, grade).mid for grade in grades]
    assert sizes == sorted(sizes, reverse=True)
    assert len(grades) == len(VOCABULARY.subjects("belongsTo", scale)) > 5


@pytest.mark.parametrize("scale", ["fepa-f", "fepa-p", "ansi-coated", "ansi-bonded", "jis"])
def test_a_higher_number_is_a_finer_grain(scale: str) -> None:
    """On the scales that count upward the middles fall strictly as the number rises."""
    numbered = sorted(grades_on(VOCABULARY, scale), key=lambda grade: int("".join(filter(str.isdigit, grade))))
    sizes = [grain(VOCABULARY, grade).mid for grade in numbered]
    assert all(coarser > finer for coarser, finer in pairwise(sizes))


def test_the_shelf_lies_within_its_scale() -> None:
    """Stocked grades are grades of their scale in the same order; a studio stocks some of the main scales."""
    for scale in SCALES:
        shelf = stocked(VOCABULARY, scale)
        assert shelf == [grade for grade in grades_on(VOCABULARY, scale) if grade in shelf]
    assert stocked(VOCABULARY, "pumice-grades") == ["pumice-half", "pumice-0", "pumice-F", "pumice-2F", "pumice-3F", "pumice-4F"]
    assert stocked(VOCABULARY, "fepa-f")[0] == "F60"
    assert not stocked(VOCABULARY, "jis")


def test_mineral_and_hold_agree_on_a_scale() -> None:
    """Where both say something the common scales count; where they share none, the mineral's do."""
    assert scale_for(VOCABULARY, "test-carbide", "test-coated") == "fepa-p"
    assert scale_for(VOCABULARY, "test-carbide", None) == "fepa-f"
    assert scales_for(VOCABULARY, "test-diamond", "test-coated") == ["fepa-d", "micron"]
    assert scale_for(VOCABULARY, None, None) is None


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("F220", "core sieve fraction"),
        ("F230", "d3-d94"),
        ("JIS 220", "core sieve fraction"),
        ("JIS 240", "d3-d94"),
        ("ANSI bonded 220", "core sieve fraction"),
        ("P240", "d3-d94"),
        ("P5000", "working range"),
        ("D126", "mesh pair"),
        ("120 mesh", "mesh pair"),
        ("6 µm", "working range"),
        ("2F", "working range"),
        ("P220", None),
        ("ANSI 600", None),
        ("ANSI bonded 600", None),
    ],
)
def test_the_ends_of_a_size_say_what_they_are(text: str, kind: str | None) -> None:
    """Low and high come with their kind; where no spread is known both stay empty."""
    described = describe_grade(VOCABULARY, text)
    assert described.range_kind == kind
    assert (described.low is None) == (described.high is None) == (kind is None)


def test_memory_is_called_memory() -> None:
    """Sizes that were recalled and not read say so: fine F grades and every pumice."""
    recalled = [f"F{number}" for number in (230, 400, 600, 2000)] + stocked(VOCABULARY, "pumice-grades")
    for grade in recalled:
        assert {claim.basis.kind for claim in VOCABULARY.claims_about(grade, "grainSize")} == {"from memory"}
    assert describe_grade(VOCABULARY, "F220").basis.source
    assert "memory" in (describe_grade(VOCABULARY, "P600").basis.locator or "")


def test_no_two_grades_share_a_name() -> None:
    """A label or alternative label of a grade belongs to one thing of the whole ontology's grades and scales."""
    seen: dict[str, str] = {}
    for name in (*VOCABULARY.things("grade"), *VOCABULARY.things("grading scale")):
        for label in (name.label, *name.alternatives):
            assert seen.setdefault(label.casefold(), name.id) == name.id


def test_a_studio_grade_is_read_by_its_label(tmp_path: Path) -> None:
    """A grade that a studio adds under its own name is read like any other."""
    added = """
        @prefix fk: <https://finishing-kg.example/onto#> . @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
        @prefix dcterms: <http://purl.org/dc/terms/> . @prefix qudt: <http://qudt.org/schema/qudt/> . @prefix unit: <http://qudt.org/vocab/unit/> .
        fk:house-powder a fk:Grade ; skos:prefLabel "House Powder"@en ; fk:belongsTo fk:pumice-grades ; dcterms:source fk:bench ;
            fk:grainSize [ fk:low 40 ; fk:high 80 ; qudt:unit unit:MicroM ; dcterms:source fk:bench ] .
        fk:bench a fk:Source ; dcterms:title "our own sieve" ; fk:basisKind "studio" .
    """
    for file in shipped("ontology").glob("*.ttl"):
        (tmp_path / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "added.ttl").write_text(added, encoding="utf-8")
    wider: Vocabulary = load_vocabulary(tmp_path)
    described = describe_grade(wider, "house  powder")
    assert (described.mid, described.range_kind, described.basis.kind) == (Decimal(60), "working range", "studio")


@pytest.mark.parametrize(
    ("grade", "scale", "expected"),
    [("F400", "P", "P1000"), ("P600", "F", "F360"), ("D126", "mesh", "120 mesh"), ("JIS-1000", "F", "F500"), ("F220", "FEPA P", "P220")],
)
def test_the_nearest_on_another_scale(vocabulary: Vocabulary, grade: str, scale: str, expected: str) -> None:
    """The nearest grade of another scale is the one whose size is nearest as a ratio, whatever its number."""
    found = find_scale(vocabulary, scale)
    assert found is not None
    nearest = nearest_on(vocabulary, grade, found)
    assert designation(vocabulary, nearest[0]) == expected
    size = grain(vocabulary, grade).mid
    ratios = [max(grain(vocabulary, each).mid / size, size / grain(vocabulary, each).mid) for each in grades_on(vocabulary, found) if each != grade]
    assert min(ratios) == max(grain(vocabulary, nearest[0]).mid / size, size / grain(vocabulary, nearest[0]).mid)


@pytest.mark.parametrize(
    ("question", "grade", "scale"),
    [
        ("which P belt is nearest to F400 loose?", "F400", "fepa-p"),
        ("what JIS is closest to P600", "P600", "jis"),
        ("which mesh is nearest to D126", "D126", "us-mesh"),
        ("which mesh is closest to the next grade", "next grade", "us-mesh"),
        ("which P is the next to D126 bonded paper?", "D126", "fepa-p"),
        ("which is nearest to F400", None, None),
        ("which P is nearest to the grain", None, None),
        ("F400", None, None),
    ],
)
def test_a_comparing_question(vocabulary: Vocabulary, question: str, grade: str | None, scale: str | None) -> None:
    """A question for the nearest grade is split into the grade and the scale."""
    assert comparing(vocabulary, question) == ((grade, scale) if grade else None)


@pytest.mark.parametrize(("written", "nearest"), [("100 µm", "D107"), ("14 µm", "micron-15"), ("180 micron", "D213")])
def test_a_size_that_no_grade_has_is_taken_as_the_nearest(written: str, nearest: str) -> None:
    """It is said that no grade has it."""
    assert read_grade(VOCABULARY, written) == []
    read = nearest_of_size(VOCABULARY, written)
    assert read is not None and read.grade == nearest
    assert "No grade has this size" in read.why


@pytest.mark.parametrize("written", ["5000 µm", "220 mesh", "F220", "gravel", "0.001 µm"])
def test_nothing_far_off_is_taken_for_a_size(written: str) -> None:
    """What no grade is near to, or what is no size, is left to be asked."""
    assert nearest_of_size(VOCABULARY, written) is None
