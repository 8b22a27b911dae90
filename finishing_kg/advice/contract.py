"""The JSON contract: what ``ask``, ``check``, ``grade`` and ``rules`` print. It only grows.

A field left ``None`` is not known; nothing is made up.
"""

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

Kind = Literal["route", "question", "no_route", "not_understood", "out_of_scope", "why", "why_not", "what_if", "comparison", "diagnosis", "error"]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", populate_by_name=True)


class Range(_Part):
    """Numbers in the unit that the field's name ends in; ``low`` and ``high`` are null where no spread is known."""

    low: float | None = None
    mid: float
    high: float | None = None


class SurfaceRead(_Part):
    """A present surface: its state, and the grade that left it, as the maker named it."""

    state: str | None = None
    grade: str | None = None


class Understood(_Part):
    """What was taken from the maker's words, as identifiers of the ontology."""

    glass: str | None = None
    make: str | None = None
    form: str | None = None
    surface: SurfaceRead | None = None
    finish: str | None = None
    restrictions: list[str] = []
    measures: dict[str, str] = {}
    planned: dict[str, str] | None = None
    faults: list[str] = []
    last_worked_with: list[str] = []
    unused_words: list[str] = []
    statements: list[str] = Field(default=[], description="The same as sentences that the program can read back.")


class Assumption(_Part):
    """Something nobody said that the answer rests on, and why it was taken so."""

    statement: str
    because: str


class AskBack(_Part):
    """A question back to the maker; ``choices`` are identifiers."""

    about: str
    text: str
    choices: list[str] = []


class Leaves(_Part):
    """The surface that a step leaves."""

    state: str
    effective_um: Range | None = None
    damage_um: Range | None = None


class RouteStep(_Part):
    """One step of a route. ``reason`` is an id in the answer's ``reasons``."""

    purpose: str
    mineral: str
    grade: str | None = None
    grain_um: Range | None = None
    hold: str
    carrier: str
    machine: str | None = None
    wet: bool
    surface_speed_m_s: Range | None = None
    removal_um: Range | None = None
    minutes: Range | None = None
    leaves: Leaves
    how: str
    done_when: str
    before_next: str | None = None
    because: list[str] = Field(default=[], description="The reasons of the rules that speak for the step, the strongest first.")
    mix: str | None = Field(default=None, description="How the grain is mixed and fed, or what runs over held grain.")
    pressure: str | None = Field(default=None, description="How hard to press, and how hard the wheel or pad should be.")
    loses: str | None = Field(default=None, description="What the step takes from the piece beside the marks: edges, crispness, material.")
    reason: str


class Route(_Part):
    """A way from the present surface to the finish."""

    name: str
    chosen_because: str
    minutes: Range | None = None
    steps: list[RouteStep]
    ask_back: list[AskBack] = []


class RuledOut(_Part):
    """What is not offered: the named parts of the method, for the stage ``for``. Parts left null may be anything."""

    mineral: str | None = None
    hold: str | None = None
    carrier: str | None = None
    stage: str = Field(alias="for")
    reason: str


class CautionNote(_Part):
    """A hazard and what is usually done about it."""

    id: str
    text: str
    reason: str


class Compared(_Part):
    """A comparison: both values as written, both in the common unit, and the margin between them."""

    left: str
    operator: str
    right: str
    left_common: str
    right_common: str
    margin: str
    outcome: Literal["holds", "fails", "unknown"]


class ComputedBy(_Part):
    """A value that was computed: by which function, from what."""

    function: str
    inputs: list[str]
    result: str


class BasisNote(_Part):
    """What a statement rests on; ``kind`` comes from a documented order."""

    kind: str
    source: str | None = None
    locator: str | None = None


class Reason(_Part):
    """One node of a proof. A node with a rule names it; a node whose ``from`` is empty is a leaf."""

    statement: str
    rule: str | None = None
    because: str | None = None
    bindings: dict[str, str] = {}
    comparison: Compared | None = None
    computed: ComputedBy | None = None
    basis: BasisNote
    from_: list[str] = Field(default=[], alias="from")
    absent: list[str] = []
    overridden: list[str] = []


class CauseNote(_Part):
    """One cause that a fault can come from; the likely ones stand first. ``because`` holds what points to it."""

    id: str
    text: str
    tell_by: str
    remedy: str
    standing: Literal["likely", "possible"]
    because: list[str] = []
    reason: str


class SmallestChange(_Part):
    """The fewest changed statements that would let an option in."""

    changes: list[str]
    text: str


class FindingNote(_Part):
    """One finding of a plan check. ``step`` is null for a finding on the plan as a whole."""

    code: str
    level: Literal["stop", "caution", "note"]
    step: int | None = None
    text: str
    remedy: str | None = None
    reason: str | None = None


class Answer(_Part):
    """One answer, whatever its kind. Fields of other kinds stay at their empty values."""

    kind: Kind
    text: str = ""
    understood: Understood = Understood()
    assumed: list[Assumption] = []
    ask_back: list[AskBack] = []
    routes: list[Route] = []
    ruled_out: list[RuledOut] = []
    discouraged: list[RuledOut] = Field(default=[], description="What could be used, but a rule speaks against it.")
    cautions: list[CautionNote] = []
    hints: list[CautionNote] = Field(default=[], description="What may be worth knowing before starting.")
    findings: list[FindingNote] = Field(default=[], description="What a check finds in what the maker has in mind.")
    diagnosis: list[CauseNote] = Field(default=[], description="Causes of the fault that was named, the likeliest first; routes then repair it.")
    missing: list[str] = Field(default=[], description="Of a no_route: identifiers of the fewest things that, once at hand, give a route.")
    way_back: str | None = Field(default=None, description="Of a diagnosis: what to do with the piece.")
    reasons: dict[str, Reason] = {}
    weakest_basis: str | None = None
    about: str | None = None
    verdict: str | None = None
    blocker: str | None = None
    smallest_change: SmallestChange | None = None
    reason: str | None = None
    changed: list[str] = []
    differences: list[str] = []
    where: str | None = None


class PlanCheck(_Part):
    """What ``check`` says of a plan, the worst first."""

    kind: Literal["check"] = "check"
    understood: Understood = Understood()
    findings: list[FindingNote] = []
    reasons: dict[str, Reason] = {}


class GradeReading(_Part):
    """Another thing that the same words could mean."""

    designation: str
    system: str
    mid_um: float
    why: str = ""


class GradeAnswer(_Part):
    """A grade's size. ``range_kind`` says what low and high are."""

    designation: str
    system: str
    low_um: float | None
    mid_um: float
    high_um: float | None
    range_kind: Literal["core sieve fraction", "d3-d94", "mesh pair", "working range"] | None
    basis: BasisNote
    other_readings: list[GradeReading] = []
    nearest: list[GradeReading] = Field(default=[], description="The nearest in size on the scale asked for, nearest first.")


class SpeedAnswer(_Part):
    """Turning speed and surface speed of a wheel; with a carrier also how they lie to its working speed.

    Turning speeds that were computed are never rounded up.
    """

    diameter: str
    turning_rpm: Range
    surface_m_s: Range
    surface_sfpm: Range
    carrier: str | None = None
    carrier_m_s: Range | None = Field(default=None, description="The working speed of the carrier.")
    carrier_rpm: Range | None = Field(default=None, description="The same as turning speeds of a wheel of this diameter.")
    verdict: Literal["below", "within", "above", "partly"] | None = None


class RuleEntry(_Part):
    """One rule as ``rules list`` prints it."""

    id: str
    file: str
    subject: str
    because: str
    basis: BasisNote
    safety: bool


class ErrorNote(_Part):
    """Input that could not be used; with ``--json`` it is printed like any answer, with exit status 2."""

    kind: Literal["error"] = "error"
    text: str
    where: str | None = None


SCHEMAS: dict[str, type[BaseModel]] = {
    "ask": Answer,
    "check": PlanCheck,
    "grade": GradeAnswer,
    "speed": SpeedAnswer,
    "rules": RuleEntry,
    "error": ErrorNote,
}
"""The models by the command that prints them; ``finishing-kg schema`` prints their JSON Schemas."""
