"""Records as plain data and back: what a conversation is made of can so be kept, compared and digested."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from finishing_kg.vocabulary import Name, Vocabulary

Plain = Any
"""Texts, numbers, truths, ``None``, and tuples that begin with what they stand for."""

_ROWS: dict[str, Any] = {"tuple": tuple, "list": list, "frozenset": frozenset}
_AS_IT_IS = (str, int, float, bool, type(None))


class Plainly:
    """Makes plain data of records of some kinds, and of what rows, tables, names and numbers they hold; and back.

    Args:
        kinds: of the records, no two called the same.
    """

    def __init__(self, kinds: Iterable[Any]) -> None:
        self._kinds: dict[str, Any] = {kind.__name__: kind for kind in kinds}

    def as_plain(self, value: Any) -> Plain:
        """A value as plain data; the same for two that are the same.

        Raises:
            TypeError: something in it is of another kind.
        """
        kind = value.__class__
        if kind in _AS_IT_IS:
            return value
        if kind is dict:
            return ("dict", *((key, self.as_plain(part)) for key, part in value.items()))
        if kind is Decimal:
            return "Decimal", str(value)
        if kind is Name:
            return "Name", value.id
        parts = (getattr(value, name) for name in _fields(kind)) if kind.__name__ in self._kinds else value
        if kind.__name__ not in self._kinds and _ROWS.get(kind.__name__) is not kind:
            raise TypeError(f"A {kind.__name__} is no part of what can be made plain here.")
        made = map(self.as_plain, parts)
        return (kind.__name__, *(sorted(made, key=repr) if kind is frozenset else made))

    def from_plain(self, vocabulary: Vocabulary, plain: Plain) -> Any:
        """The value of some plain data.

        Raises:
            TypeError, ValueError, ArithmeticError, LookupError: what is given is in another shape.
        """
        if plain.__class__ is not tuple:
            return plain
        kind, *parts = plain
        if kind == "dict":
            return {key: self.from_plain(vocabulary, part) for key, part in parts}
        if kind == "Decimal":
            return Decimal(*parts)
        if kind == "Name":
            return vocabulary.names[parts[0]]
        made = (self.from_plain(vocabulary, part) for part in parts)
        if kind in _ROWS:
            return _ROWS[kind](made)
        return self._kinds[kind](**dict(zip(_fields(self._kinds[kind]), made, strict=True)))


def _fields(kind: Any) -> tuple[str, ...]:
    return tuple(getattr(kind, "__record_fields__", None) or kind._fields)
