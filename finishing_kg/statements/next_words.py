"""What may be written next: of a sentence begun, the words and slots with which it can still become one that is read in one way.

A form that offers these and nothing else cannot be filled in wrongly, and leaves nothing out that can be said: both follow from the
graph of all sentences, which is walked here with the number of ways in which each place can be reached.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from finishing_kg.record import record, replace
from finishing_kg.statements.names import words_of
from finishing_kg.statements.word_graph import NUMBER, WordClass

if TYPE_CHECKING:
    from finishing_kg.statements.language import Language

Role = Literal["any", "fact", "condition", "exception", "conclusion"]
"""What a sentence is for. ``any``: whatever can be read. ``fact``: said of one thing, without variables. The others: parts of a rule."""


@record(frozen=True, slots=True)
class Place:
    """Where a sentence is to stand, and what is known there.

    Attributes:
        role: what it is for.
        kinds: of each variable that other sentences use, what it can stand for.
        bound: those variables that a condition says something of; a conclusion and a comparison use no other.
        closed: ids of phrases that may not be used here.
    """

    role: Role = "any"
    kinds: Mapping[str, frozenset[str]] = {}
    bound: frozenset[str] = frozenset()
    closed: frozenset[str] = frozenset()


@record(frozen=True, slots=True)
class Slot:
    """A place for a word that cannot be listed: a variable, a number, the name of a rule.

    Attributes:
        name: what may stand there.
        sample: a word that may stand there, for an example.
        pattern: what every such word matches.
        variables: of a slot for a variable, those in use that may stand there.
        new: of a slot for a variable, whether one that is not in use may.
        taken: of a slot for a variable, those in use, so that none of them is new.
        least, most: of a number, the bounds that the numbers before it set.
    """

    name: str
    sample: str
    pattern: re.Pattern[str]
    variables: tuple[str, ...] = ()
    new: bool = True
    taken: frozenset[str] = frozenset()
    least: Decimal | None = None
    most: Decimal | None = None

    def takes(self, word: str) -> bool:
        """Whether a word may stand there."""
        word = word.casefold()
        if not self.pattern.fullmatch(word):
            return False
        if self.name == "variable":
            return word[1:] in self.variables or (self.new and word[1:] not in self.taken)
        number = re.match(NUMBER, word.strip("()"))
        if (self.least is None and self.most is None) or number is None:
            return True
        return (self.least is None or Decimal(number[0]) >= self.least) and (self.most is None or Decimal(number[0]) <= self.most)


@record(frozen=True, slots=True)
class Next:
    """What may follow the words of a sentence begun.

    Attributes:
        words: that may be the next, as they are printed.
        pieces: whole names and phrases that the next words may make, shortest way first where one begins another.
        slots: that may be filled by the next word.
        complete: whether the sentence can end here.
    """

    words: tuple[str, ...]
    pieces: tuple[str, ...]
    slots: tuple[Slot, ...]
    complete: bool


# A way of reading the words so far ends at a node; where the subject is a variable, also its name and what it stands for count.
_At = tuple[int, str, frozenset[str]]
_State = frozenset[tuple[_At, int]]
_BEGIN: _State = frozenset({((0, "", frozenset()), 1)})


class NextWords:
    """All sentences that may stand in a place, word by word.

    Args:
        language: of the sentences.
        place: where they are to stand; without it all that can be read is allowed.
    """

    def __init__(self, language: Language, place: Place | None = None) -> None:
        self.graph, self.place = language.graph, place or Place()
        self._alive: dict[_State, bool] = {}

    def after(self, words: Sequence[str]) -> Next | None:
        """What may follow the words so far, none at the beginning; ``None`` where they begin no sentence that may stand here."""
        state = self._reached(words)
        return self._next(state, words) if self._can_end(state) else None

    def begins(self, words: Sequence[str]) -> bool:
        """Whether the words begin, or are, a sentence that may stand here."""
        return self._can_end(self._reached(words))

    def whole(self, words: Sequence[str]) -> bool:
        """Whether the words are a sentence that may stand here, and can be read in one way."""
        return self._complete(self._reached(words))

    def _reached(self, words: Sequence[str]) -> _State:
        state = _BEGIN
        for index, word in enumerate(words):
            state = self._after(state, word.casefold(), words[:index])
        return state

    def _next(self, state: _State, words: Sequence[str]) -> Next:
        following = sorted({word for (node, _, _), _ in state for word in self.graph.words[node]})
        shown = [self.graph.shown[word] for word in following if self._can_end(self._by_word(state, word))]
        pieces = [" ".join(piece) for piece in self._pieces(state, {at[0] for at, _ in state}, [])]
        slots: dict[str, Slot] = {}
        open_to: dict[str, list[tuple[_At, WordClass]]] = {}
        for at, _ in sorted(state, key=lambda way: way[0][0]):
            for kind, _ in self.graph.classes[at[0]]:
                open_to.setdefault(kind.name, []).append((at, kind))
        for name, ways in open_to.items():
            if self._can_end(self._by_class(state, name)) and (slot := self._slot(ways, words)):
                slots[name] = slot if name != "variable" else self._leading_on(slot, state)
        return Next(tuple(shown), tuple(dict.fromkeys(pieces)), tuple(slots.values()), self._complete(state))

    def _leading_on(self, slot: Slot, state: _State) -> Slot:
        """A slot with those of its variables only with which the sentence can be ended."""
        return replace(slot, variables=tuple(name for name in slot.variables if self._can_end(self._after(state, f"?{name}", []))))

    def _after(self, state: _State, word: str, before: Sequence[str]) -> _State:
        """The state after one more word in small letters."""
        ways: dict[_At, int] = dict(self._by_word(state, word))
        for at, count in state:
            for kind, target in self.graph.classes[at[0]]:
                if (slot := self._slot([(at, kind)], before)) and slot.takes(word):
                    name = word[1:] if kind.name == "variable" else ""
                    _add(ways, self._moved(at, target, kind, name), count)
        return frozenset(ways.items())

    def _by_word(self, state: _State, word: str) -> _State:
        ways: dict[_At, int] = {}
        for (node, name, kinds), count in state:
            if self.place.role in ("fact", "conclusion") and node in self.graph.just and self.graph.words[node].get(word):
                continue  # only comparisons begin with a word there
            for target in self.graph.words[node].get(word, ()):
                _add(ways, (target, name, kinds), count * (2 if (node, word, target) in self.graph.shared else 1))
        return frozenset(ways.items())

    def _by_class(self, state: _State, class_name: str) -> _State:
        """The state after any word of a class; of a variable it counts what it can be at most."""
        ways: dict[_At, int] = {}
        for at, count in state:
            for kind, target in self.graph.classes[at[0]]:
                if kind.name == class_name and self._slot([(at, kind)], []):
                    _add(ways, self._moved(at, target, kind, ""), count)
        return frozenset(ways.items())

    def _moved(self, at: _At, target: int, kind: WordClass, name: str) -> _At:
        if kind.name != "variable":
            return target, at[1], at[2]
        return target, name, self._kinds(name, kind.kinds)

    def _kinds(self, name: str, kinds: frozenset[str]) -> frozenset[str]:
        return self.place.kinds[name] & kinds if name in self.place.kinds else kinds

    def _slot(self, ways: Sequence[tuple[_At, WordClass]], words: Sequence[str]) -> Slot | None:
        """What may be put for a class of words, in the ways in which the place can be read; ``None`` if nothing may."""
        kind = ways[0][1]
        if kind.name != "variable":
            just_said = all(at[0] in self.graph.just for at, _ in ways) and self.place.role in ("condition", "exception")
            return None if just_said else _number_slot(kind, words)
        if self.place.role == "fact":
            return None
        used = {name for at, each in ways for name in self._usable(at, each)}
        new = any(self._new(at) for at, _ in ways)
        taken = frozenset(self.place.kinds) | ({at[1] for at, _ in ways} - {""})
        return Slot("variable", kind.sample, kind.pattern, tuple(sorted(used)), new, taken) if used or new else None

    def _usable(self, at: _At, kind: WordClass) -> set[str]:
        """The variables in use that may stand in a place."""
        node, own, own_kinds = at
        role = self.place.role
        if node in self.graph.just and role in ("condition", "exception"):
            return set()  # said just so, a quantity would have to be the very same
        found = set(self.place.kinds) if role in ("any", "condition") else set(self.place.bound)
        if node in self.graph.compared and role != "any":
            found = set(self.place.bound)
        fitting = {name for name in found if name != own and self.place.kinds[name] & kind.kinds}
        return fitting | ({own} if own and own_kinds & kind.kinds else set())

    def _new(self, at: _At) -> bool:
        """Whether a variable that is not in use may stand in a place."""
        role = self.place.role
        return role == "any" or (role in ("condition", "exception") and at[0] not in self.graph.compared)

    def _complete(self, state: _State) -> bool:
        return sum(count for (node, _, _), count in state if self.graph.ends.get(node, "") not in ("", *self.place.closed)) == 1

    def _can_end(self, state: _State) -> bool:
        """Whether the sentence can be ended from here, so that it is read in one way."""
        if not state:
            return False
        if state not in self._alive:
            self._alive[state] = False  # no sentence goes in circles, so nobody asks again before it is known
            self._alive[state] = self._complete(state) or any(map(self._can_end, self._onward(state)))
        return self._alive[state]

    def _onward(self, state: _State) -> Iterator[_State]:
        for name in dict.fromkeys(kind.name for (node, _, _), _ in state for kind, _ in self.graph.classes[node]):
            yield self._by_class(state, name)
        for word in dict.fromkeys(word for (node, _, _), _ in state for word in self.graph.words[node]):
            yield self._by_word(state, word)

    def _pieces(self, state: _State, opened: set[int], said: list[str]) -> Iterator[list[str]]:
        """Whole names and phrases: on from the nodes at which one is open, until it is said to its end."""
        for word in sorted({word for node in opened for word in self.graph.words[node]}):
            there = self._by_word(state, word)
            if not self._can_end(there):
                continue
            further = [*said, self.graph.shown[word]]
            reached = {target for node in opened for target in self.graph.words[node].get(word, ())}
            if reached - self.graph.within:
                yield further
            yield from self._pieces(there, reached & self.graph.within, further)


def _add(ways: dict[_At, int], at: _At, count: int) -> None:
    ways[at] = ways.get(at, 0) + count


def _number_slot(kind: WordClass, words: Sequence[str]) -> Slot:
    """The slot of a class without end other than variables; in a spread, with the bounds that its order sets."""
    before = [word.casefold() for word in words]
    least = most = None
    if kind.name == "opened":
        most = _number(before, -1)
    elif kind.name == "closed":
        least = _number(before, -3)
    elif kind.name == "number" and before[-1:] == ["to"]:
        least = _number(before, -2)
    return Slot(kind.name, kind.sample, kind.pattern, least=least, most=most)


def _number(words: list[str], index: int) -> Decimal | None:
    found = re.fullmatch(NUMBER, words[index].strip("()")) if len(words) >= -index else None
    return Decimal(found[0]) if found else None


def spoken(text: str) -> list[str]:
    """The words of a text as ``next_words`` takes them."""
    return list(words_of(text))
