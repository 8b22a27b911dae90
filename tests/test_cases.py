"""The cases: what the program answers to questions, conversations and planned setups."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import case_files
import pytest

from finishing_kg.advice import Answer, PlanCheck, check_plan
from finishing_kg.advice.plan import read_plan
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, Model
from finishing_kg.routes import SAID, judge

QUESTIONS, DIALOGUES, SETUPS = (case_files.load(sort) for sort in ("question", "dialogue", "setup"))


def ids(cases: list[dict[str, Any]]) -> list[str]:
    return [case["id"] for case in cases]


def fired(model: Model) -> set[str]:
    """The rules that derived something in a model."""
    return {model.base.rules[index].id for firings in model.firings.values() for index, _ in firings}


class Seen:
    """Which cases ran, and which rules fired in them."""

    def __init__(self) -> None:
        self.cases: set[str] = set()
        self.rules: set[str] = set()


@pytest.fixture(scope="module")
def seen() -> Seen:
    """What was seen while the cases of this file ran."""
    return Seen()


def ask(knowledge: Knowledge, seen: Seen, case: dict[str, Any]) -> Iterator[Answer]:
    """The answers to the turns of one conversation."""
    dialogue = Dialogue(knowledge)
    for turn in case.get("turns") or [case["ask"]]:
        yield dialogue.say(turn)
        if dialogue.advice is not None and dialogue.case.finish is not None:
            seen.rules |= fired(dialogue.advice.model) | fired(dialogue.advice.judged.model)
        if dialogue.diagnosis is not None:
            seen.rules |= fired(dialogue.diagnosis.model)
    seen.cases.add(case["id"])


def check(knowledge: Knowledge, seen: Seen, case: dict[str, Any], folder: Path) -> PlanCheck:
    """The check of one planned setup."""
    file = folder / "plan.toml"
    file.write_text(case["plan"], encoding="utf-8")
    plan = read_plan(knowledge, file)
    seen.rules |= fired(judge(knowledge, plan.case, [plan.steps], SAID).model)
    seen.cases.add(case["id"])
    return check_plan(knowledge, file)


@pytest.mark.parametrize("case", QUESTIONS, ids=ids(QUESTIONS))
def test_question(knowledge: Knowledge, seen: Seen, case: dict[str, Any]) -> None:
    """A question is understood and answered as its case says."""
    (answer,) = ask(knowledge, seen, case)
    assert list(case_files.question_faults(case, answer)) == []


@pytest.mark.parametrize("case", DIALOGUES, ids=ids(DIALOGUES))
def test_dialogue(knowledge: Knowledge, seen: Seen, case: dict[str, Any]) -> None:
    """Each turn of a conversation is answered as its case says."""
    answers = list(ask(knowledge, seen, case))
    assert len(answers) == len(case["expect"])
    faults = [list(case_files.question_faults(expected, answer)) for expected, answer in zip(case["expect"], answers, strict=True)]
    assert faults == [[]] * len(answers)


@pytest.mark.parametrize("case", SETUPS, ids=ids(SETUPS))
def test_setup(knowledge: Knowledge, seen: Seen, tmp_path: Path, case: dict[str, Any]) -> None:
    """A planned setup gets the findings that its case says, and none that it must not."""
    assert list(case_files.setup_faults(case, check(knowledge, seen, case, tmp_path))) == []


def test_every_rule_fires_in_some_case(knowledge: Knowledge, seen: Seen, tmp_path: Path) -> None:
    """No shipped rule is without a case that shows it fire."""
    for case in [*QUESTIONS, *DIALOGUES]:
        if case["id"] not in seen.cases:
            list(ask(knowledge, seen, case))
    for case in SETUPS:
        if case["id"] not in seen.cases:
            check(knowledge, seen, case, tmp_path)
    every = {rule.id for rule in knowledge.base.rules}
    silent = sorted(every - seen.rules)
    assert not silent, f"rules that fire in no case: {', '.join(silent)}"


def test_case_ids_are_unique() -> None:
    """A case can be named by its id alone."""
    every = ids(QUESTIONS) + ids(DIALOGUES) + ids(SETUPS)
    assert sorted(every) == sorted(set(every))
