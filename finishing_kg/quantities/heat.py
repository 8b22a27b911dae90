"""What a difference of temperature does to glass.

Sources: the elastic formula σ = E·α·ΔT/(1 − ν) for a surface that is chilled at once while the bulk holds it back; without
1 − ν, as Callister and Rethwisch print it for thermal shock (*Materials Science and Engineering*), it is that of an edge or a bar.

Valid where the glass stays elastic, that is below its strain point, and for a change so quick that no heat has flowed yet: the
worst case. A slower change, or a thinner wall, stresses glass less.
"""

from decimal import ROUND_DOWN, Context, Decimal

from finishing_kg.measure import Quantity, QuantityError, Units
from finishing_kg.quantities.ranges import NEAREST, across, read_in

EDGE = Quantity.of(0, "times")
"""What to put for Poisson's ratio where a surface can give sideways: at an edge, or in a bar."""

_NEVER_ABOVE = Context(prec=4, rounding=ROUND_DOWN)
# GPa times µm/(m·K) is a thousandth of a megapascal for each kelvin.
_PER_MEGAPASCAL = Decimal(1000)


def thermal_stress(modulus: Quantity, poisson: Quantity, expansion: Quantity, difference: Quantity, units: Units) -> Quantity:
    """The tension in a surface that is chilled at once, the bulk staying hot.

    Args:
        modulus: Young's modulus, a pressure.
        poisson: Poisson's ratio in ``times``, below 1; ``EDGE`` for an edge or a bar.
        expansion: thermal expansion, in µm/(m·K).
        difference: of temperature between surface and bulk, in K.
        units: the table of units.

    Returns:
        σ = E·α·ΔT/(1 − ν) in MPa, to four significant digits; a range if any input was one.

    Raises:
        QuantityError: an input of another dimension, or a Poisson ratio of 1 or more.
    """
    stiffness, ratio, growth = _held(modulus, poisson, expansion, units)

    def stress(e: Decimal, nu: Decimal, alpha: Decimal, kelvin: Decimal) -> Decimal:
        return e * alpha * kelvin / (_PER_MEGAPASCAL * (1 - nu))

    return across(stress, (stiffness, ratio, growth, read_in(difference, "K", units)), (True, True, True, True), "MPa", NEAREST)


def bearable_difference(strength: Quantity, modulus: Quantity, poisson: Quantity, expansion: Quantity, units: Units) -> Quantity:
    """How suddenly chilled a surface may be before it cracks.

    Args:
        strength: the tension that the surface bears, a pressure; ground glass bears far less than fresh glass.
        modulus: Young's modulus, a pressure, above nought.
        poisson: Poisson's ratio in ``times``, below 1; ``EDGE`` for an edge or a bar.
        expansion: thermal expansion in µm/(m·K), above nought.
        units: the table of units.

    Returns:
        ΔT = σ·(1 − ν)/(E·α) in K, to four significant digits, rounded down since it is a limit; a range if any input
        was one, its low end the weakest, stiffest glass that expands most.

    Raises:
        QuantityError: an input of another dimension, a Poisson ratio of 1 or more, or a modulus or expansion of nought.
    """
    stiffness, ratio, growth = _held(modulus, poisson, expansion, units)
    if not stiffness.lowest or not growth.lowest:
        raise QuantityError(str(expansion if stiffness.lowest else modulus), "glass has a modulus and an expansion above nought.", "9 µm/(m·K)")

    def kelvin(sigma: Decimal, e: Decimal, nu: Decimal, alpha: Decimal) -> Decimal:
        return sigma * (1 - nu) * _PER_MEGAPASCAL / (e * alpha)

    inputs = (read_in(strength, "MPa", units), stiffness, ratio, growth)
    return across(kelvin, inputs, (True, False, False, False), "K", _NEVER_ABOVE)


def _held(modulus: Quantity, poisson: Quantity, expansion: Quantity, units: Units) -> tuple[Quantity, Quantity, Quantity]:
    ratio = read_in(poisson, "times", units)
    if ratio.highest >= 1:
        raise QuantityError(str(poisson), "Poisson's ratio of a glass lies near 0.2 and never reaches 1.", "0.2 times")
    return read_in(modulus, "GPa", units), ratio, read_in(expansion, "µm/(m·K)", units)
