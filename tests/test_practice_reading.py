"""Practice questions for the reader: what was understood once is not lost again. It was tuned to them, so they measure nothing."""

import tomllib
from pathlib import Path
from typing import Any

import held_out_sets
from held_out_sets import FULL, MISREAD, PARTLY

from finishing_kg.advice import as_json
from finishing_kg.advice.ask import understood
from finishing_kg.advice.complete import complete
from finishing_kg.chat.held import intention_of
from finishing_kg.chat.merge import merge
from finishing_kg.chat.pieces import noted, remarks_of
from finishing_kg.chat.read import read
from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case

_FILE = Path(__file__).parent / "data" / "practice_reading.toml"


def _judged(knowledge: Knowledge, question: dict[str, Any]) -> str:
    """How one question is read, by the judge of the held-out sets; no route is searched, so it takes a fiftieth of the time."""
    vocabulary = knowledge.vocabulary
    reading = read(vocabulary, question["ask"], begins=True)
    case, doubts = merge(vocabulary, Case(), reading)
    case = complete(vocabulary, noted(case, remarks_of(vocabulary, question["ask"])))
    told = as_json(understood(knowledge, case))
    told["faults"] = [fault.id for fault in reading.faults]
    meant = intention_of(reading)
    told["planned"] = {name.kind: name.id for name in reversed(meant.things)} | ({"grade": meant.grade} if meant.grade else {})
    kinds = {kind for kind, _ in held_out_sets.faults(told, case, question["understood"], "", doubts)}
    return MISREAD if MISREAD in kinds else PARTLY if kinds else FULL


def test_what_was_understood_is_not_lost(knowledge: Knowledge) -> None:
    """At least as many are read whole as when they were written down, and no more are misread."""
    written = tomllib.loads(_FILE.read_text(encoding="utf-8"))
    kinds = [_judged(knowledge, question) for question in written["question"]]
    assert kinds.count(FULL) >= written["read"]["fully"]
    assert kinds.count(MISREAD) <= written["read"]["misread"]
