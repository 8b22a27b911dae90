"""The answers of ``finishing-kg grade``."""

from finishing_kg.advice.contract import BasisNote, GradeAnswer, GradeReading
from finishing_kg.cli.errors import Unusable
from finishing_kg.quantities import UnknownGrade, comparing, describe_grade, designation, find_scale, grades_on, grain, nearest_on
from finishing_kg.vocabulary import Vocabulary


def answer_for(vocabulary: Vocabulary, text: str, nearest: str | None) -> tuple[GradeAnswer, str]:
    """One grade with its size, and a sentence on how the words were taken.

    Raises:
        Unusable: nothing was named, or the grade or the scale does not exist.
    """
    if not text.strip() or len(text) > 100:
        raise Unusable("Name a grade, such as F220, P600, D126, 120 mesh, 6 µm or 2F.")
    asked = comparing(vocabulary, text) if nearest is None else None
    scale = asked[1] if asked else _scale(vocabulary, nearest) if nearest is not None else None
    try:
        found = describe_grade(vocabulary, asked[0] if asked else text)
    except UnknownGrade as error:
        raise Unusable(str(error)) from error
    answer = GradeAnswer(
        designation=found.designation,
        system=found.system,
        low_um=None if found.low is None else float(found.low),
        mid_um=float(found.mid),
        high_um=None if found.high is None else float(found.high),
        range_kind=found.range_kind,
        basis=BasisNote(kind=found.basis.kind, source=found.basis.source, locator=found.basis.locator),
        other_readings=[
            GradeReading(designation=other.designation, system=other.system, mid_um=float(other.mid), why=other.why) for other in found.others
        ],
        nearest=[_reading(vocabulary, grade, "compared by size, not by number") for grade in nearest_on(vocabulary, found.grade, scale)]
        if scale
        else [],
    )
    return answer, found.why


def listing(vocabulary: Vocabulary, scale: str) -> list[GradeReading]:
    """The grades of a scale, coarse to fine; without a scale the coarsest grade of each.

    Raises:
        Unusable: there is no such scale.
    """
    if scale:
        return [_reading(vocabulary, grade) for grade in grades_on(vocabulary, _scale(vocabulary, scale))]
    every = [(thing, grades_on(vocabulary, thing.id)) for thing in vocabulary.things("grading scale")]
    return [_reading(vocabulary, grades[0], f"{len(grades)} grades; {thing.note}") for thing, grades in every if grades]


def _scale(vocabulary: Vocabulary, text: str) -> str:
    found = find_scale(vocabulary, text)
    if found is None:
        raise Unusable(f"I know no grading scale {text[:40]!r}. Known: {', '.join(scale.label for scale in vocabulary.things('grading scale'))}.")
    return found


def _reading(vocabulary: Vocabulary, grade: str, why: str = "") -> GradeReading:
    scale = vocabulary.names[vocabulary.related(grade, "belongsTo")[0]].label
    return GradeReading(designation=designation(vocabulary, grade), system=scale, mid_um=float(grain(vocabulary, grade).mid), why=why)
