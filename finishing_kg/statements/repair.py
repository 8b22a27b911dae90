"""From a sentence that stopped being read to an error with the nearest sentence that would be accepted."""

from __future__ import annotations

import heapq
import re
from collections.abc import Iterator, Sequence
from itertools import count
from typing import TYPE_CHECKING

from rapidfuzz import fuzz

from finishing_kg.record import replace
from finishing_kg.statements.errors import StatementError
from finishing_kg.statements.word_graph import WordClass, WordGraph

if TYPE_CHECKING:
    from finishing_kg.statements.language import Language, _Stop

_NEAR = 60.0  # of 100: below this two wordings have too little in common to be offered

# What it costs to change a sentence. A misspelt word costs its unlikeness, and less than a missing or an extra one;
# two changes of whole words are the most that still looks like the writer's sentence.
_EXTRA, _MISSING, _OTHER_UNIT, _BUDGET = 0.85, 0.85, 0.9, 2.0
_ALIKE, _ALIKE_UNIT = 60.0, 80.0
_LOOKED_AT = 20_000
_OFFERED = 5

_Place = tuple[int, int]


def explain(language: Language, sentence: str, spans: list[tuple[str, int, int]], stop: _Stop, *, repair: bool = True) -> StatementError:
    """The error for the reading that came furthest.

    Args:
        language: for what could have been written instead.
        sentence: as given.
        spans: its words in small letters, each with start and end.
        stop: where that reading stopped, and what could have stood there.
        repair: whether to look for what could be written instead.
    """
    reached, could_follow = language.graph.understood([word for word, _, _ in spans])
    if reached > stop.reach:  # within a name made of names, which is read whole or not at all
        stop = replace(stop, word=reached, why="no word", phrases=(), kinds=())
    at_end = stop.word >= len(spans)
    column = (spans[-1][2] + 1 if at_end else spans[stop.word][1]) + 1
    width = 1 if at_end else spans[stop.word][2] - spans[stop.word][1]
    understood = sentence[: spans[stop.word - 1][2]].strip() if stop.word else ""
    here = "the end" if at_end else repr(sentence[spans[stop.word][1] : spans[stop.word][2]])
    rest = " ".join(word for word, _, _ in spans[stop.word :])
    known: Sequence[str] = ()
    missing = ""
    if stop.why == "no word":
        known = could_follow
    elif stop.phrases:
        known = [phrase.words for phrase in stop.phrases]
        missing = stop.why.removeprefix("no ")
    elif stop.kinds:
        known = language.names.labels_of(stop.kinds)
        missing = "name" if stop.why == "no name" else ""
    unknown = f"the sentence ends where a {missing} should follow." if at_end else f"know no {missing} that begins with {here}."
    if stop.why == "no word":
        why = f"I read {understood!r}, but there the sentence cannot end." if at_end else f"I read {understood!r}, then cannot go on with {here}."
    elif missing and understood:
        why = f"I read {understood!r}, then {unknown}"
    elif here.startswith("'?"):
        why = "A variable is a question mark, a small letter, and then small letters, digits or hyphens, such as ?option."
    elif missing:
        why = f"I know no {missing} that begins with {here}."
    else:
        why = f"I read {understood!r}; {stop.why}" if understood else stop.why
    why = why[0].upper() + why[1:]
    if not repair:
        return StatementError(sentence, column, width, why)
    words = [(word, sentence[start:end]) for word, start, end in spans]
    candidates = [*nearest_sentences(language.graph, words), stop.repair]
    written = next((candidate for candidate in candidates if candidate and language.readable(candidate)), "")
    return StatementError(sentence, column, width, why, written or example(language, sentence), _nearest(rest, known))


def _nearest(words: str, known: Sequence[str]) -> tuple[str, ...]:
    """Up to three known wordings that are near the beginning of the words."""
    scored: dict[str, float] = {}
    for wording in known:
        length = len(wording.split())
        head = " ".join(words.split()[:length])
        scored[wording] = max(fuzz.ratio(head, wording.casefold()), fuzz.ratio(words, wording.casefold()))
    best = sorted((wording for wording, score in scored.items() if score >= _NEAR), key=lambda wording: (-scored[wording], wording))
    return tuple(best[:3])


def nearest_sentences(graph: WordGraph, words: list[tuple[str, str]]) -> Iterator[str]:
    """The sentences that take the least change, nearest first; none if all would take too much.

    Args:
        graph: all sentences of the language.
        words: of the sentence, in small letters and as written.
    """
    came_from: dict[_Place, tuple[_Place | None, str]] = {}
    order = count()
    heap: list[tuple[float, int, _Place, _Place | None, str]] = [(0.0, next(order), (0, 0), None, "")]
    offered = 0
    while heap and len(came_from) < _LOOKED_AT and offered < _OFFERED:
        cost, _, here, before, written = heapq.heappop(heap)
        if here in came_from:
            continue
        came_from[here] = (before, written)
        at, node = here
        if at == len(words) and node in graph.ends:
            offered += 1
            yield _spelt(here, came_from)
        for more, moved, target, word in _changes(graph, words, at, node):
            if cost + more <= _BUDGET and (moved, target) not in came_from:
                heapq.heappush(heap, (cost + more, next(order), (moved, target), here, word))


def _changes(graph: WordGraph, words: list[tuple[str, str]], at: int, node: int) -> Iterator[tuple[float, int, int, str]]:
    """Every way on: cost, place reached in the sentence and in the graph, and the word written for it."""
    enough = _ALIKE_UNIT if node in graph.units else _ALIKE
    if at < len(words):
        word, as_written = words[at]
        yield _EXTRA, at + 1, node, ""
        for known, targets in graph.words[node].items():
            if known == word:
                price, shown = 0.0, as_written
            else:
                alike = fuzz.ratio(word, known, score_cutoff=enough)
                price, shown = 1.3 * (1 - alike / 100), graph.shown[known]
                if alike < enough:
                    if node not in graph.units:
                        continue
                    price = _OTHER_UNIT
            for target in targets:
                yield price, at + 1, target, shown
        for kind, target in graph.classes[node]:
            mended = _mended(kind, word, as_written)
            if mended is not None:
                yield mended[0], at + 1, target, mended[1]
    for known, targets in graph.words[node].items():
        for target in targets:
            yield _MISSING, at, target, graph.shown[known]
    for kind, target in graph.classes[node]:
        # Where a name is missing a variable says so honestly; a name or a number would be made up.
        yield (_MISSING - 0.05 if kind.name == "variable" else _MISSING + 0.3), at, target, kind.sample


def _mended(kind: WordClass, word: str, as_written: str) -> tuple[float, str] | None:
    """Whether a word is of a class, or nearly: what that costs, and the word to write."""
    if kind.pattern.fullmatch(word):
        return 0.0, as_written
    if kind.name == "variable" and word.startswith("?"):
        return 0.3, "?" + (re.sub(r"[^a-z0-9-]", "", word).lstrip("0123456789-") or "x")
    if kind.name == "rule":
        return (0.3, cleaned) if (cleaned := "-".join(re.findall(r"[a-z0-9]+", word))) else None
    if "," in word and kind.pattern.fullmatch(word.replace(",", ".")):
        return 0.2, word.replace(",", ".")
    return None


def _spelt(end: _Place, came_from: dict[_Place, tuple[_Place | None, str]]) -> str:
    written: list[str] = []
    place: _Place | None = end
    while place is not None:
        place, word = came_from[place]
        written.append(word)
    return " ".join(word for word in reversed(written) if word)


def example(language: Language, sentence: str) -> str:
    """A sentence with variables that shows the form, in the phrase nearest to what was written."""
    phrases = [*language.plain_phrases(), *language.nouns()]
    phrase = max(phrases, key=lambda phrase: fuzz.partial_ratio(sentence.casefold(), phrase.words.casefold()))
    subject, value = phrase.subjects[0].replace(" ", "-"), (phrase.objects or ("value",))[0].replace(" ", "-")
    if phrase.shape == "trait":
        return f"?{subject} {phrase.words}"
    if phrase.shape == "relation":
        return f"?{subject} {phrase.words} ?{value if value != subject else 'other-' + value}"
    return f"the {phrase.words} of ?{subject} is ?{value}"
