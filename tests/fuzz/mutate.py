"""Inputs near to those that are taken: seeds with some places changed, joined, repeated, or with something hostile put in."""

from collections.abc import Iterator, Sequence
from random import Random

# What programs have stumbled over: ends, signs of formats, numbers beyond all sizes, letters that hide or turn, bytes that are no text.
HOSTILE = tuple(
    part.encode("utf-8", "surrogatepass") if isinstance(part, str) else part
    for part in (
        *("", "\0", "\n", "\r\n", "\t", " ", '"', "'", '"""', "'''", "\\", "\\u0000", "\\ud800", "#", "=", ",", ";", ".", ":", "?", "-", "@"),
        *(
            "[",
            "]",
            "[[",
            "]]",
            "{",
            "}",
            "(",
            ")",
            "[[[[[[[[",
            "{{{{{{{{",
            "((((((((",
            "%s",
            "${x}",
            "{0}",
            "[red]",
            "[/]",
            "<b>",
            "<",
            ">",
            "&amp;",
            "]]>",
        ),
        *("0", "-1", "1e999999", "1e-999999", "0x10", "9" * 25, "9" * 5000, "NaN", "inf", "-0.0", "1_000", "١٢", "²", "½", "1/0"),
        *("\u202e", "\u2066", "\u200b", "\ufeff", "\u0000", "\x1b[31m", "\x9b2J", "\u2028", "\x85", "а", "ﬀ", "İ", "ß", "́", "\U0010ffff", "\ud800"),
        *("true", "null", "2026-01-01", "9999-99-99", "id", "if", "then", "?x", "?option", "the", "of", "is", "at least", "µm", "m/s", "rpm", "to"),
        b"\xff",
        b"\xc3",
        b"\xed\xa0\x80",
        b"\xf8\x88\x80\x80\x80",
    )
)
_LONGEST = 4000
"""Bytes of an input: what is longer is a case of its own among the hostile inputs."""


def mutated(seeds: Sequence[bytes], chance: Random) -> bytes:
    """One input."""
    data = bytearray(chance.choice(seeds))
    for _ in range(chance.choice((0, 1, 1, 1, 2, 2, 3, 5, 8))):
        at = chance.randrange(len(data) + 1)
        length = min(chance.choice((1, 1, 2, 4, 8, 32)), len(data) - at)
        way = chance.randrange(7)
        if way == 0:
            del data[at : at + length]
        elif way == 1:
            data[at:at] = chance.choice(HOSTILE)
        elif way == 2:
            data[at : at + length] = chance.choice(HOSTILE)
        elif way == 3 and data:
            data[min(at, len(data) - 1)] ^= 1 << chance.randrange(8)
        elif way == 4:
            other = chance.choice(seeds)
            start = chance.randrange(len(other) + 1)
            data[at:at] = other[start : start + chance.choice((4, 16, 64))]
        elif way == 5:
            data[at:at] = data[at : at + length] * chance.choice((1, 2, 50))
        else:
            data[at:at] = bytes(chance.randrange(256) for _ in range(chance.choice((1, 3))))
    return bytes(data[:_LONGEST])


def inputs(seeds: Sequence[bytes], count: int, seed: int) -> Iterator[bytes]:
    """So many inputs, of which a quarter at most are seeds as they are, those first; the same for the same number ``seed``."""
    chance, whole = Random(seed), max(1, count // 4)
    for number in range(count):
        yield seeds[number] if number < min(len(seeds), whole) else mutated(seeds, chance)
