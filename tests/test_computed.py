"""What computations are called, how they refuse, and hand calculations of each; and scales by the names that makers give them."""

import re
from collections.abc import Callable

import pytest
from inputs import INPUTS, TABLE, UNITS
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError, read_quantity
from finishing_kg.quantities import comparing, find_scale, read_grade
from finishing_kg.quantities.contrast import contrast
from finishing_kg.quantities.limits import greatest_turning
from finishing_kg.quantities.speed import surface_speed
from finishing_kg.quantities.with_pint import with_pint

# Proofs name their computations, and proofs are exported and read back: a name is never changed, only added.
PUBLISHED = """
grain ratio, surface speed, turning speed, working speed, size band, damage factor, widest range, greatest, product, quotient, removal owed,
cracks when stopped, disc area, mean pressure, coefficient for grain, removal rate, minutes to remove, corrected minutes, thermal stress,
bearable difference, Knoop ratio
"""


def test_published_names_stand() -> None:
    """Every computation that a proof could name once can still be done again under that name."""
    assert {" ".join(name.split()) for name in PUBLISHED.split(",")} <= set(TABLE)


def _of(text: str) -> Quantity:
    return UNITS.settle(read_quantity(text))


# By hand, from the formulas of the sources that each module names; what the comment says is the whole calculation.
BY_HAND = [
    ("grain ratio", ["106 µm", "53 µm"], "2 times"),
    ("surface speed", ["300 mm", "1000 rpm"], "15.71 m/s"),  # 3.14159 × 0.3 × 1000/60 = 15.708
    ("turning speed", ["300 mm", "15 m/s"], "954.9 rpm"),  # 15 × 60/(3.14159 × 0.3) = 954.93
    ("damage factor", ["80 GPa", "400 HK", "20 GPa", "500 HK"], "2.5 times"),  # √4 × 500/400
    ("product", ["6 µm", "2 times", "3 times"], "36 µm"),
    ("quotient", ["6 µm", "2 µm"], "3 times"),
    ("greatest", ["6 µm", "0.02 mm"], "20 µm"),
    ("removal owed", ["20 µm", "5 µm", "40 µm"], "55 µm"),
    ("cracks when stopped", ["30 µm", "10 µm", "5 min", "20 min"], "25 µm"),  # a quarter of the way from 30 to 10
    ("cracks when stopped", ["30 µm", "10 µm", "5 µm", "20 µm"], "25 µm"),
    ("disc area", ["10 cm"], "78.54 cm²"),  # 3.14159 × 5²
    ("mean pressure", ["50 N", "25 cm²"], "20 kPa"),  # 2 N/cm², each 10 kPa
    ("removal rate", ["2 µm²/N", "10 kPa", "3 m/s"], "3.6 µm/min"),  # 2e-12 × 10e3 × 3 = 6e-8 m/s, times 60
    ("minutes to remove", ["36 µm", "2 µm²/N", "10 kPa", "3 m/s"], "10 min"),  # 36/3.6
    ("corrected minutes", ["10 min", "1.5 times"], "15 min"),
    ("thermal stress", ["70 GPa", "0 times", "9 µm/(m·K)", "50 K"], "31.5 MPa"),  # 70e9 × 9e-6 × 50, of an edge
    ("thermal stress", ["70 GPa", "0.2 times", "8 µm/(m·K)", "50 K"], "35 MPa"),  # 28 MPa/0.8
    ("bearable difference", ["35 MPa", "70 GPa", "0.2 times", "8 µm/(m·K)"], "50 K"),
    ("Knoop ratio", ["2000 HK", "500 HK"], "4 times"),
]


@pytest.mark.parametrize(("name", "given", "found"), BY_HAND)
def test_hand_calculations(name: str, given: list[str], found: str) -> None:
    """The computation gives what the formula gives by hand, in the unit that its description names."""
    result = TABLE[name](tuple(map(_of, given)))
    wanted = _of(found)
    assert (result.mid, result.unit) == (wanted.mid, wanted.unit)


def _with(name: str, number: int, wrong: Quantity | None = None) -> Callable[[], object]:
    """A computation with one wrong input among right ones; unless said which, one of another dimension."""
    inputs = [Quantity.of("0.2", unit.partition("<")[0]) for unit in INPUTS[name]]  # "times<1" is a ratio below 1
    other = wrong or Quantity.of(1, "min" if inputs[number].unit == "N" else "N")
    return lambda: TABLE[name]((*inputs[:number], other, *inputs[number + 1 :]))


REFUSED: list[Callable[[], object]] = [
    *(lambda name=name: TABLE[name](()) for name in TABLE),  # type: ignore[misc]
    *(lambda name=name: TABLE[name]((Quantity.of(1, "µm"),) * 9) for name in TABLE if name not in ("widest range", "greatest", "product")),  # type: ignore[misc]
    # What a product multiplies may be anything.
    *(_with(name, number) for name, units in INPUTS.items() for number in range(len(units)) if (name, number) != ("product", 0)),
    _with("mean pressure", 1, Quantity.of(0, "cm²")),
    _with("turning speed", 0, Quantity.of(0, "mm")),
    _with("minutes to remove", 1, Quantity.of(0, "µm²/N")),
    _with("quotient", 1, Quantity.of(0, "µm")),
    _with("damage factor", 1, Quantity.of(0, "HK")),
    _with("coefficient for grain", 2, Quantity.of(0, "µm")),
    lambda: TABLE["bearable difference"]((_of("35 MPa"), _of("0 GPa"), _of("0.2 times"), _of("8 µm/(m·K)"))),
    lambda: TABLE["bearable difference"]((_of("35 MPa"), _of("70 GPa"), _of("0.2 times"), _of("0 µm/(m·K)"))),
    lambda: TABLE["thermal stress"]((_of("70 GPa"), _of("1 times"), _of("8 µm/(m·K)"), _of("50 K"))),
    lambda: contrast(_of("9 GPa"), _of("6 GPa"), UNITS),
    lambda: greatest_turning(_of("9 GPa"), _of("100 mm"), UNITS),
]
_NAMES = re.compile(r"\b(mohs|knoop|poisson|preston|young)\b")


@pytest.mark.parametrize("refused", REFUSED, ids=map(str, range(len(REFUSED))))
def test_a_refusal_goes_on_after_the_colon_and_what_it_says_to_write_can_be_read(refused: Callable[[], object]) -> None:
    """What is wrong is told in a sentence in small letters, names of people apart; the repair is made of quantities in units that are known."""
    with pytest.raises(QuantityError) as told:
        refused()
    why, repair = told.value.why, told.value.repair
    assert why[0].islower() or why.startswith(("Poisson's ", "N measures ")), why
    assert why.endswith((".", "?")) and not _NAMES.search(why) and not re.search(r"[A-Z]{3}", why), why
    for part in re.split(r", | and ", repair):
        assert UNITS.settle(read_quantity(part)), repair


@pytest.mark.parametrize("written", ["F220", "P400", "D126", "ANSI coated 120", "CAMI 120", "mesh 120", "pumice 2F", "JIS 1000", "f 220", "p400"])
def test_a_scale_is_found_by_what_makers_write_before_its_numbers(written: str) -> None:
    """Letters and words before a number lead to the scale that the whole designation is read on."""
    mark = re.sub(r"[\s]*(\d\w*)$", "", written)
    assert find_scale(VOCABULARY, mark) == read_grade(VOCABULARY, written)[0].scale
    assert find_scale(VOCABULARY, f"  {mark.upper()} ") == find_scale(VOCABULARY, mark.lower())


def test_a_scale_is_found_by_its_name() -> None:
    """A label, another label and an identifier name a scale, in any letters; anything else names none."""
    for scale in VOCABULARY.things("grading scale"):
        for name in (scale.id, scale.label, *scale.alternatives):
            assert find_scale(VOCABULARY, name.upper()) == find_scale(VOCABULARY, name) is not None
    assert find_scale(VOCABULARY, "scale of nobody") is None


@pytest.mark.parametrize("asked", ["nearest to", "closest to", "next to", "nearest on", "closest in", "Nearest", "NEXT"])
@pytest.mark.parametrize("between", ["", "the", "a", "A", "The", "loose", "bonded", "coated", "grit", "grain", "belt", "paper", "the loose"])
def test_small_words_do_not_matter_to_a_comparing_question(asked: str, between: str) -> None:
    """What stands between the question and the grade, or after it, says nothing of which grade is meant."""
    assert comparing(VOCABULARY, f"which P belt is {asked} {between} F400?") == ("F400", "fepa-p")
    assert comparing(VOCABULARY, f"which P belt is {asked} F400 {between} ?") == ("F400", "fepa-p")


@pytest.mark.parametrize("grade", ["120 mesh", "pumice 2F", "600"])
def test_a_grade_of_two_words_stays_whole(grade: str) -> None:
    """The words of the grade are handed on as they were written."""
    assert comparing(VOCABULARY, f"which F is closest to {grade}?") == (grade, "fepa-f")


@pytest.mark.parametrize("asked", ["", "F400", "which P belt", "which P belt is nearest", "which P belt is nearest to the", "which is next to F400"])
def test_no_comparing_question_without_grade_and_scale(asked: str) -> None:
    """A question that lacks the grade, the scale or the asking is none of these."""
    assert comparing(VOCABULARY, asked) is None


def test_the_table_of_units_is_given_by_name_by_place_or_not_at_all() -> None:
    """A function that takes pint quantities finds its units by itself, and takes those that it is given."""
    called, given = with_pint(surface_speed, UNITS), (_of("300 mm"), _of("1000 rpm"))
    assert called(*given) == called(*given, UNITS) == called(*given, units=UNITS) == called(diameter=given[0], turning=given[1])


class _Star:
    magnitude = 4


class _Vector:
    dimensionality = 3


def test_what_only_half_looks_like_a_pint_quantity_is_none() -> None:
    """Something with a magnitude and no dimension, or the other way round, goes through as it came."""
    for other in (_Star(), _Vector()):
        assert with_pint(lambda part: part, UNITS)(other) is other
