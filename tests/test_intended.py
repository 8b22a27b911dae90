"""What a maker has in mind: it is judged before the rest is known, remembered while questions stand open, and bounds what is asked."""

import pytest

from finishing_kg.advice.contract import Answer
from finishing_kg.chat import Dialogue
from finishing_kg.cli.render import render_answer
from finishing_kg.engine import Knowledge


@pytest.fixture
def dialogue(knowledge: Knowledge) -> Dialogue:
    """A conversation at its beginning."""
    return Dialogue(knowledge)


def _stops(answer: Answer) -> set[str]:
    return {finding.code for finding in answer.findings if finding.level == "stop"}


@pytest.mark.parametrize(
    ("text", "stop"),
    [
        ("can I blast a vase with river sand?", "silica-blast"),
        ("I want to grind a borosilicate rim dry on a belt", "dry-grinding"),
        ("a 150 mm diamond wheel at 12000 rpm for an opal glass edge", "over-speed"),
    ],
)
def test_a_danger_is_told_though_much_is_not_known(
    knowledge: Knowledge, dialogue: Dialogue, capsys: pytest.CaptureFixture[str], text: str, stop: str
) -> None:
    """A question back does not stand in the way of a stop, in the answer and on the screen."""
    answer = dialogue.say(text)
    assert answer.kind == "question" and stop in _stops(answer)
    render_answer(knowledge, answer)
    shown = capsys.readouterr().out
    assert "Do not do it like that" in shown and shown.index("Do not do it") < shown.index("? ")


def test_a_method_is_remembered_until_it_was_judged_on_a_route(dialogue: Dialogue) -> None:
    """What was planned in one turn is still meant in the next, and what joins it is judged together with it."""
    dialogue.say("sandblast a name on a jar")
    assert dialogue.say("it is fire-polished").understood.planned == {"carrier": "blast-nozzle"}
    assert "silica-blast" in _stops(dialogue.say("can I use quartz sand?"))


def test_a_method_that_is_ruled_out_is_meant_no_more(dialogue: Dialogue) -> None:
    """A restriction takes what was planned out of mind."""
    dialogue.say("I want to use a belt on a float edge")
    assert "carrier" not in (dialogue.say("no belts").understood.planned or {})


def test_a_finish_in_a_later_turn_is_held_against_the_jet(dialogue: Dialogue) -> None:
    """A satin asked for two turns after the blasting is put to the maker, as in one turn."""
    dialogue.say("sandblast a name on a borosilicate beaker")
    answer = dialogue.say("I want it satin")
    assert {"blast-fine", "satin"} <= {choice for asked in answer.ask_back if asked.about == "finish" for choice in asked.choices}


def test_only_what_can_come_of_a_method_is_asked(dialogue: Dialogue) -> None:
    """Of a jet only frosts are offered, which need no form."""
    asked = {question.about: question.choices for question in dialogue.say("sandblast a name on a jar").ask_back}
    assert sorted(asked["finish"]) == ["blast-coarse", "blast-fine", "deep-carve"]
    assert "form" not in asked


def test_a_polish_can_only_end_in_a_polish(dialogue: Dialogue) -> None:
    """A finish that alone can come of the method is supposed openly, and given up when another is said."""
    answer = dialogue.say("tin oxide on a felt wheel for a lead crystal flat face ground F800")
    assert any("polish" in each.statement and "tin oxide" in each.because for each in answer.assumed)
    assert dialogue.say("to a satin").understood.finish == "satin"


def test_both_parts_of_a_method_are_kept(dialogue: Dialogue) -> None:
    """The carrier before the *with* is planned as much as the grain after it."""
    answer = dialogue.say("cork belt with pumice on a float flat face, ground F500, to polish")
    assert answer.understood.planned == {"carrier": "cork-belt", "mineral": "pumice"}


def test_a_step_that_is_spoken_of_need_not_be_the_last(dialogue: Dialogue) -> None:
    """Nobody is warned that pumice stops short of a polish where pumice is only the step in mind."""
    answer = dialogue.say("use pumice on a cork wheel for a float flat face ground F600, to polish")
    assert answer.kind == "route" and "will-not-reach-finish" not in {finding.code for finding in answer.findings}


def test_the_next_step_is_judged_though_the_route_comes_to_it_later(dialogue: Dialogue) -> None:
    """Asked why not cerium at once, on a coarse grind, the answer says what is wrong with at once."""
    answer = dialogue.say("why not go from F120 straight to cerium on a flat face of borosilicate?")
    assert "skips-pre-polish" in {finding.code for finding in answer.findings}


def test_two_polishes_are_compared_where_one_stands_instead_of_the_other(dialogue: Dialogue) -> None:
    """*Why not A instead of B* compares the two, and is not taken for a method made of both."""
    answer = dialogue.say("why not zirconium oxide instead of cerium on an optical glass flat face, pre-polished, to polish?")
    assert answer.kind == "comparison"


def test_a_grade_that_is_on_no_scale_is_told(dialogue: Dialogue) -> None:
    """A planned grade that nobody makes is not passed over."""
    answer = dialogue.say("use a 47 micron diamond belt on a sawn float edge, to grind")
    assert "unknown-grade" in {finding.code for finding in answer.findings}


@pytest.mark.parametrize("written", ["45 micron", "45 microns", "45 um", "45 µm"])
def test_micron_grades_as_people_write_them(dialogue: Dialogue, written: str) -> None:
    """The common coarse pads are known by their size."""
    answer = dialogue.say(f"use a {written} diamond belt on a sawn float edge, to grind")
    assert answer.understood.planned == {"mineral": "diamond", "carrier": "belt", "grade": written}
    assert "unknown-grade" not in {finding.code for finding in answer.findings}


def test_no_felt_is_said_of_all_felts(dialogue: Dialogue) -> None:
    """A bare word rules out every carrier that has it in its name, and no other."""
    dialogue.say("float flat face, pre-polished, to polish, no felt")
    assert set(dialogue.case.unwanted) == {"felt-wheel", "felt-belt", "felt-bob"}


@pytest.mark.parametrize(
    ("text", "caution"),
    [("toughened float edge, broken, to polish", "toughened-glass"), ("a strained lead crystal block, flat face sawn, to polish", "strained-piece")],
)
def test_glass_under_tension_gets_no_way(dialogue: Dialogue, text: str, caution: str) -> None:
    """No route is shown through a skin that holds tension, and the danger is the reason that is told."""
    answer = dialogue.say(text)
    assert answer.kind == "no_route" and not answer.routes
    assert caution in {each.id for each in answer.cautions}
    assert "nnealed" in answer.text or "Toughened" in answer.text


def test_a_finished_polish_may_be_gone_over_on_toughened_glass(dialogue: Dialogue) -> None:
    """A polish takes off too little to reach the tension; the caution stands beside it."""
    answer = dialogue.say("toughened float flat face, pre-polished, to polish")
    assert answer.kind == "route" and "toughened-glass" in {each.id for each in answer.cautions}


@pytest.mark.parametrize("text", ["how do I drill a hole in a tempered float panel?", "cut a tempered panel in half"])
def test_drilling_and_parting_are_outside_and_still_warned_of(dialogue: Dialogue, text: str) -> None:
    """What comes before finishing is said to be outside, with the caution that the piece calls for."""
    answer = dialogue.say(text)
    assert answer.kind == "out_of_scope" and "toughened-glass" in {each.id for each in answer.cautions}


def test_a_drilled_hole_is_still_finished(dialogue: Dialogue) -> None:
    """A hole that is there already is a bore like any other."""
    assert dialogue.say("I want to polish the bore that I drilled through a float block, ground F400").kind in ("route", "question")


def test_feet_are_lengths(dialogue: Dialogue) -> None:
    """A number of feet is a measure, and not the foot of a vessel."""
    dialogue.say("float sheet 2 feet across, edge sawn, to satin")
    assert dialogue.case.form == "edge" and not any(value == "flat-face" for _, value in dialogue.case.remarks)
