"""Comparisons of quantities that are ranges, exact at their boundaries."""

from decimal import Context, Decimal, Inexact

from finishing_kg.measure import Quantity, Units
from finishing_kg.statements import Comparison
from finishing_kg.vocabulary import Phrase

# Numbers have at most 24 digits and factors are short: no product needs as many places as this, and if one did it would say so.
_EXACT = Context(prec=100, traps=[Inexact])


def compare(phrase: Phrase, units: Units, left: Quantity, operator: Comparison, right: Quantity) -> bool | None:
    """Whether a comparison holds.

    Grain sizes compare by their middle. Any other range satisfies a comparison only if all of it does. Both sides are brought to
    the base unit by multiplication, which is exact; nothing is divided or rounded.

    Returns:
        ``None`` where the ranges overlap, so that it is not known.
    """
    low, high = _ends(phrase, units, left)
    other_low, other_high = _ends(phrase, units, right)
    if operator in ("below", "at most"):
        low, high, other_low, other_high = other_low, other_high, low, high
        operator = "above" if operator == "below" else "at least"
    if operator == "above":
        return True if low > other_high else False if high <= other_low else None
    if operator == "at least":
        return True if low >= other_high else False if high < other_low else None
    return (low, high) == (other_low, other_high)


def _ends(phrase: Phrase, units: Units, quantity: Quantity) -> tuple[Decimal, Decimal]:
    """Both ends of a quantity in base units; of one that compares by its middle, the middle twice."""
    unit = units.by_symbol[quantity.unit]
    if phrase.by_middle:
        middle = _EXACT.multiply(quantity.mid, unit.factor)
        return middle, middle
    return _EXACT.multiply(quantity.lowest, unit.factor), _EXACT.multiply(quantity.highest, unit.factor)


def margin(phrase: Phrase, units: Units, left: Quantity, right: Quantity) -> Quantity:
    """How far the left value is from the right one, in the property's common unit, middle to middle."""
    unit = phrase.units[0]
    return Quantity(abs(units.convert(left, unit).mid - units.convert(right, unit).mid), unit)
