"""More than one piece in a message, what waits for its turn, and what can be asked where nothing was understood."""

from typing import Any

import pytest

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge


@pytest.fixture
def dialogue(knowledge: Knowledge) -> Dialogue:
    """A conversation at its beginning."""
    return Dialogue(knowledge)


def told(understood: object) -> tuple[Any, ...]:
    """What was understood of a piece, in short."""
    read = as_json(understood)
    return read["glass"], read["form"], (read["surface"] or {}).get("state"), read["finish"]


BOWL = ("lead-crystal", "edge", "sawn", "polish")
PANEL = ("soda-lime-float", None, None, "satin")
TWO_PIECES = [
    pytest.param("a lead crystal bowl with a sawn edge to polish, and a float panel to be satin", [BOWL, PANEL], id="and a"),
    pytest.param(
        "lead crystal rim, broken, polish; also a boro bevel, sawn, satin",
        [("lead-crystal", "rim", "broken", "polish"), ("borosilicate", "bevel", "sawn", "satin")],
        id="also",
    ),
    pytest.param(
        "I have two jobs. One is a boro tube, its edge sawn, to polish. The other is a float tile, flat face, ground F220, to satin.",
        [("borosilicate", "edge", "sawn", "polish"), ("soda-lime-float", "flat-face", "ground", "satin")],
        id="two jobs",
    ),
    pytest.param(
        "a lead crystal rim, pre-polished, and a float edge, sawn, both to polish",
        [("lead-crystal", "rim", "pre-polished", "polish"), ("soda-lime-float", "edge", "sawn", "polish")],
        id="both",
    ),
    pytest.param(
        "lead crystal vase: the rim, sawn, to polish, the outside, sawn, to satin",
        [("lead-crystal", "rim", "sawn", "polish"), ("lead-crystal", "convex", "sawn", "satin")],
        id="two places of one body",
    ),
]


@pytest.mark.parametrize(("text", "pieces"), TWO_PIECES)
def test_two_pieces_are_never_mixed(dialogue: Dialogue, text: str, pieces: list[tuple[Any, ...]]) -> None:
    """The first is answered, the other kept as it was told, and both are said."""
    answer = dialogue.say(text)
    assert [told(answer.understood), *map(told, answer.other_pieces)] == pieces
    assert answer.pieces_told is not None
    assert "now the other one" in answer.pieces_told


ONE_PIECE = [
    pytest.param("lead crystal and borosilicate rims, broken, to polish", id="a glass in doubt"),
    pytest.param("it is lead crystal, sorry, float, a sawn edge, to polish", id="a correction"),
    pytest.param("lead crystal rim, broken, polish. No, float", id="taken back"),
    pytest.param("a float panel with a sawn edge, to polish, and I have a belt and a felt wheel", id="tools"),
    pytest.param("two boro discs, flat faces sawn, both to polish", id="a batch"),
    pytest.param("the rim is broken, the foot is polished already, lead crystal, to polish", id="a place that is done"),
]


@pytest.mark.parametrize("text", ONE_PIECE)
def test_one_piece_stays_one(dialogue: Dialogue, text: str) -> None:
    """What only corrects, doubts or counts is no second piece."""
    answer = dialogue.say(text)
    assert answer.pieces_told is None
    assert answer.other_pieces == []


def test_the_other_one_is_taken_up_and_left_again(dialogue: Dialogue) -> None:
    """Now the other one; back to the first: each comes back as it was left."""
    first = dialogue.say("a lead crystal bowl with a sawn edge to polish, and a float panel to be satin")
    assert told(dialogue.say("now the other one").understood) == PANEL
    assert told(dialogue.say("an edge, sawn").understood) == ("soda-lime-float", "edge", "sawn", "satin")
    again = dialogue.say("back to the first one")
    assert (told(again.understood), again.routes) == (BOWL, first.routes)
    assert [told(each) for each in again.other_pieces] == [("soda-lime-float", "edge", "sawn", "satin")]


def test_a_waiting_piece_is_known_by_its_glass(dialogue: Dialogue) -> None:
    """What is said of the float panel goes to the float panel."""
    dialogue.say("a lead crystal bowl with a sawn edge to polish, and a float panel to be satin")
    answer = dialogue.say("the float panel is a flat face, fire-polished")
    assert told(answer.understood) == ("soda-lime-float", "flat-face", "fire-polished", "satin")


def test_a_glass_alone_puts_right_what_is_on_the_bench(dialogue: Dialogue) -> None:
    """The glass is float corrects the bowl, though a float panel waits; now the float panel goes on to it."""
    dialogue.say("a lead crystal bowl with a sawn edge to polish, and a float panel to be satin")
    assert told(dialogue.say("the glass is float").understood) == ("soda-lime-float", *BOWL[1:])
    dialogue.say("no, lead crystal after all")
    assert told(dialogue.say("now the float panel").understood) == PANEL


def test_a_piece_told_later_does_not_mix_with_the_first(dialogue: Dialogue) -> None:
    """Also a float edge begins a piece of its own; the bench stays as it is."""
    dialogue.say("lead crystal rim, blown, broken, to polish, no diamond")
    answer = dialogue.say("also a float edge, sawn, to satin")
    assert told(answer.understood) == ("soda-lime-float", "edge", "sawn", "satin")
    assert answer.understood.make is None
    assert answer.understood.restrictions == ["without diamond"]


def test_both_pieces_share_the_bench(dialogue: Dialogue) -> None:
    """What is at hand holds for every piece that was told."""
    dialogue.say("no belts here: a lead crystal rim, sawn, to polish, and a float edge, sawn, to satin")
    held = dialogue.say("now the other one").understood.restrictions
    assert held == ["without belt", "without cork belt", "without drum belt", "without felt belt"]


def test_the_other_one_without_another_piece_is_not_understood(dialogue: Dialogue) -> None:
    """Where nothing waits, nothing is taken up."""
    dialogue.say("lead crystal rim, broken, to polish")
    assert dialogue.say("now the other one").kind == "not_understood"


def test_two_sides_are_asked_about_and_nothing_is_supposed(dialogue: Dialogue) -> None:
    """A surface told in two ways is a question, not a third surface."""
    answer = dialogue.say("lead crystal edge, polished on one side, sawn on the other, to satin")
    assert (answer.kind, answer.assumed) == ("question", [])
    assert set(answer.ask_back[0].choices) == {"polished", "sawn"}


def test_a_bare_grade_is_put_to_the_maker_where_it_decides(dialogue: Dialogue) -> None:
    """600 can be F or P; the route differs, so it is asked, and the answer settles it."""
    answer = dialogue.say("flat float face ground with 600, to polish")
    question = next(question for question in answer.ask_back if question.about == "surface_grade")
    assert {"F600", "P600"} <= set(question.choices)
    settled = dialogue.say("P600")
    assert settled.routes[0].steps != answer.routes[0].steps
    assert "surface_grade" not in {question.about for question in settled.ask_back}


def test_a_bare_grade_that_decides_nothing_is_not_asked(dialogue: Dialogue) -> None:
    """Where every reading of the number leads the same way, the answer only says how it was taken."""
    answer = dialogue.say("float rim ground with 600, to rough shape it")
    assert "600" in " ".join(supposed.because for supposed in answer.assumed)
    assert "surface_grade" not in {question.about for question in answer.ask_back}


@pytest.mark.parametrize(("wanted", "last"), [("F400", "F400"), ("F220", "F220")])
def test_a_wanted_grade_is_where_the_route_ends(dialogue: Dialogue, wanted: str, last: str) -> None:
    """Ground to a grade ends at that grade, and says so as a statement."""
    answer = dialogue.say(f"lead crystal flat face, sawn, I want it ground to {wanted}")
    assert answer.routes[0].steps[-1].grade == last
    assert f"the last grade of the piece is {wanted}" in answer.understood.statements
    assert dialogue.say("no, to polish").understood.statements == [
        statement
        for statement in dialogue.answer.understood.statements
        if "last grade" not in statement  # type: ignore[union-attr]
    ]


OUTSIDE = [
    pytest.param("what's the weather like", "not_understood", "", id="nothing"),
    pytest.param("how much does a polished edge cost?", "out_of_scope", "edge", id="prices"),
    pytest.param("which glue for float glass?", "out_of_scope", "float", id="glue"),
    pytest.param("do you sell cerium oxide?", "out_of_scope", "cerium oxide", id="shops"),
    pytest.param("polish sawn boro in acid", "out_of_scope", "borosilicate", id="acid"),
]


@pytest.mark.parametrize(("text", "kind", "word"), OUTSIDE)
def test_three_things_can_be_asked_and_each_is_answered(knowledge: Knowledge, text: str, kind: str, word: str) -> None:
    """What is offered speaks of the words that were understood, and this program answers it."""
    answer = Dialogue(knowledge).say(text)
    assert (answer.kind, len(answer.can_be_asked)) == (kind, 3)
    assert word in " ".join(answer.can_be_asked)
    kinds = [Dialogue(knowledge).say(each).kind for each in answer.can_be_asked]
    assert set(kinds) <= {"route", "no_route", "why_not", "diagnosis"}


def test_about_an_answer_other_things_can_be_asked(dialogue: Dialogue) -> None:
    """Once there is a route, what is offered is about it."""
    dialogue.say("lead crystal rim, broken, to polish")
    for each in dialogue.say("bananas").can_be_asked:
        assert dialogue.say(each).kind in ("why_not", "what_if", "route", "why")
