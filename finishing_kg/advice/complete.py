"""What nobody said: taken from what is usual where that is safe, asked back where it is not."""

from finishing_kg.advice.contract import AskBack
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

# The questions, the most deciding first; the words are the questions themselves.
_QUESTIONS = {
    "finish": "How should it end: ground, satin, frosted, pre-polished, polished?",
    "form": "Where is the work: a flat face, an edge or rim, a curve, a relief, a cut line, the inside?",
    "surface": "What is the surface like now: sawn, ground (to which grade), from the mould, broken, blasted, pre-polished?",
}


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


def questions(vocabulary: Vocabulary, case: Case) -> list[AskBack]:
    """What must be known before a safe route can be given, the most deciding first."""
    wanted = []
    if case.finish is None:
        wanted.append("finish")
    open_form = case.finish is not None and vocabulary.holds(case.finish, "needsNoForm")
    if case.form is None and not open_form:
        wanted.append("form")
    if case.surface is None:
        wanted.append("surface")
    return [AskBack(about=about, text=_QUESTIONS[about], choices=[name.notation for name in vocabulary.things(about)]) for about in wanted]


def sharpening(vocabulary: Vocabulary, case: Case) -> list[AskBack]:
    """What would make a given route surer, though it is not needed for one."""
    asked = []
    if case.glass is None:
        choices = [name.notation for name in vocabulary.things("glass")]
        asked.append(AskBack(about="glass", text="Which glass is it? Lead glass brings a caution, and hard glass asks for diamond.", choices=choices))
    if case.surface is not None and case.surface_grade is None and vocabulary.holds(case.surface, "isGraded"):
        asked.append(AskBack(about="surface_grade", text="Which grade was it ground with? The first step follows from it."))
    return asked
