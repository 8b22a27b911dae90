"""Cases in TOML, and what the program says to them.

A case file holds ``[[question]]``, ``[[dialogue]]`` and ``[[setup]]`` tables: a question as a maker would ask it,
the turns of a conversation, or a plan as it would stand in a file. What is expected stands beside them.
"""

import json
import tempfile
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from finishing_kg.advice import Answer, PlanCheck, as_json, check_plan
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, Model
from finishing_kg.files import Readable
from finishing_kg.measure import read_quantity
from finishing_kg.routes import Case as Shelf
from finishing_kg.routes import on_the_shelf
from finishing_kg.texts import text_of

SORTS = ("question", "dialogue", "setup")

# What may differ without the advice being another: how reasons are numbered, and which of them are shown.
_NOT_ADVICE = {"reasons", "reason", "amounts_reason", "weakest_basis"}
_WITH_REASONS = "explains"  # a table of codes, each with the id of its reason


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


def load_cases(files: Iterable[Readable]) -> list[Case]:
    """All cases of some files, in the order in which they stand."""
    cases = []
    for file in files:
        tables = tomllib.loads(text_of(file))
        cases += [Case(table["id"], sort, file.name, table) for sort in SORTS for table in tables.get(sort, [])]
    return cases


def load_waivers(files: Iterable[Path]) -> dict[tuple[str, str], str]:
    """Which faults of an audit may stay: for a fault and what it is about the reason, from ``[[waived]]`` tables."""
    tables = [table for file in files for table in tomllib.loads(file.read_text(encoding="utf-8")).get("waived", [])]
    return {(table["fault"], table["about"]): table["reason"] for table in tables}


class Heard:
    """Which rules derived something, and which things stood in that, while some knowledge was used.

    Attributes:
        knowledge: as was given; use this.
        fired: ids of rules.
        touched: ids of things; only if asked for, since it takes a while.
    """

    def __init__(self, knowledge: Knowledge, *, things: bool = False) -> None:
        self.fired: set[str] = set()
        self.touched: set[str] = set()
        self._things = things
        self.knowledge = replace(knowledge, listener=self._hear)

    def _hear(self, model: Model) -> None:
        self.fired |= model.fired()
        if self._things:
            self.touched |= model.things_used()


def check_setup(knowledge: Knowledge, case: Case) -> PlanCheck:
    """The check of a setup's plan, read from a file as a maker's plan is."""
    with tempfile.TemporaryDirectory() as folder:
        plan = Path(folder, "plan.toml")
        plan.write_text(case.table["plan"], encoding="utf-8")
        return check_plan(knowledge, plan, shelf_of(knowledge, case.table))


def shelf_of(knowledge: Knowledge, table: Mapping[str, Any]) -> Shelf | None:
    """What a setup puts on the shelf: things, and where they say so their grades and the mark on them, all by their ids."""
    items, units = table.get("shelf"), knowledge.vocabulary.units
    if items is None:
        return None
    marks = [units.settle(read_quantity(item["marked_speed"]), ("rpm",)) if "marked_speed" in item else None for item in items]
    things = [(item["thing"], tuple(item.get("grades", ())), mark) for item, mark in zip(items, marks, strict=True)]
    return on_the_shelf(knowledge.vocabulary, things)


def run(knowledge: Knowledge, case: Case) -> str:
    """What the program says to a case, as text that is the same if and only if the advice is, and why the first route is as it is."""
    if case.sort == "setup":
        said: list[Any] = [as_json(check_setup(knowledge, case))]
    else:
        dialogue = Dialogue(knowledge)
        turns = case.table["turns"] if case.sort == "dialogue" else [case.table["ask"]]
        answers = [dialogue.say(turn) for turn in turns]
        said = [[as_json(answer), _rules_behind(answer)] for answer in answers]
    return json.dumps(advice_in(said), sort_keys=True, ensure_ascii=False)


def _rules_behind(answer: Answer) -> list[list[str]]:
    """For each step of the first route the rules that its proof goes through: the answer to *why* is advice too."""
    behind = []
    for step in answer.routes[0].steps if answer.routes else []:
        found, work, seen = set[str](), [step.reason], set[str]()
        while work:
            here = work.pop()
            if here not in seen:
                seen.add(here)
                found.update(filter(None, [answer.reasons[here].rule]))
                work += answer.reasons[here].from_
        behind.append(sorted(found))
    return behind


def advice_in(value: Any) -> Any:
    """A printed answer without what is not advice."""
    if isinstance(value, dict):
        return {key: sorted(part) if key == _WITH_REASONS else advice_in(part) for key, part in value.items() if key not in _NOT_ADVICE}
    return [advice_in(part) for part in value] if isinstance(value, list) else value
