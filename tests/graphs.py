"""Comparing graphs that differ in nothing but the labels of blank nodes.

rdflib's comparison takes minutes on a graph with a thousand blank nodes, so it is put to the parts that hang together
through blank nodes, one by one; what has no blank node is compared as it is.
"""

from collections import Counter

from rdflib import BNode, Graph
from rdflib.compare import to_canonical_graph
from rdflib.term import Node

Triples = frozenset[tuple[Node, Node, Node]]


def same(one: Graph, other: Graph) -> bool:
    """Whether two graphs are isomorphic."""
    return _parts(one) == _parts(other)


def _parts(graph: Graph) -> tuple[Triples, Counter[Triples]]:
    top: dict[Node, Node] = {}

    def head(node: Node) -> Node:
        while top.setdefault(node, node) != node:
            node = top[node]
        return node

    ground, hanging = set(), []
    for triple in graph:
        blanks = [node for node in triple if isinstance(node, BNode)]
        for node in blanks:
            top[head(node)] = head(blanks[0])
        if blanks:
            hanging.append((blanks[0], triple))
        else:
            ground.add(triple)
    parts: dict[Node, Graph] = {}
    for node, triple in hanging:
        parts.setdefault(head(node), Graph(bind_namespaces="none")).add(triple)
    return frozenset(ground), Counter(frozenset(to_canonical_graph(part)) for part in parts.values())
