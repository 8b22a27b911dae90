"""Planned steps, and how the rules judge them: for routes that were found and for plans that a maker brings."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from finishing_kg.engine import Knowledge, Model
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Computation, Fact
from finishing_kg.quantities import GRAIN_RATIO, SURFACE_SPEED, Expected, computations
from finishing_kg.record import field, record
from finishing_kg.routes.case import SAID, Case
from finishing_kg.routes.computed import needs
from finishing_kg.statements import Statement, step_id
from finishing_kg.vocabulary import Basis

PLANNED = Basis("computed", None, "a step put up for judging")


@record(frozen=True)
class PlannedStep:
    """One step. Parts that nobody named are ``None``.

    Attributes:
        mineral, hold, carrier, grade, machine, stage: ids of known things.
        wet: with water, dry, or not said.
        traits: what holds of the step beside its parts, such as that a grade was named that no scale has.
        measures: by the id of the property: wheel diameter, spindle speed, rated speed, planned minutes, planned removal.
    """

    mineral: str | None = None
    hold: str | None = None
    carrier: str | None = None
    grade: str | None = None
    machine: str | None = None
    stage: str | None = None
    wet: bool | None = None
    traits: tuple[str, ...] = ()
    measures: tuple[tuple[str, Quantity], ...] = ()

    def facts(self, step: str, basis: Basis) -> dict[Statement, Fact]:
        """The step as statements."""
        named = {"usesMineral": self.mineral, "hasHold": self.hold, "usesCarrier": self.carrier, "grade": self.grade, "runsOn": self.machine}
        facts = {Statement(predicate, step, value): Fact(basis) for predicate, value in named.items() if value is not None}
        if self.stage is not None:
            facts[Statement("worksToward", step, self.stage)] = Fact(Basis("computed", None, "the stage whose usual grain and means these are"))
        if self.wet is not None:
            facts[Statement("runsWet" if self.wet else "runsDry", step)] = Fact(basis)
        for trait in self.traits:
            facts[Statement(trait, step)] = Fact(basis)
        for predicate, quantity in self.measures:
            facts[Statement(predicate, step, quantity)] = Fact(basis)
        return facts


@record(frozen=True)
class Judged:
    """Steps with all that follows about them.

    Attributes:
        model: everything that holds.
        routes: ids of the steps, a tuple a route.
        expected: by the id of a step what is to be expected of it; empty unless that was asked for.
    """

    model: Model
    routes: tuple[tuple[str, ...], ...]
    expected: dict[str, Expected] = field(default_factory=dict)


def in_order(model: Model, steps: Iterable[str]) -> bool:
    """Whether the rules find every step in order and object to none."""
    return all(
        model.holds("isInOrder", step) and not model.objects("isCautionedFor", step) and not model.objects("isStoppedBy", step) for step in steps
    )


def judge(
    knowledge: Knowledge,
    case: Case,
    routes: Sequence[Sequence[PlannedStep]],
    *,
    brought: bool = False,
    ends: bool = True,
    expecting: bool = False,
) -> Judged:
    """Let the rules judge the steps of some routes over one piece.

    What a step finds and leaves follows by rules; the ratio between the two is then computed, and the rules judge again.

    Args:
        knowledge: ontology and rules.
        case: the piece.
        routes: the steps of each.
        brought: whether a maker brings them as a plan, which may give a step too little time; steps that were found are as long as they need.
        ends: whether the last step of each is the last of the work; of a step that is only spoken of that is not known.
        expecting: whether minutes and depths are worked out too.
    """
    facts, basis = case.facts(), SAID if brought else PLANNED
    ids = []
    for number, route in enumerate(routes, 1):
        steps = tuple(step_id(place, number) for place in range(1, len(route) + 1))
        ids.append(steps)
        for step, planned in zip(steps, route, strict=True):
            facts.update(planned.facts(step, basis))
        for before, step in pairwise(steps):
            facts[Statement("follows", step, before)] = Fact(basis)
        if steps:
            facts[Statement("opensTheWork", steps[0])] = Fact(basis)
            if ends:
                facts[Statement("endsTheWork", steps[-1])] = Fact(basis)
    every = [step for route_steps in ids for step in route_steps]
    model = knowledge.evaluate(facts)
    given = len(facts)
    facts.update(_computed(knowledge, model, every))
    if brought:
        for steps, route in zip(ids, routes, strict=True):
            facts.update(needs(knowledge, model, case, computed=facts, steps=steps, route=route))
    expected: dict[str, Expected] = {}
    if expecting:
        from finishing_kg.routes.amounts import amounts

        expected, more = amounts(knowledge.vocabulary, case, model, list(zip(ids, routes, strict=True)))
        facts.update(more)
    return Judged(knowledge.evaluate(facts) if every or len(facts) > given else model, tuple(ids), expected)


def _computed(knowledge: Knowledge, model: Model, steps: list[str]) -> dict[Statement, Fact]:
    """Grain ratios and surface speeds of the steps that have what they are computed from."""
    functions = computations(knowledge.vocabulary.units)
    recipes = (
        ("grainRatio", GRAIN_RATIO, "enteringGrain", "grainSize"),
        ("surfaceSpeed", SURFACE_SPEED, "wheelDiameter", "spindleSpeed"),
    )
    facts: dict[Statement, Fact] = {}
    for step in steps:
        for made, function, first, second in recipes:
            pair = [model.quantity(predicate, step) for predicate in (first, second)]
            if pair[0] is None or pair[1] is None or not pair[1].mid:
                continue
            inputs = (pair[0], pair[1])
            result = functions[function](inputs)
            sources = (Statement(first, step, inputs[0]), Statement(second, step, inputs[1]))
            facts[Statement(made, step, result)] = Fact(Basis("computed", None, function), Computation(function, inputs, sources))
    return facts
