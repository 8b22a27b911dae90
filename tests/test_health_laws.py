"""Laws of the audit's static part: it raises no false alarm, and the cases that it invents are cases."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from random import Random

import planted
from effort import tries
from hypothesis import given, settings
from hypothesis import strategies as st
from planted import fired
from strategies import INVENTED, LAYERS, fact_sets, rule_sets

from finishing_kg.casebook import load_cases, run
from finishing_kg.engine import Knowledge, Model
from finishing_kg.health import faults_of_base
from finishing_kg.health.solve import example
from finishing_kg.health.supply import Supply
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Language, Statement, Variable

ROOT = Path(__file__).parent.parent


def _invented(rules: list[Rule]) -> Knowledge:
    """Rules about parcels, of which everything in the first layer can be said."""
    first = {phrase.id: replace(phrase, given=phrase.subjects) for phrase in INVENTED.phrases.values() if phrase.id in LAYERS[0]}
    vocabulary = replace(INVENTED, phrases={**INVENTED.phrases, **first})
    return Knowledge(vocabulary, Language(vocabulary), make_base(rules))


@given(rules=rule_sets(), facts=fact_sets())
def test_what_is_called_impossible_never_happens(rules: list[Rule], facts: dict[Statement, Fact]) -> None:
    """In random rule sets no rule that is said never to fire does, whatever is given."""
    knowledge = _invented(rules)
    never = {fault.about for fault in faults_of_base(knowledge.language, knowledge.base) if fault.fault in ("unreachable", "never true", "circular")}
    itself = {rule.id for rule in rules if set(rule.conclusions) <= set(rule.conditions)}
    said = {statement: fact for statement, fact in facts.items() if statement.predicate in LAYERS[0]}
    assert not (never - itself) & knowledge.evaluate(said).fired()


@settings(max_examples=tries(6))
@given(rules=rule_sets(), facts=fact_sets(), seed=st.integers(0, 2**32))
def test_what_is_called_subsumed_adds_nothing(rules: list[Rule], facts: dict[Statement, Fact], seed: int) -> None:
    """In random rule sets, narrower copies among them, whatever a subsumed rule derives its wider rule derives too."""
    chance = Random(seed)
    more = [
        Statement("open", Variable("x")),
        Statement("on", Variable("x"), "p1"),
        Statement("width", Variable("x"), planted.Quantity.of(2, "mm"), "above"),
    ]
    copies = [replace(rule, id=f"{rule.id}-copy", conditions=(*rule.conditions, chance.choice(more))) for rule in rules]
    knowledge = _invented([*rules, *copies])
    model = knowledge.evaluate(facts)
    derived: dict[str, set[object]] = defaultdict(set)
    for statement in model.statements():
        for index, _ in model.firings(statement):
            derived[model.base.rules[index].id].add(statement)
    for fault in faults_of_base(knowledge.language, knowledge.base):
        if fault.fault in ("subsumed", "duplicate"):
            assert derived[fault.rules[0]] <= derived[fault.rules[1]]


def test_every_shown_case_is_one(knowledge: Knowledge) -> None:
    """For each shipped rule a case is found in which it fires, and a rule's own case says nothing that no question or plan can say."""
    supply = Supply(knowledge.language, knowledge.base)
    for rule in knowledge.base.rules[::6]:
        facts = example(supply, rule)
        assert rule.id in fired(knowledge, facts)
        assert all(supply.can_be_given(fact) for fact in facts)


def test_what_is_said_in_cases_is_marked_as_such(knowledge: Knowledge) -> None:
    """What the shipped setups and questions give is marked in the ontology as what can be given, once where it is said once."""
    said: set[Statement] = set()

    def hear(model: Model) -> None:
        given = [fact for fact in model.facts if fact not in knowledge.facts]
        said.update(given)
        _said_once(knowledge, given)

    overheard = replace(knowledge, listener=hear)
    cases = load_cases(sorted((ROOT / "rules" / "cases").glob("*.toml")))
    for case in [case for case in cases if case.sort == "setup"][::4] + [case for case in cases if case.sort == "question"][::25]:
        run(overheard, case)
    names, vocabulary = knowledge.language.names, knowledge.vocabulary
    assert len({statement.predicate for statement in said}) > 20
    assert {s.predicate for s in said if not vocabulary.fits(names.kind(str(s.subject)), vocabulary.phrases[s.predicate].given)} == set()


def _said_once(knowledge: Knowledge, facts: Iterable[Statement]) -> None:
    once: dict[tuple[str, object], object] = {}
    for fact in (*facts, *knowledge.facts):
        if knowledge.vocabulary.phrases[fact.predicate].single:
            assert once.setdefault((fact.predicate, fact.subject), fact.object) == fact.object


def test_what_is_marked_fits_its_phrase(knowledge: Knowledge) -> None:
    """A phrase can be given only of what can be its subject, and what it excludes or outweighs is a phrase."""
    vocabulary = knowledge.vocabulary
    for phrase in vocabulary.phrases.values():
        assert all(vocabulary.fits(kind, phrase.subjects) for kind in phrase.given)
        assert {*phrase.excludes, *phrase.outweighs} <= set(vocabulary.phrases)
