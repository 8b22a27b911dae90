"""A maker's text as words: cleaned, cut into tokens that know their place, with grades and measures picked out first."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from finishing_kg.measure import Quantity, Units

NO_NUMBERS: Mapping[str, int] = {}
_PARTS = {
    word: Decimal(1) / parts
    for parts, words in ((2, "half halves"), (3, "third thirds"), (4, "quarter quarters"), (8, "eighth eighths"), (16, "sixteenth sixteenths"))
    for word in words.split()
}
_FINEST = Decimal("0.0001")  # parts of an inch are written to this

_ONE = Decimal(1)
_DECIMAL = ("cm", "m")  # after these a number alone counts the next smaller unit
_LEAST_LETTERS = 4  # a unit written out has this many letters; "in" and "m" are mostly no units after an article

LONGEST = 3000
"""Characters that are read of one turn; more is a paste, not a question."""

_BREAKS = {",": 1, "(": 1, ")": 1, "–": 1, "—": 1, "-": 1, ":": 2, ";": 2, "/": 3, ".": 3, "?": 3, "!": 3, "…": 3}
# Signs that stand for a word in a telegram: *sawn -> satin*, *pitch + ceria*, *flat lap w/ cerium*.
_SIGNS = {"->": "to", "=>": "to", "→": "to", "+": "and", "&": "and", "w/": "with", "@": "at"}
_TOKEN = re.compile(
    r"\d+(?:[.,]\d+)+|\bw/(?=\s|[a-z])|[-=]>|[→&@]|(?<=\s)\+(?=\s)|(?<=\s)[-/](?=\s)|[^\W_]+(?:'[^\W_]+)*|[,()–—:;.?!…]", re.IGNORECASE
)
_FRACTION = r"(?:\d\s+)?1/2|1½|½"
_LENGTHS = r"(?:mm|cm|in|inch(?:es)?|m|rpm|m/s)\b"
# Compiled at the first need: most turns have nothing that could be a grade or a measure, and compiling takes longer than reading.
# Case is ignored. A letter system and its number; a named system; grit and mesh; micrometres; pumice by number or by letters.
_GRADE = rf"""(?<![\w.,/])(?:
      (?:FEPA[\s-]*)?[FPDB][\s-]?\d{{2,4}}(?!\s?{_LENGTHS})(?!\w)
    | (?:JIS|ANSI|CAMI)\s*\#?\s?\d{{2,5}}(?!\w)
    | \#\s?\d{{2,5}}(?!\w)
    | (?:grit|mesh)\s?\#?\d{{2,5}}(?!\w)
    | \d{{2,5}}(?:\s?[-/]\s?\d{{2,5}})?[\s-]?(?:grit|mesh|grits)(?!\w)
    | \d{{1,4}}(?:\.\d+)?(?:\s?-\s?\d{{1,4}}(?:\.\d+)?)?[\s-]?(?:µm|μm|um|mics?|microns?|micromet(?:er|re)s?)(?!\w)
    | (?:[1-6]F|F{{2,4}}|[36]/0|0{{2,3}})(?!\w)
    | (?P<pumice>{_FRACTION}|\d)(?=\s+pumice(?!\w))
    )"""
_GRADE_SLANG = re.compile(r"(?<=[\d\s])mics?$", re.IGNORECASE)  # *30 mic* for 30 micron
_BARE = re.compile(r"(?<![\w.,/])\d{2,5}(?![\w/]|[.,]\d)")


class Token(NamedTuple):
    """One word.

    Attributes:
        key: folded for comparing: small letters, no accents, no apostrophe, singular.
        plural: the ending of a plural was taken off.
        start, end: its place in the cleaned text.
        gap: what stands before it: 0 a space or hyphen, 1 a comma or bracket, 2 a colon or semicolon, 3 the end of a sentence.
    """

    key: str
    start: int
    end: int
    gap: int
    plural: bool = False


class Mark(NamedTuple):
    """A grade or a measure found in the text: its place, its words, and for a measure its quantity."""

    start: int
    end: int
    words: str
    quantity: Quantity | None = None


def clean(text: str) -> tuple[str, bool]:
    """The text in composed letters without control and direction marks, and whether it had to be cut."""
    cut = len(text) > LONGEST
    composed = unicodedata.normalize("NFC", text[:LONGEST])
    if "'e" in composed:
        composed = composed.replace("'em ", " em ").replace("'er ", " her ")  # "polish'er up"
    if composed.isascii() and composed.isprintable():
        return composed, cut
    letters = []
    for letter in composed.replace("’", "'").replace("‘", "'").replace("ʼ", "'").replace("‑", "-"):
        category = unicodedata.category(letter)
        if category in ("Cf", "Cs", "Co", "Cn"):
            continue
        letters.append(" " if category == "Cc" else letter)
    return "".join(letters)[:LONGEST], cut


def fold(word: str) -> str:
    """A word for comparing; regular plurals lose their ending the same way in labels and in questions."""
    key = word.casefold().replace("'", "")
    if not key.isascii():
        key = "".join(letter for letter in unicodedata.normalize("NFD", key) if not unicodedata.combining(letter))
    if len(key) < 4 or not key.endswith("s") or key.endswith(("ss", "us", "is")):
        return key
    if key.endswith("ies"):
        return key[:-3] + "y"
    if key.endswith(("sses", "shes", "ches", "xes", "zes")):
        return key[:-2]
    return key[:-1]


def tokens(text: str) -> list[Token]:
    """The words of a cleaned text in their order."""
    found: list[Token] = []
    gap = 3
    for match in _TOKEN.finditer(text):
        word = match.group()
        if word in _BREAKS:
            gap = max(gap, _BREAKS[word])
            continue
        sign = _SIGNS.get(word.casefold())
        key = sign or fold(word)
        if key:
            found.append(Token(key, match.start(), match.end(), gap, plural=not sign and key[-1] != word[-1].casefold()))
            gap = 0
    return found


def grades(text: str) -> list[Mark]:
    """What looks like a grade of grain, as written; whether it exists is not asked here."""
    if not (_has_number(text) or "ff" in text.casefold()):
        return []
    found = re.compile(_GRADE, re.IGNORECASE | re.VERBOSE).finditer(text)
    pumice = {True: " pumice", False: ""}
    return [Mark(match.start(), match.end(), _GRADE_SLANG.sub("micron", match.group().strip()) + pumice[bool(match["pumice"])]) for match in found]


def _has_number(text: str) -> bool:
    """Whether there is a digit or a fraction such as ½ in a text."""
    return any(letter.isnumeric() for letter in text)


def bare_numbers(text: str) -> list[Mark]:
    """Numbers without a unit that could be a grade if a ground surface is spoken of nearby."""
    return [Mark(match.start(), match.end(), match.group()) for match in _BARE.finditer(text)]


def measures(text: str, units: Units, wheels: frozenset[str] = frozenset(), numbers: Mapping[str, int] = NO_NUMBERS) -> Iterator[Mark]:
    """Numbers with a unit of length, area, speed, turning speed or time; a number may be a fraction (``3/8"``, ``1 1/2 in``) or in words.

    A small number before *in* and one of the words of ``wheels`` is in inches: *an 8 in felt*. A decimal comma gives a mark
    without a quantity: ``1,5 mm`` is not guessed at. So do the sides of a sheet, ``400 x 300 mm``.

    Args:
        text: cleaned.
        units: the units with their spellings.
        wheels: words that can begin the name of something that turns.
        numbers: words for numbers, e.g. *twelve*.
    """
    spelt = _spelt_out(text, numbers)
    if not (spelt or _has_number(text) or _one_of_a_unit(text, units)):
        return
    for match in _measure_pattern(units, wheels, spelt).finditer(text):
        unit = units.find(match["unit"])
        if unit is None:
            continue
        words = match.group().strip()
        low = _ONE if match["one"] else value_of(match["low"], numbers)
        high = value_of(match["high"], numbers) if match["high"] else low
        if "," in words or match["sides"] or low is None or high is None:
            yield Mark(match.start(), match.end(), words)
            continue
        more = _added(match, unit.symbol, units, numbers)
        if more is None or (more and low != high):
            yield Mark(match.start(), match.end(), words)
            continue
        quantity = Quantity.between(low, high, unit.symbol) if low < high else Quantity(low + more, unit.symbol)
        yield Mark(match.start(), match.end(), words, quantity)


def _added(match: re.Match[str], symbol: str, units: Units, numbers: Mapping[str, int]) -> Decimal | None:
    """What stands after a unit and belongs to the same measure, in that unit; ``None`` if the two do not go together.

    *An inch and a half*, *1 cm 5 mm*, and *1 cm 5*, where the number alone counts tenths, or hundredths if it has two figures.
    """
    if match["part"]:
        return value_of(match["part"], numbers)
    if match["tenths"]:
        return Decimal(match["tenths"]).scaleb(-len(match["tenths"])) if symbol in _DECIMAL else None
    if not match["lesser"]:
        return Decimal(0)
    lesser, value = units.find(match["lesser"]), value_of(match["rest"], numbers)
    if lesser is None or value is None or lesser.dimension != units.by_symbol[symbol].dimension:
        return None
    rest = units.convert(Quantity(value, lesser.symbol), symbol)
    return rest.mid if rest.mid < 1 else None


def _one_of_a_unit(text: str, units: Units) -> bool:
    """Whether a unit of length is written out after an article: *an inch thick*."""
    words = re.findall(r"[^\W\d_]+", text.casefold())
    return any(before in ("a", "an") and len(word) >= _LEAST_LETTERS and units.find(word) is not None for before, word in pairwise(words))


def _spelt_out(text: str, numbers: Mapping[str, int]) -> list[str]:
    """The words for numbers in a text, the longest first."""
    words = set(re.split(r"[\W_]+", text.casefold()))
    return sorted((word for word in (*numbers, *_PARTS) if word in words), key=lambda word: (-len(word), word))


def value_of(written: str, numbers: Mapping[str, int] = NO_NUMBERS) -> Decimal | None:
    """The value of a number as written: *12*, *1 1/2*, *¾*, *twelve*, *twenty-five*, *two and a half*; ``None`` if it is none."""
    total = counted = Decimal(0)
    for part in re.findall(r"\d+/\d+|\d+(?:\.\d+)?|[^\W\d_]+|[¼½¾⅛⅜⅝⅞]", written.casefold()):
        if "/" in part:
            above, below = (Decimal(each) for each in part.split("/"))
            if not below:
                return None
            total += (above / below).quantize(_FINEST).normalize()
        elif part[0].isdecimal() and part.isascii():
            counted = Decimal(part)
            total += counted
        elif part in numbers:
            counted = Decimal(numbers[part])
            total = total * numbers[part] if numbers[part] >= 100 and total else total + numbers[part]
        elif part in _PARTS:
            # "Three eighths" are counted; "two and a half" are added.
            total += ((counted or 1) * _PARTS[part]).quantize(_FINEST).normalize() - counted
            counted = Decimal(0)
        elif not part.isalpha() and not part[0].isdecimal():  # digits of another script are no number here
            above, below = (Decimal(each) for each in unicodedata.normalize("NFKC", part).split("\u2044"))
            total += above / below
        elif part in ("a", "an", "and"):
            counted = Decimal(0)
        elif part != "of":
            return None
    return total or None


def _measure_pattern(units: Units, wheels: frozenset[str], spelt: Sequence[str] = ()) -> re.Pattern[str]:
    spellings = {
        spelling
        for unit in units.by_symbol.values()
        if unit.dimension in ("length", "area", "speed", "turning speed", "time") and unit.symbol != "µm"
        for spelling in (unit.symbol, *unit.spellings)
    }
    # "in" is mostly a preposition: a bare one counts only next to a word that measures, or at the end.
    plain = "|".join(re.escape(spelling) for spelling in sorted(spellings - {"in", '"'}, key=lambda spelling: (-len(spelling), spelling)))
    number = r"(?:(?:\d{1,4}[\s-])?\d{1,3}/\d{1,3}|\d{0,4}\s?[¼½¾⅛⅜⅝⅞]|\d{1,9}(?:[.,]\d{1,9})?(?:\s(?:and\s)?a\shalf)?)"
    if spelt:
        word = rf"(?:{'|'.join(spelt)})"
        further = rf"(?:(?:[\s-](?:and\s)?(?:an?\s)?){word}){{0,3}}(?:\s(?:of\s)?an?(?=\s))?"
        number = rf"(?:{number}(?:\s(?:and\s)?(?:an?\s)?{word})?|\b(?:an?\s)?{word}{further})"
    measured = r"in(?=\s+(?:across|wide|thick|diameter|dia|round|tall|high|long)\b|\s*(?:[.,;)?!]|$))"
    if wheels:
        named = "|".join(re.escape(word) for word in sorted(wheels, key=lambda word: (-len(word), word)))
        measured += rf"|(?<=\b\d\s)in(?=\s+(?:{named})\b)|(?<=\b\d\d\s)in(?=\s+(?:{named})\b)"
    unit = rf'(?P<unit>(?:{plain})(?![\w/])|{measured}|")'
    value = rf"(?P<low>{number})(?:\s?(?:-|–|to)\s?(?P<high>{number}))?"
    # "An inch thick" has no number: only a unit that is written out after an article counts.
    one = rf"(?P<one>an?\s(?=(?:{plain})\b)(?=[^\W\d_]{{{_LEAST_LETTERS},}}))"
    part = (
        rf"\sand\s(?P<part>an?\s(?:half|quarter|third)|(?:{'|'.join(spelt)})(?:\s(?:{'|'.join(spelt)}))?)(?!\w|\s(?:{plain})\b)"
        if spelt
        else r"(?P<part>(?!))"
    )
    rest = rf"\s(?P<rest>\d{{1,3}}(?:\.\d+)?)\s?(?P<lesser>{plain})(?![\w/])"
    tenths = r"\s(?P<tenths>\d{1,2})(?=\s+(?:across|wide|thick|diameter|dia|round|tall|high|long)\b|\s*(?:[.,;)?!](?!\d)|$))"
    return re.compile(rf"(?<![\w.,/])(?:(?P<sides>(?:{number}\s?[x×]\s?){{0,3}}){value}[\s-]?|{one}){unit}(?:{part}|{rest}|{tenths})?", re.IGNORECASE)
