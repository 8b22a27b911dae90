"""The rule engine against SPARQL in Oxigraph (``pyoxigraph``, MIT or Apache-2.0): each rule as a CONSTRUCT."""

import pytest
from engines.program import Program
from engines.questions import Facts, asked, plans, systematic
from hypothesis import given, settings
from strategies import INVENTED, fact_sets, rule_sets

from finishing_kg.engine import Knowledge, evaluate
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule, RuleBase, make_base
from finishing_kg.statements import Statement

pytest.importorskip("pyoxigraph")
from engines.by_sparql import Oxigraph


@pytest.fixture(scope="module")
def questions(knowledge: Knowledge) -> list[Facts]:
    """Some plans and some cases."""
    return [facts for _, facts in [*list(plans(knowledge))[:8], *systematic(knowledge, 4)]]


def positive(rules: tuple[Rule, ...]) -> RuleBase:
    """The rules without ``unless`` that rest on no rule with one: no order is needed for them."""
    left = list(rules)
    tainted = {conclusion.predicate for rule in rules if rule.exceptions for conclusion in rule.conclusions}
    while more := [rule for rule in left if rule.exceptions or any(condition.predicate in tainted for condition in rule.conditions)]:
        left = [rule for rule in left if rule not in more]
        tainted |= {conclusion.predicate for rule in more for conclusion in rule.conclusions}
    return make_base(left)


@given(rule_sets(12), fact_sets())
def test_random_rules_without_unless(rules: list[Rule], given_facts: dict[Statement, Fact]) -> None:
    """SPARQL: the same statements where nothing is denied, all rules run together until nothing is added."""
    base = positive(tuple(rules))
    program = Program(INVENTED, base, given_facts)
    program.strata = program.all_at_once()
    oxigraph = Oxigraph(program)
    oxigraph.ask(())
    assert program.statements(oxigraph.conclusions()) == evaluate(INVENTED, base, given_facts).statements()


@settings(max_examples=40)
@given(rule_sets(12), fact_sets(), fact_sets())
def test_random_rules_with_unless(rules: list[Rule], always: dict[Statement, Fact], asked: dict[Statement, Fact]) -> None:
    """SPARQL: the same statements also with ``unless``, stratum by stratum, and again after another question was taken back."""
    base = make_base(rules)
    program = Program(INVENTED, base, always)
    rows = program.question(asked)
    oxigraph = Oxigraph(program, {row[0] for row in rows})
    for question, facts in ((rows, asked), ((), {}), (rows, asked)):
        oxigraph.ask(question)
        assert program.statements(oxigraph.conclusions()) == evaluate(INVENTED, base, {**always, **facts}).statements()


def test_shipped_rules_without_unless(knowledge: Knowledge, questions: list[Facts]) -> None:
    """SPARQL, shipped rules: the same statements from all those that deny nothing and rest on none that does."""
    base = positive(knowledge.base.rules)
    assert len(base.rules) >= 200
    program = Program(knowledge.vocabulary, base, knowledge.facts)
    program.strata = program.all_at_once()
    rows = [program.question(facts) for facts in questions]
    oxigraph = Oxigraph(program, {row[0] for question in rows for row in question})
    for facts, question in zip(questions, rows, strict=True):
        oxigraph.ask(question)
        ours = evaluate(knowledge.vocabulary, base, {**knowledge.facts, **facts}).statements()
        assert program.statements(oxigraph.conclusions()) == ours
        assert len(ours) > len({*program.static, *facts})


def test_all_shipped_rules(knowledge: Knowledge, questions: list[Facts]) -> None:
    """SPARQL, shipped rules: the same statements from all of them, ``unless`` as FILTER NOT EXISTS."""
    program = Program(knowledge.vocabulary, knowledge.base, knowledge.facts)
    rows = [program.question(facts) for facts in questions]
    oxigraph = Oxigraph(program, {row[0] for question in rows for row in question})
    for facts, question in zip(questions, rows, strict=True):
        oxigraph.ask(question)
        assert program.statements(oxigraph.conclusions()) == knowledge.evaluate(*asked(facts)).statements()
