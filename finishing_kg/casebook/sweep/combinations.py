"""Which pieces are asked about: what goes with what stands in the ontology, not here."""

from collections.abc import Iterator
from itertools import product

from finishing_kg.quantities import grain, stocked
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

_GLASSES_IN_TURN = 3  # one glass in so many is asked about with each form, surface and finish, unless every combination is

_Surface = tuple[str | None, str | None]


def combinations(vocabulary: Vocabulary) -> Iterator[Case]:
    """Every combination that makes sense, in a fixed order; each part may also be what nobody said."""
    for _, glass, form, (surface, grade), finish in _without_make(vocabulary):
        for make in _makes(vocabulary, glass, form, surface):
            yield Case(glass=glass, make=make, form=form, surface=surface, surface_grade=grade, finish=finish)


def spread(vocabulary: Vocabulary) -> Iterator[Case]:
    """Every form, surface and finish together, with a third of the glasses and one make each, taken in turn.

    Each glass still meets every form with every finish, and every surface with every finish and every form; only the four together do not all meet.
    """
    places = {name.id: place for kind in ("glass", "form", "finish") for place, name in enumerate(vocabulary.things(kind), 1)}
    turns: dict[tuple[str | None, ...], int] = {}
    for number, glass, form, (surface, grade), finish in _without_make(vocabulary):
        if (number + sum(places.get(part or "", 0) for part in (glass, form, finish))) % _GLASSES_IN_TURN:
            continue
        makes = _makes(vocabulary, glass, form, surface)
        # The turn is counted for each form and finish by itself, so that no make is always met with the same ones.
        turn = turns[form, finish] = turns.get((form, finish), -1) + 1
        yield Case(glass=glass, make=makes[turn % len(makes)], form=form, surface=surface, surface_grade=grade, finish=finish)


def sample(cases: list[Case], size: int) -> list[Case]:
    """Some of the cases, evenly spread, in their order; about as many as asked for, since two places may fall together."""
    if size >= len(cases):
        return cases
    # The golden section spreads places over a line more evenly than chance does, at any number of them.
    places = {int(place * 0.6180339887498949 % 1 * len(cases)) for place in range(1, size + 1)}
    return [cases[place] for place in sorted(places)]


def _without_make(vocabulary: Vocabulary) -> Iterator[tuple[int, str | None, str | None, _Surface, str | None]]:
    """All combinations without a make, each with the place of its surface among those of its form."""
    glasses, forms, finishes = (_ids(vocabulary, kind) for kind in ("glass", "form", "finish"))
    surfaces = _surfaces(vocabulary)
    for glass, form in product(glasses, forms):
        here = [each for each in surfaces if None in (form, each[0]) or form in vocabulary.related(str(each[0]), "isFoundOn")]
        for (number, surface), finish in product(enumerate(here), finishes):
            yield number, glass, form, surface, finish


def _ids(vocabulary: Vocabulary, kind: str) -> list[str | None]:
    return [*(name.id for name in vocabulary.things(kind)), None]


def _makes(vocabulary: Vocabulary, glass: str | None, form: str | None, surface: str | None) -> list[str | None]:
    """The ways of forming that go with the other parts, and that nobody said which it was."""
    skins = {left for make in vocabulary.things("make") for left in vocabulary.related(make.id, "leavesSurface")}

    def fits(make: str) -> bool:
        # A skin that only the forming leaves is found only where that forming leaves it; worked surfaces are found on all.
        # A bright skin is also what a flame leaves later.
        skin = surface is None or surface not in skins or vocabulary.holds(surface, "isSound") or surface in vocabulary.related(make, "leavesSurface")
        return (
            skin
            and (glass is None or make in vocabulary.related(glass, "canBeMadeAs"))
            and (form is None or form in vocabulary.related(make, "comesWithForm"))
        )

    return [None, *(make.id for make in vocabulary.things("make") if fits(make.id))]


def _surfaces(vocabulary: Vocabulary) -> list[_Surface]:
    """All surfaces, each without a grade and with one for each class of grades, and that nobody said which it is."""
    found: list[_Surface] = []
    for surface in vocabulary.things("surface"):
        found += [(surface.id, None), *((surface.id, grade) for grade in grade_classes(vocabulary, surface.id))]
    return [*found, (None, None)]


def grade_classes(vocabulary: Vocabulary, surface: str) -> list[str]:
    """One grade for each stage that a surface can be left at: the usual one nearest to the middle of the stage's grain."""
    scales = [scale for hold in vocabulary.related(surface, "isUsuallyLeftBy") for scale in vocabulary.related(hold, "isGradedIn")]
    sized = [(grade, grain(vocabulary, grade).mid) for scale in scales for grade in stocked(vocabulary, scale)]
    classes: list[str] = []
    for stage in vocabulary.things("finish"):
        band = vocabulary.quantity(stage.id, "grainBand")
        if band and sized and not vocabulary.holds(stage.id, "isABlast"):
            middle = (band.lowest * band.highest).sqrt()
            classes.append(min(sized, key=lambda each: (max(each[1] / middle, middle / each[1]), each[0]))[0])
    return sorted(set(classes))
