"""A long story is said back before anything of it counts."""

import pytest

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.chat.midway import resumed, standing
from finishing_kg.chat.read import read
from finishing_kg.chat.saying_back import HEARD, agrees
from finishing_kg.chat.session import as_data, from_data
from finishing_kg.engine import Knowledge

STORY = (
    "My aunt kept this jug on her windowsill for thirty years until the gardener leaned a ladder on it, and when she moved to the coast she gave it "
    "to me with its rim broken off. It is blown, and the seller once wrote lead crystal on the box. I would love to give it back to her at the "
    "wedding in June with the rim polished, and her face would be worth all the work."
)
OUTSIDE = (
    "My neighbour has a kiln in his garage and he lets me use it on Sundays when his wife plays tennis, so I wonder which firing schedule I should "
    "take to fuse two sheets of window glass, how fast to heat and how long to soak before the whole thing is left to cool until Monday morning."
)


@pytest.fixture
def dialogue(knowledge: Knowledge) -> Dialogue:
    """A conversation in which nothing was said yet."""
    return Dialogue(knowledge, whole=False)


def test_a_long_story_is_said_back_and_nothing_of_it_counts(dialogue: Dialogue) -> None:
    """The question tells what was heard; the piece is as it was, and the hazards of what was heard are told all the same."""
    answer = dialogue.say(STORY)
    assert (answer.kind, [asked.about for asked in answer.ask_back]) == ("question", [HEARD])
    assert answer.understood.glass is answer.understood.finish is dialogue.case.glass is None
    assert [(piece.glass, piece.form, piece.finish) for piece in answer.heard] == [("lead-crystal", "rim", "polish")]
    assert "lead crystal" in answer.text and "rim" in answer.text
    assert "lead-dust" in {caution.id for caution in answer.cautions}


def test_what_was_heard_counts_after_yes(dialogue: Dialogue) -> None:
    """The answer is that of the same facts in few words."""
    heard = dialogue.say(STORY).heard[0]
    answer = dialogue.say("Yes, that's right.")
    assert (answer.understood.glass, answer.understood.form, answer.understood.finish) == (heard.glass, heard.form, heard.finish)
    assert answer.kind == "route" and dialogue.heard is None


def test_what_is_otherwise_is_put_right_and_the_rest_counts(dialogue: Dialogue) -> None:
    """A correction takes the place of what was heard, and agrees to all else."""
    dialogue.say(STORY)
    answer = dialogue.say("no, it is opal glass")
    assert (answer.understood.glass, answer.understood.form, answer.understood.finish) == ("opal-glass", "rim", "polish")


def test_nothing_counts_after_no(dialogue: Dialogue) -> None:
    """The maker is asked to tell it in short."""
    dialogue.say(STORY)
    answer = dialogue.say("no")
    assert answer.kind == "question" and answer.understood.statements == [] and dialogue.heard is None


@pytest.mark.parametrize("text", ["wibble wobble", "why?", "!!"])
def test_what_neither_agrees_nor_tells_anything_has_it_said_back_again(dialogue: Dialogue, text: str) -> None:
    """The story waits for an answer."""
    first = dialogue.say(STORY)
    assert as_json(dialogue.say(text)) == as_json(first)
    assert dialogue.heard == STORY and dialogue.case.glass is None


def test_another_story_takes_its_place(dialogue: Dialogue) -> None:
    """It is said back in its turn."""
    dialogue.say(STORY)
    other = STORY.replace("lead crystal", "borosilicate")
    assert [piece.glass for piece in dialogue.say(other).heard] == ["borosilicate"]
    assert dialogue.heard == other


def test_a_long_story_outside_the_trade_is_answered_at_once(dialogue: Dialogue) -> None:
    """There is nothing of a piece to agree to."""
    assert dialogue.say(OUTSIDE).kind == "out_of_scope"
    assert dialogue.heard is None


def test_of_a_story_without_glass_it_is_said_that_nothing_was_heard(dialogue: Dialogue) -> None:
    """It is not passed off as a piece."""
    answer = dialogue.say("Once upon a midnight dreary somebody pondered over volumes of forgotten lore while nodding nearly sleeping " * 3)
    assert answer.kind == "not_understood" and answer.heard == []


def test_a_saved_conversation_still_waits(dialogue: Dialogue) -> None:
    """Opened again, *yes* is answered alike."""
    dialogue.say(STORY)
    again = from_data(dialogue.knowledge, as_data(dialogue))
    assert as_json(again.say("yes")) == as_json(dialogue.say("yes"))


def test_a_conversation_taken_up_midway_still_waits(dialogue: Dialogue) -> None:
    """What was heard is part of how it stands."""
    dialogue.say(STORY)
    again = resumed(Dialogue(dialogue.knowledge, whole=False), standing(dialogue))
    assert as_json(again.say("yes")) == as_json(dialogue.say("yes"))


def test_two_pieces_of_a_story_are_said_back_both(dialogue: Dialogue) -> None:
    """And both count after *yes*."""
    two = (
        "First job: my brother brought a bowl of borosilicate from his laboratory the week before the fair, its rim sawn, and wants it satin because "
        "the guests will hold it. Second job: an edge of float glass for the counter of the bakery, ground with F220, which I promised to polish "
        "before the mayor comes and eats the first roll, so that I sleep badly already."
    )
    answer = dialogue.say(two)
    assert [piece.glass for piece in answer.heard] == ["borosilicate", "soda-lime-float"]
    assert [piece.glass for piece in dialogue.say("yes").other_pieces] == ["soda-lime-float"]


def test_what_agrees_is_told_by_the_words_alone(knowledge: Knowledge) -> None:
    """A turn that says more is read as any other."""
    told = {"yes": True, "yep, spot on, thanks": True, "Correct.": True, "no": False, "nope": False, "yes, but a rim": None, "rim": None, "": None}
    assert {text: agrees(knowledge.vocabulary, text) for text in told} == told


def test_a_long_and_plain_description_is_no_story(knowledge: Knowledge) -> None:
    """Many words of the trade alone are read as they stand."""
    text = "Lead crystal bowl, blown, rim sawn, 80 mm diameter, wall 5 mm, to be polished. I have a lathe, a belt, pumice and cerium oxide."
    assert not read(knowledge.vocabulary, text).is_story
    assert read(knowledge.vocabulary, STORY).is_story


def test_a_message_with_a_tool_that_is_not_followed_is_said_back(dialogue: Dialogue) -> None:
    """The question names the tool; told in few words it is asked about beside the answer as ever."""
    text = "Lead crystal dish, sawn edge, to be polished in the end, and the felt wheel keeps grumbling about it whenever Aunt Maude is near."
    answer = dialogue.say(text)
    assert [asked.about for asked in answer.ask_back] == [HEARD] and "felt wheel" in answer.text
    assert dialogue.say("yes").understood.glass == "lead-crystal"
