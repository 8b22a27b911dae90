"""A graph as Turtle or JSON-LD text, the same to the byte for the same graph."""

import io
import json
import re
from collections import Counter
from typing import Any

from rdflib import BNode, Graph, Literal, URIRef
from rdflib.namespace import PROV, RDF, RDFS, VOID, XSD
from rdflib.plugins.serializers.turtle import TurtleSerializer
from rdflib.term import Node

from finishing_kg.export.words import PREFIXES

# What a terminal would obey or would turn round; both formats may write any character by its number within a text.
_UNSAFE = re.compile("[\x01-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")
_LOCAL = re.compile(r"[A-Za-z0-9][A-Za-z0-9._/-]*")


def to_turtle(graph: Graph) -> str:
    """Turtle, with the prefixes of the graph."""
    stream = io.BytesIO()
    _HeaderFirst(graph).serialize(stream, encoding="utf-8")
    return _numbered(stream.getvalue().decode("utf-8").strip("\n") + "\n")


def to_json_ld(graph: Graph) -> str:
    """JSON-LD that needs nothing from elsewhere: its context is in it and only shortens names."""
    return _numbered(json.dumps(_JsonLd(graph).document(), ensure_ascii=False, indent=1, allow_nan=False) + "\n")


def _numbered(text: str) -> str:
    return _UNSAFE.sub(lambda match: f"\\u{ord(match.group()):04X}", text)


class _HeaderFirst(TurtleSerializer):
    """rdflib's writer, told what a reader wants to see first: what this is, then the kinds of thing in it."""

    def __init__(self, graph: Graph) -> None:
        super().__init__(graph)
        self.topClasses = [VOID.Dataset, PROV.Bundle, RDFS.Class]


class _JsonLd:
    """Turns a graph into nested objects: lists as lists, a blank node where it is used, everything else by its name."""

    def __init__(self, graph: Graph) -> None:
        self.about: dict[Node, dict[Node, list[Node]]] = {}
        for subject, predicate, value in graph:
            self.about.setdefault(subject, {}).setdefault(predicate, []).append(value)
        self.uses: Counter[Node] = Counter(value for _, _, value in graph if isinstance(value, BNode))
        self.context = dict(PREFIXES)
        self._prefixes = sorted(((namespace, prefix) for prefix, namespace in self.context.items()), key=lambda pair: -len(pair[0]))

    def document(self) -> dict[str, Any]:
        top = [node for node in self.about if not (isinstance(node, BNode) and self.uses[node] == 1)]
        headers = (VOID.Dataset, PROV.Bundle)
        top.sort(key=lambda node: (not any(kind in headers for kind in self.about[node].get(RDF.type, ())), isinstance(node, BNode), str(node)))
        return {"@context": self.context, "@graph": [self._node(node) for node in top]}

    def _node(self, node: Node) -> dict[str, Any]:
        made: dict[str, Any] = {}
        if isinstance(node, URIRef):
            made["@id"] = self._short(node)
        elif self.uses[node] > 1:
            made["@id"] = node.n3()
        about = self.about[node]
        for predicate in sorted(about, key=lambda each: (each != RDF.type, str(each))):
            values = sorted(about[predicate], key=lambda value: value.n3())
            if predicate == RDF.type and all(isinstance(value, URIRef) for value in values):
                written: list[Any] = [self._short(value) for value in values]
                key = "@type"
            else:
                written, key = [self._value(value) for value in values], self._short(predicate)
            made[key] = written[0] if len(written) == 1 else written
        return made

    def _value(self, value: Node) -> Any:
        if isinstance(value, Literal):
            return _literal(value)
        items = self._list(value)
        if items is not None:
            return {"@list": [self._value(item) for item in items]}
        if isinstance(value, BNode):
            return self._node(value) if self.uses[value] == 1 and value in self.about else {"@id": value.n3()}
        return {"@id": self._short(value)}

    def _list(self, head: Node) -> list[Node] | None:
        """The items, if all of the list is here and nothing else points into it."""
        items, here = [], head
        while here != RDF.nil:
            about = self.about.get(here, {})
            whole = set(about) == {RDF.first, RDF.rest} and all(len(values) == 1 for values in about.values())
            if not (whole and isinstance(here, BNode) and self.uses[here] == 1):
                return None
            items.append(about[RDF.first][0])
            here = about[RDF.rest][0]
        return items

    def _short(self, node: Node) -> str:
        text = str(node)
        for namespace, prefix in self._prefixes:
            if text.startswith(namespace) and _LOCAL.fullmatch(text, len(namespace)):
                return f"{prefix}:{text[len(namespace) :]}"
        return text


def _literal(value: Literal) -> Any:
    """A JSON value of its own where JSON-LD reads it back as the same; numbers other than integers name their type."""
    if value.language:
        return {"@value": str(value), "@language": value.language}
    if value.datatype in (None, XSD.string):
        return str(value)
    if value.datatype == XSD.boolean and str(value) in ("true", "false"):
        return str(value) == "true"
    if value.datatype == XSD.integer and str(value) == str(int(str(value))):
        return int(str(value))
    return {"@value": str(value), "@type": str(value.datatype)}
