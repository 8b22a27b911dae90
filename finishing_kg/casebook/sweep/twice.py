"""What must hold between two answers: the same question twice, a fact that nothing rests on, a glass that grinds less easily."""

from collections.abc import Iterator
from typing import Any

from finishing_kg.advice.ask import Advice, answer_of
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer, RouteStep
from finishing_kg.advice.wire import as_json
from finishing_kg.casebook.sweep.invariants import Asked, broken
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.record import replace
from finishing_kg.routes import PARTS, PIECE, Case

# From easily to hardly ground.
_DEGREES = ("degree-very-high", "degree-high", "degree-medium", "degree-low")
_NARROW = Quantity.of(40, "mm")  # an opening that many a usual wheel is wider than
_ALWAYS_USED = ("form", "surface", "finish")  # whether something must be asked back hangs on these


def broken_when_asked_again(knowledge: Knowledge, case: Case, answer: Answer) -> list[str]:
    """What is wrong between an answer and others to nearly the same case."""
    again = _advice(knowledge, complete(knowledge.vocabulary, case))
    told = answer_of(again)
    found = ["same-again: asked again, the answer is another"] if as_json(told) != as_json(answer) else []
    found += [f"unused-fact: {fault}" for fault in unused_facts_change(again, told)]
    found += [f"harder-is-no-faster: {fault}" for fault in _harder_is_no_faster(knowledge, case, answer)]
    return found + list(narrow_faults(knowledge, case))


def _advice(knowledge: Knowledge, case: Case) -> Advice:
    return Advice(knowledge, case, whole=False, asking=False)


def advice(answer: Answer) -> Any:
    """What an answer advises, without what it understood and how it numbers its reasons."""
    told = as_json(answer)
    routes = [[{key: value for key, value in step.items() if key != "reason"} for step in route["steps"]] for route in told["routes"]]
    return told["kind"], told["text"], routes, [(note["id"], note["text"]) for note in (*told["cautions"], *told["hints"])]


def unused_facts_change(before: Advice, answer: Answer) -> Iterator[str]:
    """Which facts change the advice when they are left out, though nothing derived rests on them nor on their absence.

    Args:
        before: the judged case.
        answer: to it.
    """
    knowledge, completed = before.knowledge, before.case
    if answer.kind == "question":
        return
    used = before.model.things_used() | before.judged.model.things_used()
    # What a rule's exception would find if it were said: it keeps the rule from firing, so that no proof shows it.
    kept_off = {exception.predicate for rule in knowledge.base.rules for exception in rule.exceptions if exception.subject == PIECE}
    for part, predicate in PARTS.items():
        value = completed.part(part)
        if value is None or part in _ALWAYS_USED or value in used or predicate in kept_off:
            continue
        # What is advised counts here and below, not its reasons.
        if advice(answer_of(_advice(knowledge.unchecked, replace(completed, **{part: None})))) != advice(answer):
            yield f"nothing rests on {value}, and without it the advice is another"


def narrow_faults(knowledge: Knowledge, case: Case) -> Iterator[str]:
    """The same piece with a narrow opening, where it has one."""
    if case.form and knowledge.vocabulary.holds(case.form, "isHollow"):
        narrow = complete(knowledge.vocabulary, replace(case, measures={"diameter": _NARROW}))
        yield from broken(Asked(knowledge.vocabulary, narrow, answer_of(_advice(knowledge, narrow))))


def _harder_is_no_faster(knowledge: Knowledge, case: Case, answer: Answer) -> Iterator[str]:
    """Whether a step takes fewer minutes on a glass that grinds less easily; nothing where no minutes are told."""
    if not case.glass or not any(step.minutes for route in answer.routes for step in route.steps):
        return
    here = _ease(knowledge, case.glass)
    for glass in knowledge.vocabulary.things("glass"):
        there = _ease(knowledge, glass.id)
        if here is not None and there is not None and there > here:
            harder = complete(knowledge.vocabulary, replace(case, glass=glass.id))
            yield from quicker_steps(answer, answer_of(_advice(knowledge.unchecked, harder)), glass.label)


def _ease(knowledge: Knowledge, glass: str) -> int | None:
    degrees = knowledge.vocabulary.related(glass, "hasGrindability")
    return _DEGREES.index(degrees[0]) if degrees else None


def quicker_steps(easier: Answer, harder: Answer, label: str) -> Iterator[str]:
    """Steps that are the same in two answers' first routes and take fewer minutes in the second."""

    def alike(step: RouteStep) -> tuple[Any, ...]:
        return step.mineral, step.grade, step.hold, step.carrier, step.purpose

    routes = [answer.routes[0].steps if answer.routes else [] for answer in (easier, harder)]
    if [alike(step) for step in routes[0]] != [alike(step) for step in routes[1]]:
        return  # not all else is equal
    for number, (slow, fast) in enumerate(zip(*routes, strict=True), 1):
        if slow.minutes and fast.minutes and fast.minutes.mid < slow.minutes.mid:
            yield f"step {number} takes {fast.minutes.mid:g} min on {label}, which grinds less easily, and {slow.minutes.mid:g} here"
