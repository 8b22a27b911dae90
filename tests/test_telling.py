"""Cases told turn by turn: what is taken up midway is answered as it was, and work on several cores gives what it gives on one."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from effort import tries

from finishing_kg.advice.reasons import Unreasoned
from finishing_kg.casebook import Case, load_cases
from finishing_kg.casebook.expect import answers_to
from finishing_kg.casebook.telling import tell, without_reasons
from finishing_kg.chat import Dialogue
from finishing_kg.chat.midway import resumed, standing
from finishing_kg.engine import Knowledge, Model
from finishing_kg.record import replace as replaced

CASES = {case.id: case for case in load_cases(sorted((Path(__file__).parent.parent / "rules" / "cases").glob("*.toml")))}
# What is asked about an answer, pieces told together, complaints, and what is left open.
CONVERSATIONS = ["relief-why-not-felt", "convex-outside-and-flat-base", "symptom-then-form"]
CONVERSATIONS += [name for name, case in CASES.items() if case.sort == "dialogue" and name not in CONVERSATIONS] if tries(1) > 1 else []


@pytest.mark.parametrize("name", CONVERSATIONS)
def test_a_conversation_goes_on_from_any_turn(knowledge: Knowledge, name: str) -> None:
    """Told turn by turn the answers are those of the conversation; taken up after any turn, what is said next is answered word for word alike."""
    case = CASES[name]
    told = tell(knowledge, case)
    assert list(told.answers) == [without_reasons(answer) for answer in answers_to(knowledge.unchecked, case)]
    for place in range(1, len(told.turns)):
        changing = [each == place for each in range(len(told.turns))]
        again = tell(knowledge, case, before=told, changing=changing)
        assert again.answers == told.answers and again.short == told.short
        assert [turn.stood for turn in again.turns] == [turn.stood for turn in told.turns]


def test_what_was_worked_out_is_not_worked_out_again(knowledge: Knowledge) -> None:
    """Said again while its evaluations come out as they did, a turn that tries what would help to know makes few of them; else all. Its answer is
    the same, and so is what it is then said to hang on.
    """
    case = CASES["symptom-then-grade"]
    told = tell(knowledge, case)
    made: list[Model] = []
    again = tell(knowledge, case, made.append, told, [True, True, True], is_as_before=lambda _asked: True)
    assert again == told and len(made) < len(told.asked) / 2
    made.clear()
    anew = tell(knowledge, case, made.append, again, [True, True, True])
    assert anew == told and len(made) == len(told.asked)


def test_reasons_are_made_where_somebody_looks_at_them(knowledge: Knowledge) -> None:
    """A conversation that asks *why* is told with reasons, and taken up from its beginning; one that does not is told without."""
    turns = ["flat face of float glass, sawn, to polish", "why the felt wheel?", "and on a rim?"]
    case = Case("why", "dialogue", "here", {"turns": turns, "expect": [{}, {}, {}]})
    told = tell(knowledge, case)
    assert told.reasoned and told.turns[1].kind == "why"
    assert list(told.answers) == [without_reasons(answer) for answer in answers_to(knowledge.unchecked, case)]
    assert tell(knowledge, case, before=told, changing=[False, False, True]).answers == told.answers
    other = replace(case, table={**case.table, "turns": [turns[0], "why not cork?", turns[2]]})
    assert not tell(knowledge, other).reasoned


def test_without_reasons_an_answer_is_the_same_and_nobody_may_look_at_any(knowledge: Knowledge) -> None:
    """Whoever looks at reasons that were not made is refused; nothing else of the answer is other."""
    silent = knowledge.share_with(replaced(knowledge, reasoning=False))
    dialogues = [Dialogue(each) for each in (knowledge.unchecked, silent)]
    told, quiet = (dialogue.say("rim of lead crystal, sawn, to polish") for dialogue in dialogues)
    assert without_reasons(quiet) == without_reasons(told) and told.reasons and not quiet.reasons
    with pytest.raises(Unreasoned):
        dialogues[1].say("why?")


def test_how_a_conversation_stands_is_plain_and_comes_back(knowledge: Knowledge) -> None:
    """A conversation that is taken up stands as the one that was left, and what is no such thing is refused."""
    left = Dialogue(knowledge.unchecked, asking=False)
    left.say("I have two pieces: a flat float face, sawn, to polish, 30 mm thick; and a rim of lead crystal, ground F220, to satin. I have felt")
    left.say("orange peel after the felt wheel")
    taken_up = resumed(Dialogue(knowledge.unchecked, asking=False), standing(left))
    assert standing(taken_up) == standing(left) and taken_up.case == left.case and taken_up.held == left.held
    for spoilt in (("Path", "/"), ("Case", 1), standing(left)[:-1]):
        with pytest.raises((TypeError, ValueError, LookupError)):
            resumed(Dialogue(knowledge), spoilt)


_SQUARES = """
import os, sys, time
from contextlib import closing
from finishing_kg.casebook.cores import done

def square(item):
    time.sleep(0.02)
    return os.getpid(), item * item

found = dict(done(square, range(8), 2))
assert [found[place][1] for place in range(8)] == [place * place for place in range(8)]
assert os.getpid() not in {by for by, _ in found.values()}
assert {by for _, (by, _) in done(square, range(3), 1)} == {os.getpid()}
with closing(done(square, range(500), 2)) as ready:
    next(ready)
try:
    list(done(lambda item: 1 // item, [1, 0], 2))
except ZeroDivisionError:
    print("told")
"""


@pytest.mark.skipif(sys.platform != "linux", reason="no process is forked there")
def test_work_is_done_on_several_cores() -> None:
    """Each item has its result, whoever did it; what is left off ends at once, and what goes wrong is told."""
    ran = subprocess.run([sys.executable, "-c", _SQUARES], capture_output=True, text=True, timeout=60, check=False)
    assert (ran.returncode, ran.stdout.strip(), ran.stderr) == (0, "told", "")
