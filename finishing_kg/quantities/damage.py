"""What grain leaves behind: how rough the surface, how deep the cracks under it.

The relations themselves are data (``ontology/mechanics.ttl``), each with its source and the sizes for which it is known; here is only
how such a relation is worked out. All are bands: published ratios between roughness and cracks differ by ten times.
"""

from decimal import Decimal, localcontext
from functools import lru_cache

from finishing_kg.measure import Quantity, QuantityError, Units
from finishing_kg.quantities.ranges import EXACT, above_nought, across, geometric_middle, read_in, spread

LAW = ("least_factor", "least_exponent", "greatest_factor", "greatest_exponent", "finest", "coarsest")
"""The constants of a relation in the order in which a proof lists them after the size."""


def size_band(
    size: Quantity,
    *,
    least_factor: Quantity,
    least_exponent: Quantity,
    greatest_factor: Quantity,
    greatest_exponent: Quantity,
    finest: Quantity,
    coarsest: Quantity,
    units: Units,
) -> Quantity:
    """One size from another by a pair of power laws, such as depth of cracks from grain size.

    Args:
        size: a length; a range gives the band from its low end's least to its high end's greatest.
        least_factor, least_exponent: of the law that bounds the result from below, for sizes in µm.
        greatest_factor, greatest_exponent: of the law that bounds it from above.
        finest, coarsest: the sizes between which the laws are known.
        units: the table of units.

    Returns:
        A range in µm, its middle the geometric middle of the two laws. Outside the known sizes it is wider: below them the low end
        is nought, since fine grain may cut without cracks; above them the low end stays where it was at the coarsest known
        size, and the high end grows in proportion to the size, which is faster than the law.

    Raises:
        QuantityError: a size that is no length, or a law whose numbers are not single values.
    """
    given = read_in(size, "µm", units)
    a, p = _single(least_factor, units), _single(least_exponent, units)
    b, q = _single(greatest_factor, units), _single(greatest_exponent, units)
    first, last = read_in(finest, "µm", units).lowest, read_in(coarsest, "µm", units).highest
    with localcontext(EXACT):
        low = a * _power(min(given.lowest, last), p) if given.lowest >= first else Decimal(0)
        high = b * _power(min(given.highest, last), q) * max(given.highest / last, Decimal(1))
        middle = geometric_middle(a * _power(given.mid, p), b * _power(given.mid, q))
    return spread(min(low, high), middle, high, "µm")


def damage_factor(modulus: Quantity, hardness: Quantity, reference_modulus: Quantity, reference_hardness: Quantity, units: Units) -> Quantity:
    """How many times deeper cracks run in one glass than in another that is ground alike.

    Source: depth in proportion to E^(1/2)/H, Suratwala and others, Optical Engineering 58(9):092604 (2019), loose grinding of most
    optical materials.

    Args:
        modulus, reference_modulus: Young's modulus of the glass and of the one measured.
        hardness, reference_hardness: both by one test; Knoop numbers here.
        units: the table of units.

    Returns:
        The ratio in ``times``.

    Raises:
        QuantityError: other dimensions, or a value of nought.
    """
    inputs = [
        above_nought(read_in(part, unit, units), "glass has a modulus and a hardness above nought.", f"500 {unit}")
        for part, unit in ((modulus, "GPa"), (hardness, "HK"), (reference_modulus, "GPa"), (reference_hardness, "HK"))
    ]
    return across(lambda e, h, e0, h0: (e / e0).sqrt() * h0 / h, inputs, (True, False, False, True), "times")


@lru_cache(maxsize=4096)
def _power(size: Decimal, exponent: Decimal) -> Decimal:
    """A power, remembered: it is by far the slowest of this arithmetic, and a search for routes asks for the same grains over and over."""
    return EXACT.power(size, exponent) if size else Decimal(0)


def _single(constant: Quantity, units: Units) -> Decimal:
    if constant.low is not None:
        raise QuantityError(str(constant), "a factor or exponent of a law is one number; the spread lies between two laws.", f"{constant.mid} times")
    return read_in(constant, "times", units).mid
