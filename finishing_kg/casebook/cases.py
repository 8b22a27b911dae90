"""Cases in TOML, and what the program says to them.

A case file holds ``[[question]]``, ``[[dialogue]]`` and ``[[setup]]`` tables: a question as a maker would ask it,
the turns of a conversation, or a plan as it would stand in a file. What is expected stands beside them.
"""

import json
import tempfile
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from finishing_kg.advice import check_plan
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, Model
from finishing_kg.proofs import Fact
from finishing_kg.statements import Statement

SORTS = ("question", "dialogue", "setup")

# What may differ without the advice being another: how reasons are numbered, and which of them are shown.
_NOT_ADVICE = {"reasons", "reason", "weakest_basis"}


@dataclass(frozen=True)
class Case:
    """One case.

    Attributes:
        id: unique among all cases.
        sort: one of ``SORTS``.
        file: name of the file it stands in.
        table: as it stands there.
    """

    id: str
    sort: str
    file: str
    table: dict[str, Any]


def load_cases(files: Iterable[Path]) -> list[Case]:
    """All cases of some files, in the order in which they stand."""
    cases = []
    for file in files:
        tables = tomllib.loads(file.read_text(encoding="utf-8"))
        cases += [Case(table["id"], sort, file.name, table) for sort in SORTS for table in tables.get(sort, [])]
    return cases


@dataclass(frozen=True)
class Listening(Knowledge):
    """Knowledge that notes which rules derive something while it is used."""

    fired: set[str] = field(default_factory=set, compare=False)

    def evaluate(self, facts: "dict[Statement, Fact]") -> Model:  # type: ignore[override]
        """As ``Knowledge.evaluate``."""
        model = super().evaluate(facts)
        self.fired.update(model.base.rules[index].id for firings in model.firings.values() for index, _ in firings)
        return model


def run(knowledge: Knowledge, case: Case) -> str:
    """What the program says to a case, as text that is the same if and only if the advice is."""
    if case.sort == "setup":
        with tempfile.TemporaryDirectory() as folder:
            plan = Path(folder, "plan.toml")
            plan.write_text(case.table["plan"], encoding="utf-8")
            said: list[Any] = [check_plan(knowledge, plan).model_dump(by_alias=True)]
    else:
        dialogue = Dialogue(knowledge)
        turns = case.table["turns"] if case.sort == "dialogue" else [case.table["ask"]]
        said = [dialogue.say(turn).model_dump(by_alias=True) for turn in turns]
    return json.dumps([_advice(answer) for answer in said], sort_keys=True, ensure_ascii=False)


def _advice(value: Any) -> Any:
    """A printed answer without what is not advice."""
    if isinstance(value, dict):
        return {key: _advice(part) for key, part in value.items() if key not in _NOT_ADVICE}
    return [_advice(part) for part in value] if isinstance(value, list) else value
