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
from itertools import product
from typing import NamedTuple

from finishing_kg.chat.kept import kept
from finishing_kg.chat.words import Token, fold, tokens
from finishing_kg.compiled import shaped
from finishing_kg.vocabulary import Vocabulary

LONGEST_LABEL = 8
"""How many words a label can have."""

SHORTEST_SLIP = 5
"""How many letters a word must have for a slip in it to be repaired freely."""

_DEGREES = frozenset({"cue-coarse", "cue-fine"})
_PLAIN = frozenset({"cue-plain", "cue-stop"})

PlainSenses = tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]
"""Senses as plain data: own things, loose things, cues."""


class Senses(NamedTuple):
    """What a run of words can mean: things by their own labels, things by everyday words, and cues."""

    own: tuple[str, ...] = ()
    loose: tuple[str, ...] = ()
    cues: frozenset[str] = frozenset()

    @property
    def things(self) -> tuple[str, ...]:
        """All things, those with the words among their own labels first."""
        return self.own + tuple(each for each in self.loose if each not in self.own)


class Tables(NamedTuple):
    """What the words of a vocabulary are made into, as plain data; see ``chat.indexing``.

    Attributes:
        alike: words that are read as another spelling.
        entries: by words run together what they can mean.
        words: every word of a label.
        by_length: by their length the words that a slip is repaired to.
        short: whole labels that a word of four letters is repaired to.
        wheels: the words that can begin the name of something that turns: *felt*, *brush*, *cork*.
        numbers: single words for numbers.
    """

    alike: dict[str, str]
    entries: dict[str, PlainSenses]
    words: frozenset[str]
    by_length: dict[int, list[str]]
    short: list[str]
    wheels: frozenset[str]
    numbers: dict[str, int]


class Match(NamedTuple):
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


class Spelling:
    """How words are made one for comparing."""

    def __init__(self, alike: dict[str, str]) -> None:
        self._alike = alike
        self._folded: dict[str, str] = {}

    def key(self, token: Token) -> str:
        """A token's word, spellings that are read alike made one."""
        return self._alike.get(token.key, token.key)

    def keys(self, label: str) -> list[str]:
        """The words of a label, likewise."""
        words = label.replace("-", " ").split()
        if not all(word.isascii() and word.isalnum() for word in words):
            return [self.key(token) for token in tokens(label)]
        # Most labels are plain words, and the same words again and again: cutting them as text costs three times as much.
        for word in words:
            if word not in self._folded:
                key = fold(word)
                self._folded[word] = self._alike.get(key, key)
        return [self._folded[word] for word in words]


class Lexicon:
    """Finds the words of a vocabulary in a text; see ``lexicon_of``."""

    def __init__(self, vocabulary: Vocabulary, tables: Tables) -> None:
        self.vocabulary, self.wheels, self.numbers = vocabulary, tables.wheels, tables.numbers
        self._tables, self._spelling = tables, Spelling(tables.alike)
        self._senses: dict[str, Senses] = {}
        self._words_of: dict[str, frozenset[str]] = {}

    def as_plain(self) -> tuple[object, ...]:
        """What it finds by, as plain data."""
        return tuple(self._tables)

    def key(self, token: Token) -> str:
        """A token's word, spellings that are read alike made one."""
        return self._spelling.key(token)

    def _meant(self, joined: str) -> Senses | None:
        """What words mean, given run together."""
        found = self._senses.get(joined)
        if found is None and (plain := self._tables.entries.get(joined)) is not None:
            own, loose, cues = plain
            found = self._senses[joined] = Senses(own, loose, frozenset(cues))
        return found

    def words_of(self, cue: str) -> frozenset[str]:
        """The words of a cue, folded for comparing."""
        if cue not in self._words_of:
            name = self.vocabulary.names.get(cue)
            self._words_of[cue] = frozenset(fold(word) for word in name.alternatives) if name else frozenset()
        return self._words_of[cue]

    def find(self, words: str) -> Senses | None:
        """What words mean that are spelt exactly so."""
        return self._meant("".join(self._spelling.keys(words)))

    def matches(self, line: list[Token]) -> list[Match]:
        """What is known in a text, no two overlapping, in order; longer runs win, then exact ones, then things over cues, then earlier ones."""
        options = [self._options(self.key(token)) for token in line]
        found = sorted(self._candidates(line, options), key=_rank)
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
            for last in range(first + 1, min(first + LONGEST_LABEL, len(line)) + 1):
                if last - first > 1 and line[last - 1].gap:
                    break
                slips += len(options[last - 1]) > 1
                if slips > 2:
                    break
                match = self._match(line, first, last, options[first:last])
                if match:
                    yield match

    def _match(self, line: list[Token], first: int, last: int, options: list[tuple[str, ...]]) -> Match | None:
        exact = self._meant("".join(words[0] for words in options))
        if last - first == 1 and line[first].plural and (plural := self._meant(plural_of(line[first].key))):
            exact = both(exact, plural) if exact else plural
        if exact:
            return Match(first, last, exact)
        if all(len(words) == 1 for words in options):
            return None
        joined = ("".join(words) for words in product(*options))
        found = [(words, senses) for words in joined if (senses := self._meant(words)) and (senses.things or _is_likely(words, line[first:last]))]
        hits = [senses for _, senses in found]
        if last - first > 1:
            # An everyday word for a make is not to be met by chance: "fruit bowl" is no "frit bowl".
            written = "".join(token.key for token in line[first:last])
            hits = [senses for words, senses in found if not self._is_a_make_loosely(senses) or _is_common_slip(words, written)]
        if not hits:
            return None
        # A word of the trade and plain English are as near: in a question about glass the first is meant.
        hits = [senses for senses in hits if senses.things] or hits if all(senses.things or senses.cues <= _PLAIN for senses in hits) else hits
        merged = hits[0]
        for senses in hits[1:]:
            merged = both(merged, senses)
        # What all repairs have in common is meant by any of them; the neighbours decide the rest.
        shared = set(merged.things).intersection(*(senses.things for senses in hits))
        return Match(first, last, merged, corrected=True, torn=not shared and any(senses != hits[0] for senses in hits))

    def _is_a_make_loosely(self, senses: Senses) -> bool:
        return not senses.own and any(self.vocabulary.names[each].kind == "make" for each in senses.loose)

    def _options(self, word: str) -> tuple[str, ...]:
        if word in self._tables.words or word in self._tables.entries or not word.isalpha():
            return (word,)
        if len(word) < SHORTEST_SLIP:
            return self._short_options(word)
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        alike, near = self._tables.alike, list[str]()
        for length in (len(word) - 1, len(word), len(word) + 1):
            choices = self._tables.by_length.get(length)
            if choices:
                found = process.extract(word, choices, scorer=OSA.distance, score_cutoff=1, limit=4)
                near += [choice for choice, _, _ in found]
        # Two letters that changed places, and a letter that is doubled in one of two words, are the commonest slips.
        near = [choice for choice in near if _begins_alike(choice, word)]
        likely = [choice for choice in near if _is_common_slip(choice, word)] or near[:4]
        return (word, *dict.fromkeys(alike.get(choice, choice) for choice in likely))

    def _is_telling(self, word: str) -> bool:
        """Whether a word by itself is a thing, or tells coarse from fine."""
        senses = self._meant(word)
        return senses is not None and bool(senses.own or senses.cues & _DEGREES)

    def _short_options(self, word: str) -> tuple[str, ...]:
        """A word of four letters has many neighbours: only to one that has its letters, or to the one whole label that begins as it does."""
        if len(word) != SHORTEST_SLIP - 1:
            return (word,)
        swapped = [choice for choice in self._tables.by_length.get(len(word), ()) if sorted(choice) == sorted(word) and self._is_telling(choice)]
        # A word that is but part of a label is only to be met within it: "fier polished".
        swapped = swapped or [
            choice for choice in self._tables.by_length.get(len(word), ()) if sorted(choice) == sorted(word) and not self._meant(choice)
        ]
        if len(swapped) == 1:
            return (word, swapped[0])
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        found = process.extract(word, self._tables.short, scorer=OSA.distance, score_cutoff=1, limit=None)
        near = [choice for choice, _, _ in found if choice[0] == word[0]]
        return (word, near[0]) if len(near) == 1 else (word,)


def _rank(match: Match) -> tuple[int, bool, bool, int]:
    return match.first - match.last, match.corrected, not match.senses.things, match.first


def _is_likely(words: str, written: list[Token]) -> bool:
    """Whether little words are worth a repair: only for the commonest slips, or *arrised* would be *arrived*."""
    return _is_common_slip(words, "".join(token.key for token in written))


def _begins_alike(word: str, written: str) -> bool:
    """Whether a slip may be one: another first letter is seldom written, unless it is left out, or two changed places (*hores* is no *bores*)."""
    return word[0] == written[0] or sorted(word) == sorted(written) or word[1:] == written or word == written[1:]


def _is_common_slip(word: str, written: str) -> bool:
    return sorted(word) == sorted(written) or _undoubled(word) == _undoubled(written)


def _undoubled(word: str) -> str:
    return "".join(letter for at, letter in enumerate(word) if at == 0 or letter != word[at - 1])


def plural_of(key: str) -> str:
    """The key under which a thing stands that goes by a plural alone."""
    return f"{key}#s"


def both(one: Senses, other: Senses) -> Senses:
    """What words mean that can mean either."""
    own = one.own + tuple(each for each in other.own if each not in one.own)
    loose = one.loose + tuple(each for each in other.loose if each not in one.loose)
    return Senses(own, loose, one.cues | other.cues)


def lexicon_of(vocabulary: Vocabulary) -> Lexicon:
    """The lexicon of a vocabulary, built at the first need."""
    return kept(
        vocabulary,
        "lexicon",
        lambda: Lexicon(vocabulary, _indexed(vocabulary)),
        Lexicon.as_plain,
        lambda plain: Lexicon(vocabulary, Tables(*shaped(plain, dict, dict, frozenset, dict, list, frozenset, dict))),
    )


def _indexed(vocabulary: Vocabulary) -> Tables:
    from finishing_kg.chat.indexing import index

    return index(vocabulary)
