"""What a maker says beside the matter: of other people, of other pieces, and of former times.

Nothing there is taken for the maker's own plan, bench or measure, and of the piece only what no other sentence tells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line

_Item = TypeVar("_Item")
_OTHERS = "cue-others"
# What is said with these is said of the piece, or of the work.
_OF_THE_PIECE = ("cue-object", "cue-goal", "cue-wish", "cue-plan", "cue-ask-plan", "cue-made", "cue-mark", "cue-have", "cue-without", "cue-only")
_AT_THE_BENCH = ("cue-have", "cue-have-after", "cue-only", "cue-only-after", "cue-without", "cue-not", "cue-gone")
_THIS_ONE = ("this one", "this time")
_IT = frozenset({"it", "its", "this", "they", "them", "that"})
# Where somebody wishes something, it is the piece on the bench that is spoken of: *the client wants it satin*.
_WISHES = ("cue-wish",)


def asides_of(line: Line) -> set[int]:
    """The tokens of the sentences that speak of somebody or something else."""
    sentences = list(_sentences(line))
    aside = [each for each in sentences if line.any_cue(_OTHERS) and _is_aside(line, *each)]
    if len(sentences) > 1 and line.any_cue("cue-sound", "cue-untouched"):
        aside += _left_alone(line, sentences)
    if len(sentences) > 1 and line.places_of("glass", "form"):
        aside += [each for each in sentences if _is_of_something_else(line, *each)]
    ours = next((first for first, last in sentences if line.text[line.tokens[first].start :].casefold().startswith(_THIS_ONE)), 0)
    return {index for first, last in aside for index in range(first, last)} | set(range(ours))  # "I polished three last month. This one ..."


def _left_alone(line: Line, sentences: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """The sentences about a place that is to stay as it is, where another tells of another place: *the convex side is F600 and stays that way*."""
    alone: list[tuple[int, int]] = []
    places: list[tuple[int, int]] = []
    for first, last in sentences:
        forms = [match for match in line.matches if first <= match.first < last and line.ids(match, "form")]
        sound = any(line.cue_between(match.last, last, "cue-sound") or line.cue_at(max(match.first - 1, 0), "cue-untouched") for match in forms[:1])
        wished = line.cue_between(first, last, *_WISHES) or line.between(first, last, line.is_goal)
        if forms:
            (alone if sound and not wished and len(forms) == 1 else places).append((first, last))
    return alone if places else []


def _is_of_something_else(line: Line, first: int, last: int) -> bool:
    """Whether a sentence tells how some other thing is, and nothing of glass, work or wishes: *the road is polished like a mirror*."""
    said = {match for at in range(first, last) if (match := line.owner[at]) is not None}
    if any(match.is_cue(*_OF_THE_PIECE) or line.kinds(match) - {"surface", "finish"} for match in said):
        return False
    if any(at in line.grades or at in line.measures or at in line.bare or line.tokens[at].key in _IT for at in range(first, last)):
        return False
    subject = next((at for at in range(first + 1, last - 1) if line.owner[at] is None or line.cue_at(at, "cue-plain")), None)
    return subject is not None and line.cue_at(subject - 1, "cue-article") and line.cue_at(subject + 1, "cue-present")


def _sentences(line: Line) -> Iterator[tuple[int, int]]:
    first = 0
    while first < len(line.tokens):
        _, last = line.sentence(first)
        yield first, last
        first = last


def _is_aside(line: Line, first: int, last: int) -> bool:
    """Whether a sentence names another subject before it names anything of the piece, and wishes nothing."""
    for index in range(first, last):
        owner = line.owner[index]
        if owner is None:
            continue
        if owner.is_cue(_OTHERS):
            return not line.cue_between(index, last, *_WISHES)
        if owner.senses.things or owner.is_cue("cue-first-person"):
            return False
    return False


def outside_asides(line: Line, items: Sequence[_Item], place: Callable[[_Item], int]) -> list[_Item]:
    """Those items that do not stand in an aside; all where none does."""
    if not line.aside:
        return list(items)
    return [item for item in items if place(item) not in line.aside] or list(items)


def of_the_maker(line: Line, index: int) -> bool:
    """Whether something in an aside is the maker's own after all: *he has gone, and I still have his felt wheel*."""
    if index not in line.aside:
        return True
    first, last = line.sentence(index)
    return line.cue_between(first, index, "cue-first-person") and line.cue_between(first, last, *_AT_THE_BENCH)


def said_by_two(line: Line, one: Match, other: Match) -> bool:
    """Whether two people want different things in one sentence: *my wife says polish, I say satin will do*."""
    first, last = min(one.first, other.first), max(one.first, other.first)
    begins, _ = line.sentence(last)
    apart = line.between(first + 1, last + 1, lambda at: line.tokens[at].gap > 0)
    return begins <= first and apart and line.cue_between(begins, last, _OTHERS) and not line.cue_between(first, last, "cue-then", "cue-only")
