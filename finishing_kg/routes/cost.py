"""What a route costs: rules first, then steps and the rest, added up part by part."""

from __future__ import annotations

from decimal import Decimal
from functools import cached_property, total_ordering

from finishing_kg.record import record

Parts = tuple[int, int, int, int, int, Decimal, int]
"""The parts of a cost in the order in which they are compared."""


def added(one: Parts, other: Parts) -> Parts:
    """The parts of two costs together."""
    a, b, c, d, e, f, g = one
    h, i, j, k, m, n, o = other
    return a + h, b + i, c + j, d + k, e + m, f + n, g + o


@total_ordering
@record(frozen=True)
class Cost:
    """What a route costs, compared part by part.

    Attributes:
        discouraged: steps that a rule discourages.
        elsewhere: steps that leave aside what the maker has at hand for them.
        unfavoured: steps that no rule prefers.
        steps: how many steps.
        favour: minus the number of rules that speak for the steps.
        coarseness: how much larger than halving the jumps between grains are, summed.
        changes: how often the carrier changes.
    """

    discouraged: int = 0
    elsewhere: int = 0
    unfavoured: int = 0
    steps: int = 0
    favour: int = 0
    coarseness: Decimal = Decimal(0)
    changes: int = 0

    @cached_property
    def parts(self) -> Parts:
        """The parts in the order in which they are compared."""
        return self.discouraged, self.elsewhere, self.unfavoured, self.steps, self.favour, self.coarseness, self.changes

    def __add__(self, other: Cost | int) -> Cost:
        if isinstance(other, int):  # sums start at nought, those of networkx too
            return self
        return Cost(*added(self.parts, other.parts))

    __radd__ = __add__

    def __lt__(self, other: Cost | int) -> bool:
        return self.parts < (Cost() if isinstance(other, int) else other).parts
