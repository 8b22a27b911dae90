"""How fast a carrier should run and how fast it may: from the ontology, and from what is marked on a wheel."""

from finishing_kg.measure import Quantity, QuantityError, Units
from finishing_kg.quantities.ranges import read_in
from finishing_kg.quantities.speed import turning_speed, working_speed
from finishing_kg.vocabulary import Vocabulary


def recommended_speed(vocabulary: Vocabulary, carrier: str) -> Quantity | None:
    """The usual speeds of a carrier at the contact in m/s, or ``None`` where no speed is known or none applies, as of a jet."""
    least, greatest = vocabulary.quantity(carrier, "leastSpeed"), vocabulary.quantity(carrier, "greatestSpeed")
    return working_speed(least, greatest, vocabulary.units) if least and greatest else None


def recommended_turning(vocabulary: Vocabulary, carrier: str, diameter: Quantity) -> Quantity | None:
    """The turning speeds in rpm that give a wheel of some diameter the usual speeds of its carrier, or ``None`` if those are not known.

    Raises:
        QuantityError: a diameter that is no length, or nought.
    """
    usual = recommended_speed(vocabulary, carrier)
    return turning_speed(diameter, usual, vocabulary.units) if usual else None


def greatest_turning(marked: Quantity, diameter: Quantity, units: Units) -> Quantity:
    """The turning speed that a wheel is never to pass, from the limit marked on it.

    A limit marked as a turning speed stands as it is, however small the wheel has worn: the standard (ANSI B7.1) would allow
    more within the same surface speed, and this program does not. A limit marked as a surface speed is worked out for the diameter.

    Args:
        marked: a turning speed or a surface speed.
        diameter: of the wheel now.
        units: the table of units.

    Returns:
        A single value in rpm, never above the limit; of ranges the safe end.

    Raises:
        QuantityError: a limit that is neither, a diameter that is no length, or nought.
    """
    limit = units.settle(marked)
    if units.by_symbol[limit.unit].dimension == "turning speed":
        return Quantity(read_in(limit, "rpm", units).lowest, "rpm")
    if units.by_symbol[limit.unit].dimension != "speed":
        raise QuantityError(str(marked), "a wheel is marked with a turning speed or a surface speed.", "3600 rpm")
    return Quantity(turning_speed(diameter, limit, units).lowest, "rpm")
