"""Damage, removal, time, hardness and limits: ranges that hold what they promise."""

import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from inputs import CASES, INPUTS, LAW, NOT_BY_POINTS, TABLE, UNITS, nested, within
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.quantities.computations import (
    GREATEST,
    PRODUCT,
    SIZE_BAND,
    WIDEST,
)
from finishing_kg.quantities.contrast import contrast, contrasts
from finishing_kg.quantities.damage import damage_factor, size_band
from finishing_kg.quantities.limits import greatest_turning, recommended_speed, recommended_turning
from finishing_kg.quantities.marks import cracks_from_roughness, cracks_left, roughness_left
from finishing_kg.quantities.preston import mean_pressure, minutes_to_remove
from finishing_kg.quantities.ranges import geometric_middle
from finishing_kg.quantities.removal import cracks_when_stopped, removal_owed
from finishing_kg.quantities.speed import surface_speed
from finishing_kg.quantities.working import Held, Working

GLASSES = [name.id for name in VOCABULARY.things("glass")]


@pytest.mark.parametrize(("low", "high", "middle"), [(2, 8, 4), (1, 1, 1), ("0.5", 50, 5), (0, 8, 4), (0, 0, 0)])
def test_the_middle_of_a_range_as_ratios_go(low: int | str, high: int, middle: int) -> None:
    """From 2 to 8 it is 4, for 4 is twice the one and half the other; from nought, to which nothing has a ratio, it is half of the high end."""
    assert geometric_middle(Decimal(low), Decimal(high)) == middle


# The computations, each by itself


def test_every_computation_is_tried() -> None:
    """The table above leaves out no computation but the three that do not work on the ends of ranges."""
    assert set(INPUTS) | NOT_BY_POINTS == set(TABLE)


@pytest.mark.parametrize(("name", "units"), CASES)
@given(data=st.data())
def test_what_lies_inside_the_inputs_gives_what_lies_inside_the_result(name: str, units: tuple[str, ...], data: st.DataObject) -> None:
    """For values inside the ranges given, the result lies inside the range printed; and a wider input never gives a narrower result."""
    points, ranges, wider = data.draw(nested(name, units))
    found = TABLE[name](ranges)
    assert within(TABLE[name](points), found)
    assert within(found, TABLE[name](wider))


@pytest.mark.parametrize(("name", "units"), [case for case in CASES if {"µm", "mm"} & set(case[1])])
@given(data=st.data())
def test_micrometres_and_millimetres_give_the_same(name: str, units: tuple[str, ...], data: st.DataObject) -> None:
    """n µm and n/1000 mm give the same numbers to the last digit, for every computation that takes a length."""
    _, ranges, _ = data.draw(nested(name, units))
    other = {"µm": "mm", "mm": "µm"}
    turned = tuple(UNITS.convert(part, other.get(part.unit, part.unit)) for part in ranges)
    first, second = TABLE[name](ranges), TABLE[name](turned)
    assert UNITS.convert(second, first.unit) == first


@pytest.mark.parametrize("name", sorted(TABLE))
def test_inputs_of_another_number_or_kind_are_refused(name: str) -> None:
    """A computation refuses no inputs at all, and inputs that measure something else."""
    for inputs in ((), (Quantity.of(1, "°C"),) * 7, (Quantity.of(1, "°C"),)):
        if name in (WIDEST, GREATEST, PRODUCT) and inputs:
            continue
        with pytest.raises(QuantityError):
            TABLE[name](inputs)


@pytest.mark.parametrize("name", [WIDEST, GREATEST, PRODUCT])
def test_quantities_of_two_kinds_have_nothing_in_common(name: str) -> None:
    """The widest and the greatest of a length and a speed, and a length times a length, are refused."""
    with pytest.raises(QuantityError):
        TABLE[name]((Quantity.of(1, "µm"), Quantity.of(1, "m/s")))


@pytest.mark.parametrize(
    "call",
    [
        lambda: mean_pressure(Quantity.of(20, "N"), Quantity.of(0, "cm²"), UNITS),
        lambda: minutes_to_remove(Quantity.of(5, "µm"), Quantity.of(1, "µm²/N"), Quantity.between(0, 5, "kPa"), Quantity.of(1, "m/s"), UNITS),
        lambda: damage_factor(Quantity.of(70, "GPa"), Quantity.of(0, "HK"), Quantity.of(70, "GPa"), Quantity.of(500, "HK"), UNITS),
        lambda: size_band(
            Quantity.of(9, "µm"),
            least_factor=Quantity.between("0.2", "0.4", "times"),
            least_exponent=LAW[1],
            greatest_factor=LAW[2],
            greatest_exponent=LAW[3],
            finest=LAW[4],
            coarsest=LAW[5],
            units=UNITS,
        ),
    ],
    ids=["a face without area", "no pressure", "glass without hardness", "a law with a range for a factor"],
)
def test_what_cannot_be_is_refused(call: Callable[[], Quantity]) -> None:
    """A division by nought, and a law that is no single law, are refused as sentences."""
    with pytest.raises(QuantityError):
        call()


# Damage


@given(st.integers(1, 3000), st.integers(1, 3000))
def test_coarser_grain_leaves_deeper_cracks(one: int, other: int) -> None:
    """Both ends and the middle of the band rise with the grain, inside the known sizes, outside of them and across their ends."""
    fine, coarse = (TABLE[SIZE_BAND]((Quantity(Decimal(n) / 10, "µm"), *LAW)) for n in sorted((one, other)))
    assert fine.lowest <= coarse.lowest
    assert fine.mid <= coarse.mid
    assert fine.highest <= coarse.highest


def test_outside_the_known_sizes_the_band_is_wider() -> None:
    """Below, nothing is promised from beneath; above, the low end stays and the high end grows with the size itself."""
    fine, last, double = (TABLE[SIZE_BAND]((Quantity.of(size, "µm"), *LAW)) for size in ("2.9", 200, 400))
    assert fine.lowest == 0 < fine.highest
    assert double.lowest == last.lowest
    assert abs(double.highest / last.highest - 2) < Decimal("0.001")


@pytest.mark.parametrize(("relation", "holds"), [(cracks_left, True), (roughness_left, False)])
def test_an_unknown_hold_or_glass_is_any(relation: Callable[..., Held | None], holds: bool) -> None:
    """What is left where hold and glass are unknown takes in what each hold and each glass would leave."""
    grain = Held(Quantity.of(29, "µm"))
    known = [(hold.id, glass) for hold in VOCABULARY.things("hold") for glass in (GLASSES if holds else [None])]
    anything = relation(Working(VOCABULARY), grain, None, *([None] if holds else []))
    assert anything is not None
    left = [relation(Working(VOCABULARY), grain, hold, *([glass] if holds else [])) for hold, glass in known]
    assert len([found for found in left if found]) == len(known) * 8 // 9
    assert all(within(found.quantity, anything.quantity) for found in left if found)


def test_a_grain_that_yields_may_leave_shallower_cracks() -> None:
    """Resin and rubber promise less from beneath than plate and loose grain, and no less from above."""
    grain = Held(Quantity.of(29, "µm"))
    stiff, soft = (cracks_left(Working(VOCABULARY), grain, hold, "soda-lime-float") for hold in ("plated", "rubber-bond"))
    assert stiff is not None
    assert soft is not None
    assert soft.quantity.lowest < stiff.quantity.lowest
    assert soft.quantity.highest == stiff.quantity.highest


def test_no_one_ratio_leads_from_roughness_to_cracks() -> None:
    """From roughness alone the cracks under bound diamond are known to within ten times, and those under lapping far better."""
    height = Held(Quantity.of(5, "µm"))
    bound, lapped = (cracks_from_roughness(Working(VOCABULARY), height, hold) for hold in ("metal-bond", "loose"))
    assert bound is not None
    assert lapped is not None
    assert bound.quantity.highest / bound.quantity.lowest > 10
    assert lapped.quantity.highest / lapped.quantity.lowest < Decimal("1.2")
    assert cracks_from_roughness(Working(VOCABULARY), height, "air-borne") is None


# Removal


@given(st.integers(1, 500), st.integers(1, 500), st.integers(0, 60), st.integers(1, 60))
def test_a_step_that_runs_on_comes_nearer_to_its_own_surface(before: int, own: int, ran: int, takes: int) -> None:
    """Stopped at nought the old cracks are all there; each minute takes some; after its time only the step's own are left."""
    deep, left = Quantity.of(max(before, own), "µm"), Quantity.of(min(before, own), "µm")
    needed = Quantity.of(takes, "min")

    def stopped(minutes: int) -> Decimal:
        return cracks_when_stopped(deep, left, Quantity.of(minutes, "min"), needed, UNITS).mid

    assert stopped(0) == deep.mid
    assert stopped(takes) == stopped(takes + 5) == left.mid
    assert stopped(ran) >= stopped(ran + 1)


def test_a_defect_lies_on_top_of_the_cracks() -> None:
    """A scratch of 40 µm over cracks of 20 µm asks for 60 µm less what the step leaves; cracks that are shallower ask for nothing."""
    cracks, own = Quantity.of(20, "µm"), Quantity.of(5, "µm")
    assert removal_owed(cracks, own, UNITS).mid == 15
    assert removal_owed(cracks, own, UNITS, Quantity.of("0.04", "mm")).mid == 55
    assert removal_owed(own, cracks, UNITS).mid == 0


# Hardness


def test_scales_are_never_mixed() -> None:
    """Mohs against Knoop is refused, as is anything that is no hardness."""
    for mineral, glass in ((Quantity.of(9, "Mohs"), Quantity.of(570, "HK")), (Quantity.of(2480, "HK"), Quantity.of(6, "Mohs"))):
        with pytest.raises(QuantityError):
            contrast(mineral, glass, UNITS)
    with pytest.raises(QuantityError):
        contrast(Quantity.of(9, "GPa"), Quantity.of(6, "GPa"), UNITS)


def test_a_contrast_says_its_scale() -> None:
    """Silicon carbide and float are compared by both scales, the ratio by Knoop alone; pumice has no Knoop number and is compared by Mohs."""
    by_mohs, by_knoop = contrasts(VOCABULARY, "silicon-carbide", "soda-lime-float")
    assert (by_mohs.scale, by_mohs.ratio, by_mohs.verdict) == ("Mohs", None, "cuts")
    assert (by_knoop.scale, by_knoop.verdict) == ("Knoop", "cuts")
    assert by_knoop.ratio is not None
    assert by_knoop.ratio.lowest > 4
    assert [(found.scale, found.verdict) for found in contrasts(VOCABULARY, "pumice", "soda-lime-float")] == [("Mohs", "barely")]


def test_what_cuts_glass_is_harder_than_it() -> None:
    """Every mineral that the bench knows to cut glass is harder than window glass by each scale, and nothing turns the order round."""
    for mineral in VOCABULARY.things("mineral"):
        if VOCABULARY.holds(mineral.id, "cutsGlass"):
            assert {found.verdict for found in contrasts(VOCABULARY, mineral.id, "soda-lime-float")} == {"cuts"}, mineral.id
    assert contrast(Quantity.of(3, "Mohs"), Quantity.between(5, 6, "Mohs"), UNITS).verdict == "does nothing"


# Limits


@given(st.integers(10, 600), st.integers(1, 80))
def test_the_greatest_turning_speed_is_never_passed(millimetres: int, metres: int) -> None:
    """Turning as fast as a marked surface speed allows, the rim runs no faster than that."""
    wheel, limit = Quantity.of(millimetres, "mm"), Quantity.of(metres, "m/s")
    turning = greatest_turning(limit, wheel, UNITS)
    assert Decimal("3.14159265358979") * millimetres / 1000 * turning.mid / 60 <= metres


def test_a_marked_turning_speed_stands_however_worn_the_wheel() -> None:
    """1200 rpm stay 1200 rpm on half the diameter; a marked length is no limit."""
    for diameter in (300, 150):
        assert greatest_turning(Quantity.of(1200, "rpm"), Quantity.of(diameter, "mm"), UNITS) == Quantity.of(1200, "rpm")
    with pytest.raises(QuantityError):
        greatest_turning(Quantity.of(30, "mm"), Quantity.of(300, "mm"), UNITS)


def test_every_carrier_but_the_nozzle_has_its_speeds() -> None:
    """A recommended speed lies between the carrier's least and greatest, and turns of a wheel follow from it; a jet has neither."""
    for carrier in VOCABULARY.things("carrier"):
        usual = recommended_speed(VOCABULARY, carrier.id)
        assert (usual is None) == (carrier.id == "blast-nozzle")
        if usual:
            assert 0 < usual.lowest < usual.mid < usual.highest
            turning = recommended_turning(VOCABULARY, carrier.id, Quantity.of(200, "mm"))
            assert turning is not None
            assert surface_speed(Quantity.of(200, "mm"), turning, UNITS).highest <= usual.highest
    assert recommended_turning(VOCABULARY, "blast-nozzle", Quantity.of(200, "mm")) is None


def test_the_room_loads_no_heavy_library() -> None:
    """Importing every module of the room brings in neither pint nor networkx, rdflib nor pydantic."""
    folder = Path(__file__).parent.parent / "finishing_kg" / "quantities"
    modules = [f"finishing_kg.quantities.{file.stem}" for file in sorted(folder.glob("*.py")) if file.stem != "__init__"]
    heavy = {"pint", "networkx", "rdflib", "pydantic"}
    script = f"import sys, importlib; [importlib.import_module(m) for m in {modules!r}]; print(sorted({heavy!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=folder.parent.parent)
    assert len(modules) > 15
    assert done.stdout.strip() == "[]"
