"""The rule engine against CLIPS (``clipspy``) and sqlite, which the benchmark measures it beside."""

import pytest
from engines.by_sqlite import Sqlite
from engines.program import Program, Row
from engines.questions import asked, plans, systematic
from hypothesis import given, settings
from strategies import INVENTED, fact_sets, rule_sets

from finishing_kg.engine import Knowledge, evaluate
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement


def changing(*questions: frozenset[Row]) -> set[int]:
    """The predicates that questions speak of."""
    return {row[0] for question in questions for row in question}


@settings(max_examples=60)
@given(rule_sets(12), fact_sets(), fact_sets())
def test_sqlite_random_rules(rules: list[Rule], always: dict[Statement, Fact], asked: dict[Statement, Fact]) -> None:
    """sqlite: the same statements, and again after another question was taken back."""
    base = make_base(rules)
    program = Program(INVENTED, base, always)
    rows = program.question(asked)
    sqlite = Sqlite(program, changing(rows), rows)
    for question, facts in ((rows, asked), ((), {}), (rows, asked)):
        sqlite.ask(question)
        assert program.statements(sqlite.conclusions()) == evaluate(INVENTED, base, {**always, **facts}).statements()


@settings(max_examples=60)
@given(rule_sets(12), fact_sets(), fact_sets())
def test_clips_random_rules(rules: list[Rule], always: dict[Statement, Fact], asked: dict[Statement, Fact]) -> None:
    """CLIPS: the same statements; with logged firings also after another question was taken back."""
    pytest.importorskip("clips")
    from engines.by_clips import Clips

    base = make_base(rules)
    program = Program(INVENTED, base, always)
    rows = program.question(asked)
    ours = evaluate(INVENTED, base, {**always, **asked}).statements()
    logged = Clips(program, logical=False, changing=changing(rows))
    for question, expected in ((rows, ours), ((), evaluate(INVENTED, base, always).statements()), (rows, ours)):
        logged.ask(question)
        assert program.statements(logged.conclusions()) == expected
    logical = Clips(program, logical=True)
    logical.ask(rows)
    assert program.statements(logical.conclusions()) == ours


def test_shipped_rules(knowledge: Knowledge) -> None:
    """CLIPS and sqlite, shipped rules: the same statements for one question after the other."""
    pytest.importorskip("clips")
    from engines.by_clips import Clips

    questions = [facts for _, facts in [*list(plans(knowledge))[:6], *systematic(knowledge, 3)]]
    program = Program(knowledge.vocabulary, knowledge.base, knowledge.facts)
    rows = [program.question(facts) for facts in questions]
    spoken = changing(*rows)
    engines = [Sqlite(program, spoken, rows[-1]), Clips(program, logical=False, changing=spoken), Clips(program, logical=True)]
    engines.append(Clips(program, logical=True, differences=True))
    for facts, question in zip(questions, rows, strict=True):
        ours = knowledge.evaluate(*asked(facts)).statements()
        for engine in engines:
            engine.ask(question)
            assert program.statements(engine.conclusions()) == ours
