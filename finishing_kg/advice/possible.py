"""What a part of a piece that nobody said could be, beside what is known of it; what goes with what stands in the ontology."""

from collections.abc import Iterable

from finishing_kg.quantities import stocked
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary


def possible(vocabulary: Vocabulary, case: Case, part: str) -> list[str]:
    """The ids that a part of a case can have beside its other parts, in a fixed order; whatever the part itself is now does not count.

    A piece that the ontology does not foresee, such as one of a studio's own glass, can be anything. What a surface is usually found on
    does not count: a sphere can be sawn.

    Args:
        vocabulary: with what goes with what.
        case: what is known of the piece.
        part: a key of ``PARTS``. A surface that is not known, or has no grades, can have none.
    """
    if part == "surface_grade":
        return grades_of(vocabulary, case.surface) if case.surface and vocabulary.holds(case.surface, "isGraded") else []
    every = [name.id for name in vocabulary.things(part)]
    fits = {"glass": _fits_glass, "make": makes_fitting, "form": _fits_form, "surface": _fits_surface}.get(part)
    found = list(every) if fits is None else list(fits(vocabulary, case, every))
    return found or every


def grades_of(vocabulary: Vocabulary, surface: str) -> list[str]:
    """The usual grades that can have left a graded surface, coarse and fine, of the scales that its grain is graded in."""
    scales = [scale for hold in vocabulary.related(surface, "isUsuallyLeftBy") for scale in vocabulary.related(hold, "isGradedIn")]
    return list(dict.fromkeys(grade for scale in scales for grade in stocked(vocabulary, scale)))


def makes_fitting(vocabulary: Vocabulary, case: Case, makes: Iterable[str]) -> Iterable[str]:
    """Of some ways of forming those that go with the glass, the form and the surface of a case."""
    return (
        make
        for make in makes
        if _goes(vocabulary, case.glass, "canBeMadeAs", make)
        and _goes(vocabulary, make, "comesWithForm", case.form)
        and _skin_fits(vocabulary, make, case.surface)
    )


def _fits_glass(vocabulary: Vocabulary, case: Case, glasses: Iterable[str]) -> Iterable[str]:
    makes = [name.id for name in vocabulary.things("make")] if case.make is None else [case.make]
    fitting = list(makes_fitting(vocabulary, Case(form=case.form, surface=case.surface), makes)) or makes
    return (glass for glass in glasses if any(_goes(vocabulary, glass, "canBeMadeAs", make) for make in fitting))


def _fits_form(vocabulary: Vocabulary, case: Case, forms: Iterable[str]) -> Iterable[str]:
    makes = [name.id for name in vocabulary.things("make")] if case.make is None else [case.make]
    fitting = list(makes_fitting(vocabulary, Case(glass=case.glass, surface=case.surface), makes)) or makes
    return (form for form in forms if any(_goes(vocabulary, make, "comesWithForm", form) for make in fitting))


def _fits_surface(vocabulary: Vocabulary, case: Case, surfaces: Iterable[str]) -> Iterable[str]:
    return (surface for surface in surfaces if case.make is None or _skin_fits(vocabulary, case.make, surface))


def _goes(vocabulary: Vocabulary, one: str | None, with_: str, other: str | None) -> bool:
    """Whether two parts go together: nobody said one of them, or the ontology says so, or it says nothing of the one at all."""
    if one is None or other is None:
        return True
    known = vocabulary.related(one, with_)
    return not known or other in known or not vocabulary.subjects(with_, other)


def _skin_fits(vocabulary: Vocabulary, make: str, surface: str | None) -> bool:
    """A skin that only a forming leaves is found only where that forming leaves it; a bright one is also what a flame leaves later."""
    if surface is None or vocabulary.holds(surface, "isSound") or not vocabulary.subjects("leavesSurface", surface):
        return True
    makes = {name.id for name in vocabulary.things("make")}
    leaving = makes.intersection(vocabulary.subjects("leavesSurface", surface))
    return not leaving or make in leaving
