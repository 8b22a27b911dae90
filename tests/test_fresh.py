"""Questions worded after the reader was done: none is misread, and where it is unsure it asks."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from finishing_kg.advice import as_json
from finishing_kg.advice.contract import Answer
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge

FRESH = tomllib.loads((Path(__file__).parent / "data" / "fresh.toml").read_text(encoding="utf-8"))["question"]
PARTS = ("glass", "make", "form", "surface", "finish")


@pytest.fixture(scope="module")
def answers(knowledge: Knowledge) -> dict[str, Answer]:
    """What is said to each question; what would help to know is not looked for."""
    return {case["ask"]: Dialogue(knowledge, whole=False, asking=False).say(case["ask"]) for case in FRESH}


def _read(answer: Answer) -> dict[str, Any]:
    """What was understood."""
    read: dict[str, Any] = as_json(answer.understood)
    read["surface"] = (read["surface"] or {}).get("state")
    return read


@pytest.mark.parametrize("case", FRESH, ids=lambda case: case["ask"][:40])
def test_none_is_misread(answers: dict[str, Answer], case: dict[str, Any]) -> None:
    """Each part is read as meant or left open, never as something else; with a part open that is needed, a question comes back."""
    answer = answers[case["ask"]]
    read = _read(answer)
    misread = {part: (read[part], case["understood"].get(part)) for part in PARTS if read[part] not in (None, case["understood"].get(part))}
    assert misread == {}
    assert answer.kind in ("route", "no_route", "question", "diagnosis")
    if answer.kind == "question":
        assert answer.ask_back


def test_most_are_read_whole(answers: dict[str, Answer]) -> None:
    """At least three in four are understood in every part."""
    whole = 0
    for case in FRESH:
        read = _read(answers[case["ask"]])
        whole += all(read[part] == wanted for part, wanted in case["understood"].items())
    assert whole * 4 >= len(FRESH) * 3
