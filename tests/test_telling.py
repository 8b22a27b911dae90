"""Cases told turn by turn: what is taken up midway is answered as it was, and work on several cores gives what it gives on one."""

import subprocess
import sys
from pathlib import Path

import pytest
from effort import tries

from finishing_kg.casebook import load_cases
from finishing_kg.casebook.expect import answers_to
from finishing_kg.casebook.telling import tell, without_reasons
from finishing_kg.chat import Dialogue
from finishing_kg.chat.midway import resumed, standing
from finishing_kg.engine import Knowledge

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
