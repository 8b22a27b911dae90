"""Layers as plain data: what no question changes is derived once and kept from one start of the program to the next."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from finishing_kg.compiled import Sections, shaped
from finishing_kg.engine.layer import Layer
from finishing_kg.engine.names import Value
from finishing_kg.engine.program import Program
from finishing_kg.engine.relation import Relation
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Column
from finishing_kg.record import record
from finishing_kg.vocabulary.plain import quantity_as_plain, quantity_from_plain


@record(frozen=True)
class Kept:
    """Makes layers, or takes them from where they were kept.

    Attributes:
        program: the rules; its names are filled by the ground layer.
        sections: what was compiled of exactly these rules and this ontology; ``None`` keeps nothing.
    """

    program: Program
    sections: Sections | None

    def layer(self, name: str, given: Callable[[], Iterable[Column]], below: Layer | None = None) -> Layer:
        """A layer that is not the topmost.

        Args:
            name: of its section.
            given: gives what is given in it.
            below: the layer that it goes on from.
        """

        def derive() -> Layer:
            return Layer(self.program, given(), below, top=False)

        if self.sections is None:
            return derive()
        return self.sections.made(name, derive, _as_plain, lambda plain: _from_plain(self.program, plain, below))


def _as_plain(layer: Layer) -> Any:
    own = {predicate: relation.by_object for predicate, relation in layer.own.items()}
    values = [_value_as_plain(value) for value in layer.names.own()]
    return len(layer.names) - len(values), values, own, layer.log, layer.rounds, *layer.program.learnt()


def _from_plain(program: Program, plain: Any, below: Layer | None) -> Layer:
    first, plain_values, own, log, rounds, settled, deferred = shaped(plain, int, list, dict, dict, dict, frozenset, frozenset)
    values = [_value_from_plain(value) for value in plain_values]
    layer = Layer(program, None, below, top=False)
    # A layer speaks in numbers, so what lies below must have given the same.
    if first != (len(below.names) if below else 1) or not layer.names.begins(values):
        raise ValueError("What lies below has other numbers.")
    for value in values:
        layer.names.number(value)
    if below is None:
        program.told(settled, deferred)
    layer.own = {predicate: Relation.of(by_object) for predicate, by_object in own.items()}
    layer.log, layer.rounds = log, rounds
    return layer


def _value_as_plain(value: Value) -> object:
    return quantity_as_plain(value) if isinstance(value, Quantity) else value


def _value_from_plain(plain: object) -> Value:
    if isinstance(plain, tuple):
        return quantity_from_plain(plain)
    if not isinstance(plain, str):
        raise TypeError("A name is a text.")
    return plain
