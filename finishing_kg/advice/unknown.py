"""What can be said to a maker who does not know what was asked: the route that is right whatever it is, or why none is safe."""

from __future__ import annotations

from itertools import product

from finishing_kg.advice.ask import Advice, answer_of, in_full
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer, CautionNote
from finishing_kg.advice.deciding import advised, lacking
from finishing_kg.advice.findings import finding_rule
from finishing_kg.advice.machine import planned_steps
from finishing_kg.advice.possible import possible
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.advice.telling_apart import OF_OPTIONS, OF_STEPS, rules_behind, values_of
from finishing_kg.engine import Knowledge, Model, Prover
from finishing_kg.record import field, record, replace
from finishing_kg.routes import PARTS, PIECE, Case, Judged, PlannedStep, in_order, judge
from finishing_kg.statements import Statement

_WHY_NONE = {
    "finish": "How it should end is yours to say: every step follows from it, and what is taken off too far cannot be put back.",
    "form": "Where the work is decides what may touch it, and no tool is right for every place.",
    "surface": "No beginning is right for every surface that it could be.",
}
_CALLED = {
    "surface": "what the surface is like",
    "glass": "which glass it is",
    "make": "how it was made",
    "surface_grade": "which grade left the surface",
}
_ROUGHEST = ("surface", "surface_grade")  # a route that begins coarse enough for the roughest removes the marks of any finer one too
_MOST_ROUTES, _MOST_REST = 6, 12


@record(frozen=True)
class Objection:
    """What a rule holds against a route if the piece is of one kind.

    Attributes:
        value: what it is then, in words.
        because: the rule's reason.
        stops: whether that step must not be done at all.
        statement: that the step is stopped, or cautioned.
        judged: the steps as they are judged then.
        knowledge: by which they are judged.
    """

    value: str
    because: str
    stops: bool
    statement: Statement
    judged: Judged
    knowledge: Knowledge


@record(frozen=True)
class Safest:
    """What remains to be said where something cannot be told.

    Attributes:
        case: the piece with the value supposed for which the safest route is made; ``None`` where none is safe.
        text: in words.
        stopped: why none is safe.
        further: cautions that only other values call for, each with a model in which one does.
    """

    case: Case | None
    text: str
    stopped: Objection | None = None
    further: dict[str, Model] = field(default_factory=dict)


def without_knowing(last: Answer, book: ReasonBook, asked: str, found: Safest, after: Advice | None) -> tuple[Answer, ReasonBook]:
    """The answer to *I don't know*, with the book of its reasons.

    Args:
        last, book: the answer that asked, and the book of its reasons.
        asked: the words of its question.
        found: what remains to be said.
        after: the judged case with what was supposed; ``None`` where none is safe.
    """
    if after is None:
        book, rid = ReasonBook(upon=book), None
        if found.stopped is not None:
            rid = Reasons(found.stopped.knowledge, found.stopped.judged.model, book).of(found.stopped.statement)
        return replace(last, text=f"{found.text} {asked}", reason=rid, reasons=book.ordered()), book
    answer, names = answer_of(after), after.knowledge.vocabulary.names
    shown = {note.id for note in answer.cautions}
    if not answer.routes:
        return answer, after.book
    cautions = []
    for caution, model in found.further.items():
        if names[caution].notation not in shown:
            rid = Reasons(after.knowledge, model, after.book).of(Statement("callsForCaution", PIECE, caution))
            text = f"If it applies here, which nobody has said: {in_full(names[caution])}"
            cautions.append(CautionNote(id=names[caution].notation, text=text, reason=rid))
    return replace(answer, cautions=[*answer.cautions, *cautions], reasons=after.book.ordered() if cautions else answer.reasons), after.book


def safest(advice: Advice, slot: str) -> Safest:
    """The route that is right whatever the value of something is, or why there is none.

    Of surfaces it is the one from the coarsest, if no rule stops it on any; on which it would be wrong is told.

    Args:
        advice: the judged case, in which it is not known.
        slot: a key of ``PARTS``, or the id of a measure.
    """
    knowledge = advice.knowledge.unheard
    values = _values(advice, slot)
    routes = _routes(advice, slot, values)
    against = [[] for _ in routes] if routes else list[list[Objection]]()
    for case in values:
        judged = judge(knowledge, case, [steps for _, steps in routes])
        for place, ids in enumerate(judged.routes):
            value = _words(knowledge, case, slot)
            if not in_order(judged.model, ids):
                against[place].append(_objection(knowledge, value, judged, ids))
            elif slot == "finish" and routes[place][1][-1].stage != case.finish:
                against[place].append(_another_end(knowledge, value, judged, ids))
    safe = [place for place, found in enumerate(against) if not any(each.stops or slot not in _ROUGHEST for each in found)]
    if not safe:
        return _none(advice, slot, routes, against)
    case, steps = routes[safe[0]]
    wrong = against[safe[0]]
    because = _because(slot, _words(knowledge, case, slot), wrong)
    supposed = case.supposing(slot, str(case.part(slot)), because) if slot in PARTS else replace(case, assumed={**case.assumed, slot: because})
    return Safest(_as_told(advice, supposed, slot), because, further=_further(knowledge, values, steps))


def _values(advice: Advice, slot: str) -> list[Case]:
    """The case with each possible value, what else is lacking filled in with the first that leaves a way."""
    knowledge = advice.knowledge
    others = [part for part in lacking(advice) if part != slot]
    rules = rules_behind(knowledge, (*OF_OPTIONS, *OF_STEPS))
    given = advice.case
    for number, rest in enumerate(product(*(possible(knowledge.vocabulary, given, part) for part in others))):
        filled = replace(advice.case, **dict(zip(others, rest, strict=True)))
        values = values_of(knowledge, filled, slot, rules)
        if not others or number >= _MOST_REST or any(advised(_with(advice, each))[0] for each in values[:3]):
            return values
    return values_of(knowledge, given, slot, rules)


def _routes(advice: Advice, slot: str, values: list[Case]) -> list[tuple[Case, list[PlannedStep]]]:
    """The first routes of the values, each once; first the one that is given now, then from the roughest surface on."""
    found: dict[object, tuple[tuple[bool, float], Case, list[PlannedStep]]] = {}
    now = None if lacking(advice) else advice.first
    for case in values:
        other = _with(advice, case)
        if lacking(other) or other.first is None:
            continue
        steps, start = planned_steps(other.knowledge, case, other.first), other.search.start()
        rough = float(start.grain.mid) if start else 0.0
        same = now is not None and [place.option for place in now.places] == [place.option for place in other.first.places]
        found.setdefault(str(steps), ((not same and slot not in _ROUGHEST, -rough), case, steps))
    ordered = sorted(found.values(), key=lambda each: each[0])
    return [(case, steps) for _, case, steps in ordered[:_MOST_ROUTES]]


def _objection(knowledge: Knowledge, value: str, judged: Judged, ids: tuple[str, ...]) -> Objection:
    """The gravest that the rules hold against some steps."""
    model = judged.model
    for predicate in ("isStoppedBy", "isCautionedFor"):
        for step in ids:
            for finding in sorted(map(str, model.objects(predicate, step))):
                statement = Statement(predicate, step, finding)
                because = finding_rule(knowledge, Prover(model).proof(statement)).because
                return Objection(value, because, predicate == "isStoppedBy", statement, judged, knowledge)
    step = next(step for step in ids if not model.holds("isInOrder", step))
    return Objection(
        value, "No rule speaks for it there.", False, Statement("usesCarrier", step, model.objects("usesCarrier", step)[0]), judged, knowledge
    )


def _another_end(knowledge: Knowledge, value: str, judged: Judged, ids: tuple[str, ...]) -> Objection:
    """That a way ends in another finish."""
    stage = str(judged.model.objects("worksToward", ids[-1])[0])
    because = f"It ends {knowledge.vocabulary.names[stage].label}."
    return Objection(value, because, True, Statement("worksToward", ids[-1], stage), judged, knowledge)


def _none(advice: Advice, slot: str, routes: list[tuple[Case, list[PlannedStep]]], against: list[list[Objection]]) -> Safest:
    """Why no route is safe: of the one that is right with most values, what is wrong with it with another."""
    knowledge = advice.knowledge
    text = f"Then I cannot go on safely. {_WHY_NONE.get(slot, 'No way is right whatever it is.')}"
    if not routes:
        return Safest(None, f"{text} With none of its values do I find a way.")
    best = min(range(len(routes)), key=lambda place: (len(against[place]), place))
    worst = next((each for each in against[best] if each.stops), against[best][0])
    case, steps = routes[best]
    names, first = knowledge.vocabulary.names, steps[0]
    method = f"{names[str(first.mineral)].label} on the {names[str(first.carrier)].label}"
    text += f" For example: {_words(knowledge, case, slot)} would begin with {method}; with {worst.value} that way is wrong: {worst.because}"
    return Safest(None, text, worst)


def _because(slot: str, value: str, wrong: list[Objection]) -> str:
    told = f"You do not know {_CALLED.get(slot, 'it')}; it is taken as {value}, "
    if slot in _ROUGHEST:
        told += "the coarsest that the way can begin from: a coarse beginning takes off the marks of a finer surface as well. "
    else:
        told += "for which the way is right whatever it is. "
    for because in dict.fromkeys(each.because for each in wrong):
        told += f"If it is {' or '.join(each.value for each in wrong if each.because == because)} instead, ask first: {because} "
    return told.strip()


def _words(knowledge: Knowledge, case: Case, slot: str) -> str:
    return knowledge.vocabulary.names[str(case.part(slot))].label if slot in PARTS else str(case.measures[slot])


def _as_told(advice: Advice, supposed: Case, slot: str) -> Case:
    """Only what was not known is supposed; what else was lacking is lacking still."""
    if slot in PARTS:
        return advice.case.supposing(slot, str(supposed.part(slot)), supposed.assumed[slot])
    measures = {**advice.case.measures, slot: supposed.measures[slot]}
    return replace(advice.case, measures=measures, assumed={**advice.case.assumed, slot: supposed.assumed[slot]})


def _further(knowledge: Knowledge, values: list[Case], steps: list[PlannedStep]) -> dict[str, Model]:
    """By caution a model of some steps in which it is called for."""
    found: dict[str, Model] = {}
    for case in values:
        model = judge(knowledge, case, [steps]).model
        for caution in sorted(map(str, model.objects("callsForCaution", PIECE))):
            found.setdefault(caution, model)
    return found


def _with(advice: Advice, case: Case) -> Advice:
    return replace(advice, knowledge=advice.knowledge.unheard, case=complete(advice.knowledge.vocabulary, case))
