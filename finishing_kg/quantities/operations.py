"""Which operation a mineral in a hold on a carrier does, and how fast that operation takes a glass off."""

from finishing_kg.quantities.computations import COEFFICIENT_FOR_GRAIN, PRODUCT, QUOTIENT, WIDEST
from finishing_kg.quantities.working import Held, Working
from finishing_kg.vocabulary import Vocabulary


def operation_of(vocabulary: Vocabulary, mineral: str, hold: str, carrier: str | None) -> str | None:
    """The operation that employs a mineral in a hold on a carrier.

    An operation that names the carrier is preferred to one that names none; ``None`` if nothing employs the three together.
    """

    def employs(operation: str, relation: str, thing: str | None) -> bool:
        return thing in vocabulary.related(operation, relation)

    fitting = [
        operation.id
        for operation in vocabulary.things("operation")
        if employs(operation.id, "employsMineral", mineral) and employs(operation.id, "employsHold", hold)
    ]
    named = [operation for operation in fitting if employs(operation, "employsCarrier", carrier)]
    anywhere = [operation for operation in fitting if not vocabulary.related(operation, "employsCarrier")]
    return next(iter([*named, *anywhere]), None)


def coefficient(working: Working, operation: str, mineral: str, glass: str | None, grain: Held | None) -> Held | str:
    """Preston's coefficient of an operation with a mineral on a glass, in µm²/N.

    Args:
        working: takes down each computation.
        operation, mineral: ids.
        glass: id; ``None`` if it is not known, which takes the slowest to the fastest of all glasses.
        grain: size of the grain; ``None`` for a mineral without grade.

    Returns:
        The coefficient, or a sentence that says why it is not known.
    """
    found = working.held(operation, "prestonCoefficient")
    label = working.vocabulary.names[operation].label
    if found is None:
        return f"For {label} no rate of removal by pressure and speed is known."
    if measured := working.held(operation, "measuredGrain"):
        if grain is None:
            return f"How fast {label} takes glass off depends on its grain, and no grade is named."
        if not grain.quantity.mid:
            return f"How fast {label} takes glass off depends on its grain, and a grain of nought takes nothing off."
        found = working.compute(COEFFICIENT_FOR_GRAIN, found, grain, measured)
    factors = [rate for rate in (working.held(mineral, "relativeRate"), _ease_beside_measured(working, operation, glass)) if rate is not None]
    return working.compute(PRODUCT, found, *factors) if factors else found


def grinding_ease(working: Working, glass: str | None) -> Held | None:
    """How fast a glass comes off beside soda-lime glass, in ``times``; for an unknown glass from the slowest to the fastest."""
    vocabulary = working.vocabulary
    if glass is not None:
        for degree in vocabulary.related(glass, "hasGrindability"):
            if ease := working.held(degree, "grindingEase"):
                return ease
    known = [ease for degree in vocabulary.things("degree") if (ease := working.held(degree.id, "grindingEase")) is not None]
    return working.compute(WIDEST, *known) if known else None


def _ease_beside_measured(working: Working, operation: str, glass: str | None) -> Held | None:
    """The ease of a glass beside the one that the coefficient was measured on; ``None`` if it is that one."""
    measured = next(iter(working.vocabulary.related(operation, "wasMeasuredOn")), None)
    if measured is not None and measured == glass:
        return None
    ease = grinding_ease(working, glass)
    beside = grinding_ease(working, measured) if measured is not None else None
    return working.compute(QUOTIENT, ease, beside) if ease and beside else ease
