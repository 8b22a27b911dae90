"""Surface speed from diameter and turning speed, and back.

Source: the definition v = π·d·n, as ANSI B7.1 and EN 12413 use it for abrasive wheels; on a flat lap it is the speed at the rim.
"""

from decimal import ROUND_DOWN, ROUND_HALF_EVEN, Context, Decimal

from finishing_kg.measure import Quantity, QuantityError, Units

PI = Decimal("3.14159265358979323846264338328")  # 30 digits, more than the arithmetic keeps
_EXACT = Context(prec=50)
_NEAREST = Context(prec=4, rounding=ROUND_HALF_EVEN)
_NEVER_ABOVE = Context(prec=4, rounding=ROUND_DOWN)
_SECONDS_A_MINUTE = Decimal(60)


def surface_speed(diameter: Quantity, turning: Quantity, units: Units) -> Quantity:
    """How fast the rim of a wheel, lap or drum runs.

    Args:
        diameter: a length, single or a range.
        turning: a turning speed, single or a range.
        units: the table of units.

    Returns:
        v = π·d·n in m/s, to four significant digits; a range if either was one.

    Raises:
        QuantityError: a diameter that is no length, or a turning speed that is none.
    """
    metres, rpm = _in(diameter, "m", units), _in(turning, "rpm", units)

    def speed(length: Decimal, turns: Decimal) -> Decimal:
        return _NEAREST.plus(_EXACT.divide(_EXACT.multiply(_EXACT.multiply(PI, length), turns), _SECONDS_A_MINUTE))

    return _span(speed(metres.mid, rpm.mid), speed(metres.lowest, rpm.lowest), speed(metres.highest, rpm.highest), "m/s", metres, rpm)


def turning_speed(diameter: Quantity, speed: Quantity, units: Units) -> Quantity:
    """How fast a wheel, lap or drum must turn for its rim to run at a speed.

    Args:
        diameter: a length, single or a range.
        speed: a surface speed, single or a range.
        units: the table of units.

    Returns:
        n = v/(π·d) in rpm, to four significant digits, rounded down: a speed that is a limit is never passed.
        A range if either was one; its low end is the slow speed on the wide wheel.

    Raises:
        QuantityError: a diameter that is no length or is nought, or a speed that is none.
    """
    metres, run = _in(diameter, "m", units), _in(speed, "m/s", units)
    if not metres.lowest:
        raise QuantityError(str(diameter), "a wheel has a diameter above nought.", f"150 {diameter.unit}")

    def turns(length: Decimal, velocity: Decimal) -> Decimal:
        return _NEVER_ABOVE.plus(_EXACT.divide(_EXACT.multiply(velocity, _SECONDS_A_MINUTE), _EXACT.multiply(PI, length)))

    return _span(turns(metres.mid, run.mid), turns(metres.highest, run.lowest), turns(metres.lowest, run.highest), "rpm", metres, run)


def _in(quantity: Quantity, symbol: str, units: Units) -> Quantity:
    return units.convert(units.settle(quantity, (symbol,)), symbol)


def _span(mid: Decimal, low: Decimal, high: Decimal, unit: str, *inputs: Quantity) -> Quantity:
    if all(part.low is None for part in inputs):
        return Quantity(mid, unit)
    return Quantity(mid, unit, low, high)
