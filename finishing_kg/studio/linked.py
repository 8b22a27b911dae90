"""A pack as linked data, and back: so that studios can share one graph on a server, and other programs can read it.

Everything that a pack says has a name of its own in the graph, values included, and says in which part of which pack it is published. So
what one studio published can be replaced without touching what others did, even where both speak of the same thing.
"""

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from rdflib import BNode, Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCTERMS, RDF, SKOS
from rdflib.term import Node

from finishing_kg.casebook import Case
from finishing_kg.engine import Knowledge
from finishing_kg.export import ExportUnreadable, read_rules, to_turtle
from finishing_kg.export.graph import with_steady_labels
from finishing_kg.export.rules import write_rules
from finishing_kg.export.words import FK, HOME, RULE_FILE, SCHEMA, blank, empty_graph, needed
from finishing_kg.rules import Rule, RuleBase
from finishing_kg.rules.model import as_written
from finishing_kg.statements import Language
from finishing_kg.studio.add import with_table
from finishing_kg.studio.contents import Studio
from finishing_kg.studio.errors import StudioError, StudioFault, fault
from finishing_kg.studio.guard import guard_of
from finishing_kg.studio.pack import Inside, Pack, pack_bytes, read_pack
from finishing_kg.studio.things import read_things
from finishing_kg.texts import NotReadable, bound_lines
from finishing_kg.vocabulary.load import parse_turtle

PACK = Namespace(f"{HOME}pack#")
CASE = Namespace(f"{HOME}case#")
VALUE = Namespace(f"{HOME}value#")
PARTS = ("pack", "rules", "things", "cases")
"""The parts of a pack in a graph; ``pack`` is what it says of itself."""

_THINGS = "things/published.ttl"


def part_of(name: str, part: str) -> URIRef:
    """The node of one part of a pack."""
    return PACK[f"{name}.{part}"]


def graph_of_pack(pack: Pack, alone: Studio) -> Graph:
    """All that a pack says, as a graph without blank nodes.

    Args:
        pack: what is to be published.
        alone: a studio that holds this pack and nothing else.
    """
    graph = empty_graph()
    parts = {part: empty_graph() for part in PARTS}
    node = PACK[pack.name]
    said = {RDF.type: FK.Pack, DCTERMS.identifier: pack.name, SCHEMA.version: pack.version, DCTERMS.license: pack.licence}
    for predicate, value in {**said, DCTERMS.title: pack.studio, FK.writtenFor: pack.written_for}.items():
        parts["pack"].add((node, predicate, value if isinstance(value, URIRef) else Literal(value)))
    rules = [replace(rule, file=rule.file.removeprefix(f"{pack.file}/")) for rule in alone.own_rules]
    files = [replace(rule, file=f"{pack.name}/{rule.file}") for rule in rules]
    write_rules(parts["rules"], RuleBase(tuple(files), ()), alone.knowledge.language)
    for triple in with_steady_labels(parse_turtle(pack.inside("things"))):
        parts["things"].add(triple)
    for case in alone.cases:
        for triple in _of_case(case, pack):
            parts["cases"].add(triple)
    for part, held in parts.items():
        _add_part(graph, held, part_of(pack.name, part))
    return graph


def _of_case(case: Case, pack: Pack) -> Iterator[tuple[Node, Node, Node]]:
    import tomlkit

    node = CASE[case.id]
    yield node, RDF.type, FK.Case
    yield node, DCTERMS.identifier, Literal(case.id)
    yield node, FK.file, Literal(case.file.removeprefix(f"{pack.file}/"))
    yield node, FK.asTOML, Literal(tomlkit.dumps({case.sort: [case.table]}))


def _add_part(graph: Graph, held: Graph, part: URIRef) -> None:
    """Add a part, its values named, each of its nodes saying that it is published there."""
    for subject, predicate, value in held:
        about = subject
        if predicate == SKOS.altLabel and (subject, RDF.type, None) not in held:
            # Another name of a thing that is not of this pack: others may give it the same, so the giving is a node of its own.
            about = blank("name", str(part), str(subject), value.n3())
            for key, said in ((RDF.type, FK.OtherName), (RDF.subject, subject), (RDF.predicate, predicate), (RDF.object, value)):
                graph.add((_named(about), key, said))
            graph.add((subject, predicate, value))
        else:
            graph.add((_named(subject), predicate, _named(value)))
        graph.add((_named(about), FK.publishedIn, part))


def _named(node: Node) -> Node:
    return VALUE[str(node)] if isinstance(node, BNode) else node


def _unnamed(node: Node) -> Node:
    return BNode(str(node).removeprefix(str(VALUE))) if str(node).startswith(str(VALUE)) and isinstance(node, URIRef) else node


def pack_of_graph(graph: Graph, name: str, shipped: Knowledge) -> Pack:
    """The pack that was published under a name.

    Args:
        graph: as ``graph_of_pack`` gives it; what is published in other packs is left aside.
        name: of the pack.
        shipped: the shipped knowledge.

    Raises:
        StudioError: it is not there, or something that a pack has is missing or has another form. What the pack says is not judged here.
    """
    parts = {part: _part(graph, part_of(name, part)) for part in PARTS}
    try:
        for value in graph.objects():
            bound_lines(str(value))
        files = {_THINGS: to_turtle(parts["things"])} if len(parts["things"]) else {}
        language = _language(files, shipped)
        files |= _rule_files(read_rules(parts["rules"], language), name, language)
        files |= _case_files(parts["cases"])
        of, head = PACK[name], parts["pack"]
        keys = {"version": SCHEMA.version, "written_for": FK.writtenFor, "licence": DCTERMS.license, "studio": DCTERMS.title}
        told = {key: str(needed(head, of, predicate)) for key, predicate in keys.items()}
        made = Pack(name, files={file: text.encode() for file, text in files.items()}, **told)
        return read_pack(pack_bytes(made), name)
    except ExportUnreadable as error:
        raise fault(f"What is published there as {name} is not whole: {error} Ask its studio to publish it anew.", name) from error
    except StudioError:
        raise
    except NotReadable as error:
        raise fault(f"What is published there as {name} holds a text that cannot be taken. {error}", name) from error
    except Exception as error:  # a graph can have any form at all, and every reader of it fails in its own way
        raise fault(f"What is published there as {name} cannot be read ({type(error).__name__}: {str(error)[:200]}).", name) from error


def _part(graph: Graph, part: URIRef) -> Graph:
    """What is published in one part, its values without names and each other name said of its thing again."""
    found = empty_graph()
    for subject in set(graph.subjects(FK.publishedIn, part)):
        if (subject, RDF.type, FK.OtherName) in graph:
            found.add((needed(graph, subject, RDF.subject), needed(graph, subject, RDF.predicate), needed(graph, subject, RDF.object)))
            continue
        for predicate, value in graph.predicate_objects(subject):
            if predicate != FK.publishedIn:
                found.add((_unnamed(subject), predicate, _unnamed(value)))
    return found


def _language(files: dict[str, str], shipped: Knowledge) -> Language:
    """The language that the pack's rules are written in: the shipped one, with the pack's own things.

    Raises:
        StudioError: with what is wrong with its things.
    """
    faults: list[StudioFault] = []
    written = [Inside(name, text.encode()) for name, text in files.items()]
    widened = read_things(written, shipped.vocabulary, guard_of(shipped.vocabulary, shipped.base), faults, shipped.compiled)
    if faults:
        raise StudioError(faults)
    return Language(widened.vocabulary)


def _rule_files(rules: list[Rule], name: str, language: Language) -> dict[str, str]:
    files: dict[str, str] = {}
    for rule in sorted(rules, key=lambda rule: (rule.file, rule.line)):
        entry: dict[str, Any] = {"id": rule.id}
        for key, statements in (("if", rule.conditions), ("unless", rule.exceptions), ("then", as_written(rule, language.vocabulary))):
            entry[key] = [language.print(statement) for statement in statements]
        basis = {"kind": rule.basis.kind, "source": rule.basis.source, "locator": rule.basis.locator}
        entry |= {"because": rule.because, "basis": basis, "overrides": list(rule.overrides), "safety": rule.safety}
        file = rule.file.removeprefix(f"{name}/")
        files[file] = with_table(files.get(file, ""), "rule", {key: value for key, value in entry.items() if value})
    return files


def _case_files(graph: Graph) -> dict[str, str]:
    files: dict[str, str] = {}
    for node in sorted(set(graph.subjects(RDF.type, FK.Case)), key=str):
        text, file = str(needed(graph, node, FK.asTOML)), str(needed(graph, node, FK.file))
        tomllib.loads(text)  # one that is spoilt may not spoil the others beside it
        files[file] = f"{files[file]}\n{text}" if file in files else text
    return files


def owned(graph: Graph) -> list[URIRef]:
    """What only one pack may publish: its rules, its cases, the things that it describes, and what it says of itself."""
    kinds = (FK.Sentence, FK.Variable, FK.Source, FK.Ground, FK.OtherName)
    found = {node for node in graph.subjects(RDF.type) if isinstance(node, URIRef)}
    shared = {node for kind in kinds for node in graph.subjects(RDF.type, kind)}
    return sorted(node for node in found - shared if not str(node).startswith((str(VALUE), str(RULE_FILE))))
