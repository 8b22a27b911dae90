"""The JSON contract: what ``ask``, ``check``, ``grade`` and ``rules`` print. It only grows.

A field left ``None`` is not known; nothing is made up. The parts are plain dataclasses, since an answer is built many
times and its schema hardly ever: ``advice.wire`` turns them into JSON values, ``advice.schema`` makes the JSON Schemas
and reads a printed answer back. What those two go by stands in a field's metadata: the key it is printed under where
that is no Python name, and its description.
"""

from typing import ClassVar, Literal

from finishing_kg.record import field, record

Kind = Literal["route", "question", "no_route", "not_understood", "out_of_scope", "why", "why_not", "what_if", "comparison", "diagnosis", "error"]


class _Part:
    """Common to all parts; a key that the contract does not have is refused when one is read back."""

    __slots__ = ()
    __pydantic_config__: ClassVar[dict[str, str]] = {"extra": "forbid"}


@record(slots=True, kw_only=True)
class Range(_Part):
    """Numbers in the unit that the field's name ends in; ``low`` and ``high`` are null where no spread is known."""

    low: float | None = None
    mid: float
    high: float | None = None


@record(slots=True, kw_only=True)
class SurfaceRead(_Part):
    """A present surface: its state, and the grade that left it, as the maker named it."""

    state: str | None = None
    grade: str | None = None


@record(slots=True, kw_only=True)
class Understood(_Part):
    """What was taken from the maker's words, as identifiers of the ontology."""

    glass: str | None = None
    make: str | None = None
    form: str | None = None
    surface: SurfaceRead | None = None
    finish: str | None = None
    restrictions: list[str] = field(default_factory=list)
    measures: dict[str, str] = field(default_factory=dict)
    planned: dict[str, str] | None = None
    faults: list[str] = field(default_factory=list)
    last_worked_with: list[str] = field(default_factory=list)
    unused_words: list[str] = field(default_factory=list)
    statements: list[str] = field(default_factory=list, metadata={"description": "The same as sentences that the program can read back."})
    words: dict[str, str] = field(default_factory=dict, metadata={"description": "By statement the maker's own words that it was taken from."})


@record(slots=True, kw_only=True)
class Assumption(_Part):
    """Something nobody said that the answer rests on, and why it was taken so."""

    statement: str
    because: str


@record(slots=True, kw_only=True)
class AskBack(_Part):
    """A question back to the maker; ``choices`` are identifiers."""

    about: str
    text: str
    choices: list[str] = field(default_factory=list)


@record(slots=True, kw_only=True)
class Leaves(_Part):
    """The surface that a step leaves."""

    state: str
    effective_um: Range | None = None
    damage_um: Range | None = None


@record(slots=True, kw_only=True)
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
    because: list[str] = field(
        default_factory=list, metadata={"description": "The reasons of the rules that speak for the step, the strongest first."}
    )
    mix: str | None = field(default=None, metadata={"description": "How the grain is mixed and fed, or what runs over held grain."})
    pressure: str | None = field(default=None, metadata={"description": "How hard to press, and how hard the wheel or pad should be."})
    loses: str | None = field(
        default=None, metadata={"description": "What the step takes from the piece beside the marks: edges, crispness, material."}
    )
    reason: str


@record(slots=True, kw_only=True)
class Route(_Part):
    """A way from the present surface to the finish."""

    name: str
    chosen_because: str
    minutes: Range | None = None
    steps: list[RouteStep]
    ask_back: list[AskBack] = field(default_factory=list)


@record(slots=True, kw_only=True)
class RuledOut(_Part):
    """What is not offered: the named parts of the method, for the stage ``for``. Parts left null may be anything."""

    mineral: str | None = None
    hold: str | None = None
    carrier: str | None = None
    stage: str = field(metadata={"alias": "for"})
    reason: str


@record(slots=True, kw_only=True)
class CautionNote(_Part):
    """A hazard and what is usually done about it."""

    id: str
    text: str
    reason: str


@record(slots=True, kw_only=True)
class Compared(_Part):
    """A comparison: both values as written, both in the common unit, and the margin between them."""

    left: str
    operator: str
    right: str
    left_common: str
    right_common: str
    margin: str
    outcome: Literal["holds", "fails", "unknown"]


@record(slots=True, kw_only=True)
class ComputedBy(_Part):
    """A value that was computed: by which function, from what."""

    function: str
    inputs: list[str]
    result: str


@record(slots=True, kw_only=True)
class BasisNote(_Part):
    """What a statement rests on; ``kind`` comes from a documented order."""

    kind: str
    source: str | None = None
    locator: str | None = None


@record(slots=True, kw_only=True)
class Reason(_Part):
    """One node of a proof. A node with a rule names it; a node whose ``from`` is empty is a leaf."""

    statement: str
    rule: str | None = None
    because: str | None = None
    bindings: dict[str, str] = field(default_factory=dict)
    comparison: Compared | None = None
    computed: ComputedBy | None = None
    basis: BasisNote
    from_: list[str] = field(default_factory=list, metadata={"alias": "from"})
    absent: list[str] = field(default_factory=list)
    overridden: list[str] = field(default_factory=list)


@record(slots=True, kw_only=True)
class CauseNote(_Part):
    """One cause that a fault can come from; the likely ones stand first. ``because`` holds what points to it."""

    id: str
    text: str
    tell_by: str
    remedy: str
    standing: Literal["likely", "possible"]
    because: list[str] = field(default_factory=list)
    reason: str


@record(slots=True, kw_only=True)
class SmallestChange(_Part):
    """The fewest changed statements that would let an option in."""

    changes: list[str]
    text: str


@record(slots=True, kw_only=True)
class FindingNote(_Part):
    """One finding of a plan check. ``step`` is null for a finding on the plan as a whole."""

    code: str
    level: Literal["stop", "caution", "note"]
    step: int | None = None
    text: str
    remedy: str | None = None
    reason: str | None = None


@record(slots=True, kw_only=True)
class Answer(_Part):
    """One answer, whatever its kind. Fields of other kinds stay at their empty values."""

    kind: Kind
    text: str = ""
    understood: Understood = field(default_factory=Understood)
    assumed: list[Assumption] = field(default_factory=list)
    ask_back: list[AskBack] = field(default_factory=list)
    routes: list[Route] = field(default_factory=list)
    ruled_out: list[RuledOut] = field(default_factory=list)
    discouraged: list[RuledOut] = field(default_factory=list, metadata={"description": "What could be used, but a rule speaks against it."})
    cautions: list[CautionNote] = field(default_factory=list)
    hints: list[CautionNote] = field(default_factory=list, metadata={"description": "What may be worth knowing before starting."})
    findings: list[FindingNote] = field(default_factory=list, metadata={"description": "What a check finds in what the maker has in mind."})
    diagnosis: list[CauseNote] = field(
        default_factory=list, metadata={"description": "Causes of the fault that was named, the likeliest first; routes then repair it."}
    )
    missing: list[str] = field(
        default_factory=list, metadata={"description": "Of a no_route: identifiers of the fewest things that, once at hand, give a route."}
    )
    way_back: str | None = field(default=None, metadata={"description": "Of a diagnosis: what to do with the piece."})
    reasons: dict[str, Reason] = field(default_factory=dict)
    weakest_basis: str | None = None
    about: str | None = None
    verdict: str | None = None
    blocker: str | None = None
    smallest_change: SmallestChange | None = None
    reason: str | None = None
    changed: list[str] = field(default_factory=list)
    differences: list[str] = field(default_factory=list)
    where: str | None = None


@record(slots=True, kw_only=True)
class PlanCheck(_Part):
    """What ``check`` says of a plan, the worst first."""

    kind: Literal["check"] = "check"
    understood: Understood = field(default_factory=Understood)
    findings: list[FindingNote] = field(default_factory=list)
    reasons: dict[str, Reason] = field(default_factory=dict)


@record(slots=True, kw_only=True)
class GradeReading(_Part):
    """Another thing that the same words could mean."""

    designation: str
    system: str
    mid_um: float
    why: str = ""


@record(slots=True, kw_only=True)
class GradeAnswer(_Part):
    """A grade's size. ``range_kind`` says what low and high are."""

    designation: str
    system: str
    low_um: float | None
    mid_um: float
    high_um: float | None
    range_kind: Literal["core sieve fraction", "d3-d94", "mesh pair", "working range"] | None
    basis: BasisNote
    other_readings: list[GradeReading] = field(default_factory=list)
    nearest: list[GradeReading] = field(default_factory=list, metadata={"description": "The nearest in size on the scale asked for, nearest first."})


@record(slots=True, kw_only=True)
class SpeedAnswer(_Part):
    """Turning speed and surface speed of a wheel; with a carrier also how they lie to its working speed.

    Turning speeds that were computed are never rounded up.
    """

    diameter: str
    turning_rpm: Range
    surface_m_s: Range
    surface_sfpm: Range
    carrier: str | None = None
    carrier_m_s: Range | None = field(default=None, metadata={"description": "The working speed of the carrier."})
    carrier_rpm: Range | None = field(default=None, metadata={"description": "The same as turning speeds of a wheel of this diameter."})
    verdict: Literal["below", "within", "above", "partly"] | None = None


@record(slots=True, kw_only=True)
class RuleEntry(_Part):
    """One rule as ``rules list`` prints it."""

    id: str
    file: str
    subject: str
    because: str
    basis: BasisNote
    safety: bool


@record(slots=True, kw_only=True)
class ErrorNote(_Part):
    """Input that could not be used; with ``--json`` it is printed like any answer, with exit status 2."""

    kind: Literal["error"] = "error"
    text: str
    where: str | None = None


SCHEMAS: dict[str, type] = {
    "ask": Answer,
    "check": PlanCheck,
    "grade": GradeAnswer,
    "speed": SpeedAnswer,
    "rules": RuleEntry,
    "error": ErrorNote,
}
"""The parts by the command that prints them; ``finishing-kg schema`` prints their JSON Schemas."""
