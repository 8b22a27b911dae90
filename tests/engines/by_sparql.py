"""Oxigraph (``pyoxigraph``, MIT or Apache-2.0): each rule as a SPARQL CONSTRUCT, stratum by stratum to a fixpoint."""

from collections.abc import Iterable

from pyoxigraph import DefaultGraph, NamedNode, Quad, Store, Triple

from engines.program import Atom, Clause, Program, Row, Stratum

_TRUE = NamedNode("urn:true")


class Oxigraph:
    """Derives once what no question of the kind asked can change, and for a question the rest, which it takes back before the next.

    Args:
        program: what to derive from.
        changing: the predicates that questions speak of; all of them unless given.
    """

    def __init__(self, program: Program, changing: Iterable[int] | None = None) -> None:
        self.program = program
        self._store = Store()
        self._nodes: dict[str, NamedNode] = {}
        self._added: list[Quad] = []
        self._store.extend(map(self._quad, program.static_rows))
        unsettled = set(range(len(program.arities))) if changing is None else program.depending(changing)
        self._strata: list[tuple[Stratum, list[str]]] = []
        for stratum in program.strata:
            late = any(head.predicate in unsettled for clause in stratum.clauses for head in clause.heads)
            ready = (stratum, [_construct(clause) for clause in stratum.clauses])
            if late:
                self._strata.append(ready)
            else:
                self._settle(*ready)
        self._added = []

    def ask(self, rows: Iterable[Row]) -> None:
        """Derive all that follows with a question's rows, after taking the last question back."""
        for quad in self._added:
            self._store.remove(quad)
        self._added = [quad for quad in map(self._quad, rows) if quad not in self._store]
        self._store.extend(self._added)
        for stratum, queries in self._strata:
            self._settle(stratum, queries)

    def conclusions(self) -> set[Row]:
        """Everything that holds."""
        spoken = set(self.program.spoken())
        found = set()
        for quad in self._store:
            predicate, subject = int(quad.predicate.value[6:]), int(quad.subject.value[6:])
            if predicate in spoken:
                found.add((predicate, subject) if quad.object == _TRUE else (predicate, subject, int(quad.object.value[6:])))
        return found

    def _settle(self, stratum: Stratum, queries: list[str]) -> None:
        while True:
            before = len(self._added)
            for query in queries:
                made: Iterable[Triple] = self._store.query(query)
                fresh = [quad for quad in (Quad(*triple, DefaultGraph()) for triple in set(made)) if quad not in self._store]
                self._store.extend(fresh)
                self._added += fresh
            if not stratum.recursive or len(self._added) == before:
                return

    def _quad(self, row: Row) -> Quad:
        return Quad(
            self._node(f"urn:n:{row[1]}"),
            self._node(f"urn:p:{row[0]}"),
            self._node(f"urn:n:{row[2]}") if len(row) == 3 else _TRUE,
            DefaultGraph(),
        )

    def _node(self, name: str) -> NamedNode:
        found = self._nodes.get(name)
        if found is None:
            found = self._nodes[name] = NamedNode(name)
        return found


def _pattern(atom: Atom) -> str:
    terms = [f"?{term}" if isinstance(term, str) else f"<urn:n:{term}>" for term in atom.terms]
    return f"{terms[0]} <urn:p:{atom.predicate}> {terms[1] if len(terms) == 2 else '<urn:true>'} ."


def _construct(clause: Clause) -> str:
    parts = list(map(_pattern, clause.body))
    parts += [f"FILTER NOT EXISTS {{ {' '.join(map(_pattern, block))} }}" for block in clause.blocks]
    return f"CONSTRUCT {{ {' '.join(map(_pattern, clause.heads))} }} WHERE {{ {' '.join(parts)} }}"
