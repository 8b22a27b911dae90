"""Rules as checked data."""

from collections.abc import Iterable
from functools import cached_property

from finishing_kg.compiled import Sections
from finishing_kg.record import Deriving, field, record
from finishing_kg.statements import Statement, rule_id
from finishing_kg.vocabulary import Basis, Vocabulary


@record(frozen=True, slots=True)
class Rule:
    """One rule, its sentences read and checked.

    Attributes:
        id: its identifier, unique in the rule base.
        subject: what it is about: the name of its file without ending.
        file, line: where it stands, for messages.
        conditions: all must hold; comparisons and plain statements alike.
        exceptions: any one that holds blocks it.
        conclusions: what follows; a verdict is already turned into this rule's proposal of it.
        because: the reason, one or two sentences.
        basis: what the rule rests on.
        overrides: ids of rules whose proposal for the same option this rule's proposal blocks.
        safety: nobody may override it, and where a comparison is unknown it takes the dangerous side.
    """

    id: str
    subject: str
    file: str
    line: int
    conditions: tuple[Statement, ...]
    exceptions: tuple[Statement, ...]
    conclusions: tuple[Statement, ...]
    because: str
    basis: Basis
    overrides: tuple[str, ...] = ()
    safety: bool = False


def as_written(rule: Rule, vocabulary: Vocabulary) -> list[Statement]:
    """The conclusions as they stand in the file: verdicts, where the loader made proposals of them."""
    verdicts = {phrase.proposed_through: phrase.id for phrase in vocabulary.phrases.values() if phrase.proposed_through}
    proposing = rule.subject != "verdicts"
    return [
        Statement(verdicts[made.predicate], made.subject) if proposing and made.predicate in verdicts else made
        for made in rule.conclusions
        if made.predicate != "isJudgedBy"
    ]


@record(frozen=True)
class RuleBase(Deriving):
    """All rules, with the order in which they can be evaluated.

    Attributes:
        rules: in the order of their ids, so that nothing depends on the order of files.
        strata: groups of predicates that depend on each other, each after those it needs.
        facts: what the rules say of each other (``overrides``), each with its basis.
        sections: what other rooms compiled for exactly these rules and the vocabulary that they were read with.
    """

    rules: tuple[Rule, ...]
    strata: tuple[frozenset[str], ...]
    facts: dict[Statement, Basis] = field(default_factory=dict)
    sections: Sections = field(default_factory=Sections, compare=False, repr=False)

    @cached_property
    def by_id(self) -> dict[str, Rule]:
        """Rules by identifier."""
        return {rule.id: rule for rule in self.rules}


def override_facts(rules: Iterable[Rule]) -> dict[Statement, Basis]:
    """What rules say of each other, in the order of the rules."""
    return {Statement("overrides", rule_id(rule.id), rule_id(loser)): rule.basis for rule in rules for loser in rule.overrides}
