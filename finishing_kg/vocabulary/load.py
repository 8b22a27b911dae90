"""Turtle files to a ``Vocabulary``. rdflib is loaded here and nowhere below a command that needs it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from finishing_kg.measure import Quantity, QuantityError, Unit, Units
from finishing_kg.texts import NotReadable, text_of
from finishing_kg.vocabulary.errors import OntologyError
from finishing_kg.vocabulary.model import Basis, Claim, Name, Phrase, Shape, Vocabulary

if TYPE_CHECKING:
    from rdflib import Graph
    from rdflib.term import Node

    from finishing_kg.files import Readable

FK = "https://finishing-kg.example/onto#"
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_RDFS = "http://www.w3.org/2000/01/rdf-schema#"
_SKOS = "http://www.w3.org/2004/02/skos/core#"
_SCHEMA = "https://schema.org/"
_SOURCE = "http://purl.org/dc/terms/source"
_OWL = "http://www.w3.org/2002/07/owl#"
_TITLE = "http://purl.org/dc/terms/title"
_UNIT = "http://qudt.org/schema/qudt/unit"

# Files whose names begin so describe what may be said; they hold no things of the bench.
SHAPES = "shapes"
TEXTS = {
    FK + "how": "how",
    FK + "doneWhen": "done-when",
    FK + "beforeNext": "before-next",
    FK + "remedy": "remedy",
    FK + "purpose": "purpose",
    FK + "says": "says",
    FK + "tellBy": "tell-by",
    FK + "mix": "mix",
    FK + "pressure": "pressure",
    FK + "loses": "loses",
}


def parse_turtle(files: Iterable[Readable]) -> Graph:
    """All files as one rdflib graph.

    Raises:
        OntologyError: a file that is missing, is not text, or is not Turtle, with file and line.
    """
    from rdflib import Graph

    keep_rdflib_quiet()
    graph = Graph(bind_namespaces="none")
    for file in files:
        try:
            text = text_of(file)
        except OSError as error:
            raise OntologyError(f"{file}: cannot be read ({error.strerror}).") from error
        except NotReadable as error:
            raise OntologyError(f"{file}, line {error.line}: {error}") from error
        try:
            graph.parse(data=text, format="turtle")
        except Exception as error:  # rdflib's parser raises several unrelated kinds, its own BadSyntax among them
            line = getattr(error, "lines", None)
            line = line + 1 if isinstance(line, int) else text.count("\n") + 1  # a file that is cut off fails at its end
            why = f" ({reason.strip()})" if isinstance(reason := getattr(error, "_why", None), str) else ""
            raise OntologyError(f"{file}, line {line}: this is not Turtle{why}. Look for a missing full stop or quotation mark.") from error
    return graph


def joined(*graphs: Graph) -> Graph:
    """All that some graphs hold in one graph, in rdflib's store that is quickest to fill; SPARQL and shapes need another."""
    from rdflib import Graph

    whole = Graph(store="SimpleMemory", bind_namespaces="none")
    add = whole.store.add
    for graph in graphs:
        for triple in graph:
            add(triple, whole)
    return whole


def keep_rdflib_quiet() -> None:
    """Let rdflib print nothing: it would put what is odd, as it stands there, on the terminal. Whoever uses a graph tells what is odd about it."""
    import logging

    if not (log := logging.getLogger("rdflib")).handlers:
        log.addHandler(logging.NullHandler())


def turtle_files(folder: Path) -> list[Path]:
    """The files of an ontology folder that hold knowledge, in the order of their names."""
    return [file for file in sorted(folder.glob("*.ttl")) if not file.name.startswith(SHAPES)]


def shapes_files(folder: Path) -> list[Path]:
    """The files of an ontology folder that hold shapes, in the order of their names."""
    return sorted(folder.glob(f"{SHAPES}*.ttl"))


def load_vocabulary(folder: Path) -> Vocabulary:
    """Read a folder of Turtle.

    Raises:
        OntologyError: as ``parse_turtle``, and for a thing without label or kind, or a value without unit or source.
    """
    files = turtle_files(folder)
    if not files:
        raise OntologyError(f"{folder}: holds no Turtle files.")
    return vocabulary_of(parse_turtle(files))


def vocabulary_of(graph: Graph) -> Vocabulary:
    """The vocabulary that a graph holds.

    Raises:
        OntologyError: a thing without label or kind, or a value without unit or source.
    """
    return _Reader(graph).vocabulary()


def _number(value: object, where: str) -> Decimal:
    """A literal as an exact number."""
    try:
        number = Decimal(str(value))
    except InvalidOperation:
        number = Decimal("nan")
    if not number.is_finite():
        raise OntologyError(f"{where}: {str(value)[:40]!r} is not a number.")
    return number


def _local(node: Node | str) -> str:
    text = str(node)
    return text[max(text.rfind("#"), text.rfind("/")) + 1 :]


class _Reader:
    """One pass over a graph, held as plain dictionaries: rdflib's own lookups cost ten times as much."""

    def __init__(self, graph: Graph) -> None:
        self.about: dict[Node, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
        for subject, predicate, value in graph:
            self.about[subject][str(predicate)].append(value)
        self.nodes = sorted(self.about, key=str)
        self.kinds = {node: str(found[FK + "kind"][0]) for node, found in self.about.items() if FK + "kind" in found}
        self.phrase_nodes = {str(node): node for node, found in self.about.items() if FK + "phrase" in found}

    def vocabulary(self) -> Vocabulary:
        units = Units(self._unit(node) for node in self._of_type("Unit"))
        self.unit_symbols = {node: self._text(node, _SKOS + "prefLabel") for node in self._of_type("Unit")}
        self.sources = {node: Basis(self._text(node, FK + "basisKind"), self._text(node, _TITLE)) for node in self._of_type("Source")}
        order = sorted(self._of_type("BasisKind"), key=lambda node: _number(self._value_of(node, FK + "rank"), _local(node)))
        phrases = {_local(iri): self._phrase(node) for iri, node in sorted(self.phrase_nodes.items())}
        things = [(node, kind) for node in self.nodes if (kind := self._kind_of(node))]
        return Vocabulary(
            names={_local(node): self._name(node, kind) for node, kind in things},
            phrases=phrases,
            parents=self._parents(),
            units=units,
            claims=tuple(self._claims([node for node, _ in things])),
            basis_order=tuple(self._text(node, _SKOS + "prefLabel") for node in order),
        )

    def _of_type(self, local: str) -> list[Node]:
        return [node for node in self.nodes if any(str(kind) == FK + local for kind in self.about[node].get(_RDF + "type", ()))]

    def _text(self, node: Node, predicate: str) -> str:
        values = [str(value) for value in self.about[node].get(predicate, ()) if getattr(value, "language", None) in (None, "en")]
        if not values:
            raise OntologyError(f"{_local(node)} has no {_local(predicate)}.")
        return min(values)

    def _value_of(self, node: Node, predicate: str) -> Any:
        values = self.about[node].get(predicate)
        if not values:
            raise OntologyError(f"{_local(node)} has no {_local(predicate)}.")
        return values[0]

    def _texts(self, node: Node, predicate: str) -> tuple[str, ...]:
        return tuple(sorted(str(value) for value in self.about[node].get(predicate, ()) if getattr(value, "language", None) in (None, "en")))

    def _kind_of(self, node: Node) -> str | None:
        found = sorted(self.kinds[kind] for kind in self.about[node].get(_RDF + "type", ()) if kind in self.kinds)
        if len(found) > 1:
            raise OntologyError(f"{_local(node)} is of two kinds, {found[0]} and {found[1]}; it can be of one.")
        return found[0] if found else None

    def _parents(self) -> dict[str, str]:
        return {
            kind: self.kinds[parent]
            for node, kind in self.kinds.items()
            for parent in self.about[node].get(_RDFS + "subClassOf", ())
            if parent in self.kinds
        }

    def _unit(self, node: Node) -> Unit:
        found = self.about[node]
        pint_name = str(found[FK + "pint"][0]) if FK + "pint" in found else ""
        qudt = _local(node) if "qudt.org" in str(node) else ""
        return Unit(
            self._text(node, _SKOS + "prefLabel"),
            self._texts(node, _SKOS + "altLabel"),
            self._text(node, FK + "dimension"),
            _number(self._value_of(node, FK + "factor"), _local(node)),
            pint_name,
            qudt,
            "" if qudt else _local(node),
        )

    def _phrase(self, node: Node) -> Phrase:
        found = self.about[node]
        symbols = {unit: self._text(unit, _SKOS + "prefLabel") for unit in found.get(FK + "allowedUnit", ())}
        if strange := [unit for unit in found.get(FK + "commonUnit", ()) if unit not in symbols]:
            raise OntologyError(f"{_local(node)} has the common unit {_local(strange[0])}, which is not among its allowed units.")
        common = [symbols[unit] for unit in found.get(FK + "commonUnit", ())]
        given = found.get(FK + "givenOf", ())
        for kind in (*found.get(_SCHEMA + "domainIncludes", ()), *found.get(_SCHEMA + "rangeIncludes", ()), *given):
            if kind not in self.kinds:
                raise OntologyError(f"The phrase {self._text(node, FK + 'phrase')!r} names {_local(kind)}, which is no kind of thing.")
        return Phrase(
            id=_local(node),
            words=self._text(node, FK + "phrase"),
            shape=cast(Shape, self._text(node, FK + "shape")),
            subjects=tuple(sorted(self.kinds[kind] for kind in found.get(_SCHEMA + "domainIncludes", ()))),
            objects=tuple(sorted(self.kinds[kind] for kind in found.get(_SCHEMA + "rangeIncludes", ()))),
            units=(*common, *sorted(set(symbols.values()) - set(common))),
            by_middle=self._flag(node, "byMiddle"),
            changeable=self._flag(node, "changeable"),
            verdict=self._flag(node, "verdict"),
            proposed_through=_local(found[FK + "proposedThrough"][0]) if FK + "proposedThrough" in found else "",
            outweighs=tuple(sorted(_local(other) for other in found.get(FK + "outweighs", ()))),
            given=tuple(sorted(self.kinds[kind] for kind in given)),
            single=any(str(kind) == _OWL + "FunctionalProperty" for kind in found.get(_RDF + "type", ())),
            excludes=tuple(sorted(_local(other) for other in found.get(_OWL + "propertyDisjointWith", ()))),
        )

    def _flag(self, node: Node, local: str) -> bool:
        return any(str(value) == "true" for value in self.about[node].get(FK + local, ()))

    def _name(self, node: Node, kind: str) -> Name:
        found = self.about[node]
        local = _local(node)
        notation = str(found[_SKOS + "notation"][0]) if _SKOS + "notation" in found else local
        definitions = self._texts(node, _SKOS + "definition")
        texts = {role: self._text(node, predicate) for predicate, role in TEXTS.items() if predicate in found}
        label, alternatives = self._text(node, _SKOS + "prefLabel"), self._texts(node, _SKOS + "altLabel")
        return Name(local, notation, kind, label, alternatives, definitions[0] if definitions else "", texts, self._flag(node, "commonlyStocked"))

    def _claims(self, things: list[Node]) -> list[Claim]:
        known = set(things)
        own = self._bases_of_statements()
        claims: list[Claim] = []
        for node in things:
            for predicate in sorted(set(self.about[node]) & set(self.phrase_nodes)):
                for value in sorted(self.about[node][predicate], key=str):
                    local = _local(predicate)
                    if value in known:
                        basis = own.get((node, predicate, value)) or self._basis(node)
                        claims.append(Claim(local, _local(node), _local(value), basis))
                    elif value in self.about:
                        claims.append(Claim(local, _local(node), self._value(value, node, local), self._basis(value)))
                    elif str(value) == "true":
                        basis = own.get((node, predicate, value)) or self._basis(node)
                        claims.append(Claim(local, _local(node), None, basis))
                    else:
                        raise OntologyError(
                            f"{_local(node)}, {local}: {str(value)[:60]!r} is neither a known thing, a value with unit and source, nor true."
                        )
        return claims

    def _bases_of_statements(self) -> dict[tuple[Node, str, Node], Basis]:
        bases = {}
        for node in self.nodes:
            found = self.about[node]
            if any(str(kind) == _RDF + "Statement" for kind in found.get(_RDF + "type", ())):
                about, said, what = (self._value_of(node, _RDF + part) for part in ("subject", "predicate", "object"))
                bases[about, str(said), what] = self._basis(node)
        return bases

    def _basis(self, node: Node) -> Basis:
        found = self.about[node]
        if _SOURCE not in found:
            raise OntologyError(f"{_local(node)} has no source; common practice and memory are sources too.")
        source = min(found[_SOURCE], key=str)
        if source not in self.sources:
            raise OntologyError(f"{_local(node)} names the source {_local(source)}, which is not described.")
        held = self.sources[source]
        locator = str(found[FK + "locator"][0]) if FK + "locator" in found else None
        return Basis(held.kind, None if held.kind in ("common practice", "from memory") else held.source, locator)

    def _value(self, node: Node, subject: Node, local: str) -> Quantity:
        found = self.about[node]
        where = f"{_local(subject)}, {local}"
        if _UNIT not in found or found[_UNIT][0] not in self.unit_symbols:
            raise OntologyError(f"{where}: the value has no unit that is described.")
        symbol = self.unit_symbols[found[_UNIT][0]]
        numbers = {part: _number(found[FK + part][0], where) for part in ("low", "mid", "high") if FK + part in found}
        if "low" in numbers and "high" in numbers:
            try:
                return Quantity.between(numbers["low"], numbers["high"], symbol, numbers.get("mid"))
            except QuantityError as error:
                raise OntologyError(f"{where}: {error}") from error
        if set(numbers) == {"mid"}:
            return Quantity(numbers["mid"], symbol)
        raise OntologyError(f"{where}: a value is fk:mid alone, or fk:low and fk:high, with or without fk:mid.")
