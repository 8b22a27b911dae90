"""What statements rest on, as nodes with a title and a kind of basis."""

import hashlib
import re

from rdflib import Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, RDF
from rdflib.term import Node

from finishing_kg.export.words import FK, SOURCE, needed, text_of
from finishing_kg.vocabulary import Basis

# What is published nowhere has one node each; the locator on the statement tells the rest.
_NAMELESS: dict[str, tuple[URIRef, str]] = {
    "common practice": (SOURCE["common-practice"], "Common practice of the trade"),
    "from memory": (SOURCE["memory"], "Recalled, not looked up"),
    "you said": (SOURCE["said"], "The maker's word"),
    "computed": (SOURCE["computed"], "Computed by the program"),
    "assumed": (SOURCE["assumed"], "Taken for granted where nobody said otherwise"),
}
_GROUNDS = ("you said", "computed", "assumed")
_UNNAMED = "unnamed-"


class Sources:
    """Writes bases into a graph; a source that the graph already describes is used again."""

    def __init__(self, graph: Graph) -> None:
        self.graph = graph
        self._known: dict[tuple[str | None, str | None], Node] = {}
        for node in sorted(set(graph.subjects(RDF.type, FK.Source)), key=str, reverse=True):
            self._known[text_of(graph, node, FK.basisKind), text_of(graph, node, DCTERMS.title)] = node

    def add(self, subject: Node, basis: Basis) -> Node:
        """Say what a node rests on; gives the node of the source."""
        source = self.node(basis)
        self.graph.add((subject, DCTERMS.source, source))
        if basis.locator is not None:
            self.graph.add((subject, FK.locator, Literal(basis.locator)))
        return source

    def node(self, basis: Basis) -> Node:
        """The node of a basis, without its locator."""
        if basis.source is None and basis.kind in _NAMELESS:
            node, title = _NAMELESS[basis.kind]
        elif basis.source is None:
            node, title = SOURCE[_UNNAMED + _slug(basis.kind)], f"Not named; its kind is {basis.kind}"
        else:
            title = basis.source
            known = self._known.get((basis.kind, title))
            if known is not None:
                return known
            # The digest keeps two titles apart that begin alike.
            digest = hashlib.sha256(f"{basis.kind}\n{title}".encode()).hexdigest()[:8]
            node = SOURCE["-".join(filter(None, [_slug(basis.kind), _slug(title)[:40].strip("-"), digest]))]
        self.graph.add((node, RDF.type, FK.Ground if basis.kind in _GROUNDS else FK.Source))
        self.graph.set((node, DCTERMS.title, Literal(title)))
        self.graph.set((node, FK.basisKind, Literal(basis.kind)))
        return node


def basis_of(graph: Graph, subject: Node) -> Basis:
    """What a node rests on, as it was given to ``Sources.add``.

    Raises:
        ExportUnreadable: it names no source, or one that is not described.
    """
    node = needed(graph, subject, DCTERMS.source)
    nameless = {known for known, _ in _NAMELESS.values()}
    unnamed = node in nameless or str(node).startswith(str(SOURCE) + _UNNAMED)
    title = str(needed(graph, node, DCTERMS.title))
    return Basis(str(needed(graph, node, FK.basisKind)), None if unnamed else title, text_of(graph, subject, FK.locator))


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.casefold()).strip("-")
