"""Where a statement can come from: the ontology, somebody who asks or plans, or a rule."""

from collections.abc import Iterable, Iterator
from functools import cached_property

from finishing_kg.health.terms import is_frozen
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule, RuleBase
from finishing_kg.statements import Language, Statement, Variable
from finishing_kg.vocabulary import Phrase

QUANTITY = "quantity"
"""Stands for a kind where a slot takes a quantity."""


class Supply:
    """All sources of statements that a rule base can draw on.

    Attributes:
        language: for kinds and names.
        base: the rules.
        held: what the ontology and the rules themselves hold, by predicate.
    """

    def __init__(self, language: Language, base: RuleBase) -> None:
        self.language, self.vocabulary, self.base = language, language.vocabulary, base
        claims = [Statement(claim.predicate, claim.subject, claim.object) for claim in self.vocabulary.claims]
        self.held: dict[str, list[Statement]] = {}
        self._by_subject: dict[tuple[str, str], list[Statement]] = {}
        self._by_object: dict[tuple[str, str], list[Statement]] = {}
        for fact in (*claims, *base.facts):
            self.held.setdefault(fact.predicate, []).append(fact)
            self._by_subject.setdefault((fact.predicate, str(fact.subject)), []).append(fact)
            if isinstance(fact.object, str):
                self._by_object.setdefault((fact.predicate, fact.object), []).append(fact)
        self.makers: dict[str, list[tuple[Rule, Statement]]] = {}
        for rule in base.rules:
            for conclusion in rule.conclusions:
                self.makers.setdefault(conclusion.predicate, []).append((rule, conclusion))
        self._slots: dict[tuple[str, ...], frozenset[str]] = {}

    def phrase(self, statement: Statement) -> Phrase:
        """The phrase of a statement."""
        return self.vocabulary.phrases[statement.predicate]

    def held_like(self, statement: Statement) -> list[Statement]:
        """What is held that may fit a statement: of its subject, or else with its object, or else of its predicate."""
        if isinstance(statement.subject, str):
            return self._by_subject.get((statement.predicate, statement.subject), [])
        if isinstance(statement.object, str):
            return self._by_object.get((statement.predicate, statement.object), [])
        return self.held.get(statement.predicate, [])

    def kind(self, term: str) -> str:
        """The kind of a thing."""
        return self.language.names.kind(term)

    def can_be_given(self, statement: Statement, kinds: frozenset[str] | None = None) -> bool:
        """Whether a question, a plan or a computation can say this of its subject, or of a variable of these kinds."""
        given = self.phrase(statement).given
        if isinstance(statement.subject, str):
            return bool(given) and not is_frozen(statement.subject) and self.vocabulary.fits(self.kind(statement.subject), given)
        return bool(given) and (kinds is None or not kinds.isdisjoint(self.slot(given)))

    @cached_property
    def every_kind(self) -> tuple[str, ...]:
        """All kinds that a slot can take."""
        said = {kind for phrase in self.vocabulary.phrases.values() for kind in (*phrase.subjects, *phrase.objects)}
        return tuple(sorted({name.kind for name in self.vocabulary.names.values()} | said))

    def slot(self, allowed: tuple[str, ...]) -> frozenset[str]:
        """All kinds that fit a slot."""
        found = self._slots.get(allowed)
        if found is None:
            found = self._slots[allowed] = frozenset(kind for kind in self.every_kind if self.vocabulary.fits(kind, allowed))
        return found

    def kinds(self, sentences: Iterable[Statement]) -> dict[str, frozenset[str]]:
        """For each variable of some sentences the kinds that it can be of."""
        found: dict[str, frozenset[str]] = {}
        for sentence in sentences:
            for name, kinds in self._slots_of(sentence):
                found[name] = found[name] & kinds if name in found else kinds
        return found

    def _slots_of(self, sentence: Statement) -> Iterator[tuple[str, frozenset[str]]]:
        phrase = self.phrase(sentence)
        if isinstance(sentence.subject, Variable):
            yield sentence.subject.name, self.slot(phrase.subjects)
        if isinstance(sentence.object, Variable):
            yield sentence.object.name, frozenset({QUANTITY}) if phrase.shape == "quantity" else self.slot(phrase.objects)

    def kind_of_value(self, value: str | Quantity) -> str:
        """The kind of what a variable may be filled with."""
        return QUANTITY if isinstance(value, Quantity) else self.kind(value)
