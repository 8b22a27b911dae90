"""The cases: what the program answers to questions, conversations and planned setups."""

from pathlib import Path
from typing import Any

import case_files
import pytest

from finishing_kg.advice import Answer, PlanCheck, check_plan
from finishing_kg.casebook import Case
from finishing_kg.casebook.cases import Heard, shelf_of
from finishing_kg.casebook.expect import answers_to
from finishing_kg.engine import Knowledge

QUESTIONS, DIALOGUES, SETUPS = (case_files.load(sort) for sort in ("question", "dialogue", "setup"))


def ids(cases: list[dict[str, Any]]) -> list[str]:
    return [case["id"] for case in cases]


class Seen(Heard):
    """Which cases ran, and which rules fired in them."""

    def __init__(self, knowledge: Knowledge) -> None:
        super().__init__(knowledge)
        self.cases: set[str] = set()


@pytest.fixture(scope="module")
def seen(knowledge: Knowledge) -> Seen:
    """What was seen while the cases of this file ran."""
    return Seen(knowledge)


def ask(seen: Seen, case: dict[str, Any]) -> list[Answer]:
    """The answers to the turns of one conversation."""
    seen.cases.add(case["id"])
    return answers_to(seen.knowledge, Case(case["id"], "question" if "ask" in case else "dialogue", case["file"], case))


def check(seen: Seen, case: dict[str, Any], folder: Path) -> PlanCheck:
    """The check of one planned setup."""
    file = folder / "plan.toml"
    file.write_text(case["plan"], encoding="utf-8")
    seen.cases.add(case["id"])
    return check_plan(seen.knowledge, file, shelf_of(seen.knowledge, case))


@pytest.mark.parametrize("case", QUESTIONS, ids=ids(QUESTIONS))
def test_question(seen: Seen, case: dict[str, Any]) -> None:
    """A question is understood and answered as its case says."""
    (answer,) = ask(seen, case)
    assert list(case_files.question_faults(case, answer)) == []


@pytest.mark.parametrize("case", DIALOGUES, ids=ids(DIALOGUES))
def test_dialogue(seen: Seen, case: dict[str, Any]) -> None:
    """Each turn of a conversation is answered as its case says."""
    answers = ask(seen, case)
    assert len(answers) == len(case["expect"])
    faults = [list(case_files.question_faults(expected, answer)) for expected, answer in zip(case["expect"], answers, strict=True)]
    assert faults == [[]] * len(answers)


@pytest.mark.parametrize("case", SETUPS, ids=ids(SETUPS))
def test_setup(seen: Seen, tmp_path: Path, case: dict[str, Any]) -> None:
    """A planned setup gets the findings that its case says, and none that it must not."""
    assert list(case_files.setup_faults(case, check(seen, case, tmp_path))) == []


def test_every_rule_fires_in_some_case(knowledge: Knowledge, seen: Seen, tmp_path: Path) -> None:
    """No shipped rule is without a case that shows it fire."""
    for case in [*QUESTIONS, *DIALOGUES]:
        if case["id"] not in seen.cases:
            ask(seen, case)
    for case in SETUPS:
        if case["id"] not in seen.cases:
            check(seen, case, tmp_path)
    every = {rule.id for rule in knowledge.base.rules}
    silent = sorted(every - seen.fired)
    assert not silent, f"rules that fire in no case: {', '.join(silent)}"


def test_case_ids_are_unique() -> None:
    """A case can be named by its id alone."""
    every = ids(QUESTIONS) + ids(DIALOGUES) + ids(SETUPS)
    assert sorted(every) == sorted(set(every))
