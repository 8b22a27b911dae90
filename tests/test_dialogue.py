"""Turns of a conversation: first questions, new pieces, corrections, and what lies outside."""

import pytest

from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge


@pytest.fixture
def dialogue(knowledge: Knowledge) -> Dialogue:
    """A conversation at its beginning."""
    return Dialogue(knowledge)


def test_a_first_why_not_tells_the_piece_and_is_answered(dialogue: Dialogue) -> None:
    """A why-not that opens the conversation fills the slots and judges what it names."""
    answer = dialogue.say("Why not use a flat lap on a cast lead-free crystal relief, mould-marked, to pre-polish?")
    assert answer.kind == "why_not"
    assert (answer.understood.glass, answer.understood.form, answer.understood.finish) == ("lead-free-crystal", "bas-relief", "pre-polish")


def test_a_first_comparison_judges_each(dialogue: Dialogue) -> None:
    """Which of two is better, asked first, gives a comparison of both over the piece."""
    answer = dialogue.say("which is better to polish a pre-polished flat float face, felt or pitch?")
    assert (answer.kind, answer.about) == ("comparison", "felt-wheel, pitch-lap")


def test_a_first_what_if_shows_the_difference(dialogue: Dialogue) -> None:
    """What happens if something is skipped is told as a difference, and the piece keeps what was said."""
    answer = dialogue.say("what happens if I skip the pumice on a flat float face ground F600, to pre-polish?")
    assert answer.kind == "what_if"
    assert dialogue.case.unwanted == ()


def test_a_first_question_that_lacks_something_asks_back(dialogue: Dialogue) -> None:
    """Where the piece is not known well enough, the first question is met with a question."""
    assert dialogue.say("why not a belt for a float rim to satin?").kind in ("question", "why_not")
    assert dialogue.case.form == "rim"


def test_a_new_piece_in_the_same_turn_is_read(dialogue: Dialogue) -> None:
    """Next piece drops what was said and takes what follows."""
    dialogue.say("satin on a float edge, sawn, no diamond")
    answer = dialogue.say("next piece: boro disc, flat, sawn, fine ground")
    assert (answer.kind, answer.understood.glass, answer.understood.form) == ("route", "borosilicate", "flat-face")
    assert dialogue.case.unwanted == ()


def test_a_grade_is_corrected(dialogue: Dialogue) -> None:
    """I meant P400 replaces the grade and leaves the surface as it was."""
    dialogue.say("float edge ground to 400, want it prepolished")
    answer = dialogue.say("I meant P400 paper, not F")
    assert answer.understood.surface is not None
    assert (answer.understood.surface.state, answer.understood.surface.grade) == ("ground", "P400")


def test_a_grade_does_not_change_a_surface_that_has_none(dialogue: Dialogue) -> None:
    """A grade said later of a sawn face is asked about, and the face stays sawn."""
    dialogue.say("flat float face, sawn, to be fine ground")
    answer = dialogue.say("sorry, I meant F320")
    assert (dialogue.case.surface, dialogue.case.surface_grade) == ("sawn", None)
    assert "surface_grade" in {question.about for question in answer.ask_back}


def test_what_is_only_mentioned_is_judged(dialogue: Dialogue) -> None:
    """A tool that is named with a tag question is answered for, though nobody said use."""
    dialogue.say("deep carve a float panel, fire polished")
    answer = dialogue.say("river sand is cheap here, ok?")
    assert (answer.kind, answer.verdict) == ("why_not", "ruled out")


def test_a_dry_plan_is_met_before_the_route(dialogue: Dialogue) -> None:
    """No water and a grinding step is the first thing that the answer speaks of."""
    answer = dialogue.say("float edge, broken, ground; can I run a P120 silicon carbide belt dry?")
    assert answer.understood.planned is not None
    assert answer.understood.planned["water"] == "dry"
    assert answer.findings


def test_by_hand_keeps_to_the_hands(dialogue: Dialogue) -> None:
    """Without machines every step of every route is worked by hand."""
    answer = dialogue.say("flat float face, sawn, fine ground, no machines")
    assert answer.kind == "route"
    assert {step.machine for route in answer.routes for step in route.steps} == {"by-hand"}


OUTSIDE = [
    pytest.param("gloss a sawn acrylic edge", "glass", id="another material"),
    pytest.param("HF for lead crystal cuts?", "acid", id="acid"),
    pytest.param("annealing schedule for a cast bowl", "kiln", id="kiln"),
]


@pytest.mark.parametrize(("text", "word"), OUTSIDE)
def test_what_lies_outside_is_said_and_leaves_the_piece(dialogue: Dialogue, text: str, word: str) -> None:
    """Acid, the kiln and other materials are not advised on; the piece on the bench stays as it was."""
    dialogue.say("lead crystal bevel, sawn, polish")
    before = dialogue.case
    answer = dialogue.say(text)
    assert answer.kind == "out_of_scope"
    assert word in answer.text
    assert dialogue.case == before


def test_a_question_for_more_gives_the_answer_again(dialogue: Dialogue) -> None:
    """How long it takes is answered with the route that was given."""
    first = dialogue.say("lead crystal bevel, sawn, polish")
    assert dialogue.say("how long will it take?").routes == first.routes


def test_a_grade_of_a_plan_does_not_vanish(dialogue: Dialogue) -> None:
    """A grade that is for the plan and not for the surface is used or listed."""
    answer = dialogue.say("float flat face, sawn, F220 first, polish")
    shown = [*(answer.understood.planned or {}).values(), *answer.understood.unused_words]
    assert "F220" in shown
    assert answer.understood.surface is not None
    assert answer.understood.surface.grade is None


def test_a_new_piece_keeps_what_is_said_to_be_the_same(dialogue: Dialogue) -> None:
    """Same glass, on a new piece, keeps the glass and drops the rest."""
    dialogue.say("lead crystal bevel, sawn, polish")
    answer = dialogue.say("next one: same glass but a rim, broken")
    assert (answer.understood.glass, answer.understood.form, answer.understood.finish) == ("lead-crystal", "rim", None)


def test_two_sides_are_asked_about(dialogue: Dialogue) -> None:
    """Different surfaces on two sides are put to the maker, and neither is taken."""
    answer = dialogue.say("float block flat face, polished on one side, sawn on the other, to fine ground")
    assert answer.understood.surface is None
    assert ["polished", "sawn"] in [question.choices for question in answer.ask_back]


def test_a_wish_for_a_carrier_steers_the_route(dialogue: Dialogue) -> None:
    """With a hand lap puts the steps on the hand lap."""
    answer = dialogue.say("borosilicate disc, flat, sawn, fine ground with a hand lap")
    assert {step.carrier for step in answer.routes[0].steps} == {"hand-lap"}


def test_a_wanted_grade_names_the_finish(dialogue: Dialogue) -> None:
    """Ground to F400 and no further ends finely ground from the sawn face."""
    answer = dialogue.say("lead crystal flat face sawn ground to F400 and no further")
    assert (dialogue.case.surface, dialogue.case.finish) == ("sawn", "fine-ground")
    assert "F400" not in answer.understood.unused_words


def test_toughened_glass_is_warned_of_before_the_questions(dialogue: Dialogue) -> None:
    """A question back already carries the caution of toughened glass."""
    answer = dialogue.say("tempered glass edge, sawn")
    assert answer.kind == "question"
    assert "toughened-glass" in {caution.id for caution in answer.cautions}


def test_not_knowing_the_surface_gives_the_safest_route(dialogue: Dialogue) -> None:
    """Who does not know the surface gets a route from the roughest; who does not know the place is told why none is safe."""
    dialogue.say("polish a float rim")
    answer = dialogue.say("I don't know")
    assert answer.kind == "route"
    assert answer.assumed
    dialogue.say("next piece: sawn float, polish")
    assert "cannot go on safely" in dialogue.say("not sure").text
