"""The vocabularies that an export is written in, and how identifiers, numbers and lists are written in them."""

import hashlib
from collections.abc import Iterator, Sequence
from decimal import Decimal
from urllib.parse import quote, unquote

from rdflib import BNode, Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCAT, DCTERMS, PROV, RDF, RDFS, SKOS, VOID, XSD
from rdflib.term import Node

from finishing_kg.measure.quantity import plain

HOME = "https://finishing-kg.example/"
FK = Namespace(f"{HOME}onto#")
SOURCE = Namespace(f"{HOME}source#")
RULE = Namespace(f"{HOME}rule#")
RULE_FILE = Namespace(f"{HOME}rule-file#")
PROOF = Namespace(f"{HOME}proof#")
PROGRAM = URIRef(f"{HOME}program")
QUDT = Namespace("http://qudt.org/schema/qudt/")
UNIT = Namespace("http://qudt.org/vocab/unit/")
SCHEMA = Namespace("https://schema.org/")
# Rules on the web have had words for an atom's predicate and arguments since 2004; nobody's words for `unless` are as old.
SWRL = Namespace("http://www.w3.org/2003/11/swrl#")

PREFIXES: dict[str, str] = {
    "dcat": str(DCAT),
    "dcterms": str(DCTERMS),
    "fk": str(FK),
    "proof": str(PROOF),
    "prov": str(PROV),
    "qudt": str(QUDT),
    "rdf": str(RDF),
    "rdfs": str(RDFS),
    "rule": str(RULE),
    "rule-file": str(RULE_FILE),
    "schema": str(SCHEMA),
    "skos": str(SKOS),
    "src": str(SOURCE),
    "swrl": str(SWRL),
    "unit": str(UNIT),
    "void": str(VOID),
    "xsd": str(XSD),
}


def empty_graph() -> Graph:
    """A graph that knows the prefixes of an export and no others."""
    graph = Graph(bind_namespaces="none")
    for prefix, namespace in PREFIXES.items():
        graph.bind(prefix, namespace)
    return graph


def iri(identifier: str) -> URIRef:
    """The IRI of a known thing, or of an option, a step or a rule: ``step/2`` gives ``.../step#2``."""
    kind, slash, rest = identifier.partition("/")
    return URIRef(f"{HOME}{kind}#{quote(rest, safe='/')}") if slash else FK[quote(identifier)]


def identifier_of(node: Node) -> str:
    """The identifier that an IRI was made of by ``iri``."""
    kind, _, rest = str(node).removeprefix(HOME).partition("#")
    return unquote(rest) if kind == "onto" else f"{kind}/{unquote(rest)}"


def number(value: Decimal) -> Literal:
    """An exact number: an integer where it is whole, else a decimal, never a float."""
    if value == value.to_integral_value():
        return Literal(int(value))
    return Literal(plain(value), datatype=XSD.decimal)


def blank(*place: str) -> BNode:
    """A blank node whose label depends on its place alone, so that two exports of the same are the same to the byte."""
    return BNode("b" + hashlib.sha256("\n".join(place).encode()).hexdigest()[:24])


def add_list(graph: Graph, subject: Node, predicate: Node, items: Sequence[Node]) -> None:
    """Add an ordered list as the value of a property; an empty one is ``rdf:nil``."""
    cells: list[Node] = [blank("cell", str(subject), str(predicate), str(index)) for index in range(len(items))]
    graph.add((subject, predicate, cells[0] if cells else RDF.nil))
    for index, (cell, item) in enumerate(zip(cells, items, strict=True), 1):
        graph.add((cell, RDF.first, item))
        graph.add((cell, RDF.rest, cells[index] if index < len(cells) else RDF.nil))


def list_of(graph: Graph, subject: Node, predicate: Node) -> Iterator[Node]:
    """The items of the list that is the value of a property; none where there is no list."""
    head = graph.value(subject, predicate)
    return graph.items(head) if head is not None else iter(())


def text_of(graph: Graph, subject: Node, predicate: Node) -> str | None:
    """The one text that a node has for a property, or ``None``."""
    value = graph.value(subject, predicate)
    return None if value is None else str(value)


def needed(graph: Graph, subject: Node, predicate: Node) -> Node:
    """The one value that a node has for a property.

    Raises:
        ExportUnreadable: it has none, so this is no export of ours, or a part of one.
    """
    value = graph.value(subject, predicate)
    if value is None:
        raise ExportUnreadable(f"{subject} has no {predicate}.")
    return value


class ExportUnreadable(Exception):
    """A graph lacks something that an export has; the message names the node and the property."""
