"""A plan being written: its lines and their parts, what may stand in each, and what the library says of it.

What is held is what a plan file holds, so that nothing is said here which a file could not say.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishing_kg_tui.plain import Called, in_plain_words, one_line
from finishing_kg_tui.screens.choose import Choice

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, PlanCheck, Route
    from finishing_kg.engine import Knowledge
    from finishing_kg.routes import Case
    from finishing_kg.vocabulary import Name

PIECE = {
    "glass": "Glass",
    "make": "Make",
    "form": "Form",
    "surface": "Surface",
    "surface_grade": "Left by",
    "finish": "Finish",
    "diameter": "Diameter",
    "wall_thickness": "Wall",
}
STEP = {
    "mineral": "Mineral",
    "hold": "Hold",
    "grade": "Grade",
    "carrier": "Carrier",
    "machine": "Machine",
    "wet": "Water",
    "wheel_diameter": "Wheel",
    "spindle_speed": "Turns at",
    "rated_speed": "Marked for",
    "minutes": "Time",
    "removal": "Take off",
}
"""The parts of a line by the keys of a plan file, with the words that name them."""

EXAMPLES = {
    "surface_grade": "the grade that left the surface, such as F220",
    "diameter": "with its unit, such as 180 mm",
    "wall_thickness": "with its unit, such as 4 mm",
    "grade": "such as F220, P600, D126 or 2F",
    "wheel_diameter": "across, with its unit, such as 300 mm",
    "spindle_speed": "with its unit, such as 400 rpm",
    "rated_speed": "the greatest turning speed marked on the wheel, such as 1200 rpm",
    "minutes": "such as 20 min",
    "removal": "such as 100 µm",
}
_WATER = (Choice("wet", "wet", "Water or slurry runs with the work."), Choice("dry", "dry", "No water."))
_THINGS = ("glass", "make", "form", "surface", "finish", "mineral", "hold", "carrier", "machine")

Line = dict[str, str]
"""A line of a plan: the parts that are said, ``wet`` as *wet* or *dry*."""


@dataclass
class Sheet:
    """A plan as it is written: the piece, and a line for each step."""

    piece: Line = field(default_factory=dict)
    steps: list[Line] = field(default_factory=list)

    def line(self, place: int) -> Line:
        """A line by its place: 0 is the piece, then the steps."""
        return self.piece if place == 0 else self.steps[place - 1]

    def tables(self) -> dict[str, Any]:
        """The tables of a plan file."""
        piece: dict[str, Any] = {key: value for key, value in self.piece.items() if key != "surface_grade"}
        if grade := self.piece.get("surface_grade"):
            piece["surface"] = {**({"state": self.piece["surface"]} if "surface" in self.piece else {}), "grade": grade}
        return {"piece": piece, "step": [{**step, **({"wet": step["wet"] == "wet"} if "wet" in step else {})} for step in self.steps]}

    def copied(self) -> Sheet:
        """The same once more."""
        return Sheet(dict(self.piece), [dict(step) for step in self.steps])


def sheet_of(tables: Mapping[str, Any]) -> Sheet:
    """The sheet of a plan file's tables, which the library has found to be in order."""
    piece = dict(tables["piece"])
    surface = piece.pop("surface", None)
    if isinstance(surface, Mapping):
        piece |= {"surface": surface["state"]} if "state" in surface else {}
        piece |= {"surface_grade": surface["grade"]} if "grade" in surface else {}
    elif surface is not None:
        piece["surface"] = surface
    steps = [{key: ("wet" if value else "dry") if key == "wet" else value for key, value in step.items()} for step in tables.get("step", [])]
    return Sheet(piece, steps)


def sheet_of_route(answer: Answer, route: Route) -> Sheet:
    """The route of an answer as a plan of the same piece."""
    said = answer.understood
    piece = {"glass": said.glass, "make": said.make, "form": said.form, "finish": said.finish}
    piece |= {"surface": said.surface.state, "surface_grade": said.surface.grade} if said.surface else {}
    piece |= {key: said.measures[name] for key in ("diameter", "wall_thickness") for name in (key, key.replace("_", " ")) if name in said.measures}
    steps = [
        {"mineral": step.mineral, "hold": step.hold, "grade": step.grade, "carrier": step.carrier, "machine": step.machine}
        | {"wet": "wet" if step.wet else "dry"}
        for step in route.steps
    ]
    return Sheet(_said(piece), [_said(step) for step in steps])


def _said(parts: Mapping[str, str | None]) -> Line:
    return {key: value for key, value in parts.items() if value}


def told(line: Mapping[str, str], parts: Mapping[str, str], called: Called = in_plain_words) -> Iterator[tuple[str, str]]:
    """The parts of a line with their words; a dash for what is not said."""
    for key, name in parts.items():
        value = line.get(key, "")
        yield name, (_part(line, key, called) if key in _THINGS else one_line(value)) or "—"


def _part(line: Mapping[str, str], key: str, called: Called) -> str:
    """A thing in a line by its name; nothing where it is not said."""
    return called(line[key], key) if line.get(key) else ""


def in_words(line: Mapping[str, str], called: Called = in_plain_words) -> str:
    """A step in one line, as a maker would name it."""
    grain = " ".join(filter(None, (_part(line, "mineral", called), one_line(line.get("grade", "")))))
    carrier = _part(line, "carrier", called)
    measures = [one_line(line[key]) for key in ("wheel_diameter", "spindle_speed", "minutes", "removal") if key in line]
    parts = (grain, _part(line, "hold", called), carrier and f"on {carrier}", line.get("wet", ""), *measures)
    return ", ".join(filter(None, parts)) or "nothing said yet"


def piece_in_words(line: Mapping[str, str], called: Called = in_plain_words) -> str:
    """The piece in one line."""
    surface = " ".join(filter(None, (_part(line, "surface", called), one_line(line.get("surface_grade", "")))))
    parts = [_part(line, key, called) for key in ("glass", "make", "form")]
    toward = _part(line, "finish", called)
    measures = [one_line(line[key]) for key in ("diameter", "wall_thickness") if key in line]
    return ", ".join(filter(None, (*parts, surface, toward and f"to {toward}", *measures))) or "nothing said yet"


# What the library knows; these load it, so they are called in threads.


def choices(knowledge: Knowledge, key: str, line: Mapping[str, str]) -> list[Choice]:
    """What may stand in a part of a line, what goes with the rest of the line first."""
    if key == "wet":
        return list(_WATER)
    if key == "grade":
        return list(_grades(knowledge, line))
    if key not in _THINGS:
        return []
    vocabulary = knowledge.vocabulary
    found = vocabulary.things(key)
    fits = _goes_with(knowledge, key, line)
    if fits is None:
        return [Choice(name.notation, name.label, name.note) for name in found]
    allowed, why_not = fits
    ordered = sorted(found, key=lambda name: name.id not in allowed)
    return [Choice(name.notation, name.label, name.note if name.id in allowed else f"{why_not} {name.note}") for name in ordered]


def _goes_with(knowledge: Knowledge, key: str, line: Mapping[str, str]) -> tuple[set[str], str] | None:
    """What goes with the rest of a step, and what is said of the others; None where nothing tells."""
    vocabulary = knowledge.vocabulary
    mineral, hold, carrier = (_thing(knowledge, part, line) for part in ("mineral", "hold", "carrier"))
    if key == "hold" and mineral:
        return set(vocabulary.related(mineral.id, "comesAs")), f"{mineral.label} is not known to come so."
    if key == "carrier" and hold:
        return set(vocabulary.subjects("takesHold", hold.id)), f"It is not known to take {hold.label} grain."
    if key == "machine" and carrier:
        return set(vocabulary.related(carrier.id, "isDrivenBy")), f"It is not known to drive the {carrier.label}."
    return None


def _thing(knowledge: Knowledge, kind: str, line: Mapping[str, str]) -> Name | None:
    return knowledge.vocabulary.identify(line[kind], kind) if kind in line else None


def _grades(knowledge: Knowledge, line: Mapping[str, str]) -> Iterator[Choice]:
    """The grades of the scales that the mineral in its hold is graded in, the usual scale first, coarse to fine."""
    from finishing_kg.advice.plan_writing import spelling
    from finishing_kg.quantities import grades_on, grain, scales_for

    vocabulary = knowledge.vocabulary
    mineral, hold = _thing(knowledge, "mineral", line), _thing(knowledge, "hold", line)
    ids = (mineral.id if mineral else None, hold.id if hold else None)
    # Some minerals are graded by how they are held: of such a one in no hold yet, all that its holds are graded in.
    holds = [hold.id] if hold else vocabulary.related(mineral.id, "comesAs") if mineral else [name.id for name in vocabulary.things("hold")]
    scales = scales_for(vocabulary, *ids) or [scale for way in holds for scale in scales_for(vocabulary, ids[0], way)]
    for scale in dict.fromkeys(scales):
        for grade in grades_on(vocabulary, scale):
            usual = "usually on the shelf" if vocabulary.names[grade].stocked else "seldom on the shelf"
            note = f"{grain(vocabulary, grade)}; {vocabulary.names[scale].label}; {usual}"
            yield Choice(spelling(vocabulary, grade, *ids), vocabulary.names[grade].label, note)


def refusal(knowledge: Knowledge, key: str, line: Mapping[str, str], text: str) -> str:
    """Why a text cannot stand in a part of a line; empty where it can."""
    from finishing_kg.advice.plan import PlanError, plan_from_tables

    of_piece = key in PIECE
    sheet = Sheet({**line, key: text}) if of_piece else Sheet(steps=[{**line, key: text}])
    if key == "surface_grade":
        sheet.piece.setdefault("surface", "ground")
    try:
        plan = plan_from_tables(knowledge, sheet.tables(), "")
    except PlanError as error:
        return str(error)
    part = "grade" if key == "surface_grade" else key
    step = None if of_piece else 1
    trouble = next((trouble for trouble in plan.troubles if trouble.part == part and trouble.step == step), None)
    return f"{trouble.text} {trouble.remedy}" if trouble else ""


def checked(knowledge: Knowledge, sheet: Sheet, shelf: Case | None = None, *, correcting: bool = False) -> PlanCheck:
    """What the rules find in the plan.

    Args:
        knowledge: ontology and rules.
        sheet: the plan.
        shelf: what is on the studio's shelf, as a case; where given, what the plan uses beside it is found too.
        correcting: whether a corrected plan is looked for.

    Raises:
        PlanError: the plan says something that no plan can.
    """
    from finishing_kg.advice.check import check
    from finishing_kg.advice.plan import plan_from_tables

    return check(knowledge, plan_from_tables(knowledge, sheet.tables(), "the plan"), shelf, correcting=correcting)


def opened(knowledge: Knowledge, file: str) -> Sheet:
    """The plan of a file.

    Raises:
        PlanError: it cannot be used.
    """
    from finishing_kg.advice.plan import plan_from_tables
    from finishing_kg.advice.plan_file import read_tables

    tables, places = read_tables(Path(file).expanduser())
    plan_from_tables(knowledge, tables, file, places)
    return sheet_of(tables)


def saved(sheet: Sheet, file: str, *, overwrite: bool = False) -> None:
    """Write the plan: as CSV where the file's name says so, else as TOML.

    Raises:
        CannotWrite: it cannot be written; nothing was changed.
    """
    from finishing_kg.advice.plan_file import is_csv
    from finishing_kg.advice.plan_writing import plan_csv, plan_toml
    from finishing_kg.files import write_whole

    place = Path(file).expanduser()
    text = plan_csv(sheet.tables(), tabs=place.suffix.lower() == ".tsv") if is_csv(place) else plan_toml(sheet.tables())
    write_whole(place, text, overwrite=overwrite)
