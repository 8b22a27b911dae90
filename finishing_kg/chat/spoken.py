"""Grades that are said in words: *F eight hundred*, *three-twenty grit*, *ground to twelve hundred*."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from finishing_kg.chat.words import Mark, Token

_SYSTEMS = frozenset({"f", "p", "d"})
_UNITS = frozenset({"grit", "mesh", "micron"})
# These words count pieces, and are no part of a grade.
_COUNTING = frozenset({"dozen", "single", "both"})
# A number alone can be a grade only between these, and only where it is said as grades are: *six hundred*, *one-eighty*.
_COARSEST, _FINEST = 36, 5000
_TEN, _HUNDRED, _THOUSAND = 10, 100, 1000


class Spoken(NamedTuple):
    """What was found: grades with their system or unit, and numbers alone, written in figures."""

    grades: list[Mark]
    bare: list[Mark]


class _Number(NamedTuple):
    value: int
    last: int  # the index behind it
    as_grades_are: bool


def spoken_grades(line: Sequence[Token], numbers: Mapping[str, int]) -> Spoken:
    """The grades in words of a text; their words are written in figures, as *F800*, *320 grit* or *320*.

    Args:
        line: the words of the text.
        numbers: single words for numbers.
    """
    found = Spoken([], [])
    at = 0
    while at < len(line):
        number = _number(line, at, numbers)
        if number is None:
            at += 1
            continue
        before = line[at - 1] if at and not line[at].gap else None
        after = line[number.last] if number.last < len(line) and not line[number.last].gap else None
        end = line[number.last - 1].end
        if before is not None and before.key in _SYSTEMS:
            found.grades.append(Mark(before.start, end, f"{before.key.upper()}{number.value}"))
        elif after is not None and after.key in _UNITS:
            found.grades.append(Mark(line[at].start, after.end, f"{number.value} {after.key}"))
            at = number.last
        elif number.as_grades_are and _COARSEST <= number.value <= _FINEST:
            found.bare.append(Mark(line[at].start, end, str(number.value)))
        at = max(number.last, at + 1)
    return found


def _number(line: Sequence[Token], first: int, numbers: Mapping[str, int]) -> _Number | None:
    """The number in words that begins at a token: as it is counted, or as grades are said, *three-twenty* for 320."""
    value, at, as_grades_are = 0, first, False
    while at < len(line) and not (at > first and line[at].gap):
        key = line[at].key
        if key == "and" and value >= _HUNDRED and at + 1 < len(line) and _worth(line[at + 1], numbers):
            at += 1
            continue
        more = _worth(line[at], numbers)
        joined = _joined(value, more) if more else None
        if more is None or joined is None:
            break
        as_grades_are = as_grades_are or more in (_HUNDRED, _THOUSAND) or (0 < value < _TEN <= more)
        value, at = joined, at + 1
    return _Number(value, at, as_grades_are) if value else None


def _worth(token: Token, numbers: Mapping[str, int]) -> int | None:
    return numbers.get(token.key) if token.key not in _COUNTING else None


def _joined(value: int, more: int) -> int | None:
    """A number gone on with: 3 and 100 are 300, 300 and 20 are 320, 20 and 5 are 25, and 3 and 20 are 320 too; else ``None``."""
    if more in (_HUNDRED, _THOUSAND):
        return value * more if 0 < value < _HUNDRED else more if not value else None
    if not value or (value % _HUNDRED == 0 and more < _HUNDRED) or (value % _TEN == 0 and value % _HUNDRED > _TEN and more < _TEN):
        return value + more
    return value * _HUNDRED + more if value < _TEN <= more < _HUNDRED else None
