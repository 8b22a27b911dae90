"""One turn laid out for the reader: tokens, what the lexicon knows of them, and looks to the left and right."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator
from itertools import pairwise

from finishing_kg.chat.lexicon import Lexicon, Match
from finishing_kg.chat.reading import TOOLS
from finishing_kg.chat.spoken import spoken_grades
from finishing_kg.chat.words import Mark, Token, bare_numbers, grades, measures, tokens
from finishing_kg.record import field, record

# What it costs a cue to reach over a comma or a colon to a word; over the end of a sentence it does not reach.
GAP_COST = (0, 3, 5)
SENTENCE_END = 3
_NONE = "none"
_WANT = frozenset({"want", "wish", "wanted"})
# Tokens that stand for a grade or a measure; no label has these signs. A number in words is one token too, with its figures.
_GRADE, _MEASURE, _NUMBER = "#grade", "#measure", "#number"


@record()
class Line:
    """A cleaned text with everything found in it.

    Attributes:
        text: the cleaned text.
        lexicon: the words known.
        tokens: its words; a grade or a measure is one token.
        grades, measures: by token index.
        bare: numbers that could be a grade, by token index.
        matches: what the lexicon knows, in order.
        owner: the match that each token belongs to, or ``None``.
        places: by cue the tokens that belong to it, in order.
        described: tokens that tell how the present surface was made, e.g. with what it was ground.
        planned: grades of the maker's own plan, by token index.
        aside: tokens of sentences that speak of others, see ``chat.aside``.
        sentences: by token where its sentence begins, and the index after its end.
    """

    text: str
    lexicon: Lexicon
    tokens: list[Token] = field(default_factory=list)
    grades: dict[int, Mark] = field(default_factory=dict)
    measures: dict[int, Mark] = field(default_factory=dict)
    bare: dict[int, Mark] = field(default_factory=dict)
    matches: list[Match] = field(default_factory=list)
    owner: list[Match | None] = field(default_factory=list)
    places: dict[str, list[int]] = field(default_factory=dict)
    described: set[int] = field(default_factory=set)
    planned: set[int] = field(default_factory=set)
    aside: set[int] = field(default_factory=set)
    sentences: list[tuple[int, int]] = field(default_factory=list)

    @classmethod
    def of(cls, text: str, lexicon: Lexicon) -> Line:
        """Lay out a cleaned text."""
        line = cls(text, lexicon)
        cut = tokens(text)
        spoken = spoken_grades(cut, lexicon.numbers)
        marks = sorted(((mark, _GRADE) for mark in (*grades(text), *spoken.grades)), key=_place)
        marks += [
            (mark, _MEASURE) for mark in measures(text, lexicon.vocabulary.units, lexicon.wheels, lexicon.numbers) if not _overlaps(mark, marks)
        ]
        marks += [(mark, _NUMBER) for mark in spoken.bare if not _overlaps(mark, marks)]
        covered = sorted(marks, key=_place)
        by_key = {_GRADE: line.grades, _MEASURE: line.measures, _NUMBER: line.bare}
        at = 0
        for token in cut:
            while at < len(covered) and covered[at][0].end <= token.start:
                at += 1
            if at < len(covered) and covered[at][0].start < token.end:
                mark, key = covered[at]
                held = by_key[key]
                if line.tokens and held.get(len(line.tokens) - 1) is mark:
                    continue
                held[len(line.tokens)] = mark
                line.tokens.append(Token(mark.words if key == _NUMBER else key, mark.start, mark.end, token.gap))
            else:
                line.tokens.append(token)
        numbers = {mark.start: mark for mark in bare_numbers(text)}
        marked = line.grades.keys() | line.measures.keys()
        line.bare |= {index: numbers[token.start] for index, token in enumerate(line.tokens) if index not in marked and token.start in numbers}
        line.matches = lexicon.matches(line.tokens)
        for match in line.matches:
            for cue in match.senses.cues:
                line.places.setdefault(cue, []).extend(range(match.first, match.last))
        line.owner = [None] * len(line.tokens)
        for match in line.matches:
            line.owner[match.first : match.last] = [match] * (match.last - match.first)
        begins = [index for index, token in enumerate(line.tokens) if not index or token.gap >= SENTENCE_END]
        for first, last in pairwise([*begins, len(line.tokens)]):
            line.sentences += [(first, last)] * (last - first)
        return line

    def words(self, first: int, last: int) -> str:
        """The tokens from ``first`` up to ``last``, as written."""
        return self.text[self.tokens[first].start : self.tokens[last - 1].end]

    def kinds(self, match: Match) -> set[str]:
        """The kinds of thing that a match can be."""
        return {self.lexicon.vocabulary.names[each].kind for each in match.senses.things}

    def ids(self, match: Match, *kinds: str, own: bool = False) -> tuple[str, ...]:
        """The things of these kinds that a match can be; only by their own labels if ``own``."""
        names = self.lexicon.vocabulary.names
        return tuple(each for each in (match.senses.own if own else match.senses.things) if names[each].kind in kinds)

    def is_graded(self, match: Match) -> bool:
        """Whether a match can be a surface that a grade tells more of: *ground*."""
        return any(self.lexicon.vocabulary.holds(each, "isGraded") for each in self.ids(match, "surface"))

    def cue_at(self, index: int, *cues: str) -> bool:
        """Whether the token belongs to one of the named cues."""
        match = self.owner[index]
        return match is not None and match.is_cue(*cues)

    def is_unknown(self, index: int) -> bool:
        """Whether the token is a word that nobody knows."""
        return self.owner[index] is None and self.tokens[index].key.isalpha()

    def is_past(self, index: int) -> bool:
        """Whether a word is written as a past: *flattened*; those that are not regular are words of the ontology."""
        return self.words(index, index + 1).casefold().endswith("ed")

    def is_doing(self, match: Match) -> bool:
        """Whether words are written as what somebody is doing: *belt grinding*."""
        return self.words(match.first, match.last).casefold().endswith("ing")

    def ends_at(self, index: int) -> bool:
        """Whether a clause ends before a token, or the text does."""
        return index == len(self.tokens) or self.tokens[index].gap > 0

    def says(self, index: int, *cues: str) -> bool:
        """Whether a word by itself is one of the named cues, whatever longer phrase it stands in."""
        return any(self.tokens[index].key in self.lexicon.words_of(cue) for cue in cues)

    def is_goal(self, index: int) -> bool:
        """Whether the token belongs to a goal cue, and is not the end of a body: *the end is sawn*."""
        match = self.owner[index]
        if match is None or not match.is_cue("cue-goal"):
            return False
        if not match.is_cue("cue-end") or match.last == len(self.tokens) or self.tokens[match.last].gap:
            return not (match.is_cue("cue-end") and match.first > 0 and self.cue_at(match.first - 1, "cue-article"))
        after = self.owner[match.last]
        if after is not None and self.ids(after, "surface") and after.last < len(self.tokens) and self.cue_at(after.last, "cue-link"):
            return False  # "end ground at 400"
        return after is not None and bool(self.ids(after, "finish"))

    def places_of(self, *kinds: str) -> bool:
        """Whether something of one of the kinds is named."""
        return any(self.ids(match, *kinds) for match in self.matches)

    def any_cue(self, *cues: str) -> bool:
        """Whether the text has one of the named cues."""
        return any(cue in self.places for cue in cues)

    def before(self, first: int, reach: int) -> Iterator[tuple[int, int]]:
        """Token indices to the left with what it costs to reach them, up to the beginning of the sentence."""
        cost = 0
        for index in range(first - 1, -1, -1):
            gap = self.tokens[index + 1].gap
            if gap >= SENTENCE_END:
                return
            cost += 1 + GAP_COST[gap]
            if cost > reach:
                return
            yield index, cost

    def after(self, last: int, reach: int, widest_gap: int = 0) -> Iterator[tuple[int, int]]:
        """Token indices to the right with their distance, up to the first gap wider than allowed."""
        for distance, index in enumerate(range(last, min(last + reach, len(self.tokens))), start=1):
            if self.tokens[index].gap > widest_gap:
                return
            yield index, distance

    def between(self, first: int, last: int, test: Callable[[int], bool]) -> bool:
        """Whether a test holds for one of the tokens from ``first`` up to ``last``."""
        return any(test(index) for index in range(first, last))

    def cue_between(self, first: int, last: int, *cues: str) -> bool:
        """Whether one of the cues stands among the tokens from ``first`` up to ``last``."""
        for cue in cues:
            held = self.places.get(cue, ())
            at = bisect_left(held, first)
            if at < len(held) and held[at] < last:
                return True
        return False

    def taken_back(self, first: int, last: int) -> bool:
        """Whether what stands before the tokens from ``first`` up to ``last`` is taken back there: *sorry*; a *no* that stands by itself."""
        if any(self.cue_at(at, "cue-correction") and not self._only_asks(at) for at in range(first, last)):
            return True
        following = [*self.tokens[first + 1 : last + 1], None]
        return any(
            self.cue_at(at, "cue-not") and self.tokens[at].gap > 0 and after is not None and after.gap > 0
            for at, after in zip(range(first, last), following, strict=False)
        )

    def _only_asks(self, at: int) -> bool:
        """Whether *make that* asks for a finish and takes nothing back, as none was named in its sentence: *edge broken, make that ground*."""
        cue = self.owner[at]
        if cue is None or not cue.is_cue("cue-goal") or cue.last == len(self.tokens):
            return False
        after, (first, _) = self.owner[cue.last], self.sentence(at)
        asked = after is not None and bool(self.ids(after, "finish"))
        return asked and not any(first <= match.first < cue.first and self.ids(match, "finish") for match in self.matches)

    def corrects(self, first: int, last: int) -> bool:
        """Whether what stands at ``last`` takes the place of what ends at ``first``, and not of a grade or a thing between them."""
        return self.taken_back(first, last) and not self.between(
            first, last, lambda at: at in self.grades or at in self.bare or bool((owner := self.owner[at]) and owner.senses.things)
        )

    def sentence(self, index: int) -> tuple[int, int]:
        """The tokens of the sentence that a token stands in: the first, and the index after the last."""
        return self.sentences[index]

    def asks(self, last: int) -> bool:
        """Whether the sentence that ends before token ``last`` ends in a question mark."""
        return self.text[self.tokens[last - 1].end :].lstrip().startswith("?")

    def tools_beside(self, index: int) -> list[Match]:
        """The tools that a grade stands in one breath with: *a 600 plated diamond disc*, *belt at P400*."""
        found: list[Match] = []
        last = index + 1
        while last < len(self.tokens) and not self.tokens[last].gap:
            owner = self.owner[last]
            if owner is None or not self.ids(owner, *TOOLS):
                break
            found.append(owner)
            last = owner.last
        before = index
        while before > 0 and not self.tokens[before].gap:
            owner = self.owner[before - 1]
            linking = owner is not None and before == index and owner.is_cue("cue-link") and not self.ids(owner, *TOOLS)
            if owner is None or not (linking or self.ids(owner, *TOOLS)):
                break
            if not linking:
                found.append(owner)
            before = owner.first
        return found

    def describe_grade(self, index: int) -> None:
        """Note that a grade and the tools beside it tell how the present surface was made."""
        self.described.add(index)
        for match in self.tools_beside(index):
            self.described.update(range(match.first, match.last))

    def negated(self, match: Match) -> bool:
        """Whether a ``no`` or ``not`` governs the match, or a ``gone`` follows it."""
        first, _ = self.sentence(match.first)
        if (
            self.tokens[first].key == _NONE
            and self.ids(match, "surface")
            and not self.between(first + 1, match.first, lambda at: self.tokens[at].gap > 0)
        ):
            return True  # "none of our casts have been ground"
        if self.ids(match, "finish") and self._is_unwished(match.first):
            return True
        for index, _ in self.before(match.first, 5):
            if self.tokens[index + 1].gap or self.cue_at(index, "cue-but", "cue-correction"):
                break
            if self.cue_at(index, "cue-not", "cue-instead") and not self._says_no_of_another(index, match):
                return True
            owner = self.owner[index]
            if owner and owner.senses.things and not self.cue_between(owner.last, match.first, "cue-or"):
                break
        return any(
            self.cue_at(index, "cue-not-after") or (self.cue_at(index, "cue-gone") and self.closes(index)) for index, _ in self.after(match.last, 3)
        )

    def _says_no_of_another(self, index: int, match: Match) -> bool:
        """Whether a *no* is said of what stands behind a word: *I don't want the edge shiny*; *none of my cast blocks is ground*."""
        _, last = self.sentence(index)
        behind = self.between(match.last, last, lambda at: bool((owner := self.owner[at]) and self.ids(owner, "surface", "finish")))
        if not behind or self.ids(match, "surface", "finish"):
            return False
        return self.tokens[index].key == _NONE or self._is_unwished(match.first)

    def _is_unwished(self, first: int) -> bool:
        """Whether the clause says that something is not wanted, however far before the word: *I don't want the edge of my panel shiny*."""
        for index in range(first - 1, self.sentence(first)[0] - 1, -1):
            if self.tokens[index + 1].gap or self.cue_at(index, "cue-but"):
                return False
            owner = self.owner[index]
            if owner is not None and owner.is_cue("cue-not") and any(self.tokens[at].key in _WANT for at in range(owner.first, owner.last)):
                return True
        return False

    def closes(self, index: int) -> bool:
        """Whether nothing but the means comes after a cue: *the marks are gone, ...*; *has gone egg-shaped* goes on."""
        owner = self.owner[index]
        after = owner.last if owner else index + 1
        if owner and owner.last - owner.first > 1:
            return True
        return self.ends_at(after) or self.cue_at(after, "cue-means", "cue-and", "cue-then", "cue-by")


def _place(marked: tuple[Mark, str]) -> int:
    return marked[0].start


def _overlaps(mark: Mark, others: list[tuple[Mark, str]]) -> bool:
    return any(mark.start < other.end and other.start < mark.end for other, _ in others)
