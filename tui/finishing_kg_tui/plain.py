"""Plain words for what the answers hold: identifiers, ranges with their unit, and text that is safe to show."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Range
    from finishing_kg.engine import Knowledge

Called = Callable[[str, str], str]
"""Gives what a thing is called, from its identifier and its kind: ``pre-polished`` of the kind ``surface``."""

_STAND_IN = "\N{REPLACEMENT CHARACTER}"
_CONTROL_PICTURES = 0x2400
# Joiners belong to the spelling of some languages; every other format character can turn or hide text.
_JOINERS = "\u200c\u200d"


def clean(text: str) -> str:
    """The text with everything replaced that could steer a terminal or turn the writing direction.

    Line breaks stay; a tab becomes a space; a control character becomes its picture (``␛`` for escape);
    other format characters, lone surrogates and private ones become ``�``.
    """
    return "".join(character if character.isprintable() else _visible(character) for character in text)


def _visible(character: str) -> str:
    if character == "\n" or character in _JOINERS:
        return character
    if character == "\t" or unicodedata.category(character) == "Zs":
        return " "
    if ord(character) < 0x20:
        return chr(_CONTROL_PICTURES + ord(character))
    return "\N{SYMBOL FOR DELETE}" if character == "\x7f" else _STAND_IN


def one_line(text: str) -> str:
    """As ``clean``, with line breaks and runs of spaces as one space: for cells, titles and tree lines."""
    return " ".join(clean(text).split())


def words(identifier: str) -> str:
    """An identifier as words: ``brush-wheel`` is shown as ``brush wheel``."""
    return one_line(identifier).replace("-", " ")


def in_plain_words(identifier: str, _kind: str) -> str:
    """What a thing is called where nothing tells its name."""
    return words(identifier)


def called_by(knowledge: Knowledge | None) -> Called:
    """What things are called in the knowledge; their identifiers as words where it is not there, or does not know them."""
    if knowledge is None:
        return in_plain_words
    identify = knowledge.vocabulary.identify
    return lambda identifier, kind: one_line(name.label) if (name := identify(identifier, kind)) else words(identifier)


def number(value: float) -> str:
    """Three figures are all that advice can carry: ``0.35``, ``12.5``, ``1500``."""
    return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"


def span(found: Range | None, unit: str) -> str:
    """A range with its unit: ``5–10 m/s``, or ``about 12 µm`` where no spread is known, or nothing."""
    if found is None:
        return ""
    if found.low is None or found.high is None:
        return f"about {number(found.mid)} {unit}"
    low, high = number(found.low), number(found.high)
    return f"{low} {unit}" if low == high else f"{low}–{high} {unit}"


def roughly(found: Range | None, unit: str) -> str:
    """What was reckoned, to the two figures that it is known to: ``about 280 min (3.5 to 22000)``; or nothing."""
    if found is None:
        return ""
    from finishing_kg.measure import two_figures

    ends = f" ({two_figures(found.low)} to {two_figures(found.high)})" if found.low is not None and found.high is not None else ""
    return f"about {two_figures(found.mid)} {unit}{ends}"


def between(found: Range, unit: str) -> str:
    """What was reckoned, by its ends first where they are known: ``3.5 to 22000 min, about 280 in the middle``."""
    from finishing_kg.measure import two_figures

    if found.low is None or found.high is None:
        return roughly(found, unit)
    return f"{two_figures(found.low)} to {two_figures(found.high)} {unit}, about {two_figures(found.mid)} in the middle"


def brief(found: Range | None, unit: str) -> str:
    """As ``span``, for a narrow cell: a sign for *about*."""
    return span(found, unit).replace("about ", "≈")
