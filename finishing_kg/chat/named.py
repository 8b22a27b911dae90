"""The ontology's words in a text that is being read or written: which things it names, and how a begun word goes on."""

from __future__ import annotations

from bisect import bisect_left

from finishing_kg.chat.kept import kept
from finishing_kg.chat.lexicon import LONGEST_LABEL, lexicon_of
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import SLOTS, TOOLS
from finishing_kg.chat.words import clean
from finishing_kg.vocabulary import Name, Vocabulary

_KINDS = (*SLOTS, *TOOLS, "fault")
_SHORTEST = 2
"""How many letters must be there before a word is gone on with."""


def things_named(vocabulary: Vocabulary, text: str) -> list[Name]:
    """The things that a text names by their own labels, each once, in its order."""
    cleaned, _ = clean(text)
    line = Line.of(cleaned, lexicon_of(vocabulary))
    ids = (each for match in line.matches if not match.corrected for each in match.senses.own)
    return [vocabulary.names[each] for each in dict.fromkeys(ids)]


def completed(vocabulary: Vocabulary, text: str) -> str | None:
    """The text with the words that were begun at its end gone on with, as the ontology has them; ``None`` if it knows none.

    The longest run of words that a label begins with counts, so that *studio soda* goes on as *studio soda-lime*.
    Of several labels the shortest is taken: more can still be typed.
    """
    labels = _labels(vocabulary)
    words = text.split(" ")
    for count in range(min(LONGEST_LABEL, len(words)), 0, -1):
        begun = " ".join(words[-count:]).casefold()
        if len(begun.strip()) < _SHORTEST or begun != begun.lstrip():
            continue
        at = bisect_left(labels, begun)
        ways = []
        while at < len(labels) and labels[at].startswith(begun):
            ways.append(labels[at])
            at += 1
        if begun in ways:
            return None
        if ways:
            return text + min(ways, key=len)[len(begun) :]
    return None


def _labels(vocabulary: Vocabulary) -> list[str]:
    """What things of the piece and the bench are called, in the order of the alphabet."""
    return kept(vocabulary, "labels", lambda: _collected(vocabulary), list, list)


def _collected(vocabulary: Vocabulary) -> list[str]:
    names = [name for kind in _KINDS for name in vocabulary.things(kind)]
    return sorted({label.casefold() for name in names for label in (name.label, *name.alternatives)})
