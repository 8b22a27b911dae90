"""What a maker says beside the matter: of other people, of other pieces, and of former times.

Nothing there is taken for the maker's own plan, bench or measure, and of the piece only what no other sentence tells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from finishing_kg.chat.line import Line

_Item = TypeVar("_Item")
_OTHERS = "cue-others"
# Where somebody wishes something, it is the piece on the bench that is spoken of: *the client wants it satin*.
_WISHES = ("cue-wish",)


def asides_of(line: Line) -> set[int]:
    """The tokens of the sentences that speak of somebody or something else."""
    if not line.any_cue(_OTHERS):
        return set()
    return {index for first, last in _sentences(line) if _is_aside(line, first, last) for index in range(first, last)}


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
    first, _ = line.sentence(index)
    return line.cue_between(first, index, "cue-first-person")
