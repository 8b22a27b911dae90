"""Rules as RDF, and back."""

from pathlib import PurePath
from urllib.parse import quote

from rdflib import Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, RDF, RDFS
from rdflib.term import Node

from finishing_kg.export.sentences import SentenceReader, SentenceWriter, VariableNode
from finishing_kg.export.sources import Sources, basis_of
from finishing_kg.export.words import FK, RULE, RULE_FILE, add_list, list_of, needed
from finishing_kg.rules import Rule, RuleBase
from finishing_kg.statements import Language, Statement


def variable_of(rule: str) -> VariableNode:
    """Gives the nodes of a rule's variables; the dot keeps them apart from rules, whose ids have none."""
    return lambda name: RULE[f"{rule}.{name}"]


def write_rules(graph: Graph, base: RuleBase, language: Language) -> None:
    """Add every rule of a rule base to a graph that holds the ontology."""
    sources, sentences = Sources(graph), SentenceWriter(graph, language)
    for rule in base.rules:
        _write(graph, rule, sources, sentences)


def _write(graph: Graph, rule: Rule, sources: Sources, sentences: SentenceWriter) -> None:
    node = RULE[rule.id]
    graph.add((node, RDF.type, FK.Rule))
    graph.add((node, DCTERMS.identifier, Literal(rule.id)))
    graph.add((node, RDFS.comment, Literal(rule.because)))
    graph.add((node, FK.safety, Literal(rule.safety)))
    graph.add((node, FK.line, Literal(rule.line)))
    graph.add((node, DCTERMS.isPartOf, _file(graph, rule)))
    source = sources.add(node, rule.basis)
    for loser in rule.overrides:
        graph.add((node, FK.overrides, RULE[loser]))
    for key, statements in (("if", rule.conditions), ("unless", rule.exceptions), ("then", rule.conclusions)):
        places: list[Node] = []
        for index, statement in enumerate(statements, 1):
            place = RULE[f"{rule.id}.{key}.{index}"]
            sentences.write(place, statement, variable_of(rule.id), source)
            places.append(place)
        add_list(graph, node, FK[key], places)


def _file(graph: Graph, rule: Rule) -> URIRef:
    node = RULE_FILE[quote(rule.file)]
    graph.add((node, RDF.type, FK.RuleFile))
    graph.add((node, DCTERMS.identifier, Literal(rule.file)))
    graph.add((node, DCTERMS.title, Literal(rule.subject)))
    return node


def read_rules(graph: Graph, language: Language) -> list[Rule]:
    """The rules of an exported graph, in the order of their ids; equal to those that were exported.

    What is read are the parts of the sentences, not their words. ``overrides`` has no order in a graph and is sorted.

    Args:
        graph: as ``export_graph`` makes it, also after writing and reading.
        language: of the vocabulary that the rules speak in.

    Raises:
        ExportUnreadable: something that a rule has is missing.
    """
    sentences = SentenceReader(graph, language)

    def statements(node: Node, key: str) -> tuple[Statement, ...]:
        return tuple(sentences.read(place) for place in list_of(graph, node, FK[key]))

    rules = []
    for node in set(graph.subjects(RDF.type, FK.Rule)):
        file = needed(graph, node, DCTERMS.isPartOf)
        name = str(needed(graph, file, DCTERMS.identifier))
        rules.append(
            Rule(
                id=str(needed(graph, node, DCTERMS.identifier)),
                subject=PurePath(name).stem,
                file=name,
                line=int(str(needed(graph, node, FK.line))),
                conditions=statements(node, "if"),
                exceptions=statements(node, "unless"),
                conclusions=statements(node, "then"),
                because=str(needed(graph, node, RDFS.comment)),
                basis=basis_of(graph, node),
                overrides=tuple(sorted(str(loser).removeprefix(str(RULE)) for loser in graph.objects(node, FK.overrides))),
                safety=str(needed(graph, node, FK.safety)) == "true",
            )
        )
    return sorted(rules, key=lambda rule: rule.id)
