"""Comparisons of quantities that are ranges."""

from finishing_kg.measure import Quantity, Units
from finishing_kg.statements import Comparison
from finishing_kg.vocabulary import Phrase


def compare(phrase: Phrase, units: Units, left: Quantity, operator: Comparison, right: Quantity) -> bool | None:
    """Whether a comparison holds.

    Grain sizes compare by their middle. Any other range satisfies a comparison only if all of it does.

    Returns:
        ``None`` where the ranges overlap, so that it is not known.
    """
    left, right = units.convert(left, phrase.units[0]), units.convert(right, phrase.units[0])
    if phrase.by_middle:
        left, right = Quantity(left.mid, left.unit), Quantity(right.mid, right.unit)
    if operator in ("below", "at most"):
        left, right = right, left
        operator = "above" if operator == "below" else "at least"
    if operator == "above":
        return True if left.lowest > right.highest else False if left.highest <= right.lowest else None
    if operator == "at least":
        return True if left.lowest >= right.highest else False if left.highest < right.lowest else None
    return left == right


def margin(phrase: Phrase, units: Units, left: Quantity, right: Quantity) -> Quantity:
    """How far the left value is from the right one, in the property's common unit, middle to middle."""
    unit = phrase.units[0]
    return Quantity(abs(units.convert(left, unit).mid - units.convert(right, unit).mid), unit)
