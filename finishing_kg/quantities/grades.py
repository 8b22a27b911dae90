"""Grades: from what a maker writes to a grain size, with every other thing that it could mean."""

import re
from decimal import Decimal
from typing import Literal

from finishing_kg.measure import QuantityError
from finishing_kg.quantities.designations import Written, grade_id, tidy, ways_of_writing
from finishing_kg.quantities.scales import UnknownGrade, designation, grades_on, grain, scale_for, scale_of, scales_for, stocked
from finishing_kg.record import record
from finishing_kg.vocabulary import Basis, Vocabulary

__all__ = [
    "GradeDescription",
    "GradeRead",
    "OtherReading",
    "UnknownGrade",
    "describe_grade",
    "designation",
    "grades_on",
    "grain",
    "read_grade",
    "refusal",
    "scale_for",
    "scale_of",
    "scales_for",
    "stocked",
]

RangeKind = Literal["core sieve fraction", "d3-d94", "mesh pair", "working range"]

# What the ends of a published range are: by scale, up to which number. Coated grades graded by sieves are published as means.
_RANGE_KINDS: dict[str, tuple[tuple[int, RangeKind], ...]] = {
    "fepa-f": ((220, "core sieve fraction"), (2000, "d3-d94")),
    "fepa-p": ((2500, "d3-d94"), (5000, "working range")),
    "ansi-bonded": ((220, "core sieve fraction"),),
    "jis": ((220, "core sieve fraction"), (8000, "d3-d94")),
    "fepa-d": ((10**6, "mesh pair"),),
    "us-mesh": ((10**6, "mesh pair"),),
}
_AMERICAN = {"ansi-coated": "fepa-p", "ansi-bonded": "fepa-f"}
_NEAR_ENOUGH = Decimal("1.25")
_NUMBER = re.compile(r"(\d+(?:\.\d+)?)$")


@record(frozen=True, slots=True)
class GradeRead:
    """One grade that a text can mean: the grade's and its scale's ids, and a sentence on how it was taken."""

    grade: str
    scale: str
    why: str


@record(frozen=True, slots=True)
class OtherReading:
    """Another grade that the same text can mean; ``mid`` in µm."""

    designation: str
    system: str
    mid: Decimal
    why: str


@record(frozen=True, slots=True)
class GradeDescription:
    """A grade's size.

    Attributes:
        grade: its id.
        designation, system: as makers write it; the label of its scale.
        low, mid, high: grain size in µm; low and high are ``None`` where no spread is known.
        range_kind: what low and high are, or ``None`` where there are none.
        basis: what the size rests on.
        why: a sentence on how the text was taken.
        others: what else it could mean.
    """

    grade: str
    designation: str
    system: str
    low: Decimal | None
    mid: Decimal
    high: Decimal | None
    range_kind: RangeKind | None
    basis: Basis
    why: str
    others: tuple[OtherReading, ...]


def read_grade(vocabulary: Vocabulary, text: str, mineral: str | None = None, hold: str | None = None) -> list[GradeRead]:
    """All grades that a text can mean, likeliest first; empty if there is none.

    Args:
        vocabulary: with the grades.
        text: such as ``F220``, ``120 mesh``, ``400 grit``, ``400``, ``6 µm``, ``1/2 pumice``.
        mineral, hold: ids of what the grade is said of, where known; they decide between scales.
    """
    try:
        ways = ways_of_writing(vocabulary.units, text)
    except QuantityError:
        return []
    found = [read for way in ways for read in _look_up(vocabulary, way, mineral, hold)]
    if not found:
        found = [GradeRead(grade, scale_of(vocabulary, grade), "It is written as the grade's own name.") for grade in _by_label(vocabulary, text)]
    first: dict[str, GradeRead] = {}
    for read in found:
        first.setdefault(read.grade, read)
    return list(first.values())


def nearest_of_size(vocabulary: Vocabulary, text: str) -> GradeRead | None:
    """The grade nearest to a size that no grade has, such as ``100 µm``; ``None`` where none is within a quarter of it, or no size is written."""
    try:
        ways = ways_of_writing(vocabulary.units, text)
    except QuantityError:
        return None
    way = next((way for way in ways if way.size is not None), None)
    if way is None or way.size is None:
        return None
    wanted, sizes = way.size.mid, [(grade, scale) for scale in way.scales for grade in grades_on(vocabulary, scale)]
    grade, scale = min(sizes, key=lambda each: _apart(grain(vocabulary, each[0]).mid, wanted))
    near = _apart(grain(vocabulary, grade).mid, wanted) <= _NEAR_ENOUGH
    return GradeRead(grade, scale, f"No grade has this size; {designation(vocabulary, grade)} comes nearest.") if near else None


def describe_grade(vocabulary: Vocabulary, text: str, mineral: str | None = None, hold: str | None = None) -> GradeDescription:
    """The size of the likeliest grade that a text can mean.

    Raises:
        UnknownGrade: there is none.
    """
    reads = read_grade(vocabulary, text, mineral, hold)
    if not reads:
        raise refusal(vocabulary, text, mineral, hold)
    first, *rest = reads
    size = grain(vocabulary, first.grade)
    basis = next(vocabulary.claims_about(first.grade, "grainSize")).basis
    others = tuple(OtherReading(designation(vocabulary, r.grade), _label(vocabulary, r.scale), grain(vocabulary, r.grade).mid, r.why) for r in rest)
    shown, system = designation(vocabulary, first.grade), _label(vocabulary, first.scale)
    kind = None if size.low is None else _range_kind(first)
    return GradeDescription(first.grade, shown, system, size.low, size.mid, size.high, kind, basis, first.why, others)


def refusal(vocabulary: Vocabulary, text: str, mineral: str | None = None, hold: str | None = None) -> UnknownGrade:
    """The error for a text that ``read_grade`` finds nothing for: why, and what comes nearest."""
    shown = " ".join(text.split())[:60]
    try:
        ways = ways_of_writing(vocabulary.units, text)
    except QuantityError as error:
        return UnknownGrade(shown, f"This is no grain size: {error.why} Write {error.repair!r}.")
    if not ways:
        labels = {label: name.id for name in vocabulary.things("grade") for label in (name.label, *name.alternatives)}
        from difflib import get_close_matches

        close = get_close_matches(shown, labels, n=3, cutoff=0.7)
        nearest = dict.fromkeys(designation(vocabulary, labels[found]) for found in close)
        return UnknownGrade(shown, "This is not written like a grade of any scale.", nearest)
    way = ways[0]
    preferred = [scale for scale in scales_for(vocabulary, mineral, hold) if way.bare and scale in way.scales]
    scales = preferred or list(way.scales[:2])
    systems = " or ".join(_label(vocabulary, scale) for scale in scales)
    return UnknownGrade(shown, f"There is no such grade in {systems}.", _nearest(vocabulary, way, scales))


def _label(vocabulary: Vocabulary, thing: str) -> str:
    name = vocabulary.names.get(thing)
    return name.label if name else thing


def _exists(vocabulary: Vocabulary, grade: str) -> bool:
    return grade in vocabulary.names and vocabulary.names[grade].kind == "grade"


def _by_label(vocabulary: Vocabulary, text: str) -> list[str]:
    wanted = tidy(text).replace(" ", "")

    def spelt(label: str) -> bool:
        return tidy(label).replace(" ", "") == wanted

    return [name.id for name in vocabulary.things("grade") if any(map(spelt, (name.label, *name.alternatives)))]


def _look_up(vocabulary: Vocabulary, way: Written, mineral: str | None, hold: str | None) -> list[GradeRead]:
    if way.size is not None or "/" in way.name:
        return [_read(vocabulary, grade, scale, way.why) for scale in way.scales for grade in _between(vocabulary, scale, way)]
    preferred = scales_for(vocabulary, mineral, hold)
    if "fepa-d" in preferred and "us-mesh" not in preferred:
        # The same sieves under two names: what is graded by D numbers is asked for by mesh numbers as well.
        preferred.append("us-mesh")
    there = [scale for scale in _order(way, preferred) if _exists(vocabulary, grade_id(scale, way.name))]
    if not way.bare:
        return [_read(vocabulary, grade_id(scale, way.name), scale, way.why) for scale in there]
    beyond_sieves = "us-mesh" in preferred and "jis" in there and not set(there) & set(preferred)
    if beyond_sieves:
        # Fine diamond discs are sold by numbers that no sieve has; a craft guide's sizes for them are those of JIS.
        there.sort(key=lambda scale: scale != "jis")
    spread = _spread(vocabulary, [grade_id(scale, way.name) for scale in there])
    reads = []
    for scale in there:
        said = _context(vocabulary, scale, mineral, hold) if scale in preferred else f"{way.why}{spread}"
        if beyond_sieves and scale == "jis":
            said = f"no sieve has this number, and such discs run on mostly as JIS does{spread}"
        reads.append(_read(vocabulary, grade_id(scale, way.name), scale, said))
    return reads


def _read(vocabulary: Vocabulary, grade: str, scale: str, why: str) -> GradeRead:
    return GradeRead(grade, scale, f"Read as {_label(vocabulary, scale)}: {why}.")


def _order(way: Written, preferred: list[str]) -> list[str]:
    """The scales to try: those of mineral and hold first, save that a number without µm is hardly ever a size."""
    own = sorted((scale for scale in preferred if scale in way.scales), key=lambda scale: scale == "micron" and way.bare)
    rest = [scale for scale in way.scales if scale not in own]
    if preferred and preferred[0] in _AMERICAN.values():
        # ANSI names two scales; the one that serves as the FEPA scale of this hold comes first.
        rest.sort(key=lambda scale: scale in _AMERICAN and _AMERICAN[scale] != preferred[0])
    return [*own, *rest]


def _context(vocabulary: Vocabulary, scale: str, mineral: str | None, hold: str | None) -> str:
    """Why mineral and hold lead to a scale; a mesh scale may be there for the sake of the D scale."""

    def named(thing: str | None) -> str:
        graded = vocabulary.related(thing, "isGradedIn") if thing else []
        return _label(vocabulary, thing) if thing and (scale in graded or (scale == "us-mesh" and "fepa-d" in graded)) else ""

    return f"the number is bare, and this scale serves for {' '.join(filter(None, (named(hold), named(mineral) or 'grain')))}"


def _spread(vocabulary: Vocabulary, grades: list[str]) -> str:
    middles = [grain(vocabulary, grade).mid for grade in grades if scale_of(vocabulary, grade) not in ("micron", "pumice-grades", "fepa-d")]
    if len(middles) < 2 or min(middles) == max(middles):
        return ""
    return f", and over the scales that have it the grain runs from {min(middles):f} to {max(middles):f} µm"


def _between(vocabulary: Vocabulary, scale: str, way: Written) -> list[str]:
    """The grades of a scale that lie just between two ends, or a micron grade of one size.

    The opening of sieve N is the high end of the mesh grade N, so that a pair of sieves is a pair of ends too.
    """
    if way.size is not None and way.size.low is None:
        grade = grade_id(scale, way.name)
        return [grade] if scale == "micron" and _exists(vocabulary, grade) else []
    if way.size is not None:
        ends = [way.size.low, way.size.high]
    else:
        sieves = [grade_id("us-mesh", number) for number in way.name.split("/")]
        ends = [grain(vocabulary, sieve).high for sieve in reversed(sieves) if _exists(vocabulary, sieve)]
    sizes = {grade: grain(vocabulary, grade) for grade in grades_on(vocabulary, scale)}
    return [grade for grade, size in sizes.items() if [size.low, size.high] == ends]


def _range_kind(read: GradeRead) -> RangeKind | None:
    number = _NUMBER.search(read.grade)
    if read.scale not in _RANGE_KINDS or number is None:
        return "working range"
    return next((kind for up_to, kind in _RANGE_KINDS[read.scale] if Decimal(number.group()) <= up_to), None)


def _nearest(vocabulary: Vocabulary, way: Written, scales: list[str]) -> list[str]:
    """Some designations: by size where a size was written, else two a scale by number, else by spelling."""
    if way.size is not None:
        wanted = way.size.mid
        grades = [grade for scale in scales for grade in grades_on(vocabulary, scale)]
        close = sorted(grades, key=lambda grade: _apart(grain(vocabulary, grade).mid, wanted))[:3]
        return [designation(vocabulary, grade) for grade in close]
    close = []
    for scale in scales:
        grades = grades_on(vocabulary, scale)
        number = way.name.split("/")[0]
        numbers = {grade: Decimal(match.group()) for grade in grades if (match := _NUMBER.search(grade))}
        if scale == "pumice-grades":
            from difflib import get_close_matches

            names = {grade.partition("-")[2]: grade for grade in grades}
            close += [names[found] for found in get_close_matches(way.name, names, n=2, cutoff=0.3)]
        elif "/" not in way.name or scale == "us-mesh":
            close += sorted(numbers, key=lambda grade: _apart(numbers[grade], Decimal(number)))[:2]
    return [designation(vocabulary, grade) for grade in close]


def _apart(one: Decimal, other: Decimal) -> Decimal:
    """How many times one number is the other, the larger over the smaller."""
    small, large = sorted((one, other))
    return large / small if small else Decimal("Infinity")
