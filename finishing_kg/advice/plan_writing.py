"""Plans written down again: as the tables of a plan file, and as TOML."""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from finishing_kg.advice.plan import PIECE_MEASURES, PIECE_THINGS, STEP_KEYS, STEP_MEASURES, STEP_THINGS
from finishing_kg.measure import Quantity
from finishing_kg.quantities import designation, read_grade
from finishing_kg.routes import Case, PlannedStep
from finishing_kg.vocabulary import Vocabulary

PlanTables = dict[str, Any]
"""``piece``: its keys, each a text (a surface with a grade is a table of two). ``step``: a list of tables of texts, ``wet`` a truth value."""


def plan_tables(vocabulary: Vocabulary, case: Case, steps: Sequence[PlannedStep]) -> PlanTables:
    """A piece and its steps in the form of a plan file; what a plan file has no key for, such as what is at hand, is left out."""
    names = vocabulary.names
    piece: dict[str, Any] = {key: names[value].notation for key in PIECE_THINGS if (value := case.part(key))}
    if case.surface:
        state = names[case.surface].notation
        grade = spelling(vocabulary, case.surface_grade, None, None) if case.surface_grade else None
        piece["surface"] = {"state": state, "grade": grade} if grade else state
    piece |= _measures(PIECE_MEASURES, case.measures)
    return {"piece": piece, "step": [_step(vocabulary, step) for step in steps]}


def _step(vocabulary: Vocabulary, step: PlannedStep) -> dict[str, Any]:
    said: dict[str, Any] = {key: vocabulary.names[value].notation for key in STEP_THINGS if (value := getattr(step, key))}
    if step.grade:
        said["grade"] = spelling(vocabulary, step.grade, step.mineral, step.hold)
    if step.wet is not None:
        said["wet"] = step.wet
    return said | _measures(STEP_MEASURES, dict(step.measures))


def _measures(keys: Mapping[str, str], measures: Mapping[str, Quantity]) -> dict[str, str]:
    return {key: str(measures[predicate]) for key, predicate in keys.items() if predicate in measures}


def spelling(vocabulary: Vocabulary, grade: str, mineral: str | None, hold: str | None) -> str:
    """A grade in words that are read as the same grade where they stand; the usual ones if they are."""
    name = vocabulary.names[grade]
    ways = (designation(vocabulary, grade), name.label, *name.alternatives)
    for way in ways:
        reads = read_grade(vocabulary, way, mineral, hold)
        if reads and reads[0].grade == grade:
            return way
    return ways[0]


def plan_toml(tables: PlanTables, remarks: Iterable[str] = ()) -> str:
    """A plan as the text of a TOML file.

    Args:
        tables: as ``plan_tables`` gives them.
        remarks: lines to stand as comments at the top.
    """
    lines = [f"# {' '.join(remark.split())}" for remark in remarks]
    for heading, table in [("[piece]", tables["piece"]), *(("[[step]]", step) for step in tables["step"])]:
        lines += ["", heading, *(f"{key} = {_value(value)}" for key, value in table.items())]
    return "\n".join(lines).lstrip("\n") + "\n"


def plan_csv(tables: PlanTables, *, tabs: bool = False) -> str:
    """A plan as the text of a CSV file: the piece in lines that begin with ``#``, then a line for each step.

    Args:
        tables: as ``plan_tables`` gives them.
        tabs: whether cells are separated by tabs instead of commas.
    """
    piece = dict(tables["piece"])
    if isinstance(surface := piece.get("surface"), Mapping):
        piece |= {"surface": surface["state"], "surface_grade": surface["grade"]}
    said = io.StringIO()
    writer = csv.writer(said, delimiter="\t" if tabs else ",", lineterminator="\n")
    for key, value in piece.items():
        writer.writerow([f"# {key} = {value}"])
    columns = [key for key in STEP_KEYS if key in ("mineral", "grade", "hold", "carrier") or any(key in step for step in tables["step"])]
    writer.writerow(columns)
    for step in tables["step"]:
        writer.writerow(["" if key not in step else {True: "wet", False: "dry"}.get(step[key], step[key]) for key in columns])
    return said.getvalue()


def _value(value: str | bool | Mapping[str, str]) -> str:
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_value(part)}" for key, part in value.items()) + " }"
    # A text of JSON is one of TOML too, but for one letter that TOML wants written out.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
