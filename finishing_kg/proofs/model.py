"""A proof as plain data; it is drawn and explained elsewhere."""

from collections.abc import Iterator
from typing import Literal

from finishing_kg.measure import Quantity
from finishing_kg.record import record
from finishing_kg.statements import Statement
from finishing_kg.statements.model import Comparison
from finishing_kg.vocabulary import Basis


@record(frozen=True, slots=True)
class Computation:
    """How a value was computed.

    Attributes:
        function: its name in the table of computations.
        inputs: the quantities it was given, in order.
        sources: statements that the inputs come from, for the explanation.
    """

    function: str
    inputs: tuple[Quantity, ...]
    sources: tuple[Statement, ...] = ()


@record(frozen=True, slots=True)
class Fact:
    """What a statement that no rule derives rests on.

    Attributes:
        basis: its kind and source; for what was assumed the locator says why.
        computation: for a computed value.
    """

    basis: Basis
    computation: Computation | None = None


@record(frozen=True, slots=True)
class Compared:
    """One comparison that a rule made.

    Attributes:
        predicate: the property compared.
        left: the value held, as written.
        operator: e.g. ``"above"``.
        right: the value compared with, as written.
        outcome: ``"unknown"`` where the ranges overlap; only a safety rule goes on from that.
    """

    predicate: str
    left: Quantity
    operator: Comparison
    right: Quantity
    outcome: Literal["holds", "unknown"]


@record(frozen=True, slots=True)
class Proof:
    """Why a statement holds.

    Attributes:
        statement: what is proved; it has no variables.
        rule: id of the rule it follows by; ``None`` for a fact.
        bindings: what the rule's variables stood for, in the order of their names.
        premises: proofs of the rule's conditions, in their order.
        compared: the comparisons among the conditions, in their order.
        absent: the rule's exceptions as they were looked for; a variable left in one means "any".
        fact: for a fact, what it rests on.
    """

    statement: Statement
    rule: str | None = None
    bindings: tuple[tuple[str, str | Quantity], ...] = ()
    premises: tuple["Proof", ...] = ()
    compared: tuple[Compared, ...] = ()
    absent: tuple[Statement, ...] = ()
    fact: Fact | None = None

    def walk(self) -> Iterator["Proof"]:
        """This proof and all below it, each once, depth first."""
        seen: set[int] = set()
        work = [self]
        while work:
            here = work.pop()
            if id(here) not in seen:
                seen.add(id(here))
                yield here
                work += reversed(here.premises)
