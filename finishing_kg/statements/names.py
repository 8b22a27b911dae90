"""Names in sentences: the things of the ontology, and the options, steps and rules that a question brings.

An option is named by its parts, a step by its number and a rule by its identifier, so that every sentence
about them can be read back:

    loose pumice on brush wheel for pre-polish        option/pumice/loose/brush-wheel/pre-polish
    step 2,  step 2 of route 3                        step/2, step/2/3
    rule bristles-for-relief                          rule/bristles-for-relief
"""

import re
from collections.abc import Iterator, Sequence
from functools import cached_property

from finishing_kg.vocabulary import Name, Phrase, Vocabulary

_MADE_KINDS = {"option": "option", "step": "step", "rule": "rule"}
_RULE_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*$")
_COUNT = re.compile(r"[1-9][0-9]*$")


def option_id(mineral: str, hold: str, carrier: str, finish: str) -> str:
    """The id of the option that uses these things toward this finish."""
    return f"option/{mineral}/{hold}/{carrier}/{finish}"


def step_id(number: int, route: int = 1) -> str:
    """The id of a step, numbered from 1, of a route, numbered from 1."""
    return f"step/{number}" if route == 1 else f"step/{number}/{route}"


def rule_id(name: str) -> str:
    """The id under which a rule is spoken of."""
    return f"rule/{name}"


def option_parts(option: str) -> tuple[str, str, str, str]:
    """Mineral, hold, carrier and finish of an option's id."""
    _, mineral, hold, carrier, finish = option.split("/")
    return mineral, hold, carrier, finish


class NameTable:
    """Reads and prints names; what only reading takes is made at the first name that is read."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self._option_labels: dict[str, str] = {}

    @cached_property
    def sayable(self) -> list[Name]:
        """The things that some phrase takes; words that only guide the reading of free text are no names in sentences."""
        slots = tuple({kind for phrase in self.vocabulary.phrases.values() for kind in (*phrase.subjects, *phrase.objects)})
        return [name for name in self.vocabulary.names.values() if self.vocabulary.fits(name.kind, slots)]

    @cached_property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of all names, those included that a question brings."""
        return tuple(sorted({name.kind for name in self.sayable} | set(_MADE_KINDS)))

    @cached_property
    def _by_words(self) -> dict[tuple[str, ...], list[str]]:
        """Ids by the words that name them."""
        by_words: dict[tuple[str, ...], list[str]] = {}
        for name in self.sayable:
            for label in {name.label, name.notation, *name.alternatives}:
                known = by_words.setdefault(words_of(label), [])
                if name.id not in known:
                    known.append(name.id)
        return by_words

    @cached_property
    def _lengths(self) -> list[int]:
        """How many words a name can have, most first."""
        return sorted({len(words) for words in self._by_words}, reverse=True)

    def kind(self, identifier: str) -> str:
        """The kind of a thing, whether of the ontology or made by a question."""
        name = self.vocabulary.names.get(identifier)
        return name.kind if name else _MADE_KINDS.get(identifier.partition("/")[0], "")

    def label(self, identifier: str) -> str:
        """How a name is printed in a sentence."""
        name = self.vocabulary.names.get(identifier)
        if name:
            return name.label
        if identifier in self._option_labels:
            return self._option_labels[identifier]
        kind, *parts = identifier.split("/")
        if kind == "option":
            mineral, hold, carrier, finish = (self.label(part) for part in parts)
            self._option_labels[identifier] = f"{hold} {mineral} on {carrier} for {finish}"
            return self._option_labels[identifier]
        if kind == "step":
            return f"step {parts[0]}" + (f" of route {parts[1]}" if len(parts) > 1 else "")
        return f"rule {parts[0]}" if kind == "rule" else identifier

    def at(self, words: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
        """All names that begin at a word, longest first, with the index after their last word."""
        for length in self._lengths:
            for found in self._by_words.get(tuple(words[start : start + length]), ()) if start + length <= len(words) else ():
                yield found, start + length
        yield from self._made(words, start)

    def _made(self, words: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
        head, rest = words[start] if start < len(words) else "", words[start + 1 :]
        if head == "step" and rest and _COUNT.match(rest[0]):
            number = int(rest[0])
            if len(rest) >= 4 and tuple(rest[1:3]) == ("of", "route") and _COUNT.match(rest[3]):
                yield step_id(number, int(rest[3])), start + 5
            yield step_id(number), start + 2
        elif head == "rule" and rest and _RULE_ID.match(rest[0]):
            yield rule_id(rest[0]), start + 2
        yield from self._options(words, start)

    def _options(self, words: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
        if "on" not in words[start:] or "for" not in words[start:]:
            return
        for hold, after_hold in self._of("hold", words, start):
            for mineral, after_mineral in self._of("mineral", words, after_hold):
                if words[after_mineral : after_mineral + 1] != ["on"]:
                    continue
                for carrier, after_carrier in self._of("carrier", words, after_mineral + 1):
                    if words[after_carrier : after_carrier + 1] != ["for"]:
                        continue
                    for finish, end in self._of("finish", words, after_carrier + 1):
                        yield option_id(mineral, hold, carrier, finish), end

    def _of(self, kind: str, words: Sequence[str], start: int) -> Iterator[tuple[str, int]]:
        for length in self._lengths:
            for found in self._by_words.get(tuple(words[start : start + length]), ()) if start + length <= len(words) else ():
                if self.vocabulary.names[found].kind == kind:
                    yield found, start + length

    def labels_of(self, kinds: Sequence[str]) -> list[str]:
        """Labels of all things of the given kinds."""
        return [name.label for name in self.sayable if self.vocabulary.fits(name.kind, tuple(kinds))]


def words_of(text: str) -> tuple[str, ...]:
    """A text as words for comparing: small letters, single spaces."""
    return tuple(text.casefold().split())


def one_of(kinds: Sequence[str]) -> str:
    """Kinds in a sentence: ``a step, an option or a piece``."""
    listed = [kind if kind.startswith("a ") else f"an {kind}" if kind[0] in "aeiou" else f"a {kind}" for kind in kinds]
    return " or ".join(filter(None, [", ".join(listed[:-1]), *listed[-1:]]))


def kinds_of(vocabulary: Vocabulary, allowed: tuple[str, ...]) -> frozenset[str]:
    """All kinds of thing that may stand in a slot that allows these."""
    return frozenset(kind for kind in vocabulary.kinds if vocabulary.fits(kind, allowed))


def quantity_kind(vocabulary: Vocabulary, phrase: Phrase) -> str:
    """What a variable for the value of a quantity stands for, in the place of a kind of thing."""
    return f"a quantity of {vocabulary.units.by_symbol[phrase.units[0]].dimension}"


def kinds_in(vocabulary: Vocabulary, phrase: Phrase) -> tuple[frozenset[str], frozenset[str]]:
    """What a variable can stand for as the subject and as the object of a phrase."""
    objects = frozenset({quantity_kind(vocabulary, phrase)}) if phrase.shape == "quantity" else kinds_of(vocabulary, phrase.objects)
    return kinds_of(vocabulary, phrase.subjects), objects
