"""A plan: a piece and the steps planned for it, read from the tables of a plan file."""

from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity, QuantityError, read_quantity
from finishing_kg.quantities import grain, read_grade, refusal
from finishing_kg.record import field, record, replace
from finishing_kg.routes import Case, PlannedStep, stage_of
from finishing_kg.vocabulary import Vocabulary

PIECE_THINGS = ("glass", "make", "form", "finish")
PIECE_MEASURES = {"diameter": "diameter", "wall_thickness": "wallThickness"}
STEP_THINGS = ("mineral", "hold", "carrier", "machine")
STEP_MEASURES = {
    "wheel_diameter": "wheelDiameter",
    "spindle_speed": "spindleSpeed",
    "rated_speed": "ratedSpeed",
    "minutes": "plannedMinutes",
    "removal": "plannedRemoval",
}
PIECE_KEYS = (*PIECE_THINGS, "surface", *PIECE_MEASURES)
STEP_KEYS = (*STEP_THINGS, "grade", "wet", *STEP_MEASURES)
MOST_STEPS = 100
"""How many steps a plan may have."""


class PlanError(Exception):
    """A plan that cannot be used: ``where`` names file and place, the text says what to write instead."""

    def __init__(self, where: str, text: str) -> None:
        super().__init__(text)
        self.where = where


@record(frozen=True)
class Trouble:
    """Something in a readable plan that is not known: a thing, a grade, or what is not said at all.

    Attributes:
        code: of the finding that it makes.
        step: counted from 1; ``None`` for the piece.
        part: the key that it stands under.
        text: what is not known.
        remedy: what to write instead.
        written: what the plan has there; empty where it has nothing.
        near: the ids of what it may mean, the nearest first.
    """

    code: str
    step: int | None
    part: str
    text: str
    remedy: str
    written: str = ""
    near: tuple[str, ...] = ()


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


def plan_from_tables(knowledge: Knowledge, tables: Mapping[str, Any], file: str, places: Sequence[str] = ()) -> Plan:
    """A plan from the tables of a plan file.

    Args:
        knowledge: for names, grades and units.
        tables: ``piece`` and ``step``, as TOML gives them.
        file: the file's name, for what is said of faults.
        places: for each step where it stands, if its number does not tell.

    Raises:
        PlanError: a wrong key or type, or a quantity without a unit.
    """
    return _Reader(knowledge, file, places).plan(tables)


def staged(vocabulary: Vocabulary, step: PlannedStep, case: Case) -> PlannedStep:
    """A step with the stage that its means and its grain say it works at; without one if no mineral is named."""
    size = grain(vocabulary, step.grade) if step.grade else None
    return replace(step, stage=stage_of(vocabulary, step.mineral, step.hold, size, case.finish) if step.mineral else None)


_TRAITS = {"unknown-grade": "hasAnUnknownGrade", "unknown-thing": "namesAnUnknownThing", "missing-fact": "leavesSomethingUnsaid"}


def said_anew(case: Case, troubles: Sequence[Trouble], values: Sequence[str | None]) -> Case:
    """A piece with something in the place of each part that is not known: an id, or nothing."""
    parts = {trouble.part: value for trouble, value in zip(troubles, values, strict=True)}
    if "grade" in parts:
        parts["surface_grade"] = parts.pop("grade")
    gone = {_TRAITS[trouble.code] for trouble in troubles}
    words = {part: said for part, said in case.words.items() if part not in parts}
    return replace(case, remarks=tuple(each for each in case.remarks if each[0] not in gone), words=words, **parts)


def _with_troubles(case: Case, steps: list[PlannedStep], troubles: list[Trouble]) -> Plan:
    """A plan in which what was not known is said of the piece and of the steps, so that the rules find it."""

    def traits(step: int | None) -> tuple[str, ...]:
        return tuple(dict.fromkeys(_TRAITS[trouble.code] for trouble in troubles if trouble.step == step))

    case = replace(case, remarks=(*case.remarks, *((trait, None) for trait in traits(None))))
    return Plan(case, [replace(step, traits=traits(number)) for number, step in enumerate(steps, 1)], troubles)


class _Reader:
    def __init__(self, knowledge: Knowledge, file: str, places: Sequence[str]) -> None:
        self.knowledge, self.vocabulary, self.file, self.places = knowledge, knowledge.vocabulary, file, places
        self.troubles: list[Trouble] = []

    def plan(self, tables: Mapping[str, Any]) -> Plan:
        self._keys(tables, ("piece", "step"), self.file)
        piece, steps = tables.get("piece"), tables.get("step", [])
        if not isinstance(piece, dict):
            raise PlanError(self.file, "A plan begins with a table [piece] that says what is on the bench.")
        if not isinstance(steps, list) or not all(isinstance(step, dict) for step in steps):
            raise PlanError(self.file, "Write each step as a table of its own, under a line [[step]].")
        if len(steps) > MOST_STEPS:
            raise PlanError(self.file, f"A plan has at most {MOST_STEPS} steps; this one has {len(steps)}.")
        case = self._case(piece)
        planned = [self._step(step, number, case) for number, step in enumerate(steps, 1)]
        self._unsaid(case, planned)
        return _with_troubles(case, planned, self.troubles)

    def _unsaid(self, case: Case, steps: Sequence[PlannedStep]) -> None:
        """Take down what the plan does not say and a check would need."""
        if not steps:
            text = "The plan has no steps, so there is nothing to check."
            self.troubles.append(Trouble("missing-fact", None, "step", text, "Add a table [[step]] for each step."))
        unknown = {(trouble.step, trouble.part) for trouble in self.troubles}
        for part, value in (("form", case.form), ("surface", case.surface), ("finish", case.finish)):
            if value is None and (None, part) not in unknown:
                text = f"The plan does not say the {part} of the piece."
                self.troubles.append(Trouble("missing-fact", None, part, text, f"Add {part} to [piece]."))
        for number, step in enumerate(steps, 1):
            for part, value in (("mineral", step.mineral), ("hold", step.hold), ("carrier", step.carrier)):
                if value is None and (number, part) not in unknown:
                    text = f"Step {number} does not say the {part}."
                    self.troubles.append(Trouble("missing-fact", number, part, text, f"Add {part} to the step."))

    def _case(self, piece: Mapping[str, Any]) -> Case:
        where = f"{self.file}, [piece]"
        self._keys(piece, PIECE_KEYS, where)
        things = {key: self._thing(piece, key, None, where) for key in PIECE_THINGS}
        surface = piece.get("surface")
        state, grade = surface, None
        if isinstance(surface, dict):
            self._keys(surface, ("state", "grade"), f"{where}, surface")
            state, grade = surface.get("state"), self._text(surface, "grade", f"{where}, surface")
        found = self._thing({"surface": state} if state is not None else {}, "surface", None, where)
        read = self._grade(grade, None, None, None) if grade else None
        measures = self._measures(piece, PIECE_MEASURES, where)
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
        where = f"{self.file}, {self.places[number - 1] if self.places else f'step {number}'}"
        self._keys(step, STEP_KEYS, where)
        things = {key: self._thing(step, key, number, where) for key in STEP_THINGS}
        wet = step.get("wet")
        if wet is not None and not isinstance(wet, bool):
            raise PlanError(where, f"wet is true or false; I found {_shown(wet)}.")
        written = self._text(step, "grade", where)
        grade = self._grade(written, number, things["mineral"], things["hold"]) if written else None
        planned = PlannedStep(
            mineral=things["mineral"],
            hold=things["hold"],
            carrier=things["carrier"],
            machine=things["machine"],
            grade=grade,
            wet=wet,
            measures=tuple(self._measures(step, STEP_MEASURES, where)),
        )
        return staged(self.vocabulary, planned, case)

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
            ids = tuple(name.id for each in near for name in self.vocabulary.things(kind) if name.notation == each)
            remedy = f"Write {', or '.join(near)}." if near else f"Known: {', '.join(name.notation for name in self.vocabulary.things(kind))}."
            self.troubles.append(Trouble("unknown-thing", step, kind, f"I know no {kind} {written!r}.", remedy, written, ids))
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
        meant = [read_grade(self.vocabulary, each, mineral, hold) for each in refused.nearest]
        near = tuple(dict.fromkeys(ways[0].grade for ways in meant if ways))
        self.troubles.append(Trouble("unknown-grade", step, "grade", f"There is no grade {written!r}.", remedy, written, near))
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
    "minutes": "20 min",
    "removal": "100 µm",
}
