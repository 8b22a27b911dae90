"""Sentences as nodes: the words, and the parts that the words say."""

from collections.abc import Callable
from decimal import Decimal
from typing import cast
from urllib.parse import quote

from rdflib import Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, RDF, RDFS
from rdflib.term import Node

from finishing_kg.export.words import FK, QUDT, SWRL, UNIT, ExportUnreadable, blank, identifier_of, iri, needed, number, text_of
from finishing_kg.measure import Quantity, Unit
from finishing_kg.statements import Comparison, Language, Statement, Term, Variable

_TRUE = Literal(True)
VariableNode = Callable[[str], URIRef]


def unit_node(unit: Unit) -> URIRef:
    """The IRI of a unit: QUDT's where it has the unit, else our own."""
    return UNIT[unit.qudt] if unit.qudt else FK[unit.own or quote(unit.symbol, safe="")]


class SentenceWriter:
    """Writes sentences and quantities into a graph."""

    def __init__(self, graph: Graph, language: Language) -> None:
        self.graph, self.language = graph, language

    def write(self, node: Node, statement: Statement, variable: VariableNode, rests_on: Node | None = None) -> None:
        """Write a sentence as a node.

        Args:
            node: the node that stands for it.
            statement: its parts.
            variable: gives the node of a variable; the rule that it belongs to decides.
            rests_on: the source of a quantity in it.
        """
        self.graph.add((node, RDF.type, FK.Sentence))
        self.graph.add((node, RDF.value, Literal(self.language.print(statement))))
        self.graph.add((node, SWRL.propertyPredicate, iri(statement.predicate)))
        self.graph.add((node, SWRL.argument1, self.term(statement.subject, variable, rests_on, str(node))))
        self.graph.add((node, SWRL.argument2, self.term(statement.object, variable, rests_on, str(node))))
        self.graph.add((node, FK.comparison, Literal(statement.comparison)))

    def term(self, term: Term | None, variable: VariableNode, rests_on: Node | None, *place: str) -> Node:
        """The node of what stands in a slot; a trait has ``true`` in its second one, as in the ontology."""
        if term is None:
            return _TRUE
        if isinstance(term, Quantity):
            return self.quantity(term, rests_on, *place)
        if isinstance(term, str):
            return iri(term)
        node = variable(term.name)
        self.graph.add((node, RDF.type, FK.Variable))
        self.graph.add((node, RDF.type, SWRL.Variable))
        self.graph.add((node, RDFS.label, Literal(term.name)))
        return node

    def quantity(self, quantity: Quantity, rests_on: Node | None, *place: str) -> Node:
        """A value as the ontology writes them; the middle of a range only where it is not the mean."""
        node = blank("quantity", *place)
        self.graph.add((node, QUDT.unit, unit_node(self.language.vocabulary.units.by_symbol[quantity.unit])))
        numbers = {FK.mid: quantity.mid}
        if quantity.low is not None and quantity.high is not None:
            ends = {FK.low: quantity.low, FK.high: quantity.high}
            numbers = ends if quantity.mid == (quantity.low + quantity.high) / 2 else {**ends, **numbers}
        for part, value in numbers.items():
            self.graph.add((node, part, number(value)))
        if rests_on is not None:
            self.graph.add((node, DCTERMS.source, rests_on))
        return node


class SentenceReader:
    """Reads back what a ``SentenceWriter`` wrote, by the parts; the words are for people."""

    def __init__(self, graph: Graph, language: Language) -> None:
        self.graph = graph
        self._symbols = {unit_node(unit): unit.symbol for unit in language.vocabulary.units.by_symbol.values()}
        self._variables = set(graph.subjects(RDF.type, FK.Variable))

    def read(self, node: Node) -> Statement:
        """The statement of a sentence.

        Raises:
            ExportUnreadable: a part is missing, or stands where it cannot.
        """
        subject, obj = self.term(needed(self.graph, node, SWRL.argument1)), self.term(needed(self.graph, node, SWRL.argument2))
        if subject is None or isinstance(subject, Quantity):
            raise ExportUnreadable(f"{node}: a sentence is about a thing or a variable.")
        comparison = cast(Comparison, str(needed(self.graph, node, FK.comparison)))
        return Statement(identifier_of(needed(self.graph, node, SWRL.propertyPredicate)), subject, obj, comparison)

    def term(self, node: Node) -> Term | None:
        """What stands in a slot."""
        if node == _TRUE:
            return None
        if node in self._variables:
            return Variable(str(needed(self.graph, node, RDFS.label)))
        return identifier_of(node) if isinstance(node, URIRef) else self.quantity(node)

    def quantity(self, node: Node) -> Quantity:
        """A value, exact."""
        unit = self._symbols.get(cast(URIRef, needed(self.graph, node, QUDT.unit)))
        if unit is None:
            raise ExportUnreadable(f"{node} is in a unit that is not known here.")
        low, mid, high = (None if (text := text_of(self.graph, node, part)) is None else Decimal(text) for part in (FK.low, FK.mid, FK.high))
        if low is not None and high is not None:
            return Quantity.between(low, high, unit, mid)
        if mid is None:
            raise ExportUnreadable(f"{node} has neither a middle nor two ends.")
        return Quantity(mid, unit)
