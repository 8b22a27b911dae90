"""Whether a graph satisfies the shapes of ``ontology/shapes*.ttl``. ``pyshacl`` is only loaded when asked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Set
from importlib import import_module
from typing import TYPE_CHECKING

from finishing_kg.places import shipped
from finishing_kg.vocabulary.load import parse_turtle, shapes_files

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

_SH = "http://www.w3.org/ns/shacl#"


class ShapesError(Exception):
    """The shapes cannot be checked here, because ``pyshacl`` is not installed."""


def check_shapes(graph: Graph, counts: Callable[[str, str], bool] = lambda _thing, _property: True, about: Set[Node] | None = None) -> list[str]:
    """Check a graph against the shipped shapes.

    Args:
        graph: all that is to hold together: things with the phrases, kinds, units and sources that they use.
            It is not changed.
        about: the things, values and statements to look at, where not all need be; what shapes ask of phrases is asked of all.
        counts: whether a fault of a thing, or value, in a property is to be told; both are IRIs, or the name of a value without one.

    Returns:
        One sentence a fault, each with the thing and the property at fault, sorted; empty if all shapes hold.

    Raises:
        ShapesError: ``pyshacl`` is not installed; everything else works without it.
        OntologyError: a shapes file cannot be read.
    """
    try:
        pyshacl = import_module("pyshacl")
    except ImportError as error:
        raise ShapesError("Shapes are checked with pyshacl, which is not installed. Install it with: pip install pyshacl") from error
    shapes = parse_turtle(shapes_files(shipped("ontology")))
    if about is not None:
        _aim(shapes, graph, about)
    conforms, report, text = pyshacl.validate(graph, shacl_graph=shapes, inference="none", inplace=False)
    if conforms:
        return []
    if not hasattr(report, "subject_objects"):
        return [str(text)]
    found, owners = _results(report), _owners(graph)
    counted = [each for each in found if counts(_at_fault(each), each.get("resultPath", ""))]
    return sorted({_sentence(each, owners) for each in counted}) or ([] if found else [str(text)])


def _aim(shapes: Graph, graph: Graph, about: Set[Node]) -> None:
    """Let shapes look at some nodes only, each shape at those of them that it would look at among all."""
    from rdflib import RDF, RDFS, SH

    classes = {node: {wider for kind in graph.objects(node, RDF.type) for wider in graph.transitive_objects(kind, RDFS.subClassOf)} for node in about}
    for shape, kind in list(shapes.subject_objects(SH.targetClass)):
        shapes.remove((shape, SH.targetClass, kind))
        for node in (node for node in about if kind in classes[node]):
            shapes.add((shape, SH.targetNode, node))
    for shape, path in list(shapes.subject_objects(SH.targetSubjectsOf)):
        shapes.remove((shape, SH.targetSubjectsOf, path))
        for node in (node for node in about if (node, path, None) in graph):
            shapes.add((shape, SH.targetNode, node))
    for shape, node in list(shapes.subject_objects(SH.targetNode)):
        if node not in about and node != RDF.Property:
            shapes.remove((shape, SH.targetNode, node))


def _results(report: Graph) -> list[dict[str, str]]:
    results: dict[str, dict[str, str]] = defaultdict(dict)
    for subject, predicate, value in report:
        results[str(subject)][str(predicate).removeprefix(_SH)] = str(value)
    return [found for found in results.values() if "focusNode" in found]


def _at_fault(found: dict[str, str]) -> str:
    """The thing or value that a result is about. A query's focus is the class of all properties; at fault is the value it brings."""
    asked = found.get("sourceConstraintComponent", "").endswith("SPARQLConstraintComponent")
    return found["value" if asked else "focusNode"]


def _sentence(found: dict[str, str], owners: dict[str, str]) -> str:
    """A result, like ``pumice, hardness: a value has one unit that is described.``"""
    focus, path = _at_fault(found), found.get("resultPath", "")
    where = [owners.get(focus) or _local(focus), _local(path) if path.startswith("http") else ""]
    return f"{', '.join(part for part in where if part)}: {found.get('resultMessage', '')}"


def _owners(graph: Graph) -> dict[str, str]:
    """For each value without a name of its own, the thing and the property that it is the value of."""
    return {str(value): f"{_local(str(subject))}, {_local(str(path))}" for subject, path, value in graph if not str(value).startswith("http")}


def _local(iri: str) -> str:
    return iri[max(iri.rfind("#"), iri.rfind("/")) + 1 :]
