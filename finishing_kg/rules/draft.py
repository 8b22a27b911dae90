"""A rule that is being written: what each of its sentences may still become, so that the whole can be loaded."""

from __future__ import annotations

from finishing_kg.record import record
from finishing_kg.statements import Language, Statement, Variable
from finishing_kg.statements.names import kinds_in
from finishing_kg.statements.next_words import Place, Role
from finishing_kg.vocabulary import Vocabulary

PARTS: dict[str, Role] = {"if": "condition", "unless": "exception", "then": "conclusion"}
"""The parts of a rule by their keys, and what a sentence of each is for."""


@record(frozen=True)
class Draft:
    """The sentences of a rule so far."""

    conditions: tuple[Statement, ...] = ()
    exceptions: tuple[Statement, ...] = ()
    conclusions: tuple[Statement, ...] = ()

    def place(self, language: Language, part: str, closed: frozenset[str] = frozenset()) -> Place:
        """Where a further sentence of a part stands: one that ``next_words`` allows there makes no fault of ``rules.kinds``.

        Args:
            language: of the rule.
            part: one of ``PARTS``.
            closed: phrases that no conclusion may use.
        """
        kinds: dict[str, frozenset[str]] = {}
        for statement in (*self.conditions, *self.exceptions, *self.conclusions):
            for name, can_be in _variables(language.vocabulary, statement):
                kinds[name] = kinds.get(name, can_be) & can_be
        bound = {name for statement in self.conditions if statement.comparison == "is" for name in statement.variables()}
        bound |= {statement.subject.name for statement in self.conditions if isinstance(statement.subject, Variable)}
        return Place(PARTS[part], kinds, frozenset(bound), closed if part == "then" else frozenset())


def _variables(vocabulary: Vocabulary, statement: Statement) -> list[tuple[str, frozenset[str]]]:
    terms = zip((statement.subject, statement.object), kinds_in(vocabulary, vocabulary.phrases[statement.predicate]), strict=True)
    return [(term.name, kinds) for term, kinds in terms if isinstance(term, Variable)]


def draft_of(language: Language, parts: dict[str, list[str]]) -> Draft:
    """The sentences of a rule as a draft.

    Args:
        language: of the rule.
        parts: its sentences by the keys of ``PARTS``.

    Raises:
        StatementError: one of them cannot be read.
    """
    return Draft(*(tuple(language.parse(sentence) for sentence in parts.get(part, ())) for part in PARTS))
