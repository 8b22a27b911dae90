"""Why not another grade: the route with that grade in the step that is meant, judged by the rules like any plan."""

from collections.abc import Sequence

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.blockers import objection_to
from finishing_kg.advice.contract import Answer
from finishing_kg.advice.machine import planned_steps
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.quantities import designation, read_grade
from finishing_kg.record import record, replace
from finishing_kg.routes import judge
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Name


@record(frozen=True, slots=True)
class GradeMeant:
    """A grade that is asked about.

    Attributes:
        written: as the maker wrote it.
        step: the step of the first route, from 1, -1 for the last; ``None`` for the first that is graded.
    """

    written: str
    step: int | None = None


def why_not_grade(advice: Advice, last: Answer, about: Sequence[Name], meant: GradeMeant, book: ReasonBook) -> Answer:
    """Why a grade is not in the route.

    Args:
        advice: the judged case.
        last: the answer with the route.
        about: what else was named; the step meant is one that uses it.
        meant: the grade and the step.
        book: takes the reasons.
    """
    written, step = meant.written, meant.step
    base = replace(last, kind="why_not", about=", ".join([*(name.notation for name in about), written]), reason=None)
    steps = planned_steps(advice.knowledge, advice.case, advice.found[0]) if last.routes else []
    wanted = {name.id for name in about}
    places = [place for place, each in enumerate(steps) if each.grade and wanted <= {each.mineral, each.hold, each.carrier, each.machine}]
    if step is not None:
        places = [place for place in places if place == (step - 1 if step > 0 else len(steps) - 1)]
    if not places:
        text = f"No step of the route that is meant here takes grain by grades, so {written} has no place in it."
        return replace(base, text=text, verdict="unknown")
    place = places[0]
    here = steps[place]
    reads = read_grade(advice.knowledge.vocabulary, written, here.mineral, here.hold)
    if not reads:
        return replace(base, text=f"I know no grade {written!r}.", verdict="unknown")
    grade = reads[0].grade
    name, used = designation(advice.knowledge.vocabulary, grade), designation(advice.knowledge.vocabulary, str(here.grade))
    if grade == here.grade:
        rid = last.routes[0].steps[place].reason
        return replace(base, text=f"It is in the route: step {place + 1} takes {name}.", verdict="in the route", reason=rid)
    judged = judge(advice.knowledge, advice.case, [[*steps[:place], replace(here, grade=grade), *steps[place + 1 :]]])
    ids = judged.routes[0]
    faults = [
        Statement(predicate, ids[number], value)
        for number in range(place, len(ids))
        for predicate in ("isStoppedBy", "isCautionedFor")
        for value in judged.model.objects(predicate, ids[number])
    ]
    reasons = Reasons(advice.knowledge, judged.model, book)
    cleared = replace(base, routes=[], ruled_out=[], discouraged=[], cautions=[])
    if not faults:
        in_order = Statement("isInOrder", ids[place])
        found = reasons.of(in_order) if judged.model.holds("isInOrder", ids[place]) else None
        text = f"{name} could be used in step {place + 1} instead of {used}; nothing speaks against it."
        return replace(cleared, text=text, verdict="offered", reason=found, reasons=book.ordered())
    rid = reasons.of(faults[0])
    blocker = objection_to(advice.knowledge, reasons.prover.proof(faults[0]), advice.knowledge.language.names.label(str(faults[0].subject)))
    text = f"With {name} in step {place + 1} a rule speaks against {blocker.about}: {blocker.text}"
    blocked = replace(cleared, blocker=f"rule {blocker.rule}", blocked_by=blocker)
    return replace(blocked, text=text, verdict="not at this step", reason=rid, reasons=book.ordered())
