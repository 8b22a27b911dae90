"""The one sentence form, as data."""

from collections.abc import Iterator, Mapping
from typing import Literal, NamedTuple

from finishing_kg.measure import Quantity

Comparison = Literal["is", "above", "below", "at least", "at most"]


class Variable(NamedTuple):
    """A slot to be filled, written ``?name``."""

    name: str

    def __str__(self) -> str:
        return f"?{self.name}"


Term = str | Variable | Quantity
"""An id of a known thing, a variable, or a quantity."""


class Statement(NamedTuple):
    """One sentence about the bench; a tuple, since statements are looked up in tables more than anything else and a tuple is hashed fastest.

    Attributes:
        predicate: id of the phrase.
        subject: id of a known thing, or a variable.
        object: id, variable or quantity; ``None`` for a trait.
        comparison: other than ``"is"`` only for a quantity; such a sentence is a condition, never a fact.
    """

    predicate: str
    subject: str | Variable
    object: Term | None = None
    comparison: Comparison = "is"

    def variables(self) -> Iterator[str]:
        """Names of the variables, in the order in which they stand."""
        for term in (self.subject, self.object):
            if isinstance(term, Variable):
                yield term.name

    def filled(self, bindings: Mapping[str, str | Quantity]) -> "Statement":
        """The statement with its variables replaced where ``bindings`` has them."""
        predicate, subject, obj, comparison = self
        if isinstance(subject, Variable):
            value = bindings.get(subject.name, subject)
            subject = subject if isinstance(value, Quantity) else value
        if isinstance(obj, Variable):
            obj = bindings.get(obj.name, obj)
        return Statement(predicate, subject, obj, comparison)
