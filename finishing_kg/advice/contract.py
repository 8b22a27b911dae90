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
    """A question back to the maker; ``choices`` are identifiers, and ``if_unknown`` says what to answer instead of one."""

    about: str
    text: str
    choices: list[str] = field(default_factory=list)
    if_unknown: str | None = None


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
    minutes_unknown: str | None = field(default=None, metadata={"description": "Why minutes or removal are not known, where they are null."})
    minutes_a_millimetre: Range | None = field(
        default=None, metadata={"description": "Where only how much has to come off is not known: the minutes of a millimetre."}
    )
    if_stopped: str | None = field(default=None, metadata={"description": "What is left of the old cracks where the step is stopped early."})
    reason: str
    amounts_reason: str | None = field(
        default=None, metadata={"description": "An id in the answer's reasons: how minutes or removal were worked out."}
    )


@record(slots=True, kw_only=True)
class Route(_Part):
    """A way from the present surface to the finish."""

    name: str
    chosen_because: str
    minutes: Range | None = field(default=None, metadata={"description": "Of all steps together; null where those of a step are not known."})
    minutes_for: str | None = field(default=None, metadata={"description": "The face that the minutes hold for, and whether it was assumed."})
    minutes_known: Range | None = field(
        default=None, metadata={"description": "Where those of a step are not known: of the other steps together; null where none are."}
    )
    minutes_unknown: str | None = field(
        default=None, metadata={"description": "Where those of a step are not known: of which, and what is known of the rest."}
    )
    minutes_from_log: str | None = field(
        default=None, metadata={"description": "What the studio's bench log says of the minutes, and whether it changed the choice."}
    )
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
    further_comparisons: list[Compared] = field(default_factory=list, metadata={"description": "Comparisons of the same step after the first."})


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
class ReasonLine(_Part):
    """One line of a shortened reasoning; ``reason`` is the node of the proof that it tells."""

    depth: int
    text: str
    reason: str


@record(slots=True, kw_only=True)
class NearRule(_Part):
    """A rule that could have concluded what does not hold, and what it lacks; ``blocked``: an exception that held blocked it."""

    rule: str
    lacking: str
    blocked: bool


@record(slots=True, kw_only=True)
class Absence(_Part):
    """A statement that a proof needs to be absent, with the rules that came nearest to it and how many more there are."""

    statement: str
    could_follow: list[NearRule] = field(default_factory=list)
    more: int = 0


@record(slots=True, kw_only=True)
class Blocker(_Part):
    """The condition that keeps something out, and the rule that has it.

    ``rule`` would have let it in and lacks ``statement`` (missing, false comparison, unknown), or has it as an exception (unless);
    or it is the rule that was overridden, or the one that speaks against what could otherwise be used.
    """

    kind: Literal["missing", "false comparison", "unless", "overridden", "unknown", "speaks against"]
    rule: str
    statement: str
    about: str = field(metadata={"description": "The option that came nearest, or the step that was tried."})
    comparison: Compared | None = None
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
    explains: dict[str, str] = field(
        default_factory=dict, metadata={"description": "Codes of what else shows in the step and comes from this, each with its reason."}
    )


@record(slots=True, kw_only=True)
class ProposedRule(_Part):
    """A rule that would bring about what the maker wants instead of a rejected advice; ``command`` saves it.

    ``instead`` is what this piece would be worked with then, a step each; ``cases`` of how many cases of the library the answer would
    change, null where that was not looked at, and ``changes`` how.
    """

    id: str
    conditions: list[str]
    conclusions: list[str]
    overrides: list[str] = field(default_factory=list)
    because: str
    instead: list[str] = field(default_factory=list)
    cases: int | None = None
    changes: list[str] = field(default_factory=list)
    command: str


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
    lines: list[ReasonLine] = field(default_factory=list, metadata={"description": "Of a why: the reasoning in one line, or in at most seven."})
    more_lines: int = field(default=0, metadata={"description": "How many steps of the whole reasoning the lines leave out."})
    reason_sets: list[list[str]] = field(
        default_factory=list, metadata={"description": "Of a why: each the fewest things said or assumed that are enough for it."}
    )
    more_reasons: bool = field(default=False, metadata={"description": "There are more such sets than were listed or looked for."})
    absences: list[Absence] = field(default_factory=list)
    blocked_by: Blocker | None = None
    only_first: list[ReasonLine] = field(default_factory=list, metadata={"description": "Of a comparison: what holds of the first alone."})
    only_second: list[ReasonLine] = field(default_factory=list, metadata={"description": "Of a comparison: what holds of the second alone."})
    left_out: list[str] = field(default_factory=list, metadata={"description": "Of a what-if: ids of the rules that were left out."})
    proposed_rules: list[ProposedRule] = field(
        default_factory=list,
        metadata={"description": "After a rejected advice: up to three rules that would bring it about, fewest other cases first."},
    )
    can_be_asked: list[str] = field(
        default_factory=list, metadata={"description": "Where nothing was understood: three questions that would be, around the words that were."}
    )
    pieces_told: str | None = field(
        default=None, metadata={"description": "Where several pieces were told: which one this answer is for, and what is kept for later."}
    )
    other_pieces: list[Understood] = field(
        default_factory=list, metadata={"description": "Pieces of the conversation that wait, the next one first, as they were understood."}
    )
    heard: list[Understood] = field(
        default_factory=list, metadata={"description": "What was heard in a long story, piece by piece: it counts once the maker says yes to it."}
    )


PlanTable = dict[str, dict[str, str | dict[str, str]] | list[dict[str, str | bool]]]
"""``piece`` and ``step`` as they stand in a plan file."""


@record(slots=True, kw_only=True)
class PlanCheck(_Part):
    """What ``check`` says of a plan, the worst first."""

    kind: Literal["check"] = "check"
    understood: Understood = field(default_factory=Understood)
    findings: list[FindingNote] = field(default_factory=list)
    corrected: PlanTable | None = field(
        default=None, metadata={"description": "The plan with the fewest changes that leaves no stop and no caution, in the form of a plan file."}
    )
    changes: list[str] = field(
        default_factory=list, metadata={"description": "What the corrected plan changes; where there is none although it is needed, why."}
    )
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
