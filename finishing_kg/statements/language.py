"""The one grammar, its one parser and its one printer: ``parse(print(s)) == s``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

from finishing_kg.measure import QuantityError, read_quantity
from finishing_kg.record import record
from finishing_kg.statements.errors import StatementError
from finishing_kg.statements.model import Comparison, Statement, Term, Variable
from finishing_kg.statements.names import NameTable, one_of, words_of
from finishing_kg.vocabulary import Phrase, Vocabulary

if TYPE_CHECKING:
    from finishing_kg.statements.word_graph import WordGraph

_VARIABLE = re.compile(r"\?[a-z][a-z0-9-]*$")
_LONGEST = 300  # characters; no sentence about one fact is longer
_COMPARISONS: tuple[tuple[tuple[str, ...], Comparison], ...] = (
    (("above",), "above"),
    (("below",), "below"),
    (("at", "least"), "at least"),
    (("at", "most"), "at most"),
)


@record(frozen=True, slots=True)
class _Stop:
    """Why one reading stopped.

    Attributes:
        word: index of the word at which the trouble is.
        reach: index of the first word that was not understood; more than ``word`` where what was understood does not fit.
        why: in words; ``no phrase``, ``no property`` and ``no name`` are worded later.
        phrases, kinds: what could have stood there.
        repair: a sentence that may be accepted.
    """

    word: int
    reach: int
    why: str
    phrases: tuple[Phrase, ...]
    kinds: tuple[str, ...]
    repair: str


class Language:
    """Reads and writes sentences in the words of one vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.names = NameTable(vocabulary)

    # What only reading takes is made at the first sentence that is read; printing needs none of it.

    @cached_property
    def _plain(self) -> dict[str, list[tuple[tuple[str, ...], Phrase]]]:
        """Traits and relations by their first word, each with its words."""
        plain: dict[str, list[tuple[tuple[str, ...], Phrase]]] = {}
        for phrase in self.vocabulary.phrases.values():
            if phrase.shape not in ("quantity", "naming"):
                words = words_of(phrase.words)
                plain.setdefault(words[0], []).append((words, phrase))
        return plain

    @cached_property
    def _nouns(self) -> list[tuple[tuple[str, ...], Phrase]]:
        """Properties, each with the words of its noun."""
        return [(words_of(phrase.words), phrase) for phrase in self.vocabulary.phrases.values() if phrase.shape in ("quantity", "naming")]

    @cached_property
    def graph(self) -> WordGraph:
        """All sentences at once, for repairs; built at the first need, since it takes a tenth of a second."""
        from finishing_kg.statements.word_graph import WordGraph

        return WordGraph(self)

    def print(self, statement: Statement) -> str:
        """The sentence of a statement."""
        phrase = self.vocabulary.phrases[statement.predicate]
        subject = self._term(statement.subject)
        if phrase.shape == "trait":
            return f"{subject} {phrase.words}"
        obj = self._term(statement.object)
        if phrase.shape == "relation":
            return f"{subject} {phrase.words} {obj}"
        comparison = "" if statement.comparison == "is" else f"{statement.comparison} "
        return f"the {phrase.words} of {subject} is {comparison}{obj}"

    def _term(self, term: Term | None) -> str:
        return self.names.label(term) if isinstance(term, str) else str(term)

    def parse(self, sentence: str, *, repair: bool = True) -> Statement:
        """The statement of a sentence.

        Args:
            sentence: in the words of the one grammar.
            repair: whether an error shall look for what could be written instead, which takes a hundred times as long as reading.

        Raises:
            StatementError: nothing, or more than one thing, can be read.
        """
        if len(sentence) > _LONGEST:
            from finishing_kg.statements.repair import example

            shown = sentence[:60] + " …"
            raise StatementError(shown, 1, 1, f"A sentence has at most {_LONGEST} characters; this one has {len(sentence)}.", example(self, shown))
        tokens = list(re.finditer(r"\S+", sentence))
        if not tokens:
            from finishing_kg.statements.repair import example

            raise StatementError(sentence, 1, 1, "The sentence is empty.", example(self, sentence))
        reading = _Reading(self, sentence, [(token.group().casefold(), token.start(), token.end()) for token in tokens])
        found = set(reading.statements())
        if len(found) == 1:
            return found.pop()
        if found:
            ways = ", and as ".join(sorted(self._meaning(statement) for statement in found))
            clear = [plain for plain in sorted(self.print(statement) for statement in found) if self.readable(plain)]
            why = f"This can be read in {len(found)} ways: as {ways}."
            raise StatementError(sentence, 1, len(sentence), why, next(iter(clear), ""), tuple(clear))
        from finishing_kg.statements.repair import explain

        raise explain(self, sentence, reading.spans, reading.furthest(), repair=repair)

    def readable(self, sentence: str) -> bool:
        """Whether exactly one statement can be read; used to test repairs before they are offered."""
        tokens = list(re.finditer(r"\S+", sentence))
        if not tokens or len(sentence) > _LONGEST:
            return False
        reading = _Reading(self, sentence, [(token.group().casefold(), token.start(), token.end()) for token in tokens])
        return len(set(reading.statements())) == 1

    def _meaning(self, statement: Statement) -> str:
        parts = [self.names.kind(term) + " " + self.names.label(term) for term in (statement.subject, statement.object) if isinstance(term, str)]
        return f"{self.vocabulary.phrases[statement.predicate].words!r} of {' and '.join(parts) or 'variables'}"

    def phrases_at(self, words: list[str], start: int) -> Iterator[tuple[Phrase, int]]:
        """The traits and relations whose words stand at a place, with the index after them."""
        for phrase_words, phrase in self._plain.get(words[start], ()) if start < len(words) else ():
            end = start + len(phrase_words)
            if tuple(words[start:end]) == phrase_words:
                yield phrase, end

    def nouns_at(self, words: list[str], start: int) -> Iterator[tuple[Phrase, int]]:
        """The properties whose nouns stand at a place, with the index after them."""
        for noun_words, phrase in self._nouns:
            end = start + len(noun_words)
            if tuple(words[start:end]) == noun_words:
                yield phrase, end

    def plain_phrases(self) -> list[Phrase]:
        """All traits and relations."""
        return [phrase for phrases in self._plain.values() for _, phrase in phrases]

    def nouns(self) -> list[Phrase]:
        """All properties."""
        return [phrase for _, phrase in self._nouns]


class _Reading:
    """One sentence being read in every way that the grammar allows."""

    def __init__(self, language: Language, sentence: str, spans: list[tuple[str, int, int]]) -> None:
        self.language, self.sentence, self.spans = language, sentence, spans
        self.words = [word for word, _, _ in spans]
        self.stops: list[_Stop] = []

    def furthest(self) -> _Stop:
        """The stop that came furthest; of equals the first, since readings are tried likeliest first."""
        return max(self.stops, key=lambda stop: stop.reach)

    def statements(self) -> Iterator[Statement]:
        if self.words[0] == "the":
            yield from self._properties()
        yield from self._plain_sentences()

    def _stop(self, word: int, why: str, *, reach: int = 0, phrases: tuple[Phrase, ...] = (), kinds: tuple[str, ...] = (), repair: str = "") -> None:
        self.stops.append(_Stop(word, max(word, reach), why, phrases, kinds, repair))

    def _terms(self, start: int) -> Iterator[tuple[str | Variable, int]]:
        if start < len(self.words) and _VARIABLE.match(self.words[start]):
            yield Variable(self.words[start][1:]), start + 1
        else:
            yield from self.language.names.at(self.words, start)

    def _fits(self, term: str | Variable, kinds: tuple[str, ...]) -> bool:
        return isinstance(term, Variable) or self.language.vocabulary.fits(self.language.names.kind(term), kinds)

    def _plain_sentences(self) -> Iterator[Statement]:
        subjects = list(self._terms(0))
        if not subjects:
            self._stop(0, "no name", kinds=self.language.names.kinds)
        for subject, after in subjects:
            phrases = list(self.language.phrases_at(self.words, after))
            if not phrases:
                self._stop(after, "no phrase", phrases=tuple(self.language.plain_phrases()))
            for phrase, end in phrases:
                if not self._fits(subject, phrase.subjects):
                    self._stop(0, f"{phrase.words!r} is said of {one_of(phrase.subjects)}, and this is none.", reach=end, kinds=phrase.subjects)
                elif phrase.shape == "trait":
                    if end == len(self.words):
                        yield Statement(phrase.id, subject)
                    else:
                        cut = self.sentence[: self.spans[end - 1][2]]
                        self._stop(end, f"after {phrase.words!r} the sentence is complete; one sentence says one thing.", repair=cut)
                else:
                    yield from self._objects(phrase, subject, end, "is")

    def _properties(self) -> Iterator[Statement]:
        nouns = [(phrase, end) for phrase, end in self.language.nouns_at(self.words, 1) if self.words[end : end + 1] == ["of"]]
        if not nouns and "of" in self.words:
            self._stop(1, "no property", phrases=tuple(self.language.nouns()))
        for phrase, end in nouns:
            subjects = list(self._terms(end + 1))
            if not subjects:
                self._stop(end + 1, "no name", kinds=phrase.subjects)
            for subject, after in subjects:
                if not self._fits(subject, phrase.subjects):
                    why = f"the {phrase.words} is said of {one_of(phrase.subjects)}, and this is none."
                    self._stop(end + 1, why, reach=after, kinds=phrase.subjects)
                elif self.words[after : after + 1] != ["is"]:
                    self._stop(after, "here I expect the word 'is'.", repair=self._with_word(after, "is"))
                else:
                    yield from self._values(phrase, subject, after + 1)

    def _with_word(self, index: int, word: str) -> str:
        before = " ".join(self.sentence[a:b] for _, a, b in self.spans[:index])
        after = " ".join(self.sentence[a:b] for _, a, b in self.spans[index:])
        return f"{before} {word} {after}".strip()

    def _values(self, phrase: Phrase, subject: str | Variable, start: int) -> Iterator[Statement]:
        for words, comparison in _COMPARISONS if phrase.shape == "quantity" else ():
            if tuple(self.words[start : start + len(words)]) == words:
                yield from self._objects(phrase, subject, start + len(words), comparison)
        yield from self._objects(phrase, subject, start, "is")

    def _objects(self, phrase: Phrase, subject: str | Variable, start: int, comparison: Comparison) -> Iterator[Statement]:
        if phrase.shape == "quantity":
            yield from self._quantities(phrase, subject, start, comparison)
            return
        terms = list(self._terms(start))
        if not terms:
            self._stop(start, f"after {phrase.words!r} I expect {one_of(phrase.objects)}.", kinds=phrase.objects)
        for term, end in terms:
            if end != len(self.words):
                self._stop(end, "the sentence is complete before this; one sentence says one thing.", repair=self.sentence[: self.spans[end - 1][2]])
            elif not self._fits(term, phrase.objects):
                self._stop(start, f"after {phrase.words!r} I expect {one_of(phrase.objects)}, and this is none.", reach=end, kinds=phrase.objects)
            else:
                yield Statement(phrase.id, subject, term, comparison)

    def _quantities(self, phrase: Phrase, subject: str | Variable, start: int, comparison: Comparison) -> Iterator[Statement]:
        if start + 1 == len(self.words) and _VARIABLE.match(self.words[start]):
            yield Statement(phrase.id, subject, Variable(self.words[start][1:]), comparison)
            return
        if start >= len(self.words):
            example = f"60 {phrase.units[0]}"
            why = f"the {phrase.words} needs a number with a unit, such as {example}."
            self._stop(start, why, reach=start + 1, repair=f"{self.sentence.rstrip()} {example}")
            return
        begin = self.spans[start][1]
        try:
            quantity = self.language.vocabulary.units.settle(read_quantity(self.sentence[begin:]), phrase.units)
        except QuantityError as error:
            # Its own words tell more than that the sentence breaks off, so it counts as read to its end.
            repair = self.sentence[:begin] + _unit_repair(error, phrase)
            self._stop(start, f"the {phrase.words}: {error.why}", reach=len(self.words) + 1, repair=repair)
        else:
            yield Statement(phrase.id, subject, quantity, comparison)


def _unit_repair(error: QuantityError, phrase: Phrase) -> str:
    """The error's own repair, in a unit that the property allows."""
    repair = error.repair
    return repair.replace(" µm", f" {phrase.units[0]}") if "µm" not in phrase.units else repair
