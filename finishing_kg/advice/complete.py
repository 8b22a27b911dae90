"""What nobody said, taken from what is usual where that is safe."""

from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary


def complete(vocabulary: Vocabulary, case: Case) -> Case:
    """The case with a present surface supposed, where the way of forming tells it.

    A bright skin is supposed only where the finish is rougher than it: a polish asked for on an unknown surface
    may as well mean a sawn one, and that is asked back.
    """
    if case.surface is not None:
        return case
    rougher = case.finish is not None and vocabulary.holds(case.finish, "isRougherThanASoundSurface")
    left = vocabulary.related(case.make, "leavesSurface") if case.make else []
    label = vocabulary.names[case.make].label if case.make else ""
    for surface in left:
        if not vocabulary.holds(surface, "isSound"):
            return case.supposing(
                "surface",
                surface,
                f"Nobody said what the surface is like; a {label} piece comes {vocabulary.names[surface].label}. Its marks are taken as shallow.",
            )
        if rougher:
            return case.supposing(
                "surface", surface, f"Nobody said what the surface is like; a {label} piece has a bright skin until somebody works on it."
            )
    if not left and rougher and case.finish is not None and not vocabulary.holds(case.finish, "takesStock"):
        return case.supposing("surface", "fire-polished", "Nobody said what the surface is like; it is taken as a bright, unworked skin.")
    if not left and case.finish is not None and vocabulary.holds(case.finish, "isABlast"):
        return case.supposing("surface", "fire-polished", "Nobody said what the surface is like; it is taken as a bright, unworked skin.")
    return case
