"""Variables filled step by step: what a term stands for, and how the variables of rules are told apart."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Term, Variable

Bindings = Mapping[str, Term]
"""What each variable stands for so far; it may be another variable."""

_FROZEN = "frozen/"  # begins the name of a thing of which nothing is known but that it is one
_MARK = "?"  # between a variable's name and the mark of its rule; no written name has it


def meant(term: Term | None, bindings: Bindings) -> Term | None:
    """What a term stands for, as far as that is known."""
    while isinstance(term, Variable) and term.name in bindings:
        term = bindings[term.name]
    return term


def filled(statement: Statement, bindings: Bindings) -> Statement:
    """A statement with what is known of its variables."""
    subject, obj = meant(statement.subject, bindings), meant(statement.object, bindings)
    if subject is statement.subject and obj is statement.object:
        return statement
    assert isinstance(subject, str | Variable)
    return Statement(statement.predicate, subject, obj, statement.comparison)


def changed(statement: Statement, change: Callable[[Variable], Term | None]) -> Statement:
    """A statement with something done to each of its variables."""
    subject, obj = statement.subject, statement.object
    if not isinstance(subject, Variable) and not isinstance(obj, Variable):
        return statement
    if isinstance(subject, Variable):
        found = change(subject)
        assert isinstance(found, str | Variable)
        subject = found
    return Statement(statement.predicate, subject, change(obj) if isinstance(obj, Variable) else obj, statement.comparison)


def marked(term: Term, mark: str) -> Term:
    """A variable told from those of the same name in other rules; anything else as it is."""
    return Variable(f"{term.name}{_MARK}{mark}") if isinstance(term, Variable) else term


def renamed(statement: Statement, mark: str) -> Statement:
    """A statement whose variables are told from those of other rules."""
    return changed(statement, lambda variable: marked(variable, mark))


def rename_rule(rule: Rule, mark: str) -> Rule:
    """A rule whose variables are told from those of other rules."""

    def every(sentences: tuple[Statement, ...]) -> tuple[Statement, ...]:
        return tuple(renamed(sentence, mark) for sentence in sentences)

    return replace(rule, conditions=every(rule.conditions), exceptions=every(rule.exceptions), conclusions=every(rule.conclusions))


def frozen(term: Term) -> Term:
    """A variable taken for a thing of which nothing is known but that it is one; anything else as it is."""
    return _FROZEN + term.name if isinstance(term, Variable) else term


def freeze(statement: Statement) -> Statement:
    """A statement with all its variables frozen."""
    return changed(statement, frozen)


def is_frozen(term: Term | None) -> bool:
    """Whether a term is a frozen variable."""
    return isinstance(term, str) and term.startswith(_FROZEN)


@dataclass(frozen=True, slots=True)
class Order:
    """A comparison that must hold between two quantities, either of which may still be a variable.

    Attributes:
        condition: the sentence that compares; its object is the right side.
        left: what is compared.
        lenient: an overlap of ranges counts as holding, as it does for a safety rule.
    """

    condition: Statement
    left: Term
    lenient: bool
