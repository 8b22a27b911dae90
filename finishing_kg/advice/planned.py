"""What a maker has in mind, judged as a step over the piece as it is: water, speed and grade included."""

from collections.abc import Sequence

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.contract import Answer, FindingNote
from finishing_kg.advice.findings import findings_on
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.advice.why import why_not
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.quantities import grain
from finishing_kg.record import field, record, replace
from finishing_kg.routes import Case, PlannedStep, judge, stage_of
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Name


@record(frozen=True)
class Intention:
    """What was named of a step that the maker has in mind.

    Attributes:
        things: minerals, holds, carriers and machines named.
        grade: as written, or ``None``.
        wet: with water, dry, or not said.
        measures: of the step, by the id of the property.
    """

    things: tuple[Name, ...] = ()
    grade: str | None = None
    wet: bool | None = None
    measures: dict[str, Quantity] = field(default_factory=dict)

    def __bool__(self) -> bool:
        return bool(self.things or self.measures or self.grade or self.wet is False)


def intended_step(knowledge: Knowledge, case: Case, intention: Intention) -> PlannedStep:
    """The intention as a step of a plan; what can only be one thing is filled in."""
    vocabulary = knowledge.vocabulary
    named = {kind: next((name.id for name in intention.things if name.kind == kind), None) for kind in ("mineral", "hold", "carrier", "machine")}
    mineral, hold, carrier = named["mineral"], named["hold"], named["carrier"]
    if carrier is None and named["machine"] is not None:
        driven = vocabulary.subjects("isDrivenBy", named["machine"])
        carrier = driven[0] if len(driven) == 1 else None
    if hold is None and mineral is not None:
        ways = [way for way in vocabulary.related(mineral, "comesAs") if carrier is None or way in vocabulary.related(carrier, "takesHold")]
        hold = ways[0] if len(ways) == 1 else None
    grade = _grade(knowledge, intention.grade, mineral, hold) if intention.grade else None
    size = grain(vocabulary, grade) if grade else None
    stage = stage_of(vocabulary, mineral, hold, size, case.finish) if mineral else None
    measures = tuple(sorted(intention.measures.items()))
    return PlannedStep(mineral, hold, carrier, grade, named["machine"], stage, intention.wet, measures=measures)


def _grade(knowledge: Knowledge, written: str, mineral: str | None, hold: str | None) -> str | None:
    """The likeliest grade that some words can mean."""
    from finishing_kg.quantities import read_grade

    reads = read_grade(knowledge.vocabulary, written, mineral, hold)
    return reads[0].grade if reads else None


def judge_intention(knowledge: Knowledge, case: Case, intention: Intention, book: ReasonBook) -> list[FindingNote]:
    """What would stop the intended step, or wants care, as the first thing done to the piece; notes are left out."""
    judged = judge(knowledge, case, [[intended_step(knowledge, case, intention)]], brought=True)
    reasons = Reasons(knowledge, judged.model, book)
    found = findings_on(knowledge, judged.model, reasons, [(judged.routes[0][0], None)])
    return sorted((finding for finding in found if finding.level != "note"), key=lambda finding: finding.level != "stop")


def told(findings: Sequence[FindingNote]) -> str:
    """Findings as sentences, each with its remedy."""
    marks = {"stop": "Do not do it like that", "caution": "Take care"}
    return " ".join(f"{marks[finding.level]}: {finding.text} {finding.remedy or ''}".strip() for finding in findings)


def with_intention(advice: Advice, answer: Answer, intention: Intention) -> Answer:
    """An answer that first says what is to be said of what the maker has in mind.

    The step is judged over the piece as it is; where nothing is found in it, the method is judged against the route.
    """
    if not intention:
        return answer
    knowledge = advice.knowledge
    answer.understood.planned = _as_understood(knowledge, intention)
    book = ReasonBook(after=len(answer.reasons))
    findings = judge_intention(knowledge, advice.case, _on_the_route(advice, intention), book)
    said = told(findings)
    if not findings and intention.things and answer.kind in ("route", "no_route"):
        together = why_not(advice, answer, intention.things)
        judged = [together] if together.verdict != "no such method" else [why_not(advice, answer, [name]) for name in intention.things]
        said = " ".join(dict.fromkeys(each.text for each in judged if each.verdict != "in the route"))
    reasons = {**answer.reasons, **book.ordered()}
    return replace(answer, text=f"{said} {answer.text}".strip(), findings=findings, reasons=reasons)


def _as_understood(knowledge: Knowledge, intention: Intention) -> dict[str, str]:
    phrases = knowledge.vocabulary.phrases
    planned = {name.kind: name.notation for name in reversed(intention.things)}  # the first of a kind is the one that is judged
    planned |= {"grade": intention.grade} if intention.grade else {}
    planned |= {} if intention.wet is None else {"water": "wet" if intention.wet else "dry"}
    return planned | {phrases[predicate].words: str(quantity) for predicate, quantity in intention.measures.items()}


def _on_the_route(advice: Advice, intention: Intention) -> Intention:
    """An intention that names no tool is meant for the first step of the route: "no water here"."""
    if intention.things or not advice.found:
        return intention
    option = advice.found[0].places[0].option
    names = advice.knowledge.vocabulary.names
    return replace(intention, things=tuple(names[part] for part in option_parts(option)[:3])) if option else intention
