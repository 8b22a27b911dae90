"""The room's functions for those who hold pint quantities: each can be called with them and answers with them.

Inside, quantities are exact decimals with ranges, and pint is not loaded: it takes a quarter of a second. This module loads it only
once a result is handed out. A range is a pair ``(low, high)`` of pint quantities going in and a ``PintRange`` coming out.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

from finishing_kg.measure import Quantity, Units

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True, slots=True)
class PintRange:
    """A range of pint quantities, all in one unit.

    Attributes:
        low, high: its ends.
        mid: its stated middle.
    """

    low: pint.Quantity[Any]
    mid: pint.Quantity[Any]
    high: pint.Quantity[Any]


def with_pint(function: Callable[..., Any], units: Units) -> Callable[..., Any]:
    """A function of this room as one that takes and gives pint quantities.

    Args:
        function: any of them; an argument ``units`` of that name is filled in where it is not given.
        units: the table of units.

    Returns:
        A function of the same arguments. Pint quantities, pairs of them and ``PintRange`` become our own; everything else passes as it
        is, ranks such as ``7 Mohs`` among it. In the result each of our quantities becomes a pint quantity or a ``PintRange``,
        inside tuples, lists and dictionaries too; a data class becomes a dictionary of its fields. Ranks stay as they are.

    Raises:
        QuantityError: a pint quantity whose unit measures nothing that the table of units knows; and as the function.
    """
    wanting = function if "units" not in _parameters(function) else partial(_filled, function, units)

    def called(*arguments: Any, **named: Any) -> Any:
        result = wanting(*(_taken(part, units) for part in arguments), **{name: _taken(part, units) for name, part in named.items()})
        return _given(result, units)

    return called


def _parameters(function: Callable[..., Any]) -> tuple[str, ...]:
    from inspect import signature

    return tuple(signature(function).parameters)


def _filled(function: Callable[..., Any], units: Units, /, *arguments: Any, **named: Any) -> Any:
    given = "units" in named or any(isinstance(part, Units) for part in arguments)
    return function(*arguments, **named) if given else function(*arguments, units=units, **named)


def _taken(value: Any, units: Units) -> Any:
    if isinstance(value, PintRange):
        low, mid, high = (units.from_pint(part) for part in (value.low, value.mid, value.high))
        return Quantity.between(low.mid, units.convert(high, low.unit).mid, low.unit, units.convert(mid, low.unit).mid)
    if isinstance(value, tuple) and any(map(_is_pint, value)):
        if len(value) == 2 and all(map(_is_pint, value)):
            low, high = (units.from_pint(part) for part in value)
            return Quantity.between(low.mid, units.convert(high, low.unit).mid, low.unit)
        return tuple(_taken(part, units) for part in value)
    return units.from_pint(value) if _is_pint(value) else value


def _is_pint(value: object) -> bool:
    """Whether this is a pint quantity, told without loading pint."""
    return hasattr(value, "magnitude") and hasattr(value, "dimensionality")


def _given(value: Any, units: Units) -> Any:
    if isinstance(value, Quantity):
        return _as_pint(value, units)
    if isinstance(value, (list, tuple)):
        return type(value)(_given(part, units) for part in value)
    if isinstance(value, dict):
        return {key: _given(part, units) for key, part in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _given(getattr(value, field.name), units) for field in fields(value)}
    return value


def _as_pint(quantity: Quantity, units: Units) -> Any:
    if not units.by_symbol[quantity.unit].pint:
        return quantity
    if quantity.low is None or quantity.high is None:
        return units.to_pint(quantity)
    return PintRange(*(units.to_pint(Quantity(number, quantity.unit)) for number in (quantity.low, quantity.mid, quantity.high)))
