"""The words of a vocabulary made into the tables that the lexicon finds by; done once, and kept with the compiled form."""

from __future__ import annotations

from collections.abc import Iterator

from finishing_kg.chat.lexicon import LONGEST_LABEL, SHORTEST_SLIP, Senses, Spelling, Tables, both, plural_of
from finishing_kg.chat.reading import SLOTS, TOOLS
from finishing_kg.chat.words import fold, tokens
from finishing_kg.vocabulary import Name, Vocabulary

_SAYS = "says-"
_SPELLING = "spelling-"
_COUNTS = "remark-count-"
# Words that are read as they stand: repairing them would turn plain English into trade words.
_AS_WRITTEN = ("cue-stop", "cue-plain")


def index(vocabulary: Vocabulary) -> Tables:
    """The tables of a vocabulary; the head of ``chat.lexicon`` says what the ids of cues mean."""
    return _Indexer(vocabulary).tables()


class _Indexer:
    """One pass over a vocabulary."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.alike: dict[str, str] = {}
        for cue in vocabulary.things("cue"):
            if cue.id.startswith(_SPELLING):
                self.alike.update({fold(word): fold(min(cue.alternatives)) for word in cue.alternatives})
        self.spelling = Spelling(self.alike)
        self.entries: dict[str, Senses] = {}
        self.words: set[str] = set()

    def tables(self) -> Tables:
        vocabulary = self.vocabulary
        repairable: set[str] = set()
        for kind in (*SLOTS, *TOOLS):
            for name in vocabulary.things(kind):
                labels = {name.label, name.notation.replace("-", " "), *name.alternatives}
                for label in sorted(labels):
                    repairable.update(self._add(self._only_plural(label, labels), Senses(own=(name.id,))))
        for cue in vocabulary.things("cue"):
            words = self._add_cue(cue)
            if cue.id not in _AS_WRITTEN:
                repairable.update(words)
        # Labels run together are worth repairing (prepolsh); cues run together are not words anyone writes.
        repairable.update(word for word, senses in self.entries.items() if senses.things)
        repairable |= {variant for variant, word in self.alike.items() if word in repairable}
        by_length: dict[int, list[str]] = {}
        for word in sorted(word for word in repairable if len(word) >= SHORTEST_SLIP - 1 and word.isalpha()):
            by_length.setdefault(len(word), []).append(word)
        return Tables(
            alike=self.alike,
            entries={words: (senses.own, senses.loose, tuple(sorted(senses.cues))) for words, senses in self.entries.items()},
            words=frozenset(self.words),
            by_length=by_length,
            short=sorted(word for word in self.entries if 3 <= len(word) <= 5 and word.isalpha() and self.entries[word].own),
            wheels=frozenset(self._first_words_of_wheels()),
            numbers=dict(self._numbers()),
        )

    def _numbers(self) -> Iterator[tuple[str, int]]:
        """Single words for numbers; they stand among the remarks, since pieces are counted with them too."""
        for remark in self.vocabulary.things("remark"):
            number = remark.id.removeprefix(_COUNTS)
            if number != remark.id and number.isdecimal():
                yield from ((word.casefold(), int(number)) for word in remark.alternatives if word.isalpha() and len(word) > 1)

    def _first_words_of_wheels(self) -> Iterator[str]:
        """The words that can begin the name of something that turns: *felt*, *brush*, *cork*."""
        for name in self.vocabulary.things("carrier"):
            if self.vocabulary.holds(name.id, "spins"):
                for label in (name.label, *name.alternatives):
                    yield tokens(label)[0].key

    def _add_cue(self, cue: Name) -> set[str]:
        if cue.id.startswith(_SPELLING):
            return set()
        target = cue.id.removeprefix(_SAYS)
        if target != cue.id and target not in self.vocabulary.names:
            return set()
        senses = Senses(loose=(target,)) if target != cue.id else Senses(cues=frozenset({cue.id}))
        return {word for label in cue.alternatives for word in self._add(self.spelling.keys(label), senses)}

    def _only_plural(self, label: str, labels: set[str]) -> list[str]:
        """The words of a label; of a thing that goes by a plural alone (*cuts*, not the verb *cut*) the plural is kept."""
        found = tokens(label)
        if len(found) == 1 and found[0].plural and found[0].key not in {other.casefold() for other in labels}:
            return [plural_of(found[0].key)]
        return [self.spelling.key(token) for token in found]

    def _add(self, keys: list[str], senses: Senses) -> set[str]:
        if not keys or len(keys) > LONGEST_LABEL:
            return set()
        self.words.update(keys)
        joined = "".join(keys)
        known = self.entries.get(joined)
        self.entries[joined] = senses if known is None else both(known, senses)
        return set(keys)
