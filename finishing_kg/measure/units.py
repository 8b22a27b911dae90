"""The units that the knowledge uses, with exact factors; ``pint`` is reached only through here."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Any

from finishing_kg.measure.quantity import Quantity, QuantityError
from finishing_kg.record import record

if TYPE_CHECKING:
    import pint


@record(frozen=True, slots=True)
class Unit:
    """One unit.

    Attributes:
        symbol: as printed, e.g. ``"µm"``.
        spellings: what else is read as this unit, e.g. ``"um"``, ``"micron"``.
        dimension: units convert only within one dimension, e.g. ``"length"``.
        factor: how many base units of its dimension one of it is, exact.
        pint: the name ``pint`` knows it by; empty for ranks such as Mohs and for counts, which are no units of measure.
        qudt: the local name in the QUDT unit vocabulary, or empty.
        own: for a unit that QUDT lacks its local name in the ontology; empty for one whose symbol is its name.
    """

    symbol: str
    spellings: tuple[str, ...]
    dimension: str
    factor: Decimal
    pint: str = ""
    qudt: str = ""
    own: str = ""


class Units:
    """The table of units, filled from ``ontology/units.ttl``."""

    def __init__(self, units: Iterable[Unit]) -> None:
        self.by_symbol = {unit.symbol: unit for unit in units}
        self._spelt = {_folded(spelling): unit for unit in self.by_symbol.values() for spelling in (unit.symbol, *unit.spellings)}

    def find(self, text: str) -> Unit | None:
        """The unit a text names, in any of its spellings; ``None`` if there is none."""
        return self.by_symbol.get(text) or self._spelt.get(_folded(text))

    def settle(self, quantity: Quantity, allowed: Iterable[str] = ()) -> Quantity:
        """The same quantity with its unit's own symbol.

        Args:
            quantity: with any spelling of a unit.
            allowed: symbols of which one must share its dimension; empty for any.

        Raises:
            QuantityError: an unknown unit, or one of another dimension than is allowed.
        """
        unit = self.find(quantity.unit)
        wanted = list(allowed)
        if unit is None or (wanted and unit.dimension not in {self.by_symbol[symbol].dimension for symbol in wanted}):
            example = wanted[0] if wanted else "µm"
            why = (
                f"{unit.symbol} measures {unit.dimension}, not {self.by_symbol[example].dimension}." if unit else f"I know no unit {quantity.unit!r}."
            )
            number = str(quantity)[: -len(quantity.unit)].strip()
            raise QuantityError(str(quantity), why, f"{number} {example}")
        return Quantity(quantity.mid, unit.symbol, quantity.low, quantity.high)

    def convert(self, quantity: Quantity, symbol: str) -> Quantity:
        """The quantity in another unit of the same dimension, exactly where the factors divide exactly."""
        source, target = self.by_symbol[quantity.unit], self.by_symbol[symbol]
        if source.dimension != target.dimension:
            raise QuantityError(
                str(quantity),
                f"{source.symbol} measures {source.dimension}, {target.symbol} measures {target.dimension}.",
                f"{quantity.mid} {symbol}",
            )
        if source is target:
            return quantity

        def moved(value: Decimal | None) -> Decimal | None:
            return None if value is None else value * source.factor / target.factor

        return Quantity(quantity.mid * source.factor / target.factor, symbol, moved(quantity.low), moved(quantity.high))

    def to_pint(self, quantity: Quantity) -> pint.Quantity[Any]:
        """The middle value as a pint quantity (decimal magnitude).

        Raises:
            QuantityError: a rank such as Mohs or a count, which are no units of measure.
        """
        unit = self.by_symbol[quantity.unit]
        if not unit.pint:
            raise QuantityError(str(quantity), f"{unit.symbol} is a rank or a count, not a unit of measure.", "60 µm")
        return _registry().Quantity(quantity.mid, unit.pint)

    def from_pint(self, value: pint.Quantity[Any]) -> Quantity:
        """A pint quantity as one of ours, exactly if its number is a decimal or an integer.

        It keeps its unit where the table has the same one. Otherwise it takes the first unit of the table that measures the same;
        what pint holds for the same and the table does not (speeds and rates of removal, or a temperature and a difference) then
        goes by the order of the table, in which QUDT's units stand first.

        Raises:
            QuantityError: a unit that measures nothing in the table, or a number that is not finite or below nought.
        """
        registry = value._REGISTRY
        known = [(unit, registry.Unit(unit.pint)) for unit in self.by_symbol.values() if unit.pint]
        alike = [found for found in known if value.is_compatible_with(found[1])]
        if not alike:
            raise QuantityError(str(value), f"I know no unit that measures {value.dimensionality}.", "60 µm")
        unit, theirs = next((found for found in alike if found[1] == value.units), alike[0])
        number = value.magnitude if theirs == value.units else value.to(theirs).magnitude
        exact = number if isinstance(number, Decimal) else Decimal(str(number))
        if not exact.is_finite() or exact < 0:
            raise QuantityError(str(value), "a measure is a number of nought or more.", f"60 {unit.symbol}")
        return Quantity(exact, unit.symbol)


def _folded(spelling: str) -> str:
    """A spelling for comparing: small letters, and the Greek mu for the micro sign, which look alike."""
    return spelling.casefold().replace("µ", "μ")


@cache
def _registry() -> pint.UnitRegistry[Any]:
    """One registry a process, made at the first need: it takes a quarter of a second."""
    import pint

    return pint.UnitRegistry(non_int_type=Decimal)
