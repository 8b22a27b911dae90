"""How far a search for a case has come, and what it ends with."""

from dataclasses import dataclass

from finishing_kg.health.terms import Bindings, Order
from finishing_kg.statements import Statement


@dataclass(frozen=True, slots=True)
class Goal:
    """A sentence that is to hold: whether a safety rule asks for it, and the sentences that it is needed for."""

    sentence: Statement
    safety: bool = False
    above: tuple[Statement, ...] = ()


@dataclass(frozen=True, slots=True)
class State:
    """How far a search has come.

    Attributes:
        bindings: what the variables stand for.
        given: the facts that were invented.
        settled: what is said once of a thing and was said.
        orders: comparisons that must hold.
        absent: what must not hold.
    """

    bindings: Bindings
    given: tuple[Statement, ...] = ()
    settled: tuple[Statement, ...] = ()
    orders: tuple[Order, ...] = ()
    absent: tuple[Statement, ...] = ()


@dataclass(frozen=True, slots=True)
class Case:
    """Facts under which what was looked for holds, and what the variables stand for."""

    facts: tuple[Statement, ...]
    bindings: Bindings


class Undecided(Exception):
    """A search that was given up before every way was tried."""
