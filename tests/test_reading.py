"""Free text of one turn to slots, restrictions, questions and doubts."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shipped_words import VOCABULARY

from finishing_kg.chat.read import read
from finishing_kg.chat.reading import SLOTS, Reading
from finishing_kg.chat.words import LONGEST, clean, fold, grades, tokens
from finishing_kg.places import shipped
from finishing_kg.vocabulary import Vocabulary, load_vocabulary

DATA = Path(__file__).parent / "data"
TABLE, HELD_OUT = (tomllib.loads((DATA / name).read_text(encoding="utf-8"))["reading"] for name in ("readings.toml", "readings_held_out.toml"))
# A shared machine may be slow for a moment; the best of a few runs is what the code costs.
RUNS = 5


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    """The shipped ontology."""
    return VOCABULARY


def taken(vocabulary: Vocabulary, reading: Reading) -> dict[str, Any]:
    """A reading in the form of the table: what is empty is left out."""
    found: dict[str, Any] = {}
    for kind, slot in reading.slots.items():
        notations = [vocabulary.names[each].notation for each in slot.ids]
        found[kind] = notations[0] if len(notations) == 1 else sorted(notations)
    for key, words in (("grade", reading.surface_grade), ("goal_grade", reading.goal_grade), ("planned_grade", reading.planned_grade)):
        if words:
            found[key] = words.words
    for kind in ("only", "has", "without"):
        ids = [each for restriction in reading.restrictions if restriction.kind == kind for each in restriction.ids]
        if ids:
            found[kind] = ids
    for key, names in (("planned", reading.planned), ("about", reading.about)):
        if names:
            found[key] = [name.id for name in names]
    for key, measures in (("measures", reading.measures), ("planned_measures", reading.planned_measures)):
        if measures:
            found[key] = {name: str(quantity) for name, quantity in measures.items()}
    if reading.intent != "tell":
        found["intent"] = reading.intent
    found |= {key: value for key in ("step", "planned_wet") if (value := getattr(reading, key)) is not None}
    if reading.dont_know:
        found["dont_know"] = True
    return found


def expected(case: dict[str, Any]) -> dict[str, Any]:
    """A table entry in the form of ``taken``."""
    wanted = {key: value for key, value in case.items() if key not in ("say", "waiting", "begins", "doubt", "unused")}
    return {key: sorted(value) if key in SLOTS and isinstance(value, list) else value for key, value in wanted.items()}


@pytest.mark.parametrize("case", [*TABLE, *HELD_OUT], ids=lambda case: case["say"][:50])
def test_a_sentence_of_the_table_is_read_as_written_there(vocabulary: Vocabulary, case: dict[str, Any]) -> None:
    """Every slot, grade, restriction and question of the table is read, and nothing else is."""
    reading = read(vocabulary, case["say"], tuple(case.get("waiting", ())), begins=case.get("begins", False))
    found, wanted = taken(vocabulary, reading), expected(case)
    if "about" not in wanted and reading.intent == "what_if":
        found.pop("about", None)
    assert found == wanted
    if "doubt" in case:
        assert case["doubt"] in {doubt.about for doubt in reading.doubts}
    assert set(case.get("unused", ())) <= set(reading.unused)


def test_the_table_is_large_enough_to_mean_something() -> None:
    """At least sixty sentences are held, none of them twice."""
    said = [(case["say"], tuple(case.get("waiting", ())), case.get("begins", False)) for case in [*TABLE, *HELD_OUT]]
    assert len(said) == len(set(said)) >= 60


@given(st.text(max_size=400))
@settings(deadline=None, max_examples=150)
def test_any_text_gives_a_reading(text: str) -> None:
    """Whatever is typed, a reading comes back and every id in it is known."""
    held = _shipped_once()
    reading = read(held, text)
    assert all(each in held.names for slot in reading.slots.values() for each in slot.ids)


SOME_WORDS = """lead crystal polished ground sawn F400 220 to not no only have want is it the rim flat pumice belt on with or
, . ? why what if 12 mm across"""
WORDS = st.sampled_from(SOME_WORDS.split())


@given(st.lists(WORDS, max_size=40))
@settings(deadline=None, max_examples=150)
def test_trade_words_in_any_order_give_a_reading(words: list[str]) -> None:
    """Words of the trade in any order never break the reader, and a slot holds only things of its kind."""
    held = _shipped_once()
    reading = read(held, " ".join(words))
    assert all(held.names[each].kind == kind for kind, slot in reading.slots.items() for each in slot.ids)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("", id="empty"),
        pytest.param(" \n\t", id="blank"),
        pytest.param("\x00\x07\x1b[31m", id="controls"),
        pytest.param("<b>" * 400, id="markup"),
        pytest.param("\u202e\u200f", id="marks"),
        pytest.param("a" * 100_000, id="one long word"),
        pytest.param("lead crystal " * 8_000, id="long paste"),
        pytest.param("F400 5 mm, " * 9_000, id="numbers"),
        pytest.param("\u0301" * 5_000, id="accents"),
        pytest.param("\ud800", id="half a letter"),
    ],
)
def test_odd_input_is_read(vocabulary: Vocabulary, text: str) -> None:
    """Empty text, control signs, markup and long pastes are read without an exception; a long text only to a mark, which is said."""
    reading = read(vocabulary, text)
    assert (len(text) > LONGEST) == any(doubt.about == "text" for doubt in reading.doubts)


def test_marks_of_direction_and_markup_do_not_hide_words(vocabulary: Vocabulary) -> None:
    """Words between invisible marks and tags are read as if those were not there."""
    assert read(vocabulary, "<b>le\u200bad\u202e crystal</b>").slots["glass"].ids == ("lead-crystal",)


def test_a_repaired_slip_is_marked(vocabulary: Vocabulary) -> None:
    """A slot that needed a repair says so, and keeps the words as they were typed."""
    slot = read(vocabulary, "borosilicte").slots["glass"]
    assert (slot.ids, slot.words, slot.corrected) == (("borosilicate",), "borosilicte", True)
    assert not read(vocabulary, "borosilicate").slots["glass"].corrected


def test_plain_words_are_not_repaired_into_trade_words(vocabulary: Vocabulary) -> None:
    """Plain English one slip away from a trade word fills no slot."""
    for text in ("round", "around", "place", "stain", "goose", "night", "route"):
        reading = read(vocabulary, text)
        assert not reading.slots, text
        assert not reading.mentioned, text


def test_a_slip_that_could_be_two_things_is_a_doubt(tmp_path: Path) -> None:
    """Where two things are one slip away, none is chosen and both are named."""
    small = tiny(tmp_path, 'fk:sawing a fk:Surface ; skos:prefLabel "sharded"@en .\nfk:other a fk:Surface ; skos:prefLabel "sharted"@en .')
    reading = read(small, "sharped")
    assert not reading.slots
    assert [set(doubt.choices) for doubt in reading.doubts] == [{"sawing", "other"}]


def test_words_come_from_the_ontology_alone(tmp_path: Path) -> None:
    """With a vocabulary of one glass, only that glass is read; the reader brings no words of its own."""
    small = tiny(tmp_path, 'fk:moonglass a fk:Glass ; skos:prefLabel "moon glass"@en .')
    assert read(small, "moon-glass").slots["glass"].ids == ("moonglass",)
    assert read(small, "lead crystal, polished, want a rim").slots == {}


def tiny(folder: Path, turtle: str) -> Vocabulary:
    """A vocabulary of the shipped kinds, phrases and units and a few things."""
    head = "@prefix fk: <https://finishing-kg.example/onto#> .\n@prefix skos: <http://www.w3.org/2004/02/skos/core#> .\n"
    (folder / "things.ttl").write_text(head + turtle, encoding="utf-8")
    for name in ("kinds.ttl", "units.ttl"):
        (folder / name).write_text((shipped("ontology") / name).read_text(encoding="utf-8"), encoding="utf-8")
    return load_vocabulary(folder)


def test_unused_words_are_reported_as_typed(vocabulary: Vocabulary) -> None:
    """Content words that nothing was made of are listed, little words are not."""
    assert read(vocabulary, "the Lead crystal is from Grandpa's attic").unused == ("Grandpa's", "attic")


def test_restrictions_keep_the_words(vocabulary: Vocabulary) -> None:
    """A restriction quotes what was said, and a tool of several parts is kept as one."""
    restriction = read(vocabulary, "no diamond belt here").restrictions[0]
    assert (restriction.words, restriction.together) == ("diamond belt", True)


FOLDED = [("Edges", "edge"), ("brushes", "brush"), ("glass", "glass"), ("pâte", "pate"), ("don't", "dont"), ("bodies", "body")]


@pytest.mark.parametrize(("word", "folded"), FOLDED)
def test_words_are_folded(word: str, folded: str) -> None:
    """Case, accents, apostrophes and regular plurals do not matter for comparing."""
    assert fold(word) == folded


GRADES = ["F220", "p600", "D126", "JIS 1000", "ANSI 600", "120 mesh", "400 grit", "6 µm", "9 micron", "2F", "FFF", "1/2 pumice"]


@pytest.mark.parametrize("text", GRADES)
def test_grades_are_recognised(text: str) -> None:
    """What the grading scales know is picked out as one grade, as written."""
    assert [mark.words for mark in grades(f"ground with {text}, then")] == [text]


@pytest.mark.parametrize("text", ["5 of 6", "12 mm", "flat", "a 1200 rpm spindle", "in 1998", "f 2"])
def test_other_numbers_are_no_grades(text: str) -> None:
    """Measures, years and counts are not taken for grades."""
    assert grades(text) == []


def test_tokens_know_their_place() -> None:
    """A token's place gives back the word as typed."""
    text, _ = clean("Pre-polish the pâte, then:\u200f stop")
    assert [text[token.start : token.end] for token in tokens(text)] == ["Pre", "polish", "the", "pâte", "then", "stop"]
    assert [token.gap for token in tokens(text)] == [3, 0, 0, 0, 1, 2]


_HELD: list[Vocabulary] = []


def _shipped_once() -> Vocabulary:
    """Hypothesis runs a test many times and takes no fixture of the session's scope in each run."""
    if not _HELD:
        _HELD.append(VOCABULARY)
    return _HELD[0]
