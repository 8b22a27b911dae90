"""What a maker has in mind, judged as a step over the piece as it is: water, speed and grade included."""

from collections.abc import Collection, Sequence

from finishing_kg.advice.ask import Advice, caution_notes
from finishing_kg.advice.contract import Answer, FindingNote
from finishing_kg.advice.deciding import NEEDED, lacking
from finishing_kg.advice.findings import findings_on
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.advice.why import why_not
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.quantities import grain
from finishing_kg.record import field, record, replace
from finishing_kg.routes import Case, Judged, PlannedStep, judge, stage_of, stages_to
from finishing_kg.statements import option_parts
from finishing_kg.vocabulary import Name, Vocabulary

_JET = "air-borne"


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

    def still(self, before: "Intention", dropped: Collection[str] = ()) -> "Intention":
        """The intention with what was in mind before and is not named anew; without things that were dropped meanwhile."""
        kinds = {name.kind for name in self.things}
        kept = tuple(name for name in before.things if name.kind not in kinds and name.id not in dropped)
        wet = before.wet if self.wet is None else self.wet
        return Intention((*self.things, *kept), self.grade or before.grade, wet, {**before.measures, **self.measures})

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
    elif hold is None and carrier is not None:
        ways = vocabulary.related(carrier, "takesHold")
        hold = ways[0] if len(ways) == 1 else None
    grade = _grade(knowledge, intention.grade, mineral, hold) if intention.grade else None
    size = grain(vocabulary, grade) if grade else None
    stage = stage_of(vocabulary, mineral, hold, size, case.finish) if mineral else None
    measures = tuple(sorted(intention.measures.items()))
    traits = ("hasAnUnknownGrade",) if intention.grade and grade is None else ()
    return PlannedStep(mineral, hold, carrier, grade, named["machine"], stage, intention.wet, traits, measures)


def _grade(knowledge: Knowledge, written: str, mineral: str | None, hold: str | None) -> str | None:
    """The likeliest grade that some words can mean."""
    from finishing_kg.quantities import read_grade

    reads = read_grade(knowledge.vocabulary, written, mineral, hold)
    return reads[0].grade if reads else None


def judge_intention(knowledge: Knowledge, case: Case, intention: Intention, book: ReasonBook) -> list[FindingNote]:
    """What would stop the intended step, or wants care, as the first thing done to the piece; notes are left out."""
    judged = _judged(knowledge, case, intention)
    reasons = Reasons(knowledge, judged.model, book)
    found = findings_on(knowledge, judged.model, reasons, [(judged.routes[0][0], None)])
    return sorted((finding for finding in found if finding.level != "note"), key=lambda finding: finding.level != "stop")


def _judged(knowledge: Knowledge, case: Case, intention: Intention) -> Judged:
    """The intended step before the rules; nobody said that it is the last."""
    return judge(knowledge, case, [[intended_step(knowledge, case, intention)]], brought=True, ends=False)


def finishes_with(vocabulary: Vocabulary, intention: Intention) -> list[str]:
    """The finishes on whose way there is a stage for what is in mind; all where that tells nothing, and none where nothing is named."""
    served: set[str] | None = None
    for kind in ("mineral", "carrier"):
        named = next((name.id for name in intention.things if name.kind == kind), None)
        if named is not None:
            stages = set(vocabulary.related(named, "serves"))
            if vocabulary.related(named, "takesHold") == [_JET]:
                stages = {stage for stage in stages if vocabulary.holds(stage, "isABlast")}  # what a jet leaves is a frost
            served = stages if served is None else served & stages
    every = [name.id for name in vocabulary.things("finish")]
    if served is None:
        return []
    return [finish for finish in every if served.intersection(stages_to(vocabulary, finish))] or every


def told(findings: Sequence[FindingNote]) -> str:
    """Findings as sentences, each with its remedy."""
    marks = {"stop": "Do not do it like that", "caution": "Take care"}
    return " ".join(f"{marks[finding.level]}: {finding.text} {finding.remedy or ''}".strip() for finding in findings)


def with_intention(advice: Advice, answer: Answer, intention: Intention) -> tuple[Answer, ReasonBook]:
    """An answer that first says what is to be said of what the maker has in mind, with the book of its reasons.

    The step is judged over the piece as it is; where nothing is found in it, the method is judged against the route.
    """
    if not intention:
        return answer, advice.book
    knowledge = advice.knowledge
    answer.understood.planned = _as_understood(knowledge, intention)
    book = ReasonBook(upon=advice.book)
    meant = _on_the_route(advice, intention)
    findings = judge_intention(knowledge, advice.case, meant, book)
    if answer.kind == "question":
        answer = _narrowed(advice, _warned(advice, answer, meant, book), intention)
    said = told(findings)
    if not findings and intention.things and answer.kind in ("route", "no_route"):
        together = why_not(advice, answer, intention.things)
        judged = [together] if together.verdict != "no such method" else [why_not(advice, answer, [name]) for name in intention.things]
        said = " ".join(dict.fromkeys(each.text for each in judged if each.verdict != "in the route"))
    return replace(answer, text=f"{said} {answer.text}".strip(), findings=findings, reasons=book.ordered()), book


def _warned(advice: Advice, answer: Answer, intention: Intention, book: ReasonBook) -> Answer:
    """A question with the cautions that the intended step calls for, whatever will be answered."""
    model = _judged(advice.knowledge, advice.case, intention).model
    given = {caution.id for caution in answer.cautions}
    notes = caution_notes(advice.knowledge, model, Reasons(advice.knowledge, model, book), certain=True)
    more = [caution for caution in notes if caution.id not in given]
    return replace(answer, cautions=sorted([*answer.cautions, *more], key=lambda caution: caution.id))


def _narrowed(advice: Advice, answer: Answer, intention: Intention) -> Answer:
    """A question that offers only finishes which can come of what the maker has in mind, and asks only what one of these needs."""
    vocabulary = advice.knowledge.vocabulary
    finishes = finishes_with(vocabulary, intention)
    if not finishes or len(finishes) == len(list(vocabulary.things("finish"))) or advice.case.finish is not None:
        return answer
    needed = {part for finish in finishes for part in lacking(replace(advice, case=replace(advice.case, finish=finish)))} | {"finish"}
    labels = ", ".join(vocabulary.names[each].label for each in finishes)
    asked = []
    for question in answer.ask_back:
        kept = [each for each in question.choices if each in finishes]
        if question.about == "finish" and kept:
            asked.append(replace(question, text=f"How should it end: {labels}?", choices=kept))
        elif question.about not in NEEDED or question.about in needed:
            asked.append(question)
    return replace(answer, ask_back=asked, text=" ".join(question.text for question in asked[:2]))


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
