"""Every sentence of the language as a path through a graph of words.

The parser reads one sentence; this graph holds all of them at once, which is what it takes to find the sentence
nearest to one that cannot be read, and to see whether two phrases can make the same one. It is built at the first
need, since a sentence that can be read needs none of it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishing_kg.record import record
from finishing_kg.statements.names import kinds_of, quantity_kind, words_of
from finishing_kg.vocabulary import Phrase

if TYPE_CHECKING:
    from finishing_kg.statements.language import Language

NUMBER = r"\d{1,12}(?:\.\d{1,12})?"


@record(frozen=True, slots=True)
class WordClass:
    """Words without end that may stand in one place: variables, numbers, names of rules.

    Attributes:
        name: classes of one name hold the same words.
        pattern: what all its words match.
        sample: a word of the class, for examples.
        kinds: of a variable, what it can stand for where it stands.
    """

    name: str
    pattern: re.Pattern[str]
    sample: str
    kinds: frozenset[str] = frozenset()

    def common(self, other: WordClass) -> str | None:
        """A word that is in both classes, if one of the samples is."""
        if self.name == other.name:
            return self.sample
        return next((word for word in (self.sample, other.sample) if self._has(word) and other._has(word)), None)

    def _has(self, word: str) -> bool:
        # Words are compared in small letters, and µ as a unit has another small letter than itself.
        return self.pattern.fullmatch(word.casefold()) is not None


_VARIABLE = re.compile(r"\?[a-z][a-z0-9-]*")
_COUNT = WordClass("count", re.compile(r"[1-9]\d*"), "2")
_RULE = WordClass("rule", re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*"), "some-rule")
_NUMBER = WordClass("number", re.compile(NUMBER), "60")
_OPENED = WordClass("opened", re.compile(rf"\({NUMBER}"), "(50")
_CLOSED = WordClass("closed", re.compile(rf"{NUMBER}\)"), "70)")


class WordGraph:
    """A finite automaton over words; nodes are numbers, and node 0 is the beginning of a sentence.

    Attributes:
        words: for each node the words that lead on, in small letters, with the nodes they lead to.
        classes: for each node the classes of words that lead on.
        ends: the nodes at which a sentence is complete, with the id of its phrase.
        units: the nodes at which a unit is expected.
        just: the nodes at which a quantity may be said just so, before which a comparison may stand.
        compared: the nodes at which a quantity is compared with.
        within: the nodes that lie within a name or a phrase of several words.
        shared: the last words of names that several things of one kind go by, each with the nodes from and to which it leads.
        shown: how a word is printed.
    """

    def __init__(self, language: Language) -> None:
        self.words: list[dict[str, set[int]]] = []
        self.classes: list[list[tuple[WordClass, int]]] = []
        self.ends: dict[int, str] = {}
        self.units: set[int] = set()
        self.just: set[int] = set()
        self.compared: set[int] = set()
        self.within: set[int] = set()
        self.shared: set[tuple[int, str, int]] = set()
        self.shown: dict[str, str] = {}
        self._inner: dict[tuple[int, str], int] = {}
        self._vocabulary = language.vocabulary
        self._labels: dict[str, list[str]] = {}
        self._named: dict[tuple[str, tuple[str, ...]], set[str]] = {}
        for name in language.names.sayable:
            labels = dict.fromkeys((name.label, name.notation, *name.alternatives))
            self._labels.setdefault(name.kind, []).extend(labels)
            for label in labels:
                self._named.setdefault((name.kind, words_of(label)), set()).add(name.id)
        self._kinds = list(dict.fromkeys([*self._labels, "option", "step", "rule"]))
        start, self._done = self._node(), {phrase: self._node() for phrase in language.vocabulary.phrases}
        self.ends = {node: phrase for phrase, node in self._done.items()}
        self._plain(start, language.plain_phrases())
        for phrase in language.nouns():
            self._property(start, phrase)

    def understood(self, words: list[str]) -> tuple[int, list[str]]:
        """How many words a sentence can begin with, and the words that could stand after them."""
        here = {0}
        for index, word in enumerate(words):
            there = {target for node in here for target in self.words[node].get(word, ())}
            there |= {target for node in here for kind, target in self.classes[node] if kind.pattern.fullmatch(word)}
            if not there:
                return index, self._next(here)
            here = there
        return len(words), self._next(here)

    def _next(self, nodes: set[int]) -> list[str]:
        return sorted({self.shown[word] for node in nodes for word in self.words[node]})

    def _node(self) -> int:
        self.words.append({})
        self.classes.append([])
        return len(self.words) - 1

    def _path(self, start: int, text: str, end: int) -> tuple[int, str, int]:
        """Lead from one node to another over the words of a text; paths that begin alike share their beginning. Gives the last step."""
        shown, words = text.split(), words_of(text)
        for word, as_shown in zip(words, shown, strict=True):
            self.shown.setdefault(word, as_shown)
        for word in words[:-1]:
            inner = self._inner.get((start, word))
            if inner is None:
                inner = self._inner[start, word] = self._node()
                self.within.add(inner)
                self.words[start].setdefault(word, set()).add(inner)
            start = inner
        self.words[start].setdefault(words[-1], set()).add(end)
        return start, words[-1], end

    def _variable(self, start: int, end: int, kinds: Sequence[str]) -> None:
        sample = "?" + next(iter(kinds), "x").replace(" ", "-")
        self.classes[start].append((WordClass("variable", _VARIABLE, sample, kinds_of(self._vocabulary, tuple(kinds))), end))

    def _names(self, start: int, kind: str, end: int) -> None:
        """Lead from one node to another over every name of exactly this kind."""
        for label in self._labels.get(kind, ()):
            last = self._path(start, label, end)
            if len(self._named[kind, words_of(label)]) > 1:
                self.shared.add(last)
        if kind == "step":
            number, route = self._node(), self._node()
            self._path(start, "step", number)
            self._path(start, "step", route)
            self.classes[number].append((_COUNT, end))
            of = self._node()
            self.classes[route].append((_COUNT, of))
            route_number = self._node()
            self._path(of, "of route", route_number)
            self.classes[route_number].append((_COUNT, end))
        elif kind == "rule":
            name = self._node()
            self._path(start, "rule", name)
            self.classes[name].append((_RULE, end))
        elif kind == "option":
            held, made, on, carried, toward = (self._node() for _ in range(5))
            self._names(start, "hold", held)
            self._names(held, "mineral", made)
            self._path(made, "on", on)
            self._names(on, "carrier", carried)
            self._path(carried, "for", toward)
            self._names(toward, "finish", end)

    def _fitting(self, allowed: tuple[str, ...]) -> list[str]:
        return [kind for kind in self._kinds if self._vocabulary.fits(kind, allowed)]

    def _plain(self, start: int, phrases: list[Phrase]) -> None:
        """Traits and relations; the subject's words are shared by all phrases of its kind."""
        after: dict[str | tuple[str, ...], int] = {}
        for phrase in phrases:
            done = self._done[phrase.id]
            said = done
            if phrase.shape == "relation":
                said = self._node()
                self._variable(said, done, phrase.objects)
                for kind in self._fitting(phrase.objects):
                    self._names(said, kind, done)
            subjects: list[str | tuple[str, ...]] = [phrase.subjects, *self._fitting(phrase.subjects)]
            for subject in subjects:
                if subject not in after:
                    after[subject] = self._node()
                    if isinstance(subject, str):
                        self._names(start, subject, after[subject])
                    else:
                        self._variable(start, after[subject], subject)
                self._path(after[subject], phrase.words, said)

    def _property(self, start: int, phrase: Phrase) -> None:
        done = self._done[phrase.id]
        subject, after, value = self._node(), self._node(), self._node()
        self._path(start, f"the {phrase.words} of", subject)
        self._variable(subject, after, phrase.subjects)
        for kind in self._fitting(phrase.subjects):
            self._names(subject, kind, after)
        self._path(after, "is", value)
        if phrase.shape == "naming":
            self._variable(value, done, phrase.objects)
            for kind in self._fitting(phrase.objects):
                self._names(value, kind, done)
            return
        compared = self._node()
        self.just.add(value)
        self.compared.add(compared)
        for comparison in ("above", "below", "at least", "at most"):
            self._path(value, comparison, compared)
        for node in (value, compared):
            self._quantity(node, phrase, done)

    def _quantity(self, start: int, phrase: Phrase, end: int) -> None:
        """``60 µm``, ``60µm``, ``50 to 70 µm``, ``60 (50 to 70) µm``, in every unit of an allowed dimension."""
        unit, low, middle = self._node(), self._node(), self._node()
        self.classes[start] += [(_NUMBER, unit), (_NUMBER, low), (_NUMBER, middle)]
        high, opened, closed = self._node(), self._node(), self._node()
        self._path(low, "to", high)
        self.classes[high].append((_NUMBER, unit))
        self.classes[middle].append((_OPENED, opened))
        self._path(opened, "to", closed)
        self.classes[closed].append((_CLOSED, unit))
        known = self._vocabulary.units.by_symbol
        dimensions = {known[symbol].dimension for symbol in phrase.units}
        symbols = [*phrase.units, *(symbol for symbol, found in known.items() if found.dimension in dimensions and symbol not in phrase.units)]
        spellings = [spelling for symbol in symbols for spelling in (symbol, *known[symbol].spellings)]
        for spelling in spellings:
            self._path(unit, spelling, end)
        self.units.add(unit)
        glued = re.compile(f"{NUMBER}(?:{'|'.join(re.escape(spelling.casefold()) for spelling in spellings)})")
        self.classes[start].append((WordClass(f"number with {phrase.units[0]}", glued, f"60{phrase.units[0]}"), end))
        measured = WordClass("variable", _VARIABLE, "?value", frozenset({quantity_kind(self._vocabulary, phrase)}))
        self.classes[start].append((measured, end))
