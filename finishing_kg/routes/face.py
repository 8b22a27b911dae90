"""The face that is worked: how large it is, where that can be told from what was said of the piece."""

from finishing_kg.measure import Quantity
from finishing_kg.proofs import Computation, Fact
from finishing_kg.quantities import DISC_AREA, disc_area
from finishing_kg.routes.case import PIECE, Case
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Basis, Vocabulary


def face_area(vocabulary: Vocabulary, case: Case) -> Quantity | None:
    """The area of the worked face: as given, or of a round face of the given diameter; ``None`` where neither is known.

    A form that has a usual area of its own, such as a rim, is no round face; the diameter tells nothing of it.
    """
    given, across = case.measures.get("faceArea"), case.measures.get("diameter")
    if given is not None or across is None or (case.form and vocabulary.quantity(case.form, "workArea")):
        return given
    return disc_area(across, vocabulary.units)


def area_facts(vocabulary: Vocabulary, case: Case) -> dict[Statement, Fact]:
    """The area as a statement, where it was computed; what was given is a fact of the case."""
    area, across = face_area(vocabulary, case), case.measures.get("diameter")
    if area is None or across is None or "faceArea" in case.measures:
        return {}
    computed = Computation(DISC_AREA, (across,), (Statement("diameter", PIECE, across),))
    return {Statement("faceArea", PIECE, area): Fact(Basis("computed", None, DISC_AREA), computed)}
