"""How hard a mineral is beside a glass, on one scale at a time.

Mohs' scale ranks: it tells which scratches which, and its numbers have no ratio. Knoop numbers are measured, and have one. The two
are never mixed, and a result says which was used. Hardness tells whether a grain cuts; how fast a glass grinds it ranks badly.
"""

from typing import Literal

from finishing_kg.measure import Quantity, QuantityError, Units
from finishing_kg.quantities.ranges import quotient, read_in
from finishing_kg.record import record
from finishing_kg.vocabulary import Vocabulary

Verdict = Literal["cuts", "barely", "does nothing"]
Scale = Literal["Mohs", "Knoop"]

_HELD = ("hardness", "knoopHardness")  # by Mohs, by Knoop


@record(frozen=True, slots=True)
class Contrast:
    """Two hardnesses on one scale.

    Attributes:
        scale: which.
        mineral, glass: the hardnesses compared.
        ratio: of mineral to glass in ``times``; ``None`` on Mohs' scale.
        verdict: ``cuts`` if all of the mineral's range lies above the glass's, ``does nothing`` if all of it lies below, else ``barely``.
    """

    scale: Scale
    mineral: Quantity
    glass: Quantity
    ratio: Quantity | None
    verdict: Verdict


def knoop_ratio(mineral: Quantity, glass: Quantity, units: Units) -> Quantity:
    """How many times the Knoop number of a glass that of a mineral is.

    Raises:
        QuantityError: a hardness by another test, or a glass of none.
    """
    return quotient(read_in(mineral, "HK", units), read_in(glass, "HK", units), units)


def contrast(mineral: Quantity, glass: Quantity, units: Units) -> Contrast:
    """Set two hardnesses against each other.

    Raises:
        QuantityError: hardnesses on two scales, or on none.
    """
    unit = units.settle(mineral).unit
    if unit not in ("Mohs", "HK"):
        raise QuantityError(str(mineral), "hardness is compared by Mohs' scale or by Knoop's test.", "9 Mohs")
    hard, soft = read_in(mineral, unit, units), read_in(glass, unit, units)
    verdict: Verdict = "cuts" if hard.lowest > soft.highest else "does nothing" if hard.highest < soft.lowest else "barely"
    if unit == "Mohs":
        return Contrast("Mohs", hard, soft, None, verdict)
    return Contrast("Knoop", hard, soft, knoop_ratio(hard, soft, units), verdict)


def contrasts(vocabulary: Vocabulary, mineral: str, glass: str) -> tuple[Contrast, ...]:
    """The contrasts of a known mineral and glass, on each scale on which the ontology holds both; Mohs first.

    Polishes work on glass as hard as themselves by chemistry, and their verdict says nothing of that.
    """
    found = []
    for predicate in _HELD:
        hard, soft = vocabulary.quantity(mineral, predicate), vocabulary.quantity(glass, predicate)
        if hard is not None and soft is not None:
            found.append(contrast(hard, soft, vocabulary.units))
    return tuple(found)
