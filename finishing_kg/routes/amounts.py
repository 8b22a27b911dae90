"""What the steps of a route take off, how long that takes, and what it leaves: as facts that a proof lists and the checker works out again."""

from collections.abc import Iterable, Sequence

from finishing_kg.engine import Model
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Computation, Fact
from finishing_kg.quantities import CRACKS_WHEN_STOPPED, Computed, Expected, computations, expect_step, nominal_size
from finishing_kg.routes.case import PIECE, Case
from finishing_kg.routes.face import area_facts, face_area
from finishing_kg.routes.steps import PlannedStep
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Basis, Vocabulary

# The phrases of what is expected of a step, by the part of ``Expected``, last worked out first; what is worked out on the way
# goes by its dimension.
_SAID = {
    "minutes": "expectedMinutes",
    "pressure": "meanPressure",
    "speed": "expectedSpeed",
    "removal": "expectedRemoval",
    "owed": "owedRemoval",
    "cracks_found": "foundCracks",
    "cracks_left": "leftCracks",
    "roughness_left": "leftRoughness",
}
_ON_THE_WAY = {
    "length": "workedDepth",
    "ratio": "workedRatio",
    "Preston coefficient": "workedCoefficient",
    "pressure": "meanPressure",
    "speed": "expectedSpeed",
    "time": "workedMinutes",
}
_HALF = 2


def amounts(
    vocabulary: Vocabulary, case: Case, model: Model, routes: Sequence[tuple[tuple[str, ...], Sequence[PlannedStep]]]
) -> tuple[dict[str, Expected], dict[Statement, Fact]]:
    """What is to be expected of each step of some routes.

    Args:
        vocabulary: the ontology.
        case: the piece.
        model: with what each step finds.
        routes: the ids of the steps of each route, and the steps.

    Returns:
        By the id of the step what is expected of it, and the facts that say so.
    """
    found: dict[str, Expected] = {}
    facts = area_facts(vocabulary, case)
    done: dict[tuple[object, ...], Expected] = {}
    area = face_area(vocabulary, case)
    for ids, steps in routes:
        before: PlannedStep | None = None
        for step, planned in zip(ids, steps, strict=True):
            if planned.mineral and planned.hold and planned.carrier:
                entering = model.quantity("enteringGrain", step)
                nominal = before.grade if before else case.surface_grade
                met = Quantity(entering.mid, entering.unit) if entering and nominal else entering
                grain = nominal_size(vocabulary, planned.grade) if planned.grade else None
                hold = before.hold if before else None
                key = (planned.mineral, planned.hold, planned.carrier, planned.stage, met, hold, grain)
                expected = done.get(key)
                if expected is None:
                    speed = model.quantity("surfaceSpeed", step)
                    expected = done[key] = expected_of(vocabulary, case, planned, before, entering=met, grain=grain, area=area, speed=speed)
                found[step] = expected
                facts.update(_facts(vocabulary, step, expected, _given(model, step, met, grain, area)))
            before = planned
    return found, facts


def expected_of(
    vocabulary: Vocabulary,
    case: Case,
    planned: PlannedStep,
    before: PlannedStep | None,
    *,
    entering: Quantity | None,
    grain: Quantity | None,
    area: Quantity | None = None,
    speed: Quantity | None = None,
) -> Expected:
    """What is to be expected of a step of which mineral, hold and carrier are named, after the step before it; see ``expect_step``.

    Raises:
        QuantityError: a quantity of the wrong dimension.
    """
    assert planned.mineral and planned.hold and planned.carrier
    return expect_step(
        vocabulary,
        mineral=planned.mineral,
        hold=planned.hold,
        carrier=planned.carrier,
        glass=case.glass,
        stage=planned.stage,
        form=case.form,
        entering=entering,
        entering_hold=before.hold if before else None,
        grain=grain,
        area=area,
        speed=speed,
    )


def halfway(vocabulary: Vocabulary, expected: Expected) -> tuple[tuple[Quantity, ...], Quantity] | None:
    """How deep cracks still reach where a step is stopped after half of its minutes: the inputs of that computation, and its result.

    ``None`` where its minutes or the cracks are not known, or where it finds no deeper cracks than its own.
    """
    before, own, minutes = expected.cracks_found, expected.cracks_left, expected.minutes
    if before is None or own is None or minutes is None or before.mid <= own.mid:
        return None
    inputs = (before, own, Quantity(minutes.mid / _HALF, "min"), Quantity(minutes.mid, "min"))
    return inputs, computations(vocabulary.units)[CRACKS_WHEN_STOPPED](inputs)


def _given(model: Model, step: str, met: Quantity | None, grain: Quantity | None, area: Quantity | None) -> dict[Quantity, Statement]:
    """The statements that what was given to the computations comes from."""
    given: dict[Quantity, Statement] = {}
    for quantity, predicate, subject in (
        (met, "enteringGrain", step),
        (grain, "grainSize", step),
        (area, "faceArea", PIECE),
        (model.quantity("surfaceSpeed", step), "surfaceSpeed", step),
    ):
        held = area if predicate == "faceArea" else model.quantity(predicate, subject)
        if quantity is not None and held is not None:
            given.setdefault(quantity, Statement(predicate, subject, held))
    return given


def _facts(vocabulary: Vocabulary, step: str, expected: Expected, known: dict[Quantity, Statement]) -> dict[Statement, Fact]:
    """Each computation as a fact: its result is said of the step by what it is of, its inputs by the facts before it."""
    said: dict[int, str] = {}
    for part, predicate in _SAID.items():
        # The value may be that of a computation before it, too, such as where what is owed is all that comes off.
        places = [place for place, made in enumerate(expected.computed) if made.result == getattr(expected, part) and place not in said]
        said |= dict.fromkeys(places[-1:], predicate)
    facts: dict[Statement, Fact] = {}
    for place, made in enumerate(expected.computed):
        predicate = said.get(place) or _ON_THE_WAY[vocabulary.units.by_symbol[made.result.unit].dimension]
        statement = Statement(predicate, step, made.result)
        # Of two that say the same the first stands, so that none comes to rest on itself.
        facts.setdefault(statement, _fact(made.function, made.inputs, _sources(made, known)))
        known[made.result] = statement
    if stopped := halfway(vocabulary, expected):
        inputs, result = stopped
        sources = [known[part] for part in (expected.cracks_found, expected.cracks_left, expected.minutes) if part in known]
        facts[Statement("halfTimeCracks", step, result)] = _fact(CRACKS_WHEN_STOPPED, inputs, sources)
    return facts


def _sources(made: Computed, known: dict[Quantity, Statement]) -> Iterable[Statement]:
    for quantity, claim in zip(made.inputs, made.claims, strict=True):
        if claim is not None:
            yield Statement(claim.predicate, claim.subject, claim.object)
        elif quantity in known:
            yield known[quantity]


def _fact(function: str, inputs: tuple[Quantity, ...], sources: Iterable[Statement]) -> Fact:
    return Fact(Basis("computed", None, function), Computation(function, inputs, tuple(dict.fromkeys(sources))))
