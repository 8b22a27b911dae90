"""What stands on weak evidence is left open and put to the maker in their own words, never told as a fact."""

from collections.abc import Callable

import pytest

from finishing_kg.chat import Dialogue
from finishing_kg.chat.read import read
from finishing_kg.chat.reading import Reading
from finishing_kg.engine import Knowledge
from finishing_kg.vocabulary import Vocabulary


@pytest.fixture(scope="module")
def reads(vocabulary: Vocabulary) -> Callable[[str], Reading]:
    """Reads a first turn."""
    return lambda text: read(vocabulary, text, begins=True)


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("In spring Wilma juggled plastic bottle necks past the drowsy bishop. Float, sawn, polish.", "form"),
        ("Float face, F400. It has a lovely pre-polish.", "finish"),
        ("Opal face, ground F600, with that glimmer-shine look.", "finish"),
        ("The glass is lead crystal, no wait, jubilex. Rim sawn, to polish.", "glass"),
        ("I ground the float edge, and now my ground face has rings in it.", "finish"),
    ],
)
def test_a_part_told_by_too_little_is_asked(reads: Callable[[str], Reading], text: str, about: str) -> None:
    """The part stays open, and a question about it comes back, unless the turn is a complaint that has no need of it."""
    reading = reads(text)
    assert about not in reading.slots
    assert reading.faults or any(doubt.about == about for doubt in reading.doubts)


@pytest.mark.parametrize(
    "text",
    [
        "Float edge, ground F400, to polish. I have felt zobbins.",
        "Float edge, ground F400, to polish. My flat lap machine's kaboodled.",
        "Float edge, ground F400, to polish, without a wink of my lathe.",
        "Boro rod, end zwanned with a diamond saw, want it fine ground.",
        "Float edge, ground F400, to polish; loose grit at hand.",
    ],
)
def test_a_tool_beside_unknown_words_is_asked(reads: Callable[[str], Reading], text: str) -> None:
    """Neither at hand nor missing nor planned, and named in a question."""
    reading = reads(text)
    assert not (reading.restrictions or reading.planned or reading.mentioned)
    assert any(doubt.about == "restrictions" for doubt in reading.doubts)


def test_a_tool_that_is_only_named_is_no_plan(reads: Callable[[str], Reading]) -> None:
    """Beside a piece it is told as not used; at the head of work it is meant."""
    reading = reads("Cast lead crystal, flat back, F220. Polish. Cerium and pitch.")
    assert not reading.mentioned
    asked = reads("Pumice on a cork wheel to pre-polish a float bevel at F400?")
    assert asked.planned or asked.mentioned


def test_one_everyday_word_is_no_fault_where_something_is_wished(reads: Callable[[str], Reading]) -> None:
    """It is asked; where somebody surely complains it is taken."""
    reading = reads("Fused slab, face at F600: shall I lap off that chip first? I want it polished.")
    assert not reading.faults
    assert reads("scratches keep appearing in my fused silica window after the F600").faults


def test_pieces_that_cannot_be_told_apart_are_not_mixed(knowledge: Knowledge) -> None:
    """The first is taken, and the others are asked for."""
    dialogue = Dialogue(knowledge, asking=False)
    answer = dialogue.say("A fused plate with a sawn edge, and besides that a pressed thingummy with a scratched bottom for shining.")
    assert answer.understood.surface is None or answer.understood.surface.state == "sawn"
    assert answer.understood.finish is None
    assert any("more than one piece" in question.text for question in answer.ask_back) or answer.other_pieces


def test_two_values_of_one_measure_are_asked(reads: Callable[[str], Reading]) -> None:
    """Neither is kept; another measure beside it stays."""
    reading = reads("Crown blank 60 mm across, in the book 50 mm across, sawn face, polish.")
    assert "diameter" not in reading.measures
    assert any(doubt.about == "measures" for doubt in reading.doubts)
    assert str(reads("Opal paperweight 60 mm in diameter and 70 mm high, polish.").measures["diameter"]) == "60 mm"


@pytest.mark.parametrize(("text", "kind"), [("nothing but pumice", "only"), ("with no other tools than pumice", "only"), ("no pumice", "without")])
def test_nothing_but_a_tool_leaves_it(reads: Callable[[str], Reading], text: str, kind: str) -> None:
    """An exception behind a lack is what is there."""
    (restriction,) = reads(text).restrictions
    assert restriction.kind == kind
    assert restriction.ids == ("pumice",)
