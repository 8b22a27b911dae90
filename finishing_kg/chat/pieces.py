"""What a maker tells of a piece beside its parts: how many there are, what they are for, what is on them.

The words stand in the ontology as remarks (``ontology/practice.ttl``); the beginning of an id tells what they do.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from finishing_kg.chat.aside import asides_of
from finishing_kg.chat.kept import kept
from finishing_kg.chat.lexicon import lexicon_of
from finishing_kg.chat.line import Line
from finishing_kg.chat.words import Token, clean, tokens
from finishing_kg.measure import Quantity
from finishing_kg.record import record, replace
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

_COUNT, _BATCH, _PIECES, _NOT, _NO_COUNT = "count-", "batch", "pieces", "not", "no-count"
_JOINED = "joined"
_PREFIX = "remark-"
_LONGEST = 5
_NEGATED_WITHIN = 3  # words between a *not* and what it turns round
_DESCRIBED_WITHIN = 5  # words between a number and the body that it counts: *12 small lead crystal tumblers*
_SHORT = frozenset({"pcs"})  # a plural without its ending taken off
_MOST = 10_000
_TEN, _DOZEN, _HUNDRED = 10, 12, 100
_FIGURES = 3  # a number put right has fewer figures than a grade
_SENTENCE_END = 3


@record(frozen=True, slots=True)
class Remarks:
    """What was found in one turn.

    Attributes:
        count: how many pieces, if a number of two or more was told.
        traits: ids of the phrases that are said of the piece.
        forms: ids of all forms named.
        used: the words, folded for comparing, that say these things.
    """

    count: int | None = None
    traits: tuple[str, ...] = ()
    forms: tuple[str, ...] = ()
    used: frozenset[str] = frozenset()

    def tells(self, words: str) -> bool:
        """Whether some words of the turn, as written, went into these remarks."""
        keys = [token.key for token in tokens(words)]
        return bool(keys) and self.used.issuperset(keys)


class _Hit(NamedTuple):
    first: int
    last: int
    roles: frozenset[str]


def remarks_of(vocabulary: Vocabulary, text: str) -> Remarks:
    """Read the remarks in one turn; what is not certain is left out.

    Args:
        vocabulary: the ontology; its remarks are indexed at the first call.
        text: whatever was typed or pasted.
    """
    cleaned, _ = clean(text)
    line = tokens(cleaned)
    hits = _hits(_table(vocabulary), line)
    traits: dict[str, None] = {}
    used: set[str] = set()
    for hit in hits:
        for role in sorted(hit.roles):
            if role in vocabulary.phrases and not _negated(line, hits, hit):
                traits[role] = None
                used.update(token.key for token in line[hit.first : hit.last])
    laid_out = Line.of(cleaned, lexicon_of(vocabulary))
    aside = asides_of(laid_out)
    beside = [(laid_out.tokens[index].start, laid_out.tokens[index].end) for index in aside]
    stuff = frozenset(laid_out.tokens[match.first].start for match in laid_out.matches if laid_out.ids(match, "glass"))
    count, words = _told_last(laid_out, list(_counts(line, hits, beside, stuff)))
    if count is not None:
        count = _put_right(laid_out) or count
    return Remarks(count, tuple(traits), _forms(laid_out, aside), frozenset(used | words))


def noted(case: Case, remarks: Remarks) -> Case:
    """The case with the remarks of a turn; nothing that was said before is lost."""
    said = [(trait, None) for trait in remarks.traits] + [("alsoHasForm", form) for form in remarks.forms]
    measures = {**case.measures, "batchSize": Quantity.of(remarks.count, "pieces")} if remarks.count else case.measures
    return replace(case, remarks=tuple(dict.fromkeys((*case.remarks, *said))), measures=measures)


def _table(vocabulary: Vocabulary) -> dict[tuple[str, ...], frozenset[str]]:
    """The roles of each run of words."""
    return kept(vocabulary, "remarks", lambda: _build(vocabulary), dict, dict)


def _build(vocabulary: Vocabulary) -> dict[tuple[str, ...], frozenset[str]]:
    table: dict[tuple[str, ...], frozenset[str]] = {}
    for remark in vocabulary.things("remark"):
        for words in remark.alternatives:
            keys = tuple(token.key for token in tokens(words))
            table[keys] = table.get(keys, frozenset()) | {remark.id.removeprefix(_PREFIX)}
    return table


def _hits(table: dict[tuple[str, ...], frozenset[str]], line: list[Token]) -> list[_Hit]:
    """What is known, from left to right, longer runs first, no two overlapping."""
    hits, at = [], 0
    while at < len(line):
        for length in range(min(_LONGEST, len(line) - at), 0, -1):
            run = line[at : at + length]
            roles = table.get(tuple(token.key for token in run))
            if roles and not any(token.gap for token in run[1:]):
                hits.append(_Hit(at, at + length, roles))
                at += length
                break
        else:
            at += 1
    return hits


def _negated(line: list[Token], hits: list[_Hit], hit: _Hit) -> bool:
    """Whether a *no* or *not* stands close before it with no break between."""
    for other in hits:
        near = other.last <= hit.first <= other.last + _NEGATED_WITHIN
        if near and _NOT in other.roles and not any(token.gap for token in line[other.last : hit.first + 1]):
            return True
    return False


def _counts(line: list[Token], hits: list[_Hit], aside: list[tuple[int, int]], stuff: frozenset[int]) -> Iterator[tuple[int, int, frozenset[str]]]:
    """The numbers of pieces, each with where it stands and the words that tell it.

    Args:
        line, hits: the text, and what is known of it.
        aside: places that count others.
        stuff: where words for a glass begin: what they stand right before is a body, whatever it is called.
    """
    by_first = {hit.first: hit for hit in hits}
    by_last = {hit.last: hit for hit in hits}
    behind = 0
    for at, token in enumerate(line):
        if at < behind or any(start <= token.start < end for start, end in aside):
            continue
        number, after = _composed(line, by_first, at)
        before = by_last.get(at)
        on_some = before is not None and line[before.first].key == "on" and not token.key.isdecimal()  # "on twenty discs"
        uncounted = before is not None and not token.gap and _NO_COUNT in before.roles and _BATCH not in before.roles and not on_some
        if number is None or not 1 < number <= _MOST or uncounted:
            continue
        body = _body(line, by_first, after, stuff)
        if before and _BATCH in before.roles and not token.gap:
            yield number, token.start, frozenset(each.key for each in line[before.first : after])
        elif body and not _made_of(line, hits, after, body):
            yield number, token.start, frozenset({*(each.key for each in line[at:after]), *(each.key for each in line[body.first : body.last])})
        behind = after


def _told_last(line: Line, counts: list[tuple[int, int, frozenset[str]]]) -> tuple[int | None, frozenset[str]]:
    """The first number of pieces, or the one that takes its place: *15 panels. Correction: 18 panels*."""
    if not counts:
        return None, frozenset()
    first, *others = counts
    places = {start: next((at for at, token in enumerate(line.tokens) if token.end > start), 0) for _, start, _ in counts}
    right = next((each for each in others if line.taken_back(places[first[1]], places[each[1]])), first)
    return right[0], first[2] | right[2]


def _composed(line: list[Token], by_first: dict[int, _Hit], at: int) -> tuple[int | None, int]:
    """A number in digits or in one or more words, *twenty-five* or *one hundred and twenty*, and the index behind it."""
    number, after = _number(line[at], by_first.get(at), at)
    dozens = _number(line[after], by_first.get(after), after) if after < len(line) and not line[after].gap else (None, after)
    if number is not None and number < _DOZEN and dozens[0] == _DOZEN and line[after].key == "dozen":
        return number * _DOZEN, dozens[1]  # "3 dozen"
    while number is not None and not line[at].key.isdecimal() and after < len(line):
        on = after + (number % _HUNDRED == 0 and line[after].key == "and" and not line[after].gap)
        if on == len(line) or line[on].gap or line[on].key.isdecimal():
            break
        more, behind = _number(line[on], by_first.get(on), on)
        if more == _HUNDRED and 0 < number < _TEN:
            number *= _HUNDRED
        elif more is not None and ((number % _TEN == 0 and number % _HUNDRED > _TEN and more < _TEN) or (number % _HUNDRED == 0 and more < _HUNDRED)):
            number += more
        else:
            break
        after = behind
    return number, after


def _number(token: Token, hit: _Hit | None, at: int) -> tuple[int | None, int]:
    """A number in digits or words, and the index behind it."""
    if token.key.isdecimal() and len(token.key) <= len(str(_MOST)):
        return int(token.key), at + 1
    counts = [int(role.removeprefix(_COUNT)) for role in hit.roles if role.startswith(_COUNT)] if hit else []
    return (counts[0], hit.last) if hit and counts else (None, at + 1)


def _body(line: list[Token], by_first: dict[int, _Hit], after: int, stuff: frozenset[int]) -> _Hit | None:
    """The body that a number counts: in the plural, or told by more than one word, as in *of them*; or what is made of glass: *25 opal medals*."""
    for at in range(after, min(after + _DESCRIBED_WITHIN, len(line))):
        hit = by_first.get(at)
        if line[at].gap >= (_SENTENCE_END if at > after else 1) or line[at].key.isdecimal() or (hit and _NO_COUNT in hit.roles):
            return None
        if hit and _PIECES in hit.roles and (line[hit.last - 1].plural or hit.last - hit.first > 1 or line[hit.first].key in _SHORT):
            return hit
        if hit is None and line[at].plural and at > after and line[at - 1].start in stuff and not line[at].gap:
            return _Hit(at, at + 1, frozenset())
    return None


def _made_of(line: list[Token], hits: list[_Hit], after: int, body: _Hit) -> bool:
    """Whether what is counted is joined to one piece: *nine sheets of float stuck together*; *two glued sheets*."""
    if any(_JOINED in hit.roles and after <= hit.first < body.first for hit in hits):
        return True
    joined = (hit for hit in hits if _JOINED in hit.roles and body.last <= hit.first <= body.last + _NEGATED_WITHIN)
    return any(not any(token.gap for token in line[body.last : hit.first + 1]) for hit in joined)


def _put_right(line: Line) -> int | None:
    """The number that takes the place of one told before, standing by itself: *eight plates; correction, nine, one was hidden*."""
    for at in range(1, len(line.tokens)):
        key = line.tokens[at].key
        number = line.lexicon.numbers.get(key) or (int(key) if key.isdecimal() and len(key) < _FIGURES else None)
        made = at > 1 and not line.tokens[at].gap and line.tokens[at - 2].key == "make" and line.tokens[at - 1].key in ("it", "that")
        # "Ten tumblers, I mean eleven"; "er, make it 16".
        told = made or (line.tokens[at].gap < _SENTENCE_END and line.cue_at(at - 1, "cue-correction"))
        if told and line.ends_at(at + 1) and number is not None and 1 < number < _HUNDRED:
            return number
    return None


def _forms(line: Line, aside: set[int]) -> tuple[str, ...]:
    """All forms that a text names of the piece without doubt."""
    told = [match for match in line.matches if match.first not in aside and not match.torn and not line.negated(match)]
    named = [line.ids(match, "form", own=True) for match in told]
    return tuple(dict.fromkeys(ids[0] for ids in named if len(ids) == 1))
