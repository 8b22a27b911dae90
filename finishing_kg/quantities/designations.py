"""How makers write grades: what scales a written designation can belong to, before any of them is looked up."""

import re
import unicodedata

from finishing_kg.measure import Quantity, QuantityError, Units, read_quantity
from finishing_kg.record import record

# Where nothing else decides, a number is looked for on the scales in this order: loose grain is what a
# studio buys most of, and a number without a unit is hardly ever a size in µm.
ALL_SCALES: tuple[str, ...] = ("fepa-f", "fepa-p", "ansi-coated", "ansi-bonded", "jis", "us-mesh", "fepa-d", "pumice-grades", "micron")
_NOT_GRIT = {"fepa-d", "pumice-grades", "micron"}

_IDS = {
    "fepa-f": "F{}",
    "fepa-p": "P{}",
    "ansi-coated": "ANSI-{}",
    "ansi-bonded": "ANSI-bonded-{}",
    "jis": "JIS-{}",
    "us-mesh": "mesh-{}",
    "fepa-d": "D{}",
    "pumice-grades": "pumice-{}",
    "micron": "micron-{}",
}

_N = r"#?\s*(?P<n>\d{1,6})"
_PUMICE_NAME = r"(?:no\.?\s*)?(?P<name>f{1,6}|\d\s*f|0{1,6}|\d/0|\d\s+1/2|1/2|\d)"
_PUMICE_IDS = {"1/2": "half", "1 1/2": "1-half", "f": "F", "1f": "F", "ff": "2F", "fff": "3F", "ffff": "4F", "000": "F"}


@record(frozen=True, slots=True)
class Written:
    """One way in which a text is written.

    Attributes:
        scales: where it can belong, likeliest first.
        name: number or letters on the scale, e.g. ``"220"`` or ``"2F"``; for a size in µm the number.
        why: half a sentence on what was recognised.
        bare: the text names no scale, so that mineral and hold decide.
        size: the size or range that was written, where it was.
    """

    scales: tuple[str, ...]
    name: str
    why: str
    bare: bool = False
    size: Quantity | None = None


# Forms that name their scale. Each pattern is tried on the whole text.
_FORMS: tuple[tuple[re.Pattern[str], tuple[str, ...], str], ...] = tuple(
    (re.compile(pattern), scales, why)
    for pattern, scales, why in (
        (rf"(?:fepa[\s-]*)?f[\s-]*{_N}", ("fepa-f",), "the letter F before the number is FEPA F's"),
        (rf"(?:fepa[\s-]*)?p[\s-]*{_N}", ("fepa-p",), "the letter P before the number is FEPA P's"),
        (rf"(?:ansi\s*coated|cami)[\s-]*{_N}", ("ansi-coated",), "the scale for coated grain is named"),
        (rf"ansi\s*(?:bonded|loose)[\s-]*{_N}", ("ansi-bonded",), "the scale for bonded and loose grain is named"),
        (rf"ansi[\s-]*{_N}", ("ansi-coated", "ansi-bonded"), "ANSI is named, though not whether the grain is coated or bonded"),
        (rf"jis[\s-]*{_N}", ("jis",), "JIS is named"),
        (rf"(?:fepa[\s-]*)?d[\s-]*{_N}", ("fepa-d",), "the letter D before the number is FEPA D's"),
        (rf"b[\s-]*{_N}", ("fepa-d",), "the letter B marks boron nitride between the sieves of the D grade of that number"),
        (rf"{_N}\s*-?\s*mesh|(?:us\s*)?mesh\s*{_N.replace('<n>', '<m>')}", ("us-mesh",), "the number is called a mesh"),
    )
)
_PAIR = re.compile(r"(?P<n>\d{2,4})\s*/\s*(?P<m>\d{2,4})(?:\s*mesh)?")
_PUMICE = re.compile(rf"pumice\s*{_PUMICE_NAME}|{_PUMICE_NAME.replace('<name>', '<first>')}\s*(?P<word>pumice)?")
_BARE = re.compile(r"(?P<mark>#)?\s*(?P<n>\d{1,6})\s*(?P<grit>-?\s*gri[td])?|gri[td]\s*#?\s*(?P<m>\d{1,6})")
_SPAN = re.compile(r"(\d[\d.]*)\s*[-–]\s*(\d[\d.]*)(?=\s*\D)")


def grade_id(scale: str, name: str) -> str:
    """The identifier that a number or letter would have on a scale; whether there is such a grade is not said."""
    return _IDS[scale].format(name)


def tidy(text: str) -> str:
    """The text in one spelling: small letters, one kind of µ, single spaces, fractions written out."""
    spaced = re.sub(r"(?<=\d)(?=[¼½¾])", " ", text[:80])
    plain = unicodedata.normalize("NFKC", spaced).replace("⁄", "/").casefold().replace("μ", "µ")
    return " ".join(plain.split())


def ways_of_writing(units: Units, text: str) -> list[Written]:
    """All ways in which a text can be taken as a grade, likeliest first; empty if it looks like none.

    Raises:
        QuantityError: a size with a decimal comma, or with a unit that measures no length.
    """
    words = tidy(text)
    return [*_named(words), *_pumice(words), *_pair(words), *_number(words), *_size(units, words)]


def _named(words: str) -> list[Written]:
    for pattern, scales, why in _FORMS:
        if match := pattern.fullmatch(words):
            number = next(value for value in match.groupdict().values() if value)
            return [Written(scales, str(int(number)), why)]
    return []


def _pumice(words: str) -> list[Written]:
    match = _PUMICE.fullmatch(words)
    if match is None:
        return []
    name = " ".join((match["name"] or match["first"]).split())
    named = "pumice" in words
    if not named and name[0].isdigit() and "f" not in name and "/" not in name:
        return []  # a bare digit is a number first
    why = "pumice is named" if named else "letters F and such fractions are pumice names"
    if name == "000":
        why = "pumice is named; one shop puts its 000 under 150 µm, which is where F ends, but makers differ"
    compact = name.replace(" f", "f")
    return [Written(("pumice-grades",), _PUMICE_IDS.get(compact, compact.upper()), why)]


def _pair(words: str) -> list[Written]:
    match = _PAIR.fullmatch(words)
    return [Written(("us-mesh", "fepa-d"), f"{int(match['n'])}/{int(match['m'])}", "two sieve numbers bound the grain")] if match else []


def _number(words: str) -> list[Written]:
    match = _BARE.fullmatch(words)
    if match is None:
        return []
    scales, why = ALL_SCALES, "the number is bare"
    if match["grit"] or match["m"]:
        scales, why = tuple(scale for scale in ALL_SCALES if scale not in _NOT_GRIT), '"grit" says that it is a grade, not on which scale'
    elif match["mark"]:
        scales = ("jis", *(scale for scale in ALL_SCALES if scale not in {"jis", *_NOT_GRIT}))
        why = "the mark # is JIS's own, though any number may be sold with it"
    return [Written(scales, str(int(match["n"] or match["m"])), why, bare=True)]


def _size(units: Units, words: str) -> list[Written]:
    try:
        written = read_quantity(_SPAN.sub(r"\1 to \2", words))
    except QuantityError as error:
        if "," in words and words[0].isdigit():
            raise error
        return []
    if units.find(written.unit) is None:
        return []
    size = units.convert(units.settle(written, ("µm",)), "µm")
    return [Written(("micron", "fepa-d", "us-mesh"), f"{size.mid.normalize():f}", "the size itself is given", size=size)]
