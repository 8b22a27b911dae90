"""All minimal reasons of a statement: compared with leaving facts out one set after another."""

from dataclasses import replace
from itertools import combinations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import FACT, INVENTED, fact_sets, rule_sets
from test_engine import rule

from finishing_kg.engine import Prover, evaluate, minimal_reasons
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Language, Statement

LANGUAGE = Language(INVENTED)


def brute_force(rules: list[Rule], facts: list[Statement]) -> dict[Statement, set[frozenset[Statement]]]:
    """For everything that follows, the smallest sets of facts that are enough, by trying all sets from the smallest on."""
    found: dict[Statement, set[frozenset[Statement]]] = {}
    for size in range(len(facts) + 1):
        for some in combinations(facts, size):
            here = frozenset(some)
            for statement in evaluate(INVENTED, make_base(rules), dict.fromkeys(some, FACT)).statements():
                if not any(smaller <= here for smaller in found.get(statement, ())):
                    found.setdefault(statement, set()).add(here)
    return found


def sample(facts: dict[Statement, Fact], seed: int, most: int) -> list[Statement]:
    """Some of the facts."""
    every = sorted(facts, key=str)
    return Random(seed).sample(every, min(most, len(every)))


def agree(rules: list[Rule], facts: list[Statement]) -> None:
    """Both ways give the same reasons for everything that follows."""
    plain = [replace(each, exceptions=()) for each in rules]
    prover = Prover(evaluate(INVENTED, make_base(plain), dict.fromkeys(facts, FACT)))
    for statement, expected in brute_force(plain, facts).items():
        found = minimal_reasons(prover, statement, most=200)
        assert found.complete
        assert set(found.sets) == expected, statement


@settings(max_examples=15, deadline=None)
@given(rule_sets(), fact_sets(), st.integers(0, 2**16))
def test_equals_brute_force(rules: list[Rule], facts: dict[Statement, Fact], seed: int) -> None:
    """Every minimal reason is found and nothing else, through recursion and comparisons too."""
    agree(rules, sample(facts, seed, 7))


@pytest.mark.parametrize("seed", range(2))
def test_equals_brute_force_on_twelve_facts(seed: int) -> None:
    """The same on as many facts as a question has."""
    names = [f"parcel p{number}" for number in range(4)]
    every = [f"{one} lies on {other}" for one in names for other in names] + [f"{one} is open" for one in names]
    facts = [LANGUAGE.parse(sentence) for sentence in Random(seed).sample(every, 12)]
    agree(
        [
            rule("lies", "?x lies on ?y", "?x is somewhere over ?y"),
            rule("lies-over", "?x lies on ?y;?y is somewhere over ?z", "?x is somewhere over ?z"),
            rule("safe", "?x is somewhere over ?y;?y is open", "?x is safe"),
            rule("lost", "?x is safe;?x is open", "?x is lost"),
        ],
        facts,
    )


@settings(max_examples=30, deadline=None)
@given(rule_sets(), fact_sets())
def test_without_one_of_its_facts_a_reason_is_none(rules: list[Rule], facts: dict[Statement, Fact]) -> None:
    """A reason alone is enough, and none of its facts can be spared."""
    plain = [replace(each, exceptions=()) for each in rules]
    base = make_base(plain)
    prover = Prover(evaluate(INVENTED, base, facts))
    for statement in sorted(prover.model.statements(), key=str)[::5]:
        for leaves in minimal_reasons(prover, statement, most=4).sets[:2]:
            assert statement in evaluate(INVENTED, base, dict.fromkeys(leaves, FACT)).statements()
            for spared in leaves:
                assert statement not in evaluate(INVENTED, base, dict.fromkeys(leaves - {spared}, FACT)).statements()


def test_what_is_taken_for_granted_is_not_told() -> None:
    """Facts that do not count are left out of the reasons; a statement that follows from them alone has the empty one."""
    rules = make_base([rule("safe", "?x lies on ?y;?y is open", "?x is safe")])
    said = "parcel p0 lies on parcel p1;parcel p1 is open;parcel p0 lies on parcel p2;parcel p2 is open"
    facts = [LANGUAGE.parse(each) for each in said.split(";")]
    prover = Prover(evaluate(INVENTED, rules, dict.fromkeys(facts, FACT)))
    goal = LANGUAGE.parse("parcel p0 is safe")
    assert minimal_reasons(prover, goal, lambda fact: fact.predicate == "on").sets == (frozenset({facts[0]}), frozenset({facts[2]}))
    assert minimal_reasons(prover, goal, lambda _fact: False).sets == (frozenset(),)


def test_more_reasons_than_asked_for_are_said_to_be_more() -> None:
    """Where there are more reasons than were asked for, or than can be looked at, it says so."""
    rules = make_base([rule("safe", "?x lies on ?y", "?x is safe")])
    facts = [LANGUAGE.parse(f"parcel p0 lies on parcel p{number}") for number in range(1, 4)]
    prover = Prover(evaluate(INVENTED, rules, dict.fromkeys(facts, FACT)))
    goal = LANGUAGE.parse("parcel p0 is safe")
    assert (len(minimal_reasons(prover, goal, most=2).sets), minimal_reasons(prover, goal, most=2).complete) == (2, False)
    assert (len(minimal_reasons(prover, goal, most=3).sets), minimal_reasons(prover, goal, most=3).complete) == (3, True)
    assert not minimal_reasons(prover, goal, reach=2).complete
    with pytest.raises(KeyError):
        minimal_reasons(prover, LANGUAGE.parse("parcel p0 is lost"))
