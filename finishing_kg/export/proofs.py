"""Proofs as PROV-O, and back: what was shown can be kept, sent on, and checked again by whoever receives it.

A statement is an entity; a rule's application is an activity that used its premises and followed the rule as its plan.
"""

from collections.abc import Iterable, Iterator
from typing import cast

from rdflib import Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, PROV, RDF
from rdflib.term import Node

from finishing_kg.engine import Knowledge
from finishing_kg.export.graph import add_program, say_in_open_vocabularies
from finishing_kg.export.rules import variable_of
from finishing_kg.export.sentences import SentenceReader, SentenceWriter
from finishing_kg.export.sources import Sources, basis_of
from finishing_kg.export.words import (
    FK,
    HOME,
    PROGRAM,
    PROOF,
    RULE,
    SWRL,
    ExportUnreadable,
    add_list,
    blank,
    empty_graph,
    identifier_of,
    iri,
    list_of,
    needed,
)
from finishing_kg.measure import Quantity
from finishing_kg.places import shipped
from finishing_kg.proofs import Compared, Computation, Fact, Proof
from finishing_kg.statements import Comparison, Language, Statement, Variable
from finishing_kg.vocabulary.load import parse_turtle

BUNDLE = URIRef(f"{HOME}proof")
TERMS = "terms.ttl"


def export_proofs(knowledge: Knowledge, proofs: Iterable[Proof]) -> Graph:
    """Proofs and all that they rest on as one graph. The rules that they name are in ``export_graph``.

    Args:
        knowledge: for the words of the sentences.
        proofs: those that are to be shown, in their order; steps that they share are written once.
    """
    graph = empty_graph()
    add_program(graph)
    writer = _Writer(graph, knowledge.language)
    graph.add((BUNDLE, RDF.type, PROV.Bundle))
    graph.add((BUNDLE, RDF.type, PROV.Entity))
    add_list(graph, BUNDLE, FK.shows, [writer.node(proof) for proof in proofs])
    say_in_open_vocabularies(graph, parse_turtle([shipped("ontology") / TERMS]))
    return graph


class _Writer:
    def __init__(self, graph: Graph, language: Language) -> None:
        self.graph = graph
        self.sentences, self.sources = SentenceWriter(graph, language), Sources(graph)
        self._by_identity: dict[int, URIRef] = {}
        self._by_content: dict[tuple[object, ...], URIRef] = {}
        self._kept: list[Proof] = []  # so that an identity stays one proof's

    def node(self, proof: Proof) -> URIRef:
        """The node of a proof; premises are written first and not by recursion, since a proof may be deeper than the stack."""
        work = [proof]
        while work:
            here = work[-1]
            waiting = [premise for premise in here.premises if id(premise) not in self._by_identity]
            if id(here) in self._by_identity or not waiting:
                work.pop()
                self._written(here)
            else:
                work += reversed(waiting)
        return self._by_identity[id(proof)]

    def _written(self, proof: Proof) -> None:
        if id(proof) in self._by_identity:
            return
        premises = tuple(self._by_identity[id(premise)] for premise in proof.premises)
        content = (proof.statement, proof.rule, proof.bindings, premises, proof.compared, proof.absent, proof.fact)
        node = self._by_content.get(content)
        if node is None:
            node = self._by_content[content] = PROOF[f"r{len(self._by_content) + 1}"]
            self._write(node, proof, premises)
        self._by_identity[id(proof)] = node
        self._kept.append(proof)

    def _write(self, node: URIRef, proof: Proof, premises: tuple[URIRef, ...]) -> None:
        variable = variable_of(proof.rule or "")
        self.graph.add((node, RDF.type, PROV.Entity))
        self.sentences.write(node, proof.statement, variable)
        if proof.fact is not None:
            self._write_fact(node, proof.fact)
            return
        made = self._made_by(node, FK.Inference)
        association = blank("association", str(node))
        self.graph.add((made, PROV.qualifiedAssociation, association))
        self.graph.add((association, RDF.type, PROV.Association))
        self.graph.add((association, PROV.agent, PROGRAM))
        self.graph.add((association, PROV.hadPlan, RULE[proof.rule or ""]))
        for premise in premises:
            self.graph.add((made, PROV.used, premise))
            self.graph.add((node, PROV.wasDerivedFrom, premise))
        add_list(self.graph, made, FK.premises, premises)
        add_list(self.graph, made, FK.bindings, [self._binding(node, name, value, proof) for name, value in proof.bindings])
        add_list(self.graph, made, FK.compared, [self._compared(node, index, each) for index, each in enumerate(proof.compared, 1)])
        add_list(self.graph, made, FK.absent, self._sentences(node, "absent", proof.absent, proof.rule or ""))

    def _made_by(self, node: URIRef, kind: URIRef) -> URIRef:
        made = URIRef(f"{node}.made")
        self.graph.add((node, PROV.wasGeneratedBy, made))
        self.graph.add((made, RDF.type, kind))
        self.graph.add((made, PROV.wasAssociatedWith, PROGRAM))
        return made

    def _binding(self, node: URIRef, name: str, value: str | Quantity, proof: Proof) -> Node:
        binding = blank("binding", str(node), name)
        variable = variable_of(proof.rule or "")
        self.graph.add((binding, FK.variable, self.sentences.term(Variable(name), variable, None)))
        self.graph.add((binding, RDF.value, self.sentences.term(value, variable, None, str(node), "binding", name)))
        return binding

    def _compared(self, node: URIRef, index: int, made: Compared) -> Node:
        comparison = blank("compared", str(node), str(index))
        self.graph.add((comparison, SWRL.propertyPredicate, iri(made.predicate)))
        self.graph.add((comparison, FK.left, self.sentences.quantity(made.left, None, str(node), str(index), "left")))
        self.graph.add((comparison, FK.comparison, Literal(made.operator)))
        self.graph.add((comparison, FK.right, self.sentences.quantity(made.right, None, str(node), str(index), "right")))
        self.graph.add((comparison, FK.outcome, Literal(made.outcome)))
        return comparison

    def _sentences(self, node: URIRef, key: str, statements: tuple[Statement, ...], rule: str) -> list[Node]:
        places: list[Node] = []
        for index, statement in enumerate(statements, 1):
            place = URIRef(f"{node}.{key}.{index}")
            self.sentences.write(place, statement, variable_of(rule))
            places.append(place)
        return places

    def _write_fact(self, node: URIRef, fact: Fact) -> None:
        self.sources.add(node, fact.basis)
        if fact.computation is None:
            return
        made = self._made_by(node, FK.Computation)
        self.graph.add((made, DCTERMS.identifier, Literal(fact.computation.function)))
        inputs = [self.sentences.quantity(each, None, str(node), "input", str(index)) for index, each in enumerate(fact.computation.inputs, 1)]
        add_list(self.graph, made, FK.inputs, inputs)
        add_list(self.graph, made, FK.inputStatements, self._sentences(node, "input", fact.computation.sources, ""))


def read_proofs(graph: Graph, language: Language) -> list[Proof]:
    """The proofs of a graph that ``export_proofs`` made, in their order; nothing in them has been checked.

    Raises:
        ExportUnreadable: something that a proof has is missing, or a statement rests on itself.
    """
    reader = _Reader(graph, language)
    return [reader.proof(node) for node in list_of(graph, BUNDLE, FK.shows)]


class _Reader:
    def __init__(self, graph: Graph, language: Language) -> None:
        self.graph, self.sentences = graph, SentenceReader(graph, language)
        self._proofs: dict[Node, Proof] = {}

    def proof(self, node: Node) -> Proof:
        work, above = [node], set[Node]()
        while work:
            here = work[-1]
            waiting = [premise for premise in self._premises(here) if premise not in self._proofs]
            if here in self._proofs or not waiting:
                work.pop()
                above.discard(here)
                if here not in self._proofs:
                    self._proofs[here] = self._read(here)
            elif here in above:
                raise ExportUnreadable(f"{here} rests on itself.")
            else:
                above.add(here)
                work += reversed(waiting)
        return self._proofs[node]

    def _made_by(self, node: Node, kind: URIRef) -> Node | None:
        made = self.graph.value(node, PROV.wasGeneratedBy)
        return made if made is not None and (made, RDF.type, kind) in self.graph else None

    def _premises(self, node: Node) -> Iterator[Node]:
        made = self._made_by(node, FK.Inference)
        return iter(()) if made is None else list_of(self.graph, made, FK.premises)

    def _read(self, node: Node) -> Proof:
        statement = self.sentences.read(node)
        made = self._made_by(node, FK.Inference)
        if made is None:
            return Proof(statement, fact=Fact(basis_of(self.graph, node), self._computation(node)))
        plan = needed(self.graph, needed(self.graph, made, PROV.qualifiedAssociation), PROV.hadPlan)
        return Proof(
            statement,
            rule=str(plan).removeprefix(str(RULE)),
            bindings=tuple(self._binding(each) for each in list_of(self.graph, made, FK.bindings)),
            premises=tuple(self._proofs[premise] for premise in self._premises(node)),
            compared=tuple(self._compared(each) for each in list_of(self.graph, made, FK.compared)),
            absent=tuple(self.sentences.read(each) for each in list_of(self.graph, made, FK.absent)),
        )

    def _binding(self, node: Node) -> tuple[str, str | Quantity]:
        variable = self.sentences.term(needed(self.graph, node, FK.variable))
        value = self.sentences.term(needed(self.graph, node, RDF.value))
        if not isinstance(variable, Variable) or not isinstance(value, str | Quantity):
            raise ExportUnreadable(f"{node} does not bind a variable to a thing or a quantity.")
        return variable.name, value

    def _compared(self, node: Node) -> Compared:
        outcome = str(needed(self.graph, node, FK.outcome))
        return Compared(
            identifier_of(needed(self.graph, node, SWRL.propertyPredicate)),
            self.sentences.quantity(needed(self.graph, node, FK.left)),
            cast(Comparison, str(needed(self.graph, node, FK.comparison))),
            self.sentences.quantity(needed(self.graph, node, FK.right)),
            "unknown" if outcome == "unknown" else "holds",
        )

    def _computation(self, node: Node) -> Computation | None:
        made = self._made_by(node, FK.Computation)
        if made is None:
            return None
        return Computation(
            str(needed(self.graph, made, DCTERMS.identifier)),
            tuple(self.sentences.quantity(each) for each in list_of(self.graph, made, FK.inputs)),
            tuple(self.sentences.read(each) for each in list_of(self.graph, made, FK.inputStatements)),
        )
