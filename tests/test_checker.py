"""The proof checker accepts what the engine proves, and nothing that was altered."""

import ast
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import FACT, INVENTED, PARCELS, fact_sets, rule_sets
from test_engine import OVER, conclude, rule

import finishing_kg.proofs
from finishing_kg.engine import Model, Prover, evaluate
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Computation, Fact, Proof, ProofChecker
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement, Variable
from finishing_kg.vocabulary import Basis

OTHER = "p-other"


def checker(model: Model) -> ProofChecker:
    """A checker for a model's facts and rules."""
    return ProofChecker(INVENTED, model.base.by_id, model.facts, {})


def model_of(rules: list[Rule], facts: dict[Statement, Fact]) -> Model:
    """All that follows."""
    return evaluate(INVENTED, make_base(rules), facts)


@given(rule_sets(), fact_sets())
def test_every_proof_is_accepted(rules: list[Rule], facts: dict[Statement, Fact]) -> None:
    """All proofs of all statements pass, each also in a checker that has seen no other."""
    model = model_of(rules, facts)
    prover, patient = Prover(model), checker(model)
    for number, statement in enumerate(sorted(model.statements(), key=str)):
        for proof in prover.proofs(statement):
            assert patient.fault(proof) is None
            if number < 3:
                assert checker(model).fault(proof) is None


def _swapped(value: str | Quantity) -> str | Quantity:
    return OTHER if isinstance(value, str) else replace(value, mid=value.mid + 1000, low=None, high=None)


class Altering:
    """One step of a proof with one thing altered, chosen by ``draw``."""

    def __init__(self, draw: st.DrawFn, node: Proof, model: Model) -> None:
        self.draw, self.node, self.model = draw, node, model

    def changed(self, part: str, change: Callable[[Any], Any]) -> Proof:
        """The step with one element of a part changed."""
        things = getattr(self.node, part)
        at = self.draw(st.integers(0, len(things) - 1))
        return replace(self.node, **{part: (*things[:at], change(things[at]), *things[at + 1 :])})

    def dropped(self, part: str) -> Proof:
        """The step with one element of a part left out."""
        things = getattr(self.node, part)
        at = self.draw(st.integers(0, len(things) - 1))
        return replace(self.node, **{part: (*things[:at], *things[at + 1 :])})

    def other_rule(self) -> Proof:
        """The step by another rule of the base."""
        return replace(self.node, rule=self.draw(st.sampled_from([one for one in self.model.base.by_id if one != self.node.rule])))

    def other_fact(self) -> Proof:
        """A leaf that rests on something else."""
        return replace(self.node, fact=self.draw(st.sampled_from([None, Fact(Basis("standard")), Fact(FACT.basis, Computation("twice", ()))])))


TURNED = {"above": "below", "below": "above", "at least": "at most", "at most": "at least"}
OUTCOMES = {"holds": "unknown", "unknown": "holds"}
LEAF_WAYS: dict[str, Callable[[Altering], Proof]] = {
    "fact": Altering.other_fact,
    "fact with a derivation": lambda step: replace(step.node, premises=(step.node,)),
    "fact of something else": lambda step: replace(step.node, statement=step.node.statement._replace(subject=OTHER)),
}
STEP_WAYS: dict[str, Callable[[Altering], Proof]] = {
    "statement": lambda step: replace(step.node, statement=step.node.statement._replace(subject=OTHER)),
    "unknown rule": lambda step: replace(step.node, rule="no-such-rule"),
    "no rule": lambda step: replace(step.node, rule=None),
    "other rule": Altering.other_rule,
    "given as fact": lambda step: Proof(step.node.statement, fact=FACT),
    "binding": lambda step: step.changed("bindings", lambda pair: (pair[0], _swapped(pair[1]))),
    "binding dropped": lambda step: step.dropped("bindings"),
    "binding added": lambda step: replace(step.node, bindings=(*step.node.bindings, ("zz", OTHER))),
    "premise": lambda step: step.changed("premises", lambda premise: Proof(premise.statement._replace(subject=OTHER), fact=FACT)),
    "premise dropped": lambda step: step.dropped("premises"),
    "premise added": lambda step: replace(step.node, premises=(*step.node.premises, step.node.premises[0])),
}
COMPARED_WAYS: dict[str, Callable[[Altering], Proof]] = {
    "left": lambda step: step.changed("compared", lambda made: replace(made, left=_swapped(made.left))),
    "right": lambda step: step.changed("compared", lambda made: replace(made, right=_swapped(made.right))),
    "operator": lambda step: step.changed("compared", lambda made: replace(made, operator=TURNED[made.operator])),
    "property": lambda step: step.changed("compared", lambda made: replace(made, predicate="weight")),
    "outcome": lambda step: step.changed("compared", lambda made: replace(made, outcome=OUTCOMES[made.outcome])),
    "comparison dropped": lambda step: step.dropped("compared"),
}
ABSENT_WAYS: dict[str, Callable[[Altering], Proof]] = {
    "absent": lambda step: step.changed("absent", lambda absent: absent._replace(subject=OTHER)),
    "absent dropped": lambda step: step.dropped("absent"),
}
WAYS = {**LEAF_WAYS, **STEP_WAYS, **COMPARED_WAYS, **ABSENT_WAYS}


def _has(node: Proof, way: str) -> bool:
    """Whether a step has what is to be altered."""
    if way in LEAF_WAYS:
        return node.rule is None
    return bool(node.compared if way in COMPARED_WAYS else node.absent if way in ABSENT_WAYS else node.rule)


# Situations in which each way has something to alter, so that no way goes untried.
RICH = [
    *OVER,
    rule("deep", "?x is somewhere over ?y;the depth of ?x is above ?v;the width of ?y is ?v", "?x is sent", "?x is open;?any lies on ?x"),
    rule("wide", "the width of ?x is at least 1 mm;?x lies on ?y", "?x is lost", "?y is somewhere over ?x", safety=True),
    rule("kept", "?x lies on ?y", "?x is moved to shelf 0", "?x is safe;?any is open"),
]
RICH_FACTS = (
    "parcel p0 lies on parcel p1",
    "parcel p1 lies on parcel p2",
    "the depth of parcel p0 is 3 mm",
    "the width of parcel p1 is 500 to 1500 µm",
    "the width of parcel p0 is 2 mm",
)


def with_rich(rules: list[Rule], facts: dict[Statement, Fact]) -> Model:
    """What follows from random rules and facts together with the fixed ones."""
    return model_of([*RICH, *rules], {**conclude([], *RICH_FACTS).facts, **facts})


def _rebuilt(root: Proof, old: Proof, new: Proof) -> Proof:
    """The proof with one step exchanged."""
    return new if root is old else replace(root, premises=tuple(_rebuilt(premise, old, new) for premise in root.premises))


def _steps(model: Model, way: str) -> list[tuple[Proof, Proof]]:
    """All proofs with each of their steps that can be altered in this way."""
    prover = Prover(model)
    proofs = [proof for statement in sorted(model.statements(), key=str) for proof in prover.proofs(statement)]
    return [(root, node) for root in proofs for node in root.walk() if _has(node, way)]


def _same_rule(model: Model, node: Proof, other: str) -> bool:
    """Whether another rule, so filled, says the very same, so that it proves it as well."""
    known = dict(node.bindings)

    def said(one: Rule) -> tuple[object, ...]:
        variables = {name for sentence in (*one.conditions, *one.conclusions) for name in sentence.variables()}
        return [sentence.filled(known) for sentence in one.conditions], [sentence.filled(known) for sentence in one.exceptions], variables

    mine, its = (model.base.by_id[name] for name in (str(node.rule), other))
    return said(mine) == said(its) and node.statement in [conclusion.filled(known) for conclusion in its.conclusions]


@pytest.mark.parametrize("way", WAYS)
@given(data=st.data())
def test_an_altered_proof_is_rejected(way: str, data: st.DataObject) -> None:
    """One thing altered in one step, at the root or below it, and the proof is refused."""
    model = with_rich(data.draw(rule_sets(4)), data.draw(fact_sets()) if data.draw(st.booleans()) else {})
    steps = _steps(model, way)
    if not steps:  # the random facts block what would have it
        model = with_rich([], {})
        steps = _steps(model, way)
    root, node = data.draw(st.sampled_from(steps))
    altered = WAYS[way](Altering(data.draw, node, model))
    if way == "other rule":
        assume(not _same_rule(model, node, str(altered.rule)))
    assert checker(model).fault(altered) is not None
    assert checker(model).fault(_rebuilt(root, node, altered)) is not None
    patient = checker(model)
    assert patient.fault(root) is None
    assert patient.fault(_rebuilt(root, node, altered)) is not None


def test_every_way_is_tried() -> None:
    """The fixed situation has bindings, comparisons, an unknown one, absent statements, and depth."""
    model = conclude(RICH, *RICH_FACTS)
    steps = [node for statement in model.statements() for node in Prover(model).proof(statement).walk()]
    assert {made.outcome for node in steps for made in node.compared} == {"holds", "unknown"}
    assert any(node.absent for node in steps) and any(premise.rule for node in steps for premise in node.premises)


@given(rule_sets(), fact_sets(), st.data())
def test_an_absent_statement_that_holds_is_found(rules: list[Rule], facts: dict[Statement, Fact], data: st.DataObject) -> None:
    """A proof that was right is refused as soon as what it says to be absent holds, given or derived."""
    rules, facts = [*RICH, *rules], {**conclude([], *RICH_FACTS).facts, **facts}
    model = model_of(rules, facts)
    prover = Prover(model)
    steps = [proof for statement in sorted(model.statements(), key=str) for proof in prover.proofs(statement) if proof.absent]
    assume(steps)
    proof = data.draw(st.sampled_from(steps))
    extra = {fact: FACT for fact in data.draw(fact_sets()) if fact not in facts}
    for exception in proof.absent:
        if exception.comparison == "is" and data.draw(st.booleans()):
            filling = {name: data.draw(st.sampled_from(PARCELS)) for name in exception.variables()}
            if exception.predicate in ("kept", "moved") and isinstance(exception.object, Variable):
                filling[exception.object.name] = "shelf-0"
            extra[exception.filled(filling)] = FACT
    def present(exception: Statement) -> bool:
        probe = Rule("probe", "t", "t", 1, (exception,), (), (Statement("probe", "p0"),), "So.", FACT.basis)
        return evaluate(INVENTED, make_base([probe]), dict.fromkeys(holds, FACT)).holds("probe", "p0")

    alone = replace(proof, premises=tuple(Proof(premise.statement, fact=FACT) for premise in proof.premises))
    given_too = {**facts, **extra, **{premise.statement: FACT for premise in proof.premises}}
    larger = model_of(rules, given_too)
    holds = larger.statements()
    wrong = any(present(exception) for exception in proof.absent)
    assert (ProofChecker(INVENTED, larger.base.by_id, given_too, {}).fault(alone) is not None) == wrong


@pytest.mark.parametrize("length", [1, 2, 5, 40, 400])
def test_absence_through_recursion(length: int) -> None:
    """What is said to be absent is found to hold through a rule that feeds itself, also around a circle."""
    guard = rule("guard", "?x is open", "?x is safe", "?x is somewhere over parcel p3")
    names = ["p0", *(f"q{number}" for number in range(length - 1)), "p3"]
    chain = {Statement("on", name, after): FACT for name, after in pairwise(names)}
    chain[Statement("on", names[-2], "p0")] = FACT
    opened = {Statement("open", "p0"): FACT}
    proof = Prover(model_of([guard, *OVER], opened)).proof(Statement("safe", "p0"))
    by_id = {one.id: one for one in (guard, *OVER)}
    assert ProofChecker(INVENTED, by_id, opened, {}).fault(proof) is None
    fault = ProofChecker(INVENTED, by_id, {**opened, **chain}, {}).fault(proof)
    assert fault is not None and "absent" in fault
    broken = {fact: held for fact, held in chain.items() if fact.object != "p3"}
    assert ProofChecker(INVENTED, by_id, {**opened, **broken}, {}).fault(proof) is None


def test_absence_among_many_circles() -> None:
    """Facts that form circles everywhere cost no more than their number: each question is answered once."""
    guard = rule("guard", "?x is open", "?x is safe", "?x is somewhere over parcel p3")
    names = [f"q{number}" for number in range(12)]
    ring = {Statement("on", one, other): FACT for one in [*names, "p0"] for other in names}
    facts = {**ring, Statement("open", "p0"): FACT}
    proof = Prover(model_of([guard, *OVER], facts)).proof(Statement("safe", "p0"))
    assert ProofChecker(INVENTED, {one.id: one for one in (guard, *OVER)}, facts, {}).fault(proof) is None


def test_a_variable_named_like_the_checkers_own() -> None:
    """A rule may call its variable ?value, also where a comparison stands among what must be absent."""
    rules = [
        rule("wide", "the width of ?value is above 1 mm", "?value is sent"),
        rule("kept-back", "?x is open", "?x is lost", "?x is sent;the width of ?value is above 5 mm"),
    ]
    model = conclude(rules, "parcel p0 is open", "the width of parcel p1 is 2 mm")
    proof = Prover(model).proof(Statement("lost", "p0"))
    assert checker(model).fault(proof) is None
    for width in ("the width of parcel p0 is 2 mm", "the width of parcel p2 is 6 mm"):
        larger = conclude(rules, "parcel p0 is open", "the width of parcel p1 is 2 mm", width)
        assert not larger.holds("lost", "p0")
        assert checker(larger).fault(proof) is not None


def test_only_a_safety_rule_goes_on_from_the_unknown() -> None:
    """The same proof is refused where its rule is no safety rule; and what a safety rule concludes so is not absent."""
    guard = rule("guard", "the width of ?x is above 1 mm", "?x is lost", safety=True)
    width = "the width of parcel p0 is 500 to 1500 µm"
    model = conclude([guard], width)
    proof = Prover(model).proof(Statement("lost", "p0"))
    assert checker(model).fault(proof) is None
    assert checker(conclude([replace(guard, safety=False)], width)).fault(proof) is not None
    calm = rule("calm", "?x is open", "?x is moved to shelf 0", "?x is lost")
    proof = Prover(conclude([guard, calm], "parcel p0 is open")).proof(Statement("moved", "p0", "shelf-0"))
    assert checker(conclude([guard, calm], "parcel p0 is open", width)).fault(proof) is not None


def test_computed_facts_are_computed_again() -> None:
    """A computed value passes only if the function named gives it from the inputs named."""
    width = Quantity.of(6, "mm")
    statement = Statement("width", "p0", width)

    def fault(function: str, held: Quantity) -> str | None:
        fact = Fact(Basis("computed"), Computation(function, (held,)))
        twice = {"twice": lambda inputs: Quantity(inputs[0].mid * 2, inputs[0].unit)}
        return ProofChecker(INVENTED, {}, {statement: fact}, twice).fault(Proof(statement, fact=fact))

    assert fault("twice", Quantity.of(3, "mm")) is None
    assert fault("twice", Quantity.of(4, "mm")) is not None
    assert fault("thrice", Quantity.of(2, "mm")) is not None


def test_a_proof_in_a_circle_is_rejected() -> None:
    """Two steps that rest on each other prove nothing, even where each is right by itself."""
    rules = [rule("there", "?x is open", "?x is safe"), rule("back", "?x is safe", "?x is open")]
    model = conclude(rules)
    bound = (("x", "p0"),)
    safe = Proof(Statement("safe", "p0"), "there", bound)
    opened = Proof(Statement("open", "p0"), "back", bound, (safe,))
    object.__setattr__(safe, "premises", (opened,))
    assert checker(model).fault(opened) is not None


def test_a_long_proof_is_checked() -> None:
    """A proof deeper than Python's stack is walked to its end."""
    names = [f"q{number}" for number in range(1200)]
    chain = {Statement("on", name, after): FACT for name, after in pairwise(names)}
    chain[Statement("open", names[-1])] = FACT
    model = model_of([rule("opened", "?x lies on ?y;?y is open", "?x is open")], chain)
    assert checker(model).fault(Prover(model).proof(Statement("open", names[0]))) is None


ROOM = Path(finishing_kg.proofs.__file__).parent


def test_proofs_name_nothing_of_the_engine() -> None:
    """No module of the checker imports the engine, not even inside a function."""
    for file in ROOM.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            named = [alias.name for alias in node.names] if isinstance(node, ast.Import | ast.ImportFrom) else []
            named += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not any("engine" in name for name in named), file.name


def test_proofs_load_nothing_of_the_engine() -> None:
    """A process that loads the checker has loaded no engine."""
    code = "import sys, finishing_kg.proofs; sys.exit(any(name.startswith('finishing_kg.engine') for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOM.parent.parent, check=False, timeout=60).returncode == 0
