"""What a planned step needs and what it leaves: computed facts that the rules on damage look at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.proofs import Computation, Fact
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Basis

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge, Model
    from finishing_kg.quantities import Expected
    from finishing_kg.routes.case import Case
    from finishing_kg.routes.steps import PlannedStep

# What a plan says of a step, with what is needed of the same.
_PLANNED = (("plannedMinutes", "neededMinutes"), ("plannedRemoval", "neededRemoval"))


def needs(
    knowledge: Knowledge, model: Model, case: Case, *, computed: Mapping[Statement, Fact], steps: Sequence[str], route: Sequence[PlannedStep]
) -> dict[Statement, Fact]:
    """Needed removal and minutes of each step, cracks found and left, and how much of the need the plan allows for.

    Args:
        knowledge: for the ontology's mechanics.
        model: with what each step finds.
        case: the piece.
        computed: with the speeds that follow from the plan.
        steps: ids of the steps of one route.
        route: the same steps.

    Returns:
        Facts with their computations; nothing for a step of which too little is known, nor for one that meets a break or a frost,
        since no relation between grain and cracks is known there.
    """
    facts: dict[Statement, Fact] = {}
    speeds = {str(made.subject): made.object for made in computed if made.predicate == "surfaceSpeed" and isinstance(made.object, Quantity)}
    before: list[PlannedStep | None] = [None, *route[:-1]] if route else []
    for step, planned, earlier in zip(steps, route, before, strict=True):
        if earlier is None and not _compares(knowledge, case):
            continue
        if planned.mineral and planned.hold and planned.carrier:
            facts.update(_needs(knowledge, model, case, step=step, planned=planned, earlier=earlier, speed=speeds.get(step)))
    return facts


def _compares(knowledge: Knowledge, case: Case) -> bool:
    """Whether the cracks under the surface of the piece follow from its grain."""
    vocabulary = knowledge.vocabulary
    if case.surface is None or vocabulary.holds(case.surface, "isOutOfShape"):
        return False
    return not any(
        case.surface in vocabulary.related(stage.id, "leavesSurface")
        for stage in vocabulary.things("finish")
        if vocabulary.holds(stage.id, "isABlast")
    )


def _needs(
    knowledge: Knowledge, model: Model, case: Case, *, step: str, planned: PlannedStep, earlier: PlannedStep | None, speed: Quantity | None
) -> Iterator[tuple[Statement, Fact]]:
    from finishing_kg.routes.amounts import expected_of  # slow to load, and not every judging asks for it

    entering, size = (model.quantity(predicate, step) for predicate in ("enteringGrain", "grainSize"))
    try:
        run_at = speed if speed and speed.lowest else None
        expected = expected_of(knowledge.vocabulary, case, planned, earlier, entering=entering, grain=size, speed=run_at)
    except QuantityError:
        return
    sources = [Statement(predicate, step, value) for predicate, value in (("enteringGrain", entering), ("grainSize", size)) if value is not None]
    owed = _computation(expected, expected.owed, sources)
    found = owed.inputs[0] if owed else None
    made = {
        "foundCracks": (found, _computation(expected, found, sources[:1])),
        "ownCracks": (expected.cracks_left, _computation(expected, expected.cracks_left, sources[1:])),
        "neededRemoval": (expected.removal, _computation(expected, expected.removal, sources)),
    }
    removal = [Statement("neededRemoval", step, expected.removal)] if expected.removal else []
    run = [Statement("surfaceSpeed", step, speed)] if speed else []
    made["neededMinutes"] = (expected.minutes, _computation(expected, expected.minutes, [*removal, *run]))
    for predicate, (value, computation) in made.items():
        if value is not None and computation is not None:
            yield Statement(predicate, step, value), Fact(Basis("computed", None, computation.function), computation)
    yield from _shares(knowledge, step, planned, {predicate: value for predicate, (value, _) in made.items() if value is not None})


def _computation(expected: Expected, result: Quantity | None, sources: Sequence[Statement]) -> Computation | None:
    """The computation that a result came from."""
    done = next((done for done in reversed(expected.computed) if done.result is result), None)
    return Computation(done.function, done.inputs, tuple(sources)) if done else None


def _shares(knowledge: Knowledge, step: str, planned: PlannedStep, needed: dict[str, Quantity]) -> Iterator[tuple[Statement, Fact]]:
    """What share of its need a step is planned to do, the least if the plan says both time and depth, and the cracks that are left then."""
    from finishing_kg.quantities.computations import CRACKS_WHEN_STOPPED, QUOTIENT, computations

    functions, said = computations(knowledge.vocabulary.units), dict(planned.measures)
    found: list[tuple[Quantity, Computation, str, str]] = []
    for plan, need in _PLANNED:
        if plan in said and need in needed and needed[need].lowest:
            inputs = (said[plan], needed[need])
            sources = (Statement(plan, step, inputs[0]), Statement(need, step, inputs[1]))
            found.append((functions[QUOTIENT](inputs), Computation(QUOTIENT, inputs, sources), plan, need))
    if not found or "foundCracks" not in needed or "ownCracks" not in needed:
        return
    share, computation, plan, need = min(found, key=lambda each: each[0].mid)
    yield Statement("doneShare", step, share), Fact(Basis("computed", None, QUOTIENT), computation)
    parts = (("foundCracks", needed["foundCracks"]), ("ownCracks", needed["ownCracks"]), (plan, said[plan]), (need, needed[need]))
    inputs_left = tuple(value for _, value in parts)
    remaining = Computation(CRACKS_WHEN_STOPPED, inputs_left, tuple(Statement(predicate, step, value) for predicate, value in parts))
    yield (
        Statement("remainingCracks", step, functions[CRACKS_WHEN_STOPPED](inputs_left)),
        Fact(Basis("computed", None, CRACKS_WHEN_STOPPED), remaining),
    )
