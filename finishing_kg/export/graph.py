"""The whole knowledge as one graph: the ontology as it is shipped, the rules, and what open vocabularies call it all."""

from collections.abc import Iterable
from pathlib import Path

from rdflib import BNode, Graph, Literal, URIRef
from rdflib.namespace import DCAT, DCTERMS, PROV, RDF, RDFS, VOID
from rdflib.term import Node

from finishing_kg import __version__
from finishing_kg.engine import Knowledge
from finishing_kg.export.rules import write_rules
from finishing_kg.export.words import FK, HOME, PREFIXES, PROGRAM, SCHEMA, blank, empty_graph
from finishing_kg.places import shipped
from finishing_kg.vocabulary.load import parse_turtle, turtle_files

DATASET = URIRef(f"{HOME}onto")
LICENCE = URIRef("https://spdx.org/licenses/MIT")
TITLE = "Cold-working of glass: things, values and rules"
DESCRIPTION = (
    "What is known of abrasive minerals, their grades, how grain is held and carried, glasses, forms, surfaces and finishes, "
    "and the rules that tell which of them go together. Every value and every rule names its source."
)
# Vocabularies of our own, and of what every graph is made of, need no mention.
_OWN = ("fk", "src", "rule", "rule-file", "proof", "unit", "xsd")


def export_graph(knowledge: Knowledge, files: Iterable[Path] | None = None) -> Graph:
    """The ontology and the rules as one graph, the same to the byte each time it is written.

    Args:
        knowledge: whose rules are written.
        files: the Turtle that its vocabulary was read from; the shipped ontology unless given.

    Raises:
        DataMissing, OntologyError: the Turtle is missing or spoilt.
    """
    graph = empty_graph()
    for triple in with_steady_labels(parse_turtle(turtle_files(shipped("ontology")) if files is None else files)):
        graph.add(triple)
    write_rules(graph, knowledge.base, knowledge.language)
    say_in_open_vocabularies(graph, graph)
    _add_header(graph)
    return graph


def with_steady_labels(graph: Graph) -> Iterable[tuple[Node, Node, Node]]:
    """The triples of a graph, its blank nodes labelled by what is said with them; those said twice alike become one.

    A parser labels them at random. Blank nodes here hold values and reified relations, and none leads to another.
    """
    said: dict[Node, list[str]] = {}
    for subject, predicate, value in graph:
        if isinstance(subject, BNode):
            said.setdefault(subject, []).append(f"says {predicate.n3()} {'' if isinstance(value, BNode) else value.n3()}")
        if isinstance(value, BNode):
            said.setdefault(value, []).append(f"of {'' if isinstance(subject, BNode) else subject.n3()} {predicate.n3()}")
    steady = {node: blank(*sorted(lines)) for node, lines in said.items()}
    return ((steady.get(subject, subject), predicate, steady.get(value, value)) for subject, predicate, value in graph)


def say_in_open_vocabularies(graph: Graph, terms: Graph) -> None:
    """Add what follows where a word of ours is narrower than one of an open vocabulary: both are then said.

    Args:
        graph: is added to.
        terms: says which word is narrower than which, as ``ontology/terms.ttl`` does.
    """
    wider = [(narrow, wide) for narrow, wide in terms.subject_objects(RDFS.subPropertyOf) if not str(wide).startswith(str(FK))]
    for narrow, wide in wider:
        for subject, value in list(graph.subject_objects(narrow)):
            graph.add((subject, wide, value))
    kinds = [(narrow, wide) for narrow, wide in terms.subject_objects(RDFS.subClassOf) if not str(wide).startswith(str(FK))]
    for narrow, wide in kinds:
        for subject in list(graph.subjects(RDF.type, narrow)):
            graph.add((subject, RDF.type, wide))


def add_program(graph: Graph) -> None:
    """Describe this program as the agent of what it made."""
    graph.add((PROGRAM, RDF.type, PROV.SoftwareAgent))
    graph.add((PROGRAM, SCHEMA.name, Literal("finishing-kg")))
    graph.add((PROGRAM, SCHEMA.softwareVersion, Literal(__version__)))


def _add_header(graph: Graph) -> None:
    """Title, licence, version and size; no date, so that the same knowledge gives the same file."""
    add_program(graph)
    for kind in (VOID.Dataset, DCAT.Dataset, PROV.Entity):
        graph.add((DATASET, RDF.type, kind))
    graph.add((DATASET, DCTERMS.title, Literal(TITLE, lang="en")))
    graph.add((DATASET, DCTERMS.description, Literal(DESCRIPTION, lang="en")))
    graph.add((DATASET, DCTERMS.license, LICENCE))
    graph.add((DATASET, SCHEMA.version, Literal(__version__)))
    graph.add((DATASET, PROV.wasAttributedTo, PROGRAM))
    for prefix, namespace in PREFIXES.items():
        if prefix not in _OWN:
            graph.add((DATASET, VOID.vocabulary, URIRef(namespace)))
    graph.add((DATASET, VOID.triples, Literal(len(graph) + 1)))
