"""What is told of a sentence that cannot be read, word by word: where, what was understood, why not, and what to write instead."""

import pytest
from strategies import INVENTED

from finishing_kg.statements import Language, StatementError

LANGUAGE = Language(INVENTED)

# Each with the word that the mark stands under (none at the end), all that is said, what is offered instead, and names that are near.
TOLD = [
    ("", "", "The sentence is empty.", "?parcel lies on ?other-parcel", []),
    ("parcel p0 is opn", "opn", "I read 'parcel p0 is', then cannot go on with 'opn'.", "parcel p0 is open", ["open"]),
    ("parcel p0 is", "", "I read 'parcel p0 is', but there the sentence cannot end.", "parcel p0 is open", []),
    ("parcel p0", "", "I read 'parcel p0', then the sentence ends where a phrase should follow.", "parcel p0 is open", []),
    ("parcl p0 is open", "parcl", "I know no name that begins with 'parcl'.", "parcel p0 is open", ["parcel p0", "parcel p1", "parcel p2"]),
    ("shelf 0 is open", "shelf", "'is open' is said of a parcel or a box, and this is none.", "p0 is open", []),
    (
        "parcel p0 lies on shelf 0",
        "shelf",
        "I read 'parcel p0 lies on'; after 'lies on' I expect a parcel, and this is none.",
        "parcel p0 lies on p0",
        [],
    ),
    ("parcel p0 lies on", "", "I read 'parcel p0 lies on'; after 'lies on' I expect a parcel.", "parcel p0 lies on ?parcel", []),
    (
        "parcel p0 lies on parcel p1 today",
        "today",
        "I read 'parcel p0 lies on parcel p1'; the sentence is complete before this; one sentence says one thing.",
        "parcel p0 lies on parcel p1",
        [],
    ),
    (
        "parcel p0 is open now",
        "now",
        "I read 'parcel p0 is open'; after 'is open' the sentence is complete; one sentence says one thing.",
        "parcel p0 is open",
        [],
    ),
    (
        "the widht of parcel p0 is 2 mm",
        "widht",
        "I read 'the', then know no property that begins with 'widht'.",
        "the width of parcel p0 is 2 mm",
        ["width", "weight"],
    ),
    ("the width of parcel p0 2 mm", "2", "I read 'the width of parcel p0'; here I expect the word 'is'.", "the width of parcel p0 is 2 mm", []),
    (
        "the width of parcel p0 is",
        "",
        "I read 'the width of parcel p0 is'; the width needs a number with a unit, such as 60 µm.",
        "the width of parcel p0 is ?value",
        [],
    ),
    (
        "the width of parcel p0 is 2",
        "2",
        "I read 'the width of parcel p0 is'; the width: the number has no unit.",
        "the width of parcel p0 is 2 µm",
        [],
    ),
    (
        "the width of parcel p0 is 2 kg",
        "2",
        "I read 'the width of parcel p0 is'; the width: kg measures weight, not length.",
        "the width of parcel p0 is 2 µm",
        [],
    ),
    (
        "the width of parcel p0 is above",
        "",
        "I read 'the width of parcel p0 is above'; the width needs a number with a unit, such as 60 µm.",
        "the width of parcel p0 is above ?value",
        [],
    ),
    (
        "the width of shelf 0 is 2 mm",
        "shelf",
        "I read 'the width of'; the width is said of a parcel or a box, and this is none.",
        "the depth of shelf 0 is 2 mm",
        [],
    ),
    (
        "the width of nothing is 2 mm",
        "nothing",
        "I read 'the width of', then know no name that begins with 'nothing'.",
        "the width of ?parcel is 2 mm",
        [],
    ),
    (
        "the best place of parcel p0 is",
        "",
        "I read 'the best place of parcel p0 is'; after 'best place' I expect a shelf.",
        "the best place of parcel p0 is ?shelf",
        [],
    ),
    (
        "the best place of parcel p0 is shelf 7",
        "7",
        "I read 'the best place of parcel p0 is shelf', then cannot go on with '7'.",
        "the best place of parcel p0 is shelf-0",
        [],
    ),
    ("?p is opened by", "opened", "I read '?p is', then cannot go on with 'opened'.", "?p is open", ["open"]),
    ("the boxx is open", "boxx", "I read 'the', then cannot go on with 'boxx'.", "the box is open", ["box"]),
    ("the box opn", "opn", "I read 'the box', then know no phrase that begins with 'opn'.", "the box is open", ["is open"]),
    ("xyzzy", "xyzzy", "I know no name that begins with 'xyzzy'.", "?parcel lies on ?other-parcel", []),
    ("the of", "of", "I read 'the', then know no property that begins with 'of'.", "?parcel is somewhere over ?other-parcel", []),
    (
        "the width of the box is at leest 2 mm",
        "at",
        "I read 'the width of the box is'; the width: this is not a number with a unit.",
        "the width of the box is at least 2 mm",
        [],
    ),
    ("step 2 is open", "step", "'is open' is said of a parcel or a box, and this is none.", "p2 is open", []),
    (
        "the width of parcel p0 is 2,5 mm",
        "2,5",
        "I read 'the width of parcel p0 is'; the width: a decimal comma can be taken for a thousands mark.",
        "the width of parcel p0 is 2.5 mm",
        [],
    ),
    (
        "the weight of parcel p0 is 3 stone",
        "3",
        "I read 'the weight of parcel p0 is'; the weight: I know no unit 'stone'.",
        "the weight of parcel p0 is 3 kg",
        [],
    ),
    ("the width of", "", "I read 'the width of', then the sentence ends where a name should follow.", "the width of ?parcel is ?value", []),
    ("parcel p9 lies on parcel p1", "p9", "I read 'parcel', then cannot go on with 'p9'.", "parcel p0 lies on parcel p1", []),
]


def repair_of(slip: str) -> str:
    """What is said to be written instead of a sentence that cannot be read."""
    with pytest.raises(StatementError) as told:
        LANGUAGE.parse(slip)
    return told.value.repair


@pytest.mark.parametrize(("sentence", "place", "why", "repair", "nearest"), TOLD)
def test_all_that_is_told(sentence: str, place: str, why: str, repair: str, nearest: list[str]) -> None:
    """In the words of parcels and shelves, so that no word of the trade helps: the whole text, checked by reading it."""
    with pytest.raises(StatementError) as told:
        LANGUAGE.parse(sentence)
    error = told.value
    assert (error.why, error.repair, list(error.nearest)) == (why, repair, nearest)
    assert sentence[error.column - 1 : error.column - 1 + error.width] == place
    assert error.column == (sentence.index(place, error.column - 1) if place else len(sentence.rstrip()) + 1 if sentence else 0) + 1
    assert LANGUAGE.readable(error.repair)
    if sentence:  # what takes long to find is left out where nobody will read it, and all else is told
        with pytest.raises(StatementError) as quick:
            LANGUAGE.parse(sentence, repair=False)
        assert quick.value == StatementError(sentence, error.column, error.width, why, "", ())
    shown = [f"  {sentence}", f"  {' ' * (error.column - 1)}{'^' * (len(place) or 1)}", why]
    shown += [f"Nearest known: {', '.join(nearest)}."] if nearest else []
    assert str(error).split("\n") == [*shown, f"Write: {repair}"]


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("?p! is open", "?p is open"),
        ("?1st-p is open", "?st-p is open"),
        ("?-p2 is open", "?p2 is open"),
        ("?P.Q lies on ?p_0", "?pq lies on ?p0"),
        ("?!! is open", "?x is open"),
        ("the width of ?9 is ?V.", "the width of ?x is ?v"),
        ("?p. Lies on P1", "?p Lies on P1"),
    ],
)
def test_what_is_nearly_a_variable_stays_as_near_as_it_can(slip: str, mended: str) -> None:
    """Of a word behind a question mark the small letters, digits and hyphens stay, from the first letter on; where none is left it is ``?x``."""
    assert repair_of(slip) == mended


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("the width of p0 2000 to 2001mm", "the width of p0 is 2000 to 2001mm"),
        ("The width of The  Box 60 (50 to 70)mm", "The width of The Box is 60 (50 to 70)mm"),
        ("the width of p0 is 2000 to 2001mm today", "the width of p0 is 2000 to 2001 µm"),
    ],
)
def test_a_size_written_together_with_its_unit_stays_as_it_is(slip: str, mended: str) -> None:
    """A range without a space before its unit can be read, so where only *is* is missing, that is put in and all else stays as it was written."""
    assert repair_of(slip) == mended


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("parcel p0 is very open", "parcel p0 is open"),
        ("parcel p0 is very much open", "parcel p0 is open"),
        ("parcel p0 is so very much open", "?parcel is open"),
        ("parcel p0 lies on", "parcel p0 lies on ?parcel"),
        ("lies on parcel p1", "?parcel lies on parcel p1"),
        ("parcel p0 parcel p1", "parcel p0 lies on parcel p1"),
        ("the width of p0 is mm", "the width of p0 is 60 mm"),
        ("the weight of p0 is above kg", "the weight of p0 is above 60 kg"),
        ("the weight of p0 is 2 kgg", "the weight of p0 is 2 kg"),
        ("the width of p0 is 2 milimetre", "the width of p0 is 2 millimetre"),
        ("the width of p0 is 2 furlongs", "the width of p0 is 2 µm"),
        ("the width of p0 is 60 (5,5 to 70,5) mm", "the width of p0 is 60 (5.5 to 70.5) mm"),
        ("the width of p0 is 2,5mm", "the width of p0 is 2.5mm"),
    ],
)
def test_the_least_change_is_offered(slip: str, mended: str) -> None:
    """Up to two words too many or too few are put right; a unit that is none becomes the likest, or the property's first; a comma becomes a point."""
    assert repair_of(slip) == mended


@pytest.mark.parametrize(
    ("written", "nearest"),
    [("widab", ["width"]), ("wiabc", []), ("deight", ["weight"]), ("beast place", ["best place"])],
)
def test_what_has_six_letters_of_ten_in_common_is_near(written: str, nearest: list[str]) -> None:
    """Of *width* and *widab* three letters of five are alike, which is just near enough to be named; the likest comes first."""
    with pytest.raises(StatementError) as told:
        LANGUAGE.parse(f"the {written} of parcel p0 is 2 mm")
    assert list(told.value.nearest) == nearest


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("parcel p0 is open and so on and so forth", "parcel p0 is open"),
        ("Parcel p0 lies on parcel p1 and so on and so forth", "Parcel p0 lies on parcel p1"),
        ("the best place of parcel p0 is shelf 0 and so on and so forth", "the best place of parcel p0 is shelf 0"),
        ("the width of p0 is 2 kg and so on and so forth", "the width of p0 is 2 µm"),
        ("the width of p0 is two and a half and so on", "the width of p0 is 60 µm"),
        ("the weight of p0 is two and a half and so on", "the weight of p0 is 60 kg"),
    ],
)
def test_of_what_is_far_from_any_sentence_what_was_understood_stays(slip: str, mended: str) -> None:
    """Where more is wrong than can be put right, the sentence is cut after what was understood; what was no size becomes one."""
    assert repair_of(slip) == mended


def test_three_hundred_characters_and_no_more() -> None:
    """A sentence of 300 characters is read; one of 301 is refused with its length, and shown by its beginning."""
    just = "parcel p0 is open".replace(" open", " " * (300 - len("parcel p0 is open") + 1) + "open")
    assert len(just) == 300 and LANGUAGE.parse(just) == LANGUAGE.parse("parcel p0 is open")
    assert LANGUAGE.readable(just) and not LANGUAGE.readable(f"{just} ")
    with pytest.raises(StatementError) as told:
        LANGUAGE.parse(f"{just} ")
    assert told.value.why == "A sentence has at most 300 characters; this one has 301."
    assert told.value.sentence == just[:60] + " …" and (told.value.column, told.value.width) == (1, 1)
    assert not LANGUAGE.readable("") and not LANGUAGE.readable("   ")
