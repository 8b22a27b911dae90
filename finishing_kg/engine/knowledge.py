"""Ontology and rules together: what every question is put to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING, TypeVar

from finishing_kg.compiled import Sections
from finishing_kg.engine.evaluate import Model, evaluate
from finishing_kg.engine.kept import Kept
from finishing_kg.engine.layer import Layer
from finishing_kg.engine.program import Program, sizes
from finishing_kg.proofs import Fact, Facts
from finishing_kg.record import record, replace
from finishing_kg.rules import RuleBase
from finishing_kg.rules.shipped import shipped_rules, shipped_sections
from finishing_kg.statements import Language, Statement
from finishing_kg.vocabulary import Vocabulary
from finishing_kg.vocabulary.shipped import shipped_vocabulary

if TYPE_CHECKING:
    from pathlib import Path

_Same = TypeVar("_Same", bound="Knowledge")
_Result = TypeVar("_Result")


@record(frozen=True, slots=True)
class Ground:
    """Facts that many questions share.

    Attributes:
        name: the same words for the same facts.
        facts: gives them in a table of their own, when they are first needed.
    """

    name: tuple[str, ...]
    facts: Callable[[], Facts]


@record(frozen=True)
class Knowledge:
    """The vocabulary, its language and the rules written in it.

    Attributes:
        vocabulary, language, base: what it is made of.
        listener: is told of every model, if there is one.
        compiled: what was compiled of exactly this vocabulary and these rules, if it is kept anywhere.
        checking: whether the proof checker is asked about every reason; only where no reason is shown to anybody it need not be.
        reasoning: whether reasons are made at all; an answer without any is the same otherwise.
    """

    vocabulary: Vocabulary
    language: Language
    base: RuleBase
    listener: Callable[[Model], None] | None = None
    compiled: Sections | None = None
    checking: bool = True
    reasoning: bool = True

    @classmethod
    def shipped(cls) -> Knowledge:
        """What comes with the program, from its compiled form where there is one.

        Raises:
            DataMissing, OntologyError, RuleFileError: the shipped files are missing or spoilt.
        """
        sections = shipped_sections()
        vocabulary = shipped_vocabulary(sections)
        language = Language(vocabulary)
        return cls(vocabulary, language, shipped_rules(language, sections), compiled=sections)

    @classmethod
    def load(cls, ontology: Path, rule_files: list[Path]) -> Knowledge:
        """Read an ontology folder and rule files."""
        from finishing_kg.rules import load_rules
        from finishing_kg.vocabulary import load_vocabulary

        vocabulary = load_vocabulary(ontology)
        language = Language(vocabulary)
        return cls(vocabulary, language, load_rules(rule_files, language))

    @cached_property
    def unheard(self) -> Knowledge:
        """The same, but telling no listener: for what is only tried out and not said."""
        return self if self.listener is None else self.share_with(replace(self, listener=None))

    @cached_property
    def unchecked(self) -> Knowledge:
        """The same, but asking the proof checker nothing: for answers of which no reason is shown."""
        return self if not self.checking else self.share_with(replace(self, checking=False))

    def share_with(self, other: _Same) -> _Same:
        """Give what was derived before any question to knowledge of the same vocabulary and rules; gives that back."""
        other.__dict__.update(_kept=self._kept, _ground=self._ground, _grounds=self._grounds, facts=self.facts)
        return other

    @cached_property
    def facts(self) -> Facts:
        """What the ontology and the rules themselves hold, as statements."""
        claims = {Statement(claim.predicate, claim.subject, claim.object): Fact(claim.basis) for claim in self.vocabulary.claims}
        return Facts({**{statement: Fact(basis) for statement, basis in self.base.facts.items()}, **claims})

    @cached_property
    def _ground(self) -> Layer:
        """What follows before anything is asked; every question goes on from it."""
        return self._kept.layer("engine ground", self.facts.columns)

    @cached_property
    def _kept(self) -> Kept:
        return Kept(Program(self.vocabulary, self.base, sizes(self.vocabulary, self.base)), self.compiled)

    @cached_property
    def _grounds(self) -> dict[tuple[str, ...], tuple[Layer | None, Facts]]:
        return {}

    def evaluate(self, facts: Mapping[Statement, Fact], upon: Ground | None = None) -> Model:
        """All that follows from a question's facts and what the ontology holds.

        Args:
            facts: of the question.
            upon: further facts, of the kind that many questions share; what follows from them alone is derived once and kept.
        """
        layer, given = self._below(upon)
        own = Facts(facts, given)
        if layer is None or self._unsettles(fact.predicate for fact in facts):
            model = evaluate(self.vocabulary, self.base, own)
        else:
            model = Model(Layer(layer.program, own.columns(), layer, top=True), own)
        if self.listener is not None:
            self.listener(model)
        return model

    def as_given(self, facts: Mapping[Statement, Fact], upon: Ground | None = None) -> Model | None:
        """A question's facts beside what was derived before any question, and nothing that follows from them.

        Args:
            facts, upon: as for ``evaluate``.

        Returns:
            ``None`` where the facts say something of the world that was taken as known beforehand.
        """
        layer, given = self._below(upon)
        if layer is None or self._unsettles(fact.predicate for fact in facts):
            return None
        own = Facts(facts, given)
        return Model(Layer(layer.program, own.columns(), layer, top=True, settled=False), own)

    def _below(self, upon: Ground | None) -> tuple[Layer | None, Facts]:
        return (self._ground, self.facts) if upon is None else self._shared(upon)

    def worked_out(self, _what: str, _hangs_on: Callable[[], tuple[object, ...]], work: Callable[[], _Result], /) -> _Result:
        """The result of some work that takes long. Knowledge that remembers such results gives one again, without the work.

        Args:
            _what: is worked out.
            _hangs_on: gives all that the result hangs on, beside the vocabulary and the evaluations that the work makes.
            work: makes the result; evaluations that it looks at and does not make itself must be told by ``hangs_on``.
        """
        return work()

    def _unsettles(self, predicates: Iterable[str]) -> bool:
        """Whether something is said of the world that was taken as known beforehand: then everything must be derived anew."""
        return not self._ground.program.settled_by_absence.isdisjoint(predicates)

    def _shared(self, upon: Ground) -> tuple[Layer | None, Facts]:
        found = self._grounds.get(upon.name)
        if found is None:
            facts = upon.facts()
            facts.below = self.facts
            layer = None if self._unsettles(facts.predicates()) else self._kept.layer(f"engine {' '.join(upon.name)}", facts.columns, self._ground)
            found = self._grounds[upon.name] = (layer, facts)
        return found
