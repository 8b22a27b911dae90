"""Grading scales: their grades with sizes, and which scale a mineral in a hold is sold on."""

from collections.abc import Iterable
from decimal import Decimal

from finishing_kg.measure import Quantity
from finishing_kg.vocabulary import Vocabulary


class UnknownGrade(ValueError):
    """A grade that does not exist; ``nearest`` holds the designations that come closest."""

    def __init__(self, text: str, why: str, nearest: Iterable[str] = ()) -> None:
        self.text, self.why, self.nearest = text, why, tuple(nearest)
        hint = f" Nearest: {', '.join(self.nearest)}." if self.nearest else ""
        super().__init__(f"{text!r}: {why}{hint}")


def grain(vocabulary: Vocabulary, grade: str) -> Quantity:
    """The grain size of a grade in µm.

    Raises:
        UnknownGrade: no such grade, or one whose size nobody states.
    """
    size = vocabulary.quantity(grade, "grainSize")
    if size is None:
        raise UnknownGrade(grade, "No grain size is known for it.")
    return vocabulary.units.convert(size, "µm")


def nominal_size(vocabulary: Vocabulary, grade: str) -> Quantity:
    """The nominal grain size of a grade in µm, one value: its range is the spread of its grains, not a doubt about its size.

    Relations between grain, roughness and cracks are stated for the nominal size.

    Raises:
        UnknownGrade: as ``grain``.
    """
    return Quantity(grain(vocabulary, grade).mid, "µm")


def designation(vocabulary: Vocabulary, grade: str) -> str:
    """A grade as makers write it. A micron grade's label ends in a word that keeps it apart from a quantity; that word is left out."""
    return vocabulary.names[grade].label.removesuffix(" grade")


def scale_of(vocabulary: Vocabulary, grade: str) -> str:
    """The scale that a grade belongs to; empty for a grade of no scale."""
    return next(iter(vocabulary.related(grade, "belongsTo")), "")


def grades_on(vocabulary: Vocabulary, scale: str) -> list[str]:
    """All grades of a scale, coarse to fine."""
    sized = [grade for grade in vocabulary.subjects("belongsTo", scale) if vocabulary.quantity(grade, "grainSize")]
    return sorted(sized, key=lambda grade: (-grain(vocabulary, grade).mid, grade))


def stocked(vocabulary: Vocabulary, scale: str) -> list[str]:
    """The grades of a scale that a studio usually has on the shelf, coarse to fine."""
    return [grade for grade in grades_on(vocabulary, scale) if vocabulary.names[grade].stocked]


def scales_for(vocabulary: Vocabulary, mineral: str | None, hold: str | None) -> list[str]:
    """The scales that a mineral in a hold is graded in, likeliest first.

    Where mineral and hold agree on some, only these; where they agree on none, the mineral decides, since diamond
    is sold by sieve or micron on any backing. Scales with stocked grades come first, then those that begin coarser.
    """
    of_mineral = set(vocabulary.related(mineral, "isGradedIn")) if mineral else set()
    of_hold = set(vocabulary.related(hold, "isGradedIn")) if hold else set()
    chosen = (of_mineral & of_hold) or of_mineral or of_hold

    def rank(scale: str) -> tuple[bool, Decimal, str]:
        grades = grades_on(vocabulary, scale)
        return not any(vocabulary.names[grade].stocked for grade in grades), -grain(vocabulary, grades[0]).mid if grades else Decimal(0), scale

    return sorted(chosen, key=rank)


def scale_for(vocabulary: Vocabulary, mineral: str | None, hold: str | None) -> str | None:
    """The likeliest of ``scales_for``, or ``None`` where the ontology says nothing of either."""
    return next(iter(scales_for(vocabulary, mineral, hold)), None)
