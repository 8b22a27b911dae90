"""The held-out questions: how many are understood fully, in part or misread, by the recipe that they were worded by."""

import tomllib
from pathlib import Path
from typing import Any

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge

FILE = Path(__file__).parent / "data" / "held_out_150.toml"
PARTS = ("glass", "form", "surface", "finish")
FULL, PARTLY, MISREAD = "fully", "partly", "misread"


def judged(knowledge: Knowledge, question: dict[str, Any]) -> str:
    """One of ``FULL``, ``PARTLY`` (a part is left open) and ``MISREAD`` (a part is read as something else)."""
    read = as_json(Dialogue(knowledge, whole=False, asking=False).say(question["ask"]).understood)
    read["surface"] = (read["surface"] or {}).get("state")
    wanted = question["understood"]
    if any(read[part] not in (None, wanted.get(part)) for part in PARTS):
        return MISREAD
    return FULL if all(read[part] == wanted.get(part) for part in PARTS) else PARTLY


def figures(knowledge: Knowledge, one_in: int = 1) -> dict[str, dict[str, int]]:
    """By recipe, or for one recipe in so many, how many questions came to each."""
    questions = tomllib.loads(FILE.read_text(encoding="utf-8"))["question"]
    recipes = list(dict.fromkeys(question["recipe"] for question in questions))[::one_in]
    told = {recipe: {FULL: 0, PARTLY: 0, MISREAD: 0} for recipe in recipes}
    for question in questions:
        if question["recipe"] in told:
            told[question["recipe"]][judged(knowledge, question)] += 1
    return told
