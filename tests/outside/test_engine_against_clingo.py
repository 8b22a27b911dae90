"""The rule engine against ``clingo`` (MIT), an answer-set solver that shares no code with it.

Each program must have exactly one stable model, which says the same. How rules and facts are written out stands in ``engines.program``;
``python tests/engines/compare.py --questions 500`` does the same on hundreds of questions.
"""

import pytest
from engines.program import Program
from engines.questions import Facts, asked, plans, systematic
from hypothesis import given, settings
from strategies import INVENTED, fact_sets, rule_sets

from finishing_kg.engine import Knowledge, Model, Prover, evaluate
from finishing_kg.proofs import Fact
from finishing_kg.routes import Case, Options
from finishing_kg.routes.stages import stages_to
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement

pytest.importorskip("clingo")
from engines.by_clingo import Clingo

_SYSTEMATIC = 8
_AT_HAND = Case(
    glass="borosilicate",
    form="rim",
    surface="ground",
    finish="polish",
    at_hand=("silicon-carbide", "pumice", "cerium-oxide", "quartz-sand", "felt-wheel", "hand-pad"),
    unwanted=("belt",),
    limited_in=frozenset({"mineral"}),
)


@pytest.fixture(scope="module")
def questions(knowledge: Knowledge) -> dict[str, Facts]:
    """Plans, cases from all over, and one with a short list of what is at hand."""
    at_hand = {**_AT_HAND.facts(), **Options(knowledge.vocabulary, stages_to(knowledge.vocabulary, "polish"))}
    return {**dict(plans(knowledge)), **dict(systematic(knowledge, _SYSTEMATIC)), "what is at hand": at_hand}


@pytest.fixture(scope="module")
def program(knowledge: Knowledge) -> Program:
    """The shipped rules and facts over integers."""
    return Program(knowledge.vocabulary, knowledge.base, knowledge.facts)


@pytest.fixture(scope="module")
def models(knowledge: Knowledge, questions: dict[str, Facts]) -> dict[str, Model]:
    """What our engine derives."""
    return {name: knowledge.evaluate(*asked(facts)) for name, facts in questions.items()}


@given(rule_sets(12), fact_sets())
def test_random_rules_give_what_clingo_gives(rules: list[Rule], given_facts: dict[Statement, Fact]) -> None:
    """clingo: one stable model, with the same statements, for any rules with recursion, comparisons and ``unless``."""
    base = make_base(rules)
    program = Program(INVENTED, base, given_facts)
    asked = Clingo(program)
    asked.ask(())
    (answer,) = asked.answers()
    assert program.statements(answer) == evaluate(INVENTED, base, given_facts).statements()


@settings(max_examples=30)
@given(rule_sets(12), fact_sets(), fact_sets())
def test_what_holds_always_and_what_is_asked_may_be_told_apart(
    rules: list[Rule], always: dict[Statement, Fact], asked: dict[Statement, Fact]
) -> None:
    """The written-out program says the same whether facts are there before or come with the question, new quantities among them."""
    base = make_base(rules)
    program = Program(INVENTED, base, always)
    other = Clingo(program)
    other.ask(program.question(asked))
    assert program.statements(other.conclusions()) == evaluate(INVENTED, base, {**always, **asked}).statements()


def test_the_engine_derives_what_clingo_derives(program: Program, questions: dict[str, Facts], models: dict[str, Model]) -> None:
    """clingo, shipped rules: exactly one stable model for each question, with the same statements, given and derived."""
    clingo = Clingo(program)
    for name, facts in questions.items():
        clingo.ask(program.question(facts))
        answers = [program.statements(answer) for answer in clingo.answers()]
        ours = models[name].statements()
        assert len(answers) == 1, name
        assert answers[0] - ours == set(), name
        assert ours - answers[0] == set(), name
        assert len(ours) > len({*program.static, *facts}), f"{name}: nothing was derived, so nothing was compared"


def test_a_rule_left_out_is_noticed(knowledge: Knowledge, questions: dict[str, Facts], models: dict[str, Model]) -> None:
    """The comparison can fail: without one rule that a finding rests on, clingo's answer is another than ours."""
    model = models["fast-felt"]
    finding = min((statement for statement in model.statements() if statement.predicate == "isStoppedBy"), key=str)
    lamed = make_base(rule for rule in knowledge.base.rules if rule.id != Prover(model).proof(finding).rule)
    program = Program(knowledge.vocabulary, lamed, knowledge.facts)
    clingo = Clingo(program)
    clingo.ask(program.question(questions["fast-felt"]))
    assert program.statements(clingo.conclusions()) != model.statements()


def test_the_questions_set_off_many_rules(program: Program, questions: dict[str, Facts]) -> None:
    """The questions set off a hundred and forty of the shipped rules, by CLIPS's log of firings, so that agreement means something."""
    pytest.importorskip("clips")
    from engines.by_clips import Clips

    rows = [program.question(facts) for facts in questions.values()]
    clips, fired = Clips(program, logical=False), set[int]()
    for question in rows:
        clips.ask(question)
        fired |= {firing[0] for firing in clips.log}
    assert len(fired) >= 140
