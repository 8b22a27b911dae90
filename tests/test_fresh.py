"""Questions worded after the reader was done: none is misread, and where it is unsure it asks."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge

FRESH = tomllib.loads((Path(__file__).parent / "data" / "fresh.toml").read_text(encoding="utf-8"))["question"]
PARTS = ("glass", "make", "form", "surface", "finish")


@pytest.mark.parametrize("case", FRESH, ids=lambda case: case["ask"][:40])
def test_none_is_misread(knowledge: Knowledge, case: dict[str, Any]) -> None:
    """Each part is read as meant or left open, never as something else; with a part open that is needed, a question comes back."""
    answer = Dialogue(knowledge).say(case["ask"])
    read = as_json(answer.understood)
    read["surface"] = (read["surface"] or {}).get("state")
    misread = {part: (read[part], case["understood"].get(part)) for part in PARTS if read[part] not in (None, case["understood"].get(part))}
    assert misread == {}
    assert answer.kind in ("route", "no_route", "question", "diagnosis")
    if answer.kind == "question":
        assert answer.ask_back


def test_most_are_read_whole(knowledge: Knowledge) -> None:
    """At least three in four are understood in every part."""
    whole = 0
    for case in FRESH:
        read = as_json(Dialogue(knowledge).say(case["ask"]).understood)
        read["surface"] = (read["surface"] or {}).get("state")
        whole += all(read[part] == wanted for part, wanted in case["understood"].items())
    assert whole * 4 >= len(FRESH) * 3
