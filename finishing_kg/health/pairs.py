"""Two rules that judge the same option."""

from collections.abc import Iterator
from dataclasses import dataclass

from finishing_kg.health.imply import fires_with
from finishing_kg.health.solve import Search
from finishing_kg.health.state import Case, Undecided
from finishing_kg.health.supply import Supply
from finishing_kg.health.terms import marked, rename_rule
from finishing_kg.rules import Rule
from finishing_kg.statements import Variable


@dataclass(frozen=True, slots=True)
class Proposal:
    """A verdict that a rule proposes.

    Attributes:
        rule: that proposes it.
        verdict: id of the verdict's phrase.
        about: what is judged: a variable of the rule, or a name.
    """

    rule: Rule
    verdict: str
    about: str | Variable


def proposals(supply: Supply) -> Iterator[Proposal]:
    """All verdicts that rules propose."""
    through = {phrase.proposed_through: phrase.id for phrase in supply.vocabulary.phrases.values() if phrase.proposed_through}
    for rule in supply.base.rules:
        for made in rule.conclusions:
            if made.predicate in through and isinstance(made.object, str):
                yield Proposal(rule, through[made.predicate], made.subject)


def case_together(supply: Supply, one: Proposal, other: Proposal) -> Case | None:
    """A case in which both rules judge the same option; ``None`` if there is none, or none was found."""
    try:
        return case_of_both(supply, one, other)
    except Undecided:
        return None


def case_of_both(supply: Supply, one: Proposal, other: Proposal) -> Case | None:
    """A case in which both rules judge the same option; ``None`` if there can be none.

    Raises:
        Undecided: not every way was tried.
    """
    search = Search(supply)
    rules = [rename_rule(one.rule, "one"), rename_rule(other.rule, "other")]
    search.kinds.update(supply.kinds(sentence for rule in rules for sentence in (*rule.conditions, *rule.exceptions)))
    bindings = search.joined(marked(one.about, "one"), marked(other.about, "other"), {})
    return search.case_of(rules, bindings) if bindings is not None else None


def always_with(supply: Supply, one: Proposal, other: Proposal) -> bool:
    """Whether the first rule judges whatever the second one judges."""
    return fires_with(supply, one.rule, other.rule, one.about, other.about)
