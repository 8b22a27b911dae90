"""What was understood can be put right: corrected or taken back, one statement at a time."""

from __future__ import annotations

import pytest

from finishing_kg.chat import Dialogue
from finishing_kg.chat.named import completed, things_named
from finishing_kg.engine import Knowledge
from finishing_kg.routes import PARTS, PIECE
from finishing_kg.statements import Statement

TOLD = "Relief cast panel in studio soda-lime glass, straight from the mould, diameter 200 mm, no pitch lap, to a pre-polish"


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    """The shipped knowledge."""
    return Knowledge.shipped()


@pytest.fixture
def dialogue(knowledge: Knowledge) -> Dialogue:
    """A conversation that was told a piece."""
    made = Dialogue(knowledge)
    made.say(TOLD)
    return made


@pytest.mark.parametrize("part", [part for part in PARTS if part not in ("surface_grade", "goal_grade")])
def test_every_thing_can_stand_in_its_part(knowledge: Knowledge, part: str) -> None:
    """Whatever the ontology has of a kind can be put in the place of what was said, and is understood as exactly that."""
    from finishing_kg.chat.put_right import put_right
    from finishing_kg.routes import Case

    things = knowledge.vocabulary.things(part)
    assert len(things) > 1
    for name in things:
        sentence = knowledge.language.print(Statement(PARTS[part], PIECE, name.id))
        case = put_right(knowledge, Case(**{part: things[0].id, "surface_grade": "grade-kept"}), f"correction: {sentence}")
        assert case is not None
        assert case.part(part) == name.id
        assert (case.surface_grade is None) is (part == "surface" and name.id != things[0].id)


def test_a_correction_leaves_no_trace_of_what_it_corrects(dialogue: Dialogue) -> None:
    """The form that was there before is not taken for a second form of the piece."""
    answer = dialogue.say("Correction: the piece has form rim")
    assert answer.understood.form == "rim"
    assert answer.kind == "route"
    assert not any("bas-relief" in each for each in answer.understood.statements)


@pytest.mark.parametrize("place", range(7))
def test_every_statement_can_be_taken_back(dialogue: Dialogue, place: int) -> None:
    """Each statement that an answer lists is gone after it was taken back, and the others are as they were."""
    before = dialogue.answer.understood.statements  # type: ignore[union-attr]
    assert len(before) == 7
    after = dialogue.say(f"take back: {before[place]}").understood.statements
    assert after == [each for each in before if each != before[place]]
    assert len(dialogue.case.words) == len([each for each in after if each in dialogue.answer.understood.words])  # type: ignore[union-attr]


def test_a_limit_is_gone_with_the_last_thing_at_hand(knowledge: Knowledge) -> None:
    """Whoever takes back the only thing at hand is not left with an empty bench."""
    dialogue = Dialogue(knowledge)
    dialogue.say("Flat face, sawn, to a polish. I only have a felt wheel.")
    assert dialogue.case.limited_in
    assert dialogue.say("take back: felt wheel is at hand").understood.restrictions == []


@pytest.mark.parametrize(
    ("turn", "says"),
    [
        ("take back: the piece has glass fused quartz", "was not said of this piece"),
        ("correction: the piece has form nonsense", "nonsense"),
        ("correction: felt wheel spins", "nothing that a maker says of the piece"),
        ("correction:", "empty"),
    ],
)
def test_what_cannot_be_put_right_is_refused(dialogue: Dialogue, turn: str, says: str) -> None:
    """A sentence that was not said or cannot be read changes nothing, and the answer says why."""
    before = dialogue.case
    answer = dialogue.say(turn)
    assert answer.kind == "not_understood"
    assert says in answer.text
    assert dialogue.case == before


def test_begun_words_go_on(knowledge: Knowledge) -> None:
    """A begun word of the ontology goes on, over several words too; what is complete or unknown does not."""
    vocabulary = knowledge.vocabulary
    assert completed(vocabulary, "Rim in borosil") == "Rim in borosilicate"
    assert completed(vocabulary, "a studio soda") == "a studio soda-lime"
    assert completed(vocabulary, "with a felt wh") == "with a felt wheel"
    assert completed(vocabulary, "felt wheel") is None
    assert completed(vocabulary, "zzz") is None
    assert completed(vocabulary, "") is None


def test_things_named_in_a_text(knowledge: Knowledge) -> None:
    """The things are found by their own labels, in the order of the text, and nothing else is."""
    assert [name.label for name in things_named(knowledge.vocabulary, "pumice on the felt wheel, then nothing")] == ["pumice", "felt wheel"]
