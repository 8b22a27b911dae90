"""Surface speed from diameter and turning speed, and back.

Source: the definition v = π·d·n, as ANSI B7.1 and EN 12413 use it for abrasive wheels; on a flat lap it is the speed at the rim.
"""

from decimal import ROUND_DOWN, Context, Decimal

from finishing_kg.measure import Quantity, Units
from finishing_kg.quantities.ranges import NEAREST, above_nought, across, geometric_middle, read_in, spread

PI = Decimal("3.14159265358979323846264338328")  # 30 digits, more than any result keeps
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
    metres, rpm = read_in(diameter, "m", units), read_in(turning, "rpm", units)
    return across(lambda length, turns: PI * length * turns / _SECONDS_A_MINUTE, (metres, rpm), (True, True), "m/s", NEAREST)


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
    metres, run = read_in(diameter, "m", units), read_in(speed, "m/s", units)
    above_nought(metres, "a wheel has a diameter above nought.", f"150 {diameter.unit}")
    return across(lambda length, velocity: velocity * _SECONDS_A_MINUTE / (PI * length), (metres, run), (False, True), "rpm", _NEVER_ABOVE)


def working_speed(least: Quantity, greatest: Quantity, units: Units) -> Quantity:
    """The speeds between a least and a greatest working speed, in m/s; the middle is the geometric one, as of all that spans several times its size.

    Raises:
        QuantityError: what is no speed, or a least speed above the greatest.
    """
    slow, fast = read_in(least, "m/s", units), read_in(greatest, "m/s", units)
    Quantity.between(slow.lowest, fast.highest, "m/s")  # refuses ends that run backwards
    return spread(slow.lowest, geometric_middle(slow.lowest, fast.highest), fast.highest, "m/s")
