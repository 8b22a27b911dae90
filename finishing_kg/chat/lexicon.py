"""The ontology's words, indexed for free text: longest labels first, one typing slip a word repaired.

Labels are compared with their spaces taken out, so that ``pre-polish``, ``pre polish`` and ``prepolish`` are one.
Cues of the ontology steer the reader by the beginning of their id:

    says-<id>       everyday words for the thing <id>, weaker than its own labels
    spelling-<x>    spellings of one word that are read alike (grey, gray)
    number-<n>      words for a number
    measure-<id>    words that tell which quantity a measure is of
    cue-<role>      words that tell the role of their neighbours
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from rapidfuzz import process
from rapidfuzz.distance import OSA

from finishing_kg.chat.reading import SLOTS, TOOLS
from finishing_kg.chat.words import Token, fold, tokens
from finishing_kg.vocabulary import Name, Vocabulary

_LONGEST_LABEL = 8
_SHORTEST_SLIP = 5
_SAYS = "says-"
_SPELLING = "spelling-"
_KEPT = "_finishing_kg_chat_lexicon"
# Words that are read as they stand: repairing them would turn plain English into trade words.
_AS_WRITTEN = ("cue-stop", "cue-plain")


@dataclass(frozen=True, slots=True)
class Senses:
    """What a run of words can mean: things by their own labels, things by everyday words, and cues."""

    own: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    cues: frozenset[str] = frozenset()

    @property
    def things(self) -> tuple[str, ...]:
        """All things, those with the words among their own labels first."""
        return self.own + tuple(each for each in self.loose if each not in self.own)


@dataclass(frozen=True, slots=True)
class Match:
    """A run of tokens that the lexicon knows.

    Attributes:
        first, last: its tokens; ``last`` is the index after.
        senses: what it can mean.
        corrected: a typing slip was repaired to get it.
        torn: a slip could be repaired to different things; nothing is chosen.
    """

    first: int
    last: int
    senses: Senses
    corrected: bool = False
    torn: bool = False

    def is_cue(self, *cues: str) -> bool:
        """Whether it is one of the named cues."""
        return not self.senses.cues.isdisjoint(cues)


class Lexicon:
    """Built once for a vocabulary; see ``lexicon_of``."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._alike: dict[str, str] = {}
        cues = vocabulary.things("cue")
        for cue in cues:
            if cue.id.startswith(_SPELLING):
                self._alike.update({fold(word): fold(min(cue.alternatives)) for word in cue.alternatives})
        self._folded: dict[str, str] = {}
        self._entries: dict[str, Senses] = {}
        self._words: set[str] = set()
        repairable: set[str] = set()
        for kind in (*SLOTS, *TOOLS):
            for name in vocabulary.things(kind):
                labels = {name.label, name.notation.replace("-", " "), *name.alternatives}
                for label in sorted(labels):
                    repairable.update(self._add(self._only_plural(label, labels), Senses(own=(name.id,))))
        for cue in cues:
            words = self._add_cue(cue)
            if cue.id not in _AS_WRITTEN:
                repairable.update(words)
        # Labels run together are worth repairing (prepolsh); cues run together are not words anyone writes.
        repairable.update(word for word, senses in self._entries.items() if senses.things)
        repairable |= {variant for variant, word in self._alike.items() if word in repairable}
        repaired = {word for word in repairable if len(word) >= _SHORTEST_SLIP - 1 and word.isalpha()}
        self._by_length: dict[int, list[str]] = {}
        for word in sorted(repaired):
            self._by_length.setdefault(len(word), []).append(word)
        self.wheels = frozenset(self._first_words_of_wheels())
        self._short = sorted(word for word in self._entries if 3 <= len(word) <= 5 and word.isalpha() and self._entries[word].own)

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
        return {word for label in cue.alternatives for word in self._add(self._keys(label), senses)}

    def _only_plural(self, label: str, labels: set[str]) -> list[str]:
        """The words of a label; of a thing that goes by a plural alone (*cuts*, not the verb *cut*) the plural is kept."""
        found = tokens(label)
        if len(found) == 1 and found[0].plural and found[0].key not in {other.casefold() for other in labels}:
            return [_plural(found[0].key)]
        return [self.key(token) for token in found]

    def _add(self, keys: list[str], senses: Senses) -> set[str]:
        if not keys or len(keys) > _LONGEST_LABEL:
            return set()
        self._words.update(keys)
        joined = "".join(keys)
        known = self._entries.get(joined)
        self._entries[joined] = senses if known is None else _both(known, senses)
        return set(keys)

    def _keys(self, label: str) -> list[str]:
        words = label.replace("-", " ").split()
        if not all(word.isascii() and word.isalnum() for word in words):
            return [self.key(token) for token in tokens(label)]
        # Most labels are plain words, and the same words again and again: cutting them as text costs three times as much.
        for word in words:
            if word not in self._folded:
                key = fold(word)
                self._folded[word] = self._alike.get(key, key)
        return [self._folded[word] for word in words]

    def key(self, token: Token) -> str:
        """A token's word, spellings that are read alike made one."""
        return self._alike.get(token.key, token.key)

    def find(self, words: str) -> Senses | None:
        """What words mean that are spelt exactly so."""
        return self._entries.get("".join(self._keys(words)))

    def matches(self, line: list[Token]) -> list[Match]:
        """What is known in a text, no two overlapping, in order; longer runs win, then exact ones, then earlier ones."""
        options = [self._options(self.key(token)) for token in line]
        found = sorted(self._candidates(line, options), key=lambda match: (match.first - match.last, match.corrected, match.first))
        taken = [False] * len(line)
        chosen = []
        for match in found:
            if not any(taken[match.first : match.last]):
                taken[match.first : match.last] = [True] * (match.last - match.first)
                chosen.append(match)
        return sorted(chosen, key=lambda match: match.first)

    def _candidates(self, line: list[Token], options: list[tuple[str, ...]]) -> Iterator[Match]:
        for first in range(len(line)):
            slips = 0
            for last in range(first + 1, min(first + _LONGEST_LABEL, len(line)) + 1):
                if last - first > 1 and line[last - 1].gap:
                    break
                slips += len(options[last - 1]) > 1
                if slips > 2:
                    break
                match = self._match(line, first, last, options[first:last])
                if match:
                    yield match

    def _match(self, line: list[Token], first: int, last: int, options: list[tuple[str, ...]]) -> Match | None:
        exact = self._entries.get("".join(words[0] for words in options))
        if last - first == 1 and line[first].plural and (plural := self._entries.get(_plural(line[first].key))):
            exact = _both(exact, plural) if exact else plural
        if exact:
            return Match(first, last, exact)
        if all(len(words) == 1 for words in options):
            return None
        joined = ("".join(words) for words in product(*options))
        hits = [senses for words in joined if (senses := self._entries.get(words))]
        if not hits:
            return None
        merged = hits[0]
        for senses in hits[1:]:
            merged = _both(merged, senses)
        # What all repairs have in common is meant by any of them; the neighbours decide the rest.
        shared = set(merged.things).intersection(*(senses.things for senses in hits))
        return Match(first, last, merged, corrected=True, torn=not shared and any(senses != hits[0] for senses in hits))

    def _options(self, word: str) -> tuple[str, ...]:
        if word in self._words or word in self._entries or not word.isalpha():
            return (word,)
        if len(word) < _SHORTEST_SLIP:
            return self._short_options(word)
        near: list[str] = []
        for length in (len(word) - 1, len(word), len(word) + 1):
            choices = self._by_length.get(length)
            if choices:
                near += [
                    self._alike.get(choice, choice) for choice, _, _ in process.extract(word, choices, scorer=OSA.distance, score_cutoff=1, limit=4)
                ]
        return (word, *dict.fromkeys(near[:4]))

    def _short_options(self, word: str) -> tuple[str, ...]:
        """A word of four letters has many neighbours: it is repaired only to the one whole label that is near and begins with its letter."""
        if len(word) != _SHORTEST_SLIP - 1:
            return (word,)
        found = process.extract(word, self._short, scorer=OSA.distance, score_cutoff=1, limit=None)
        near = [choice for choice, _, _ in found if choice[0] == word[0]]
        return (word, near[0]) if len(near) == 1 else (word,)


def _plural(key: str) -> str:
    return f"{key}#s"


def _both(one: Senses, other: Senses) -> Senses:
    own = one.own + tuple(each for each in other.own if each not in one.own)
    loose = one.loose + tuple(each for each in other.loose if each not in one.loose)
    return replace(one, own=own, loose=loose, cues=one.cues | other.cues)


def lexicon_of(vocabulary: Vocabulary) -> Lexicon:
    """The lexicon of a vocabulary, built at the first need.

    It is kept with the vocabulary itself, as its own cached tables are, so that it lives no longer than that.
    """
    held = vars(vocabulary)
    if _KEPT not in held:
        held[_KEPT] = Lexicon(vocabulary)
    lexicon = held[_KEPT]
    assert isinstance(lexicon, Lexicon)
    return lexicon
