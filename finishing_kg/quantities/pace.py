"""A studio's own pace: the factor that its bench log puts on the minutes that are expected."""

from finishing_kg.measure import Quantity, Units
from finishing_kg.quantities.ranges import across, read_in
from finishing_kg.vocabulary import Vocabulary


def corrected(minutes: Quantity, factor: Quantity, units: Units) -> Quantity:
    """Expected minutes as a studio works.

    The factor was found beside the middle of what was expected, so it stands in for all that made the expected range wide: the middle is
    taken times the factor, and the range is the factor's alone.

    Args:
        minutes: as expected without the factor; their middle counts.
        factor: of this operation on this glass, in ``times``.
        units: the table of units.

    Returns:
        Minutes, with the range of the factor.

    Raises:
        QuantityError: what is no time, or no ratio.
    """
    middle = Quantity(read_in(minutes, "min", units).mid, "min")
    return across(lambda expected, times: expected * times, (middle, read_in(factor, "times", units)), (True, True), "min")


def pace_of(vocabulary: Vocabulary, operation: str, glass: str | None) -> str | None:
    """The id of the thing that holds a studio's pace of an operation on a glass; ``None`` where no log told one."""
    on_glass = vocabulary.subjects("isThePaceOn", glass) if glass is not None else []
    return next((pace for pace in on_glass if operation in vocabulary.related(pace, "isThePaceOf")), None)
