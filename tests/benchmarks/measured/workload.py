"""What is asked: one set of questions for all engines, and the same knowledge made larger."""

from collections.abc import Iterable
from dataclasses import replace

from engines.questions import Facts

from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case, Options
from finishing_kg.routes.stages import stages_to
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Claim

CASES = {
    "relief in crystal": Case("lead-crystal", "cast", "bas-relief", "mould-marked", finish="polish"),
    "sawn face": Case("borosilicate", "blown", "flat-face", "sawn", finish="polish"),
    "float edge": Case("soda-lime-float", "float-sheet", "edge", "broken", finish="polish"),
}
"""Cases with as many options each: all stages up to a polish."""

WHAT_IF = replace(CASES["relief in crystal"], glass="borosilicate")
"""The first case with another glass."""


def facts_of(knowledge: Knowledge, case: Case) -> Facts:
    """The case and an option for every method and stage."""
    assert case.finish is not None
    return {**case.facts(), **Options(knowledge.vocabulary, stages_to(knowledge.vocabulary, case.finish))}


def _other(name: str, number: int) -> str:
    return f"{name}~{number}"


def with_more_things(knowledge: Knowledge, times: int) -> Knowledge:
    """The knowledge with ``times - 1`` further worlds beside it: all that is held, said again of things with other names."""

    def again(claim: Claim, number: int) -> Claim:
        value = _other(claim.object, number) if isinstance(claim.object, str) else claim.object
        return replace(claim, subject=_other(claim.subject, number), object=value)

    vocabulary = knowledge.vocabulary
    claims = (*vocabulary.claims, *(again(claim, number) for number in range(1, times) for claim in vocabulary.claims))
    names = {
        **vocabulary.names,
        **{
            _other(name.id, number): replace(name, id=_other(name.id, number), notation=_other(name.notation, number))
            for number in range(1, times)
            for name in vocabulary.names.values()
        },
    }
    return Knowledge(replace(vocabulary, names=names, claims=claims), knowledge.language, knowledge.base)


def with_more_rules(knowledge: Knowledge, times: int, *, asleep: bool) -> Knowledge:
    """The knowledge with ``times - 1`` copies of each rule.

    Args:
        knowledge: what to copy.
        times: how many there are of each rule in the end.
        asleep: copies speak of other phrases throughout, so that none finds a fact; otherwise only what rules alone conclude has another
            name in a copy, so that each copy derives as much as the original.
    """
    base, vocabulary = knowledge.base, knowledge.vocabulary
    concluded = {part.predicate for rule in base.rules for part in rule.conclusions}
    given = {claim.predicate for claim in vocabulary.claims} | {fact.predicate for fact in base.facts}
    renamed = set(vocabulary.phrases) if asleep else concluded - given
    phrases = {
        **vocabulary.phrases,
        **{
            _other(phrase.id, number): replace(phrase, id=_other(phrase.id, number))
            for number in range(1, times)
            for phrase in vocabulary.phrases.values()
        },
    }

    def sentences(given: Iterable[Statement], number: int) -> tuple[Statement, ...]:
        return tuple(one._replace(predicate=_other(one.predicate, number)) if one.predicate in renamed else one for one in given)

    def again(rule: Rule, number: int) -> Rule:
        parts = (sentences(part, number) for part in (rule.conditions, rule.exceptions, rule.conclusions))
        conditions, exceptions, conclusions = parts
        return replace(rule, id=f"{rule.id}-again-{number}", conditions=conditions, exceptions=exceptions, conclusions=conclusions, overrides=())

    rules = [*base.rules, *(again(rule, number) for number in range(1, times) for rule in base.rules)]
    return Knowledge(replace(vocabulary, phrases=phrases), knowledge.language, make_base(rules))


def with_more_options(facts: Facts, times: int) -> Facts:
    """A question with ``times`` as many options: each again under other names."""
    return {
        **facts,
        **{
            statement._replace(subject=_other(statement.subject, number)): fact
            for number in range(1, times)
            for statement, fact in facts.items()
            if isinstance(statement.subject, str) and statement.subject.startswith("option/")
        },
    }
