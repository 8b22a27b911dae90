"""What a glass and a grain make of a relation, worked out beside the program from what the ontology holds."""

import pytest
from inputs import UNITS
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity
from finishing_kg.quantities.marks import cracks_left, roughness_left
from finishing_kg.quantities.operations import coefficient
from finishing_kg.quantities.ranges import across
from finishing_kg.quantities.scales import grades_on, scale_of
from finishing_kg.quantities.working import Held, Working

HOLDS = sorted({hold for law in VOCABULARY.things("size relation") for hold in VOCABULARY.related(law.id, "countsForHold")})
STATED = [
    name.id for name in VOCABULARY.things("glass") if VOCABULARY.quantity(name.id, "youngModulus") and VOCABULARY.quantity(name.id, "knoopHardness")
]
GRAIN = Held(Quantity.of(30, "µm"))


def _working() -> Working:
    return Working(VOCABULARY)


def _middle(thing: str, predicate: str, unit: str) -> float:
    held = VOCABULARY.quantity(thing, predicate)
    assert held is not None
    return float(UNITS.convert(held, unit).mid)


@pytest.mark.parametrize("glass", STATED)
def test_cracks_go_with_the_root_of_stiffness_and_against_hardness(glass: str) -> None:
    """Depth in proportion to √E/H (Suratwala and others, Optical Engineering 58(9):092604, 2019), beside the glass that was measured."""
    compared = 0
    for hold in HOLDS:
        laws = [law.id for law in VOCABULARY.things("size relation") if VOCABULARY.holds(law.id, "givesCracksFromGrain")]
        laws = [law for law in laws if hold in VOCABULARY.related(law, "countsForHold")]
        measured = {glass for law in laws for glass in VOCABULARY.related(law, "wasMeasuredOn")}
        if len(laws) != 1 or len(measured) != 1:
            continue
        (reference,) = measured
        there, here = cracks_left(_working(), GRAIN, hold, reference), cracks_left(_working(), GRAIN, hold, glass)
        assert there is not None and here is not None
        stiffness = _middle(glass, "youngModulus", "GPa") / _middle(reference, "youngModulus", "GPa")
        hardness = _middle(glass, "knoopHardness", "HK") / _middle(reference, "knoopHardness", "HK")
        assert float(here.quantity.mid / there.quantity.mid) == pytest.approx(stiffness**0.5 / hardness, rel=0.003)
        compared += 1
    assert compared


def test_an_unknown_glass_or_hold_reaches_over_all_that_are_known() -> None:
    """Who does not say the glass is told from the shallowest to the deepest of all glasses; who does not say the hold, of all holds."""
    for hold in HOLDS:
        unknown, each = cracks_left(_working(), GRAIN, hold, None), [cracks_left(_working(), GRAIN, hold, glass) for glass in STATED]
        known = [found.quantity for found in each if found is not None]
        assert (unknown is None) is (not known)
        if unknown is not None:
            assert unknown.quantity.lowest <= min(found.lowest for found in known)
            assert unknown.quantity.highest >= max(found.highest for found in known)
    whole = roughness_left(_working(), GRAIN, None)
    assert whole is not None
    parts = [found.quantity for hold in HOLDS if (found := roughness_left(_working(), GRAIN, hold)) is not None]
    assert (whole.quantity.lowest, whole.quantity.highest) == (min(part.lowest for part in parts), max(part.highest for part in parts))


MEASURED = [name.id for name in VOCABULARY.things("operation") if VOCABULARY.quantity(name.id, "measuredGrain")]


@pytest.mark.parametrize("operation", MEASURED)
def test_a_coefficient_goes_with_the_grain_beyond_the_sizes_that_were_measured(operation: str) -> None:
    """Twice the coarsest measured grain cuts up to twice as fast, half the finest down to half; between them nothing changes."""
    mineral = VOCABULARY.related(operation, "employsMineral")[0]
    measured = VOCABULARY.quantity(operation, "measuredGrain")
    assert measured is not None

    def found(grain: Quantity | None) -> Quantity | str:
        held = coefficient(_working(), operation, mineral, "soda-lime-float", Held(grain) if grain is not None else None)
        return held if isinstance(held, str) else held.quantity

    inside, coarse, fine = (found(Quantity(size, measured.unit)) for size in (measured.mid, 2 * measured.highest, measured.lowest / 2))
    assert isinstance(inside, Quantity) and isinstance(coarse, Quantity) and isinstance(fine, Quantity)
    assert float(coarse.highest / inside.highest) == pytest.approx(2, rel=0.003) and coarse.lowest == inside.lowest
    assert float(fine.lowest / inside.lowest) == pytest.approx(0.5, rel=0.003) and fine.highest == inside.highest
    for nothing, why in ((None, "no grade is named."), (Quantity.of(0, "µm"), "a grain of nought takes nothing off.")):
        said = found(nothing)
        assert isinstance(said, str) and said.endswith(why) and VOCABULARY.names[operation].label in said


BESIDE = [name.id for name in VOCABULARY.things("operation") if VOCABULARY.related(name.id, "wasMeasuredOn")]


@pytest.mark.parametrize("operation", BESIDE)
def test_a_coefficient_goes_with_the_ease_of_the_glass_beside_the_one_measured(operation: str) -> None:
    """On the glass that it was measured on it stands as it is; on another it is taken times one ease and divided by the other."""
    mineral, reference = VOCABULARY.related(operation, "employsMineral")[0], VOCABULARY.related(operation, "wasMeasuredOn")[0]

    def middle(glass: str) -> float:
        held = coefficient(_working(), operation, mineral, glass, GRAIN)
        assert not isinstance(held, str)
        return float(held.quantity.mid)

    def ease(glass: str) -> float:
        (degree,) = VOCABULARY.related(glass, "hasGrindability")
        return _middle(degree, "grindingEase", "times")

    for glass in (name.id for name in VOCABULARY.things("glass") if VOCABULARY.related(name.id, "hasGrindability") and name.id != reference):
        assert middle(glass) / middle(reference) == pytest.approx(ease(glass) / ease(reference), rel=0.003)


def test_a_grade_is_on_the_scale_that_lists_it() -> None:
    """Whatever a scale lists belongs to it; what is no grade belongs to none."""
    for scale in VOCABULARY.things("grading scale"):
        assert all(scale_of(VOCABULARY, grade) == scale.id for grade in grades_on(VOCABULARY, scale.id))
    assert scale_of(VOCABULARY, "nobody") == ""


def test_a_formula_is_told_the_way_of_each_of_its_inputs() -> None:
    """Too few or too many directions are a mistake of whoever writes the formula, and never passed over."""
    for rising in ((), (True, True)):
        with pytest.raises(ValueError, match="zip"):
            across(lambda one: one, (Quantity.between(1, 2, "µm"),), rising, "µm")
