"""Statements as plain data and back, for the compiled form of rules."""

from __future__ import annotations

from typing import Any

from finishing_kg.measure import Quantity
from finishing_kg.statements.model import Statement, Term, Variable
from finishing_kg.vocabulary.plain import quantity_as_plain, quantity_from_plain


def statement_as_plain(statement: Statement) -> tuple[Any, ...]:
    """A statement; an id is a text, a variable its name alone in a tuple, a quantity a longer tuple."""
    return statement.predicate, _term_as_plain(statement.subject), _term_as_plain(statement.object), statement.comparison


def statement_from_plain(plain: Any) -> Statement:
    """The statement of ``statement_as_plain``.

    Raises:
        TypeError, ValueError, ArithmeticError: it is in another shape.
    """
    predicate, subject, value, comparison = plain
    if subject.__class__ is tuple:
        subject = Variable(*subject)
    if value.__class__ is tuple:
        value = Variable(*value) if len(value) == 1 else quantity_from_plain(value)
    return Statement(predicate, subject, value, comparison)


def _term_as_plain(term: Term | None) -> Any:
    if isinstance(term, Variable):
        return (term.name,)
    return quantity_as_plain(term) if isinstance(term, Quantity) else term
