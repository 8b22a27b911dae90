"""The stages between a surface and a finish, and which stage a planned step works at."""

from decimal import Decimal

from finishing_kg.measure import Quantity
from finishing_kg.vocabulary import Vocabulary

# A grade this much outside a stage's usual grain still belongs to it: grades do not stop at round numbers.
_SLACK = Decimal("1.25")


def stages_to(vocabulary: Vocabulary, finish: str) -> list[str]:
    """The stages that lead to a finish, coarsest first, the finish itself last."""
    chain = [finish]
    while earlier := vocabulary.related(chain[0], "comesAfter"):
        chain.insert(0, earlier[0])
    return chain


def stage_of(vocabulary: Vocabulary, mineral: str, hold: str | None, grain: Quantity | None, finish: str | None) -> str:
    """The stage that a planned step works at.

    Grain in a jet blasts, a polish polishes, a grain that only rubs does the finest stage it serves; a cutting
    grain works at the stage whose usual grain it has, at the wanted finish if that is one of them.

    Args:
        vocabulary: for the stages and their grain.
        mineral, hold: of the step.
        grain: its grain size, or ``None`` if it has no grade.
        finish: what the piece should end as, if known.
    """
    served = vocabulary.related(mineral, "serves")
    wanted = finish if finish in served else None
    if hold == "air-borne":
        return (
            wanted
            if wanted and vocabulary.holds(wanted, "isABlast")
            else next(stage for stage in [*served, "blast-fine"] if vocabulary.holds(stage, "isABlast"))
        )
    if vocabulary.holds(mineral, "isAPolish"):
        return finish if finish and vocabulary.holds(finish, "takesStock") else "polish"
    if vocabulary.holds(mineral, "onlyRubs"):
        return wanted or "pre-polish"
    cutting = stages_to(vocabulary, "pre-polish")
    if grain is None:
        return wanted or "ground"
    if (
        wanted
        and wanted != "polish"
        and (band := vocabulary.quantity(wanted, "grainBand"))
        and band.lowest / _SLACK <= grain.mid <= band.highest * _SLACK
    ):
        return wanted
    return min(cutting, key=lambda stage: _off(vocabulary, stage, grain))


def _off(vocabulary: Vocabulary, stage: str, grain: Quantity) -> Decimal:
    """How many times the grain is outside a stage's usual grain; 1 inside."""
    band = vocabulary.quantity(stage, "grainBand")
    assert band is not None
    return max(band.lowest / grain.mid, grain.mid / band.highest, Decimal(1))
