"""Preston's law: glass comes off in proportion to pressure and speed, dh/dt = k·P·v.

Source: Preston (1927); in the form used here W. Attaway's article on it and LLNL report UCRL-ID-115321. Valid while the process stays
the same: the same carrier, wet, fresh grain, neither floating nor dry. The coefficient k is data, by operation, in ontology/mechanics.ttl.
"""

from decimal import Decimal

from finishing_kg.measure import Quantity, QuantityError, Units
from finishing_kg.quantities.ranges import above_nought, across, geometric_middle, read_in, spread
from finishing_kg.quantities.speed import PI

# µm²/N times kPa times m/s is 1e-9 m/s, which is 0.06 µm a minute.
PER_MINUTE = Decimal("0.06")
# A newton on a square centimetre is ten kilopascals.
_KILOPASCALS = Decimal(10)
_RUNS = "without coefficient, pressure and speed nothing comes off."


def disc_area(diameter: Quantity, units: Units) -> Quantity:
    """The area of a round face in cm², from its diameter.

    Raises:
        QuantityError: a diameter that is no length.
    """
    return across(lambda d: PI * d * d / 4, (read_in(diameter, "cm", units),), (True,), "cm²")


def mean_pressure(force: Quantity, area: Quantity, units: Units) -> Quantity:
    """The mean pressure over a face in kPa: force divided by area.

    At the same hand force a larger face is pressed less and takes longer, in proportion to its area.

    Raises:
        QuantityError: what is no force or no area, or an area of nought.
    """
    pressed, face = read_in(force, "N", units), read_in(area, "cm²", units)
    above_nought(face, "a face has an area above nought.", "100 cm²")
    return across(lambda newtons, area: newtons / area * _KILOPASCALS, (pressed, face), (True, False), "kPa")


def coefficient_for_grain(coefficient: Quantity, grain: Quantity, measured: Quantity, units: Units) -> Quantity:
    """A coefficient that was found with some sizes of grain, for grain of another size.

    Args:
        coefficient: Preston's k, as a band for the grain measured.
        grain: the grain that is used.
        measured: the grain that the coefficient was found with, above nought.
        units: the table of units.

    Returns:
        k in µm²/N. Inside the measured sizes it is the band as it stands. For coarser grain the high end grows in proportion
        to the grain and the low end stays; for finer grain the low end falls so and the high end stays.

    Raises:
        QuantityError: other dimensions, or a measured grain of nought.
    """
    band, used = read_in(coefficient, "µm²/N", units), read_in(grain, "µm", units)
    known = above_nought(read_in(measured, "µm", units), "a grain measured has a size.", "5 to 30 µm")
    one = Decimal(1)
    less, more = min(used.mid / known.lowest, one), max(used.mid / known.highest, one)
    low = band.lowest * min(used.lowest / known.lowest, one)
    high = band.highest * max(used.highest / known.highest, one)
    # One end moves and the other stays, so the geometric middle moves by the root of the change.
    return spread(low, band.mid * geometric_middle(less, more) if less else low, high, "µm²/N")


def removal_rate(coefficient: Quantity, pressure: Quantity, speed: Quantity, units: Units) -> Quantity:
    """How fast glass comes off: k·P·v in µm/min.

    Args:
        coefficient: Preston's k, e.g. in µm²/N, which is 1e-12 per pascal.
        pressure: mean pressure over the face.
        speed: at the contact.
        units: the table of units.

    Raises:
        QuantityError: other dimensions.
    """
    return across(lambda k, p, v: k * p * v * PER_MINUTE, _running(coefficient, pressure, speed, units), (True, True, True), "µm/min")


def minutes_to_remove(depth: Quantity, coefficient: Quantity, pressure: Quantity, speed: Quantity, units: Units) -> Quantity:
    """How many minutes it takes to remove a depth: depth/(k·P·v).

    Args:
        depth: a length.
        coefficient, pressure, speed: as for ``removal_rate``, above nought.
        units: the table of units.

    Returns:
        Minutes; as a range from the least depth at the fastest to the greatest at the slowest.

    Raises:
        QuantityError: other dimensions, or a coefficient, pressure or speed of nought.
    """
    running = _running(coefficient, pressure, speed, units)
    if not all(part.lowest for part in running):
        raise QuantityError(" and ".join(map(str, (coefficient, pressure, speed))), _RUNS, "1 µm²/N, 10 kPa, 1 m/s")
    inputs = (read_in(depth, "µm", units), *running)
    return across(lambda h, k, p, v: h / (k * p * v * PER_MINUTE), inputs, (True, False, False, False), "min")


def _running(coefficient: Quantity, pressure: Quantity, speed: Quantity, units: Units) -> tuple[Quantity, Quantity, Quantity]:
    return read_in(coefficient, "µm²/N", units), read_in(pressure, "kPa", units), read_in(speed, "m/s", units)
