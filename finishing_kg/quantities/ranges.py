"""Arithmetic with ranges: a formula that only rises or falls with each of its inputs, taken at its ends.

Ends are rounded outwards, so that what lies inside the inputs' ranges lies inside the printed result; a wider input never
gives a narrower result. Four significant digits are kept: no figure of the trade is known better.
"""

from collections.abc import Callable, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal, localcontext

from finishing_kg.measure import Quantity, QuantityError, Units

_DIGITS = 4
EXACT = Context(prec=34)  # far more than the four digits kept; powers at 50 digits take twice as long
NEAREST = Context(prec=_DIGITS, rounding=ROUND_HALF_EVEN)
_DOWN = Context(prec=_DIGITS, rounding=ROUND_FLOOR)
_UP = Context(prec=_DIGITS, rounding=ROUND_CEILING)

Formula = Callable[..., Decimal]


def read_in(quantity: Quantity, symbol: str, units: Units) -> Quantity:
    """The quantity in a unit, whatever spelling or unit of the same dimension it came in.

    Raises:
        QuantityError: an unknown unit, or one of another dimension.
    """
    return quantity if quantity.unit == symbol else units.convert(units.settle(quantity, (symbol,)), symbol)


def above_nought(quantity: Quantity, why: str, example: str) -> Quantity:
    """The quantity itself.

    Raises:
        QuantityError: its low end is nought; ``why`` says why that cannot be, ``example`` what to write.
    """
    if quantity.lowest <= 0:
        raise QuantityError(str(quantity), why, example)
    return quantity


def across(formula: Formula, inputs: Sequence[Quantity], rising: Sequence[bool], unit: str, rounding: Context | None = None) -> Quantity:
    """A formula over ranges.

    Args:
        formula: of as many numbers as there are inputs; it rises or falls with each of them all the way.
        inputs: already in the units that the formula expects.
        rising: for each input whether the result rises with it.
        unit: of the result.
        rounding: how all three numbers are rounded; unless given, the ends outwards and the middle to the nearest.

    Returns:
        A range if any input was one, else a single value.
    """
    with localcontext(EXACT):
        mid = formula(*(part.mid for part in inputs))
        low = formula(*(part.lowest if up else part.highest for part, up in zip(inputs, rising, strict=True)))
        high = formula(*(part.highest if up else part.lowest for part, up in zip(inputs, rising, strict=True)))
    if all(part.low is None for part in inputs):
        return Quantity((rounding or NEAREST).plus(mid), unit)
    if rounding is not None:
        return Quantity(rounding.plus(mid), unit, rounding.plus(low), rounding.plus(high))
    return spread(low, mid, high, unit)


def spread(low: Decimal, mid: Decimal, high: Decimal, unit: str) -> Quantity:
    """A range whose ends are rounded outwards and whose middle is rounded to the nearest, within the ends."""
    lowest, highest = _DOWN.plus(low), _UP.plus(high)
    return Quantity(min(max(NEAREST.plus(mid), lowest), highest), unit, lowest, highest)


def geometric_middle(low: Decimal, high: Decimal) -> Decimal:
    """The middle of a range as ratios go; half of the high end where the low end is nought."""
    return EXACT.sqrt(EXACT.multiply(low, high)) if low > 0 else EXACT.divide(high, Decimal(2))


def widest(inputs: Sequence[Quantity], units: Units) -> Quantity:
    """The range from the least to the greatest of several quantities of one dimension, in the unit of the first.

    Its middle is the geometric mean of theirs. One quantity is returned as it is.

    Raises:
        QuantityError: quantities of different dimensions.
    """
    alike = _alike(inputs, units)
    if len(alike) == 1:
        return alike[0]
    with localcontext(EXACT):
        middle = Decimal(1)
        for part in alike:
            middle *= part.mid
        middle = middle ** (Decimal(1) / len(alike)) if middle else Decimal(0)
    return spread(min(part.lowest for part in alike), middle, max(part.highest for part in alike), alike[0].unit)


def greatest(inputs: Sequence[Quantity], units: Units) -> Quantity:
    """The greatest of several quantities of one dimension, in the unit of the first: low ends, middles and high ends each by themselves.

    Raises:
        QuantityError: quantities of different dimensions.
    """
    alike = _alike(inputs, units)
    return across(lambda *numbers: max(numbers), alike, [True] * len(alike), alike[0].unit)


def _alike(inputs: Sequence[Quantity], units: Units) -> list[Quantity]:
    first, *others = inputs
    return [first, *(read_in(other, first.unit, units) for other in others)]


def product(inputs: Sequence[Quantity], units: Units) -> Quantity:
    """The first quantity times ratios, in its own unit.

    Raises:
        QuantityError: a factor that is no ratio.
    """
    first, *factors = inputs
    ratios = [read_in(factor, "times", units) for factor in factors]

    def multiplied(*numbers: Decimal) -> Decimal:
        result = Decimal(1)
        for number in numbers:
            result *= number
        return result

    return across(multiplied, [first, *ratios], [True] * len(inputs), first.unit)


def quotient(one: Quantity, other: Quantity, units: Units) -> Quantity:
    """How many times one quantity is another of its dimension.

    Raises:
        QuantityError: quantities of different dimensions, or a divisor that reaches nought.
    """
    divisor = above_nought(read_in(other, one.unit, units), "nothing is divided by nought.", f"1 {one.unit}")
    return across(lambda a, b: a / b, (one, divisor), (True, False), "times")
