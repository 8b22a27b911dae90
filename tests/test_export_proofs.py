"""Proofs as PROV-O: read back they are the same, and the checker accepts them as it did before."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import case_files
import pytest
from effort import WHOLE, one_in
from graphs import same
from hypothesis import given, settings
from rdflib import Graph, Literal
from rdflib.namespace import PROV, RDF
from strategies import FACT, INVENTED, fact_sets, rule_sets

from finishing_kg.advice import check_plan
from finishing_kg.advice.reasons import Reasons
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, Prover, evaluate
from finishing_kg.export import ExportUnreadable, export_proofs, read_proofs, to_json_ld, to_turtle
from finishing_kg.export.words import FK, PROOF, RULE, SWRL
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Computation, Fact, Proof, ProofChecker
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Language, Statement
from finishing_kg.vocabulary import Basis

CASES = [case for sort in ("question", "dialogue", "setup") for case in case_files.load(sort)]
# All proofs of all cases take minutes; otherwise some cases stand for the rest.
PARCELS = Language(INVENTED)
Shown = list[tuple[Reasons, Proof]]


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> Shown:
    """The proofs that answers are given with, each beside what its checker knows, as they come."""
    found: Shown = []
    add = Reasons.add

    def noticed(reasons: Reasons, proof: Proof) -> str:
        found.append((reasons, proof))
        return add(reasons, proof)

    monkeypatch.setattr(Reasons, "add", noticed)
    return found


def answer(knowledge: Knowledge, case: dict[str, Any], folder: Path) -> None:
    """Run a case."""
    if "plan" in case:
        (folder / "plan.toml").write_text(case["plan"], encoding="utf-8")
        check_plan(knowledge, folder / "plan.toml")
        return
    dialogue = Dialogue(knowledge)
    for turn in case.get("turns") or [case["ask"]]:
        dialogue.say(turn)


def steps(proofs: list[Proof]) -> Iterator[tuple[object, ...]]:
    """Every step of some proofs, premises as conclusions: whole trees would be compared again and again."""
    for proof in proofs:
        for step in proof.walk():
            premises = tuple(premise.statement for premise in step.premises)
            yield step.statement, step.rule, step.bindings, premises, step.compared, step.absent, step.fact


def unlike(proofs: list[Proof]) -> list[Proof]:
    """Of proofs whose last two steps follow the same rules the first; all of them where time does not matter."""
    if WHOLE:
        return proofs
    return list({(proof.rule, *(premise.rule for premise in proof.premises)): proof for proof in reversed(proofs)}.values())


def test_the_proofs_of_cases_pass_after_reading_back(knowledge: Knowledge, shown: Shown, tmp_path: Path) -> None:
    """Proofs that a case's answer shows are the same after a way through Turtle, and the checker accepts them."""
    checked = 0
    for case in one_in(32, CASES):
        shown.clear()
        answer(knowledge, case, tmp_path)
        by_reasons: dict[int, tuple[Reasons, list[Proof]]] = {}
        for reasons, proof in shown:
            by_reasons.setdefault(id(reasons), (reasons, []))[1].append(proof)
        for reasons, every in by_reasons.values():
            proofs = unlike(every)
            graph = Graph().parse(data=to_turtle(export_proofs(knowledge, proofs)), format="turtle")
            again = read_proofs(graph, knowledge.language)
            old = reasons.grounds.checker
            fresh = ProofChecker(old.vocabulary, old.rules, old.facts, old.computations)
            assert [fresh.fault(proof) for proof in again] == [None] * len(proofs), case["id"]
            assert set(steps(again)) == set(steps(proofs)), case["id"]
            checked += len(again)
    assert checked > 100


def parcels(rules: list[Rule]) -> Knowledge:
    """Rules of another trade."""
    return Knowledge(INVENTED, PARCELS, make_base(rules))


@given(rule_sets(), fact_sets())
@settings(max_examples=25)
def test_any_proofs_pass_after_reading_back(rules: list[Rule], facts: dict[Statement, Fact]) -> None:
    """All that follows from any rules comes back through JSON-LD as it was, in its order, and is accepted."""
    knowledge = parcels(rules)
    model = evaluate(INVENTED, knowledge.base, facts)
    prover = Prover(model)
    proofs = [proof for statement in sorted(model.statements(), key=str)[:40] for proof in prover.proofs(statement)]
    again = read_proofs(Graph().parse(data=to_json_ld(export_proofs(knowledge, proofs)), format="json-ld"), PARCELS)
    assert [proof.statement for proof in again] == [proof.statement for proof in proofs]
    assert set(steps(again)) == set(steps(proofs))
    checker = ProofChecker(INVENTED, knowledge.base.by_id, facts, {})
    assert [checker.fault(proof) for proof in again] == [None] * len(proofs)


def rule(conditions: str, then: str) -> Rule:
    """A rule from sentences parted by semicolons."""
    parts = [tuple(PARCELS.parse(sentence) for sentence in part.split(";")) for part in (conditions, then)]
    return Rule("carried-over", "test", "test.toml", 1, parts[0], (), parts[1], "Because it is so.", FACT.basis)


CARRIED = rule("?x lies on ?y; the width of ?x is above 2 mm", "?x is somewhere over ?y")
FACTS = {PARCELS.parse("parcel p1 lies on parcel p2"): FACT, PARCELS.parse("the width of parcel p1 is 3 to 5 mm"): FACT}


def exported() -> Graph:
    """The proof of one step by ``CARRIED``."""
    knowledge = parcels([CARRIED])
    return export_proofs(knowledge, [Prover(evaluate(INVENTED, knowledge.base, FACTS)).proof(PARCELS.parse("parcel p1 is somewhere over parcel p2"))])


def fault_of(graph: Graph) -> str | None:
    """What the checker says to the proof in a graph."""
    (proof,) = read_proofs(graph, PARCELS)
    return ProofChecker(INVENTED, {CARRIED.id: CARRIED}, FACTS, {}).fault(proof)


def test_an_altered_proof_is_not_accepted() -> None:
    """Whoever changes a number, a name, the rule or the source in the file is found out by the checker."""
    assert fault_of(exported()) is None
    for predicate, old, new in (
        (FK.low, Literal(3), Literal(1)),
        (SWRL.argument2, FK.p2, FK.p3),
        (RDF.value, FK.p1, FK.p3),
        (FK.outcome, Literal("holds"), Literal("unknown")),
        (PROV.hadPlan, RULE["carried-over"], RULE["another"]),
    ):
        graph = exported()
        altered = list(graph.subjects(predicate, old))
        assert altered, predicate
        for subject in altered[:1]:
            graph.remove((subject, predicate, old))
            graph.add((subject, predicate, new))
        assert fault_of(graph) is not None, predicate


def test_whoever_knows_only_prov_can_follow_it() -> None:
    """A conclusion was generated by an activity that used its premises, by the rule as its plan; leaves name a source."""
    graph = exported()
    (made,) = graph.subjects(RDF.type, FK.Inference)
    assert (made, RDF.type, PROV.Activity) in graph
    used = set(graph.objects(made, PROV.used))
    (conclusion,) = graph.subjects(PROV.wasGeneratedBy, made)
    assert used == set(graph.objects(conclusion, PROV.wasDerivedFrom)) and len(used) == 2
    assert {str(graph.value(node, RDF.value)) for node in used} == {PARCELS.print(statement) for statement in FACTS}
    assert all(any((source, RDF.type, PROV.Entity) in graph for source in graph.objects(node, PROV.wasDerivedFrom)) for node in used)
    (plan,) = graph.objects(None, PROV.hadPlan)
    assert plan == RULE[CARRIED.id]


def test_a_computed_value_keeps_its_computation() -> None:
    """Function, inputs and the statements that they come from come back in their order."""
    statement = PARCELS.parse("the width of parcel p1 is 3 to 5 mm")
    computation = Computation("twice", (Quantity.of("1.5", "mm"), Quantity.between(2, 9, "µm", 3)), tuple(FACTS))
    proof = Proof(statement, fact=Fact(Basis("computed", None, "from others"), computation))
    for write, name in ((to_turtle, "turtle"), (to_json_ld, "json-ld")):
        graph = Graph().parse(data=write(export_proofs(parcels([]), [proof])), format=name)
        assert read_proofs(graph, PARCELS) == [proof]


def test_a_deep_proof_is_no_trouble() -> None:
    """A proof deeper than Python's stack is written and read; a step that two conclusions share is written once."""
    proof = Proof(PARCELS.parse("parcel p0 is open"), fact=FACT)
    for number in range(3000):
        proof = Proof(PARCELS.parse(f"parcel p{number % 4} is safe"), rule=f"r{number}", premises=(proof, proof))
    graph = export_proofs(parcels([]), [proof, proof])
    assert len(set(graph.subjects(RDF.type, FK.Inference))) == 3000
    first, second = read_proofs(graph, PARCELS)
    assert first is second and sum(1 for _ in first.walk()) == 3001


def test_a_circle_is_refused() -> None:
    """A graph in which a statement rests on itself is not read for ever."""
    graph = exported()
    (made,) = graph.subjects(RDF.type, FK.Inference)
    (conclusion,) = graph.subjects(PROV.wasGeneratedBy, made)
    cell = graph.value(made, FK.premises)
    assert cell is not None
    graph.set((cell, RDF.first, conclusion))
    with pytest.raises(ExportUnreadable, match="rests on itself"):
        read_proofs(graph, PARCELS)


def test_what_is_missing_is_named() -> None:
    """A graph that lacks a part is refused with the node and the property."""
    graph = exported()
    graph.remove((None, PROV.hadPlan, None))
    with pytest.raises(ExportUnreadable, match="hadPlan"):
        read_proofs(graph, PARCELS)


def test_the_same_proof_gives_the_same_text() -> None:
    """Two exports of a proof are the same to the byte, and reading and writing again changes nothing."""
    assert to_turtle(exported()) == to_turtle(exported())
    again = export_proofs(parcels([CARRIED]), read_proofs(exported(), PARCELS))
    assert to_turtle(again) == to_turtle(exported()) and same(again, exported())
    assert (PROOF.r1, RDF.type, PROV.Entity) in again
