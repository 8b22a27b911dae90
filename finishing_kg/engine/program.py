"""A rule base made ready for evaluation: what can be derived before a question is known, and in which order."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

from finishing_kg.engine.compare import compare
from finishing_kg.engine.join import Join, make_join
from finishing_kg.engine.names import Names
from finishing_kg.measure import Quantity
from finishing_kg.record import field, record
from finishing_kg.rules import Rule, RuleBase
from finishing_kg.statements import Comparison, Variable
from finishing_kg.vocabulary import Vocabulary


@record(frozen=True, slots=True)
class Stratum:
    """Rules that are settled together.

    Attributes:
        predicates: what they conclude here.
        rules: indices of the rules that conclude any of these.
        recursive: those of them that also look at one of these.
        looks_at: the predicates of all their conditions.
        waits: whether any of them can only be run once everything is known.
    """

    predicates: frozenset[str]
    rules: tuple[int, ...]
    recursive: frozenset[int]
    looks_at: frozenset[str]
    waits: bool


@record()
class Program:
    """Everything about a rule base that no question changes.

    Attributes:
        vocabulary, base: what it was made from.
        ground: predicates of the facts that are there before any question.
        names: numbers of the rules' constants; the ground layer adds those of its facts.
    """

    vocabulary: Vocabulary
    base: RuleBase
    ground: Mapping[str, int] = field(default_factory=dict)
    names: Names = field(default_factory=Names)
    _joins: dict[int, Join] = field(default_factory=dict)
    _outcomes: dict[tuple[str, Comparison, Quantity, Quantity], bool | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        # The joins are made when they are needed, but their constants are numbered now: layers go on from these numbers.
        for rule in self.base.rules:
            for sentence in (*rule.conditions, *rule.exceptions, *rule.conclusions):
                for term in (sentence.subject, sentence.object):
                    if not isinstance(term, Variable):
                        self.names.number(term)

    @cached_property
    def looks_at(self) -> tuple[tuple[str, ...], ...]:
        """For each rule the predicates of its conditions, in their order."""
        return tuple(tuple(condition.predicate for condition in rule.conditions) for rule in self.base.rules)

    @cached_property
    def needs(self) -> tuple[frozenset[str], ...]:
        """For each rule the predicates of its conditions: while nothing holds of one, the rule cannot fire."""
        return tuple(map(frozenset, self.looks_at))

    @cached_property
    def wants(self) -> tuple[tuple[tuple[str, int], ...], ...]:
        """For each rule the objects that its conditions name, each by its number: while nothing is related to one, the rule cannot fire."""

        def named(rule: Rule) -> Iterator[tuple[str, int]]:
            for condition in rule.conditions:
                if condition.comparison == "is" and condition.object is not None and not isinstance(condition.object, Variable):
                    yield condition.predicate, self.names.number(condition.object)

        return tuple(tuple(named(rule)) for rule in self.base.rules)

    def join(self, index: int) -> Join:
        """A rule's join, made when it is first needed."""
        found = self._joins.get(index)
        if found is None:
            found = self._joins[index] = make_join(self.base.rules[index], self.names, self._size)
        return found

    def learnt(self) -> tuple[frozenset[str], frozenset[int]]:
        """What was worked out about the rules as a whole, to be told to another program of the same rules."""
        return self.settled_by_absence, self.deferred

    def told(self, settled_by_absence: frozenset[str], deferred: frozenset[int]) -> None:
        """Take over what another program of the same rules has learnt."""
        self.__dict__.update(settled_by_absence=settled_by_absence, deferred=deferred)

    def _size(self, predicate: str) -> int:
        # What only a question brings is about one piece, apart from options: for those any large number will do.
        return self.ground.get(predicate, 1000 if predicate in self.about_options else 1)

    @cached_property
    def about_options(self) -> frozenset[str]:
        """Predicates whose subject is an option or a step, of which a question can bring many."""
        return frozenset(phrase.id for phrase in self.vocabulary.phrases.values() if not {"option", "step"}.isdisjoint(phrase.subjects))

    @cached_property
    def strata(self) -> tuple[Stratum, ...]:
        """The strata that some rule concludes, in order."""
        concluding: dict[str, list[int]] = {}
        for index, rule in enumerate(self.base.rules):
            for predicate in dict.fromkeys(conclusion.predicate for conclusion in rule.conclusions):
                concluding.setdefault(predicate, []).append(index)
        found = []
        for predicates in self.base.strata:
            rules = tuple(sorted({index for predicate in predicates for index in concluding.get(predicate, ())}))
            recursive = frozenset(index for index in rules if any(c.predicate in predicates for c in self.base.rules[index].conditions))
            looks_at = frozenset(predicate for index in rules for predicate in self.looks_at[index])
            if rules:
                found.append(Stratum(predicates, rules, recursive, looks_at, not self.deferred.isdisjoint(rules)))
        return tuple(found)

    @cached_property
    def place(self) -> dict[str, int]:
        """For each concluded predicate the place of its stratum."""
        return {predicate: place for place, stratum in enumerate(self.strata) for predicate in stratum.predicates}

    @cached_property
    def concluding(self) -> dict[str, tuple[int, ...]]:
        """For each predicate the rules that conclude it."""
        found: dict[str, list[int]] = {}
        for index, rule in enumerate(self.base.rules):
            for predicate in dict.fromkeys(conclusion.predicate for conclusion in rule.conclusions):
                found.setdefault(predicate, []).append(index)
        return {predicate: tuple(rules) for predicate, rules in found.items()}

    @cached_property
    def open(self) -> frozenset[str]:
        """Predicates that a question may add to: what can be said in one, what the ground has nothing of, and what follows from these.

        It decides only how much is derived beforehand; ``settled_by_absence`` says what a question must not bring for that to be right.
        """
        found = {phrase.id for phrase in self.vocabulary.phrases.values() if phrase.given or phrase.id not in self.ground}
        found |= {sentence.predicate for rule in self.base.rules for sentence in rule.conditions if sentence.predicate not in self.ground}
        return _reached(found, self._leads_to)

    @cached_property
    def _leads_to(self) -> dict[str, set[str]]:
        """For each predicate those that rules conclude with its help, whether it must hold or must not."""
        found: dict[str, set[str]] = {}
        for rule in self.base.rules:
            concluded = {conclusion.predicate for conclusion in rule.conclusions}
            for sentence in (*rule.conditions, *rule.exceptions):
                found.setdefault(sentence.predicate, set()).update(concluded)
        return found

    @cached_property
    def deferred(self) -> frozenset[int]:
        """Rules that can only be run once everything is known, since what a question adds may forbid them."""
        return frozenset(
            index for index, rule in enumerate(self.base.rules) if any(exception.predicate in self.open for exception in rule.exceptions)
        )

    @cached_property
    def settled_by_absence(self) -> frozenset[str]:
        """Predicates whose absence was relied on beforehand, and what they follow from: a question must not add to these."""
        found = {e.predicate for index, rule in enumerate(self.base.rules) if index not in self.deferred for e in rule.exceptions}
        comes_from: dict[str, set[str]] = {}
        for needed, concluded in self._leads_to.items():
            for predicate in concluded:
                comes_from.setdefault(predicate, set()).add(needed)
        return _reached(found, comes_from)

    def outcome(self, predicate: str, operator: Comparison, left: Quantity, right: Quantity) -> bool | None:
        """Whether a comparison holds, worked out once."""
        key = (predicate, operator, left, right)
        if key not in self._outcomes:
            self._outcomes[key] = compare(self.vocabulary.phrases[predicate], self.vocabulary.units, left, operator, right)
        return self._outcomes[key]


def sizes(vocabulary: Vocabulary, base: RuleBase) -> dict[str, int]:
    """How many facts each predicate has before any question."""
    found: dict[str, int] = {}
    for predicate in (*(claim.predicate for claim in vocabulary.claims), *(fact.predicate for fact in base.facts)):
        found[predicate] = found.get(predicate, 0) + 1
    return found


def _reached(start: set[str], ways: Mapping[str, set[str]]) -> frozenset[str]:
    """Everything that can be reached from some predicates, these among it."""
    found, work = set(start), list(start)
    while work:
        for there in ways.get(work.pop(), ()):
            if there not in found:
                found.add(there)
                work.append(there)
    return frozenset(found)
