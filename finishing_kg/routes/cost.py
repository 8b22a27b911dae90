"""What a route costs: rules first, then steps and the rest, added up part by part."""

from __future__ import annotations

from decimal import Decimal
from functools import total_ordering

from finishing_kg.record import record


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

    @property
    def parts(self) -> tuple[int, int, int, int, int, Decimal, int]:
        """The parts in the order in which they are compared."""
        return self.discouraged, self.elsewhere, self.unfavoured, self.steps, self.favour, self.coarseness, self.changes

    def __add__(self, other: Cost | int) -> Cost:
        if isinstance(other, int):  # sums start at nought, those of networkx too
            return self
        return Cost(
            self.discouraged + other.discouraged,
            self.elsewhere + other.elsewhere,
            self.unfavoured + other.unfavoured,
            self.steps + other.steps,
            self.favour + other.favour,
            self.coarseness + other.coarseness,
            self.changes + other.changes,
        )

    __radd__ = __add__

    def __lt__(self, other: Cost | int) -> bool:
        return self.parts < (Cost() if isinstance(other, int) else other).parts
