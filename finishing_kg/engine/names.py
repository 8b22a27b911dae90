"""Ids and quantities as small integers, so that joins work on sets of integers."""

from __future__ import annotations

from finishing_kg.measure import Quantity

Value = str | Quantity | None

NOTHING = 0
"""The number that stands where a trait has no object."""


class Names:
    """A two-way table of values and numbers; a further table goes on where the one below it ends.

    Args:
        below: the table that this one adds to; it must not grow any more.

    Attributes:
        first: the number from which on they are this table's own.
    """

    __slots__ = ("_below", "_numbers", "_values", "first")

    def __init__(self, below: Names | None = None) -> None:
        self._below = below
        self.first = len(below) if below else 1
        self._numbers: dict[Value, int] = {} if below else {None: NOTHING}
        self._values: list[Value] = []

    def __len__(self) -> int:
        return self.first + len(self._values)

    def own(self) -> list[Value]:
        """The values that this table adds to the one below, in the order of their numbers."""
        return list(self._values)

    def begins(self, values: list[Value]) -> bool:
        """Whether these values begin with those of this table."""
        return values[: len(self._values)] == self._values

    def number(self, value: Value) -> int:
        """The number of a value; a new one if it has none yet."""
        found = self.find(value)
        if found is None:
            found = self._numbers[value] = len(self)
            self._values.append(value)
        return found

    def find(self, value: Value) -> int | None:
        """The number of a value, or ``None`` if it has none."""
        table: Names | None = self
        while table is not None:
            found = table._numbers.get(value)
            if found is not None:
                return found
            table = table._below
        return None

    def value(self, number: int) -> Value:
        """The value behind a number."""
        if number == NOTHING:
            return None
        table = self
        while number < table.first:
            assert table._below is not None
            table = table._below
        return table._values[number - table.first]


def in_order(values: list[Value]) -> list[Value]:
    """Values sorted so that the order does not depend on when they were numbered: names, then all others."""
    names = sorted(value for value in values if isinstance(value, str))
    others = sorted((value for value in values if not isinstance(value, str)), key=str) if len(names) < len(values) else []
    return [*names, *others]
