"""Which words a studio may use as names: words that mean something already, or that would swallow a word of warning, are refused.

A question is read by its longest known names. So a new name that holds the name of something dangerous, or overlaps it, would hide that
from every rule. It is allowed only for a thing of which safety rules find the same.
"""

from collections.abc import Iterator

from finishing_kg.chat.lexicon import lexicon_of
from finishing_kg.chat.words import tokens
from finishing_kg.statements.names import words_of
from finishing_kg.studio.guard import Guard
from finishing_kg.vocabulary import Vocabulary

# Words that carry no content overlap harmlessly.
_LIGHT = frozenset({"cue-stop", "cue-plain"})
# Cues that stand for a warning, or turn one round.
_WARNING_CUES = frozenset({"cue-out-of-scope", "cue-hot-work", "cue-not"})
_SAYS = "says-"


class TakenWords:
    """What words of a vocabulary mean, and which of them warn.

    Args:
        vocabulary: the shipped one.
        guard: of the shipped rules.
    """

    def __init__(self, vocabulary: Vocabulary, guard: Guard) -> None:
        self.vocabulary, self.guard = vocabulary, guard
        self.lexicon = lexicon_of(vocabulary)
        self.owners: dict[tuple[str, ...], str] = {}
        for name in vocabulary.names.values():
            if name.kind != "cue":
                for words in (name.label, name.notation, *name.alternatives):
                    self.owners.setdefault(words_of(words.replace("-", " ")), name.id)
        self.warning = {thing: self._marks(vocabulary, thing) for thing in vocabulary.names if self._is_told_of(thing)}
        self.warning = {thing: marks for thing, marks in self.warning.items() if marks}
        self._warning_words = [(thing, words) for thing in self.warning for words in self._names_of(thing)]

    def faults(self, thing: str, words: str, widened: Vocabulary) -> Iterator[str]:
        """Why words may not be a name of a thing, each reason in a sentence.

        Args:
            thing: id of the thing, of the studio or shipped.
            words: the new name.
            widened: the vocabulary with the studio's things, for what is held of them.
        """
        keys = self._keys(words)
        if not keys:
            yield f"{words!r} holds no word. A name has letters."
            return
        owner = self.owners.get(words_of(words.replace("-", " ")))
        senses = self.lexicon.find(words)
        if owner is None and senses is not None:
            owner = next(iter(senses.things), None)
        if owner is not None and owner != thing:
            yield f"{words!r} is the name of {self.vocabulary.names[owner].label} already ({owner}). Take another name."
            return
        if senses is not None and senses.cues:
            yield f"{words!r} is a plain word that questions are read by. Take a name of more words."
            return
        own = self._marks(widened, thing)
        for other, other_keys in self._warning_words:
            if other != thing and self._overlap(keys, other_keys) and not self.warning[other] <= own:
                label = self.vocabulary.names[other].label
                yield f"{words!r} would swallow {' '.join(other_keys)!r}, and questions about {label} would lose its cautions. Take another name."
                return
        for match in self.lexicon.matches(list(tokens(words))):
            for other in match.senses.things if match.corrected else ():
                if other != thing and not self.warning.get(other, frozenset()) <= own:
                    yield f"{words!r} is a slip of the pen away from {self.vocabulary.names[other].label}. Take a name that cannot be taken for it."
                    return
        for first in range(len(keys)):
            for last in range(first + 1, len(keys) + 1):
                found = self.lexicon.find(" ".join(keys[first:last]))
                if found is not None and found.cues & _WARNING_CUES:
                    yield f"{words!r} holds {' '.join(keys[first:last])!r}, by which questions are read. Take a name without it."
                    return

    def _keys(self, words: str) -> tuple[str, ...]:
        return tuple(self.lexicon.key(token) for token in tokens(words))

    def _is_told_of(self, thing: str) -> bool:
        """Whether a question tells of the piece by naming such a thing, in a sentence that safety rules look at."""
        kind = self.vocabulary.names[thing].kind
        return any(
            self.vocabulary.fits(kind, phrase.objects)
            for predicate in self.guard.looked_at | self.guard.closed.keys()
            if (phrase := self.vocabulary.phrases[predicate]).given and "piece" in phrase.given
        )

    def _marks(self, vocabulary: Vocabulary, thing: str) -> frozenset[str]:
        """What safety rules see in a thing: the traits and relations they look at, and its name where a rule names it."""
        seen = {claim.predicate for predicate in self.guard.looked_at for claim in vocabulary.claims_about(thing, predicate) if claim.object is None}
        return frozenset(seen | ({f"named {thing}"} & {f"named {name}" for name in self.guard.named}))

    def _names_of(self, thing: str) -> Iterator[tuple[str, ...]]:
        name = self.vocabulary.names[thing]
        everyday = self.vocabulary.names.get(_SAYS + thing)
        for words in (name.label, name.notation.replace("-", " "), *name.alternatives, *(everyday.alternatives if everyday else ())):
            if keys := self._keys(words):
                yield keys

    def _overlap(self, keys: tuple[str, ...], other: tuple[str, ...]) -> bool:
        """Whether one run of words can lie over another in a text: it holds it, or one ends with words that the other begins with."""
        if any(keys[at : at + len(other)] == other for at in range(len(keys) - len(other) + 1)):
            return True
        runs = [keys[-length:] for length in range(1, min(len(keys), len(other))) if keys[-length:] == other[:length]]
        runs += [keys[:length] for length in range(1, min(len(keys), len(other))) if keys[:length] == other[-length:]]
        return not all(self._is_light(run) for run in runs)

    def _is_light(self, keys: tuple[str, ...]) -> bool:
        senses = self.lexicon.find(" ".join(keys))
        return senses is not None and bool(senses.cues & _LIGHT)
