"""Whatever the program says in statements its own parser reads back to the same statement, and a conversation opened again says the same.

``HYPOTHESIS_PROFILE=thorough pytest tests/test_said.py`` goes through every case of the library; otherwise a sample is taken.
"""

from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import case_files
import pytest
from effort import WHOLE, one_in

from finishing_kg.advice import as_json, check_plan
from finishing_kg.advice.ask import Advice, answer_of
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer
from finishing_kg.advice.deciding import settled
from finishing_kg.advice.possible import possible
from finishing_kg.advice.why import what_if
from finishing_kg.chat import Dialogue
from finishing_kg.chat.session import load, save
from finishing_kg.engine import Knowledge
from finishing_kg.measure.quantity import read_quantity
from finishing_kg.record import replace
from finishing_kg.routes import PARTS

QUESTIONS, DIALOGUES, SETUPS = (case_files.load(sort) for sort in ("question", "dialogue", "setup"))
CONVERSATIONS = [case.get("turns") or [case["ask"]] for case in (*DIALOGUES, *QUESTIONS)]

# Where statements stand in an answer: alone, in lists, in lists of lists, or as the keys of a table.
_STATEMENTS = {"statement", "statements", "absent", "lacking", "changes", "changed", "reason_sets", "words"}
_QUANTITIES = {"left", "right", "left_common", "right_common", "margin", "inputs", "result"}
_AFTERWARDS = (
    "why, in full?",
    "why not a felt wheel?",
    "why not diamond?",
    "why pumice and not cerium oxide?",
    "what if it were borosilicate?",
    "I don't know",
)


def some(every: list[Any], few: int) -> list[Any]:
    """All, or a few that are the same at every run."""
    return every if WHOLE else Random(8).sample(every, few)


def said(told: Any, names: set[str]) -> Iterator[str]:
    """All texts under some names in a printed answer."""
    if isinstance(told, dict):
        for key, value in told.items():
            if key in names:
                yield from texts(value)
            yield from said(value, names)
    elif isinstance(told, list):
        for each in told:
            yield from said(each, names)


def texts(value: Any) -> Iterator[str]:
    """The texts in a value: itself, its members, or its keys."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from texts(each) if not isinstance(each, dict) else ()
    elif isinstance(value, dict):
        yield from value


def not_read_back(knowledge: Knowledge, told: Any, names: set[str]) -> list[str]:
    """The statements of a printed answer that are not printed the same after they were read."""
    language = knowledge.language
    return [each for each in dict.fromkeys(said(told, names)) if language.print(language.parse(each)) != each]


def test_every_statement_of_a_conversation_reads_back(knowledge: Knowledge) -> None:
    """What was understood, supposed, concluded, absent, lacking, compared or changed, in answers and in the answers to questions about them."""
    seen, kinds = 0, set[str]()
    for turns in some(CONVERSATIONS, 8):
        dialogue = Dialogue(knowledge)
        for turn in (*turns, *_AFTERWARDS):
            told = as_json(dialogue.say(turn))
            kinds.add(told["kind"])
            seen += sum(1 for _ in said(told, _STATEMENTS))
            assert not_read_back(knowledge, told, _STATEMENTS) == [], turn
    assert seen > 1000
    assert kinds >= {"route", "why", "why_not", "comparison", "what_if"}


def test_every_statement_of_a_check_reads_back(knowledge: Knowledge, tmp_path: Path) -> None:
    """The reasons of all findings; what a corrected plan changes is told in sentences to a maker, which are no statements."""
    seen, names = 0, _STATEMENTS - {"changes"}
    for case in some(SETUPS, 12):
        file = tmp_path / "plan.toml"
        file.write_text(case["plan"], encoding="utf-8")
        told = as_json(check_plan(knowledge, file))
        seen += sum(1 for _ in said(told, names))
        assert not_read_back(knowledge, told, names) == []
    assert seen > 100


def test_every_quantity_that_is_compared_reads_back(knowledge: Knowledge) -> None:
    """Both sides of each comparison, as written and in the common unit, the margin, and what was computed from what."""
    seen = 0
    for turns in some(CONVERSATIONS, 6):
        dialogue = Dialogue(knowledge)
        for turn in turns:
            for text in dict.fromkeys(said(as_json(dialogue.say(turn))["reasons"], _QUANTITIES)):
                assert str(read_quantity(text)) == text
                seen += 1
    assert seen > 50


def test_an_opened_conversation_says_the_same(knowledge: Knowledge, tmp_path: Path) -> None:
    """Saved after its last turn and opened again, it answers each further question with the same bytes."""
    for turns in some(CONVERSATIONS, 6):
        before, file = Dialogue(knowledge), tmp_path / "talk.json"
        for turn in turns:
            before.say(turn)
        save(before, file)
        after = load(knowledge, file)
        assert after.case == before.case
        assert (as_json(after.answer) if after.answer else None) == (as_json(before.answer) if before.answer else None)
        for turn in _AFTERWARDS[:3]:
            assert as_json(after.say(turn)) == as_json(before.say(turn))


def told_of(answer: Answer) -> Any:
    """An answer without its kind, and without what it says of the change."""
    return {key: value for key, value in as_json(answer).items() if key not in ("kind", "changed", "differences")}


def test_what_if_equals_a_cold_answer_for_any_part(knowledge: Knowledge) -> None:
    """A part changed in a judged case gives what knowledge gives that never saw the case; other steps are told as a difference."""
    tried = 0
    random = Random(4)
    for turns in some(CONVERSATIONS, 12):
        dialogue = Dialogue(knowledge)
        dialogue.say(turns[0])
        if dialogue.answer is None or dialogue.answer.kind not in ("route", "no_route"):
            continue
        part = random.choice([part for part in PARTS if possible(knowledge.vocabulary, dialogue.case, part)])
        value = random.choice(possible(knowledge.vocabulary, dialogue.case, part))
        changes = {part: value, **({"surface_grade": None} if part == "surface" else {})}
        case = complete(knowledge.vocabulary, replace(dialogue.case, **changes))
        warm = what_if(dialogue.answer, settled(Advice(knowledge, case)), ["the change"])
        fresh = Knowledge(knowledge.vocabulary, knowledge.language, knowledge.base)
        cold = answer_of(settled(Advice(fresh, case)))
        assert told_of(warm) == told_of(cold)
        steps = [
            [(step.mineral, step.grade, step.hold, step.carrier) for step in route.steps]
            for each in (dialogue.answer, cold)
            for route in each.routes[:1]
        ]
        if len(steps) == 2 and steps[0] != steps[1]:
            assert any(line.startswith(("No longer", "Instead")) for line in warm.differences)
        tried += 1
    assert tried >= 5


@pytest.mark.parametrize("text", one_in(2, ["polish a float rim", "sawn float, to polish", "pre-polish", "sawn float flat face"]))
def test_what_is_asked_back_can_be_answered_by_each_choice(knowledge: Knowledge, text: str) -> None:
    """Each choice of the first question is understood as that when its label is the whole answer, and its question is not put again."""
    first = Dialogue(knowledge).say(text).ask_back[0]
    labels = {name.notation: name.label for name in knowledge.vocabulary.things(first.about)}
    for choice in first.choices:
        dialogue = Dialogue(knowledge)
        dialogue.say(text)
        answer = dialogue.say(labels[choice])
        told = as_json(answer)["understood"][first.about]
        assert (told["state"] if first.about == "surface" else told) == choice
        assert first.about not in {question.about for question in answer.ask_back}
