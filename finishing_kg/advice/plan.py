"""Plan files: a piece and the steps planned for it, read from TOML."""

import tomllib
from collections.abc import Mapping
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity, QuantityError, read_quantity
from finishing_kg.quantities import grain, read_grade, refusal
from finishing_kg.record import field, record
from finishing_kg.routes import Case, PlannedStep, stage_of

_PIECE_THINGS = ("glass", "make", "form", "finish")
_PIECE_MEASURES = {"diameter": "diameter", "wall_thickness": "wallThickness"}
_STEP_THINGS = ("mineral", "hold", "carrier", "machine")
_STEP_MEASURES = {"wheel_diameter": "wheelDiameter", "spindle_speed": "spindleSpeed", "rated_speed": "ratedSpeed"}
_PIECE_KEYS = (*_PIECE_THINGS, "surface", *_PIECE_MEASURES)
_STEP_KEYS = (*_STEP_THINGS, "grade", "wet", *_STEP_MEASURES)
_MOST_STEPS = 100
_MOST_BYTES = 200_000
_LONGEST_LINE = 2_000


class PlanError(Exception):
    """A plan that cannot be used: ``where`` names file and place, the text says what to write instead."""

    def __init__(self, where: str, text: str) -> None:
        super().__init__(text)
        self.where = where


@record(frozen=True)
class Trouble:
    """Something in a readable plan that is not known: a thing, or a grade.

    Attributes:
        code: of the finding that it makes.
        step: counted from 1; ``None`` for the piece.
        part: the key that it stands under.
        text: what is not known.
        remedy: what to write instead.
    """

    code: str
    step: int | None
    part: str
    text: str
    remedy: str


@record()
class Plan:
    """A plan as read.

    Attributes:
        case: the piece.
        steps: the steps, with what was not known left out.
        troubles: what was not known.
    """

    case: Case
    steps: list[PlannedStep] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)


def read_plan(knowledge: Knowledge, file: Path) -> Plan:
    """Read a plan file.

    Raises:
        PlanError: the file cannot be read, is not TOML, has a wrong key or type, or a quantity without a unit.
    """
    try:
        with file.open("rb") as opened:
            held = opened.read(_MOST_BYTES + 1)
        if len(held) > _MOST_BYTES:
            raise PlanError(str(file), f"A plan has at most {_MOST_STEPS} steps; this file is larger than {_MOST_BYTES // 1000} kB.")
        text = held.decode("utf-8-sig")
    except OSError as error:
        raise PlanError(str(file), f"The file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise PlanError(str(file), f"The file is not text in UTF-8 (byte {error.start}).") from error
    except ValueError as error:
        raise PlanError(str(file)[:200], "This is not the name of a file.") from error
    return _Reader(knowledge, str(file)).plan(_tables(text, str(file)))


def _tables(text: str, file: str) -> dict[str, Any]:
    long = next((number for number, line in enumerate(text.split("\n"), 1) if len(line) > _LONGEST_LINE), None)
    if long is not None:
        # The time to read a key grows with the square of its parts.
        raise PlanError(file, f"Line {long} is longer than {_LONGEST_LINE} characters; no line of a plan is.")
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PlanError(file, f"This is not TOML: {error}.") from error
    except RecursionError as error:
        raise PlanError(file, "This is no plan: it nests lists in lists too deeply.") from error
    except ValueError as error:  # a date that no calendar has
        raise PlanError(file, f"This is not TOML: {error}.") from error


class _Reader:
    def __init__(self, knowledge: Knowledge, file: str) -> None:
        self.knowledge, self.vocabulary, self.file = knowledge, knowledge.vocabulary, file
        self.troubles: list[Trouble] = []

    def plan(self, tables: Mapping[str, Any]) -> Plan:
        self._keys(tables, ("piece", "step"), self.file)
        piece, steps = tables.get("piece"), tables.get("step", [])
        if not isinstance(piece, dict):
            raise PlanError(self.file, "A plan begins with a table [piece] that says what is on the bench.")
        if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
            raise PlanError(self.file, "Write each step as a table of its own, under a line [[step]].")
        if len(steps) > _MOST_STEPS:
            raise PlanError(self.file, f"A plan has at most {_MOST_STEPS} steps; this one has {len(steps)}.")
        case = self._case(piece)
        return Plan(case, [self._step(step, number, case) for number, step in enumerate(steps, 1)], self.troubles)

    def _case(self, piece: Mapping[str, Any]) -> Case:
        where = f"{self.file}, [piece]"
        self._keys(piece, _PIECE_KEYS, where)
        things = {key: self._thing(piece, key, None, where) for key in _PIECE_THINGS}
        surface = piece.get("surface")
        state, grade = surface, None
        if isinstance(surface, dict):
            self._keys(surface, ("state", "grade"), f"{where}, surface")
            state, grade = surface.get("state"), self._text(surface, "grade", f"{where}, surface")
        found = self._thing({"surface": state} if state is not None else {}, "surface", None, where)
        read = self._grade(grade, None, None, None) if grade else None
        measures = self._measures(piece, _PIECE_MEASURES, where)
        words = {"surface_grade": grade} if grade else {}
        return Case(
            glass=things["glass"],
            make=things["make"],
            form=things["form"],
            surface=found,
            surface_grade=read,
            finish=things["finish"],
            measures=dict(measures),
            words=words,
        )

    def _step(self, step: Mapping[str, Any], number: int, case: Case) -> PlannedStep:
        where = f"{self.file}, step {number}"
        self._keys(step, _STEP_KEYS, where)
        things = {key: self._thing(step, key, number, where) for key in _STEP_THINGS}
        wet = step.get("wet")
        if wet is not None and not isinstance(wet, bool):
            raise PlanError(where, f"wet is true or false; I found {_shown(wet)}.")
        written = self._text(step, "grade", where)
        grade = self._grade(written, number, things["mineral"], things["hold"]) if written else None
        size = grain(self.vocabulary, grade) if grade else None
        stage = stage_of(self.vocabulary, things["mineral"], things["hold"], size, case.finish) if things["mineral"] else None
        return PlannedStep(
            **things,
            grade=grade,
            stage=stage,
            wet=wet,
            unknown_grade=bool(written) and grade is None,
            measures=tuple(self._measures(step, _STEP_MEASURES, where)),
        )

    def _keys(self, table: Mapping[str, Any], known: tuple[str, ...], where: str) -> None:
        for key in table:
            if key not in known:
                near = get_close_matches(key, known, 1)
                raise PlanError(
                    where, f"I know no key {key[:60]!r} here. " + (f"Write {near[0]!r}." if near else f"The keys are: {', '.join(known)}.")
                )

    def _text(self, table: Mapping[str, Any], key: str, where: str) -> str | None:
        value = table.get(key)
        if value is None:
            return None
        if not isinstance(value, str):
            raise PlanError(where, f'{key} is written as text, such as {key} = "{_EXAMPLES.get(key, "F220")}"; I found {_shown(value)}.')
        if not value.strip() or len(value) > 200:
            raise PlanError(where, f'{key} is empty or far too long; write for example {key} = "{_EXAMPLES.get(key, "F220")}".')
        return value.strip()

    def _thing(self, table: Mapping[str, Any], kind: str, step: int | None, where: str) -> str | None:
        written = self._text(table, kind, where)
        if written is None:
            return None
        found = self.vocabulary.identify(written, kind)
        if found is None:
            found = next(
                (
                    name
                    for name in self.vocabulary.things(kind)
                    if written.casefold() in {name.label.casefold(), *(other.casefold() for other in name.alternatives)}
                ),
                None,
            )
        if found is None:
            near = get_close_matches(written, [name.notation for name in self.vocabulary.things(kind)], 3, 0.5)
            remedy = f"Write {', or '.join(near)}." if near else f"Known: {', '.join(name.notation for name in self.vocabulary.things(kind))}."
            self.troubles.append(Trouble("unknown-thing", step, kind, f"I know no {kind} {written!r}.", remedy))
            return None
        return found.id

    def _grade(self, written: str, step: int | None, mineral: str | None, hold: str | None) -> str | None:
        reads = read_grade(self.vocabulary, written, mineral, hold)
        if reads:
            return reads[0].grade
        refused = refusal(self.vocabulary, written, mineral, hold)
        remedy = (
            f"The nearest that exist: {', '.join(refused.nearest)}." if refused.nearest else "Name a grade such as F220, P600, D126, 120 mesh or 2F."
        )
        self.troubles.append(Trouble("unknown-grade", step, "grade", f"There is no grade {written!r}.", remedy))
        return None

    def _measures(self, table: Mapping[str, Any], known: Mapping[str, str], where: str) -> list[tuple[str, Quantity]]:
        found = []
        for key, predicate in known.items():
            written = table.get(key)
            if written is None:
                continue
            phrase = self.vocabulary.phrases[predicate]
            example = f'{key} = "{_EXAMPLES[key]}"'
            if not isinstance(written, str):
                raise PlanError(where, f"{key} has no unit; I found {_shown(written)}. Write it as text with its unit: {example}.")
            try:
                found.append((predicate, self.vocabulary.units.settle(read_quantity(written), phrase.units)))
            except QuantityError as error:
                meant = f'{key} = "{error.repair}"' if "," in written else example
                raise PlanError(where, f"{key}: {error.why} Write for example {meant}.") from error
        return found


def _shown(value: object) -> str:
    """What stands in the place of something else, short, in the words of the file; a list or a table may hold anything."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str | float):
        return f"{value!r:.40}"
    if isinstance(value, int):
        return str(value) if abs(value) < 10**12 else "a very large number"
    return "a list" if isinstance(value, list) else "a table" if isinstance(value, dict) else "a date or time"


_EXAMPLES = {
    "glass": "lead-crystal",
    "make": "cast",
    "form": "flat-face",
    "surface": "sawn",
    "finish": "polish",
    "mineral": "silicon-carbide",
    "hold": "loose",
    "carrier": "plate",
    "machine": "flat-lap-machine",
    "grade": "F220",
    "diameter": "180 mm",
    "wall_thickness": "4 mm",
    "wheel_diameter": "300 mm",
    "spindle_speed": "400 rpm",
    "rated_speed": "1200 rpm",
}
