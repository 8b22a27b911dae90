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
        pint: the name ``pint`` knows it by; empty for ranks such as Mohs that are no unit of measure.
        qudt: the local name in the QUDT unit vocabulary, or empty.
    """

    symbol: str
    spellings: tuple[str, ...]
    dimension: str
    factor: Decimal
    pint: str = ""
    qudt: str = ""


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
        number = str(quantity)[: -len(quantity.unit)].strip()
        wanted = list(allowed)
        example = wanted[0] if wanted else "µm"
        if unit is None:
            raise QuantityError(str(quantity), f"I know no unit {quantity.unit!r}.", f"{number} {example}")
        if wanted and unit.dimension not in {self.by_symbol[symbol].dimension for symbol in wanted}:
            raise QuantityError(
                str(quantity), f"{unit.symbol} measures {unit.dimension}, not {self.by_symbol[example].dimension}.", f"{number} {example}"
            )
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
            QuantityError: a rank such as Mohs, which is no unit of measure.
        """
        unit = self.by_symbol[quantity.unit]
        if not unit.pint:
            raise QuantityError(str(quantity), f"{unit.symbol} is a rank, not a unit of measure.", "60 µm")
        return _registry().Quantity(quantity.mid, unit.pint)


def _folded(spelling: str) -> str:
    """A spelling for comparing: small letters, and the Greek mu for the micro sign, which look alike."""
    return spelling.casefold().replace("µ", "μ")


@cache
def _registry() -> pint.UnitRegistry[Any]:
    """One registry a process, made at the first need: it takes a quarter of a second."""
    import pint

    return pint.UnitRegistry(non_int_type=Decimal)
