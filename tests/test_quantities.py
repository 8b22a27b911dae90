"""Damage, removal, time and hardness: ranges that hold what they promise, and reasons where nothing is known."""

import subprocess
import sys
from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise, product
from pathlib import Path

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.places import shipped
from finishing_kg.quantities import computations as computed_by_name
from finishing_kg.quantities.computations import (
    BEARABLE_DIFFERENCE,
    COEFFICIENT_FOR_GRAIN,
    CRACKS_WHEN_STOPPED,
    DAMAGE_FACTOR,
    DISC_AREA,
    GRAIN_RATIO,
    GREATEST,
    KNOOP_RATIO,
    MEAN_PRESSURE,
    MINUTES,
    PRODUCT,
    QUOTIENT,
    REMOVAL_OWED,
    REMOVAL_RATE,
    SIZE_BAND,
    SURFACE_SPEED,
    THERMAL_STRESS,
    TURNING_SPEED,
    WIDEST,
    WORKING_SPEED,
)
from finishing_kg.quantities.contrast import contrast, contrasts, knoop_ratio
from finishing_kg.quantities.damage import damage_factor, size_band
from finishing_kg.quantities.expected import Expected, expect_step
from finishing_kg.quantities.heat import EDGE, bearable_difference, thermal_stress
from finishing_kg.quantities.limits import greatest_turning, recommended_speed, recommended_turning
from finishing_kg.quantities.marks import cracks_from_roughness, cracks_left, roughness_left
from finishing_kg.quantities.operations import coefficient, operation_of
from finishing_kg.quantities.preston import coefficient_for_grain, disc_area, mean_pressure, minutes_to_remove, removal_rate
from finishing_kg.quantities.ranges import quotient
from finishing_kg.quantities.removal import cracks_when_stopped, removal_owed
from finishing_kg.quantities.scales import nominal_size
from finishing_kg.quantities.speed import surface_speed, turning_speed
from finishing_kg.quantities.with_pint import PintRange, with_pint
from finishing_kg.quantities.working import Held, Working
from finishing_kg.routes.options import methods
from finishing_kg.vocabulary import load_vocabulary

VOCABULARY = load_vocabulary(shipped("ontology"))
UNITS = VOCABULARY.units
TABLE = computed_by_name(UNITS)
METHODS = methods(VOCABULARY)
GLASSES = [name.id for name in VOCABULARY.things("glass")]

# Each computation that takes ranges, with the units of its inputs. Constants of a law are single values and stand as such.
LAW = tuple(
    Quantity.of(value, unit) for value, unit in (("0.3", "times"), ("0.68", "times"), (2, "times"), ("0.85", "times"), (3, "µm"), (200, "µm"))
)
INPUTS: dict[str, tuple[str, ...]] = {
    SURFACE_SPEED: ("mm", "rpm"),
    TURNING_SPEED: ("mm", "m/s"),
    SIZE_BAND: ("µm",),
    DAMAGE_FACTOR: ("GPa", "HK", "GPa", "HK"),
    WIDEST: ("µm", "µm", "µm"),
    GREATEST: ("µm", "µm", "µm"),
    PRODUCT: ("µm²/N", "times", "times"),
    QUOTIENT: ("times", "times"),
    REMOVAL_OWED: ("µm", "µm", "µm"),
    CRACKS_WHEN_STOPPED: ("µm", "µm", "min", "min"),
    DISC_AREA: ("mm",),
    MEAN_PRESSURE: ("N", "cm²"),
    COEFFICIENT_FOR_GRAIN: ("µm²/N", "µm", "µm"),
    REMOVAL_RATE: ("µm²/N", "kPa", "m/s"),
    MINUTES: ("µm", "µm²/N", "kPa", "m/s"),
    THERMAL_STRESS: ("GPa", "times<1", "µm/(m·K)", "K"),
    BEARABLE_DIFFERENCE: ("MPa", "GPa", "times<1", "µm/(m·K)"),
    KNOOP_RATIO: ("HK", "HK"),
}
# The depth of a defect may be left out.
CASES = [*sorted(INPUTS.items()), (REMOVAL_OWED, ("µm", "µm"))]
# Their first or last inputs are no uncertain values: the measured grain bounds a band, and the middles alone make a grain ratio.
NOT_BY_POINTS = {GRAIN_RATIO, WORKING_SPEED}
# What a minimum or a stated band is of stays fixed while the others move.
FIXED = {COEFFICIENT_FOR_GRAIN: {2}}

Inputs = tuple[Quantity, ...]


def numbers(unit: str) -> st.SearchStrategy[Decimal]:
    """Positive numbers in a size that the unit makes sense at."""
    most = 9 if unit == "times<1" else 4000
    return st.integers(1, most).map(lambda n: Decimal(n) / 10)


@st.composite
def nested(draw: st.DrawFn, name: str, units: tuple[str, ...]) -> tuple[Inputs, Inputs, Inputs]:
    """Points inside ranges inside wider ranges, for one computation."""
    points, ranges, wider = [], [], []
    for place, unit in enumerate(units):
        five = sorted(draw(st.lists(numbers(unit), min_size=5, max_size=5)))
        symbol = unit.removesuffix("<1")
        if place in FIXED.get(name, ()):
            points.append(Quantity.between(five[1], five[3], symbol))
            ranges.append(points[-1])
            wider.append(points[-1])
            continue
        points.append(Quantity(five[2], symbol))
        ranges.append(Quantity.between(five[1], five[3], symbol))
        wider.append(Quantity.between(five[0], five[4], symbol))
    more = LAW if name == SIZE_BAND else ()
    return (*points, *more), (*ranges, *more), (*wider, *more)


def within(inner: Quantity, outer: Quantity) -> bool:
    """Whether a range, or a value, lies inside another."""
    return outer.lowest <= inner.lowest <= inner.mid <= inner.highest <= outer.highest


# The computations, each by itself


def test_every_computation_is_tried() -> None:
    """The table above leaves out no computation but the two that do not work on ranges."""
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


# Operations and time


def test_every_method_is_one_operation() -> None:
    """Every mineral in a hold on a carrier that can be had does one operation; each operation is done by some method."""
    found = {operation_of(VOCABULARY, *method) for method in METHODS}
    assert found == {operation.id for operation in VOCABULARY.things("operation")}
    assert operation_of(VOCABULARY, "pumice", "plated", "flat-lap") is None


def test_a_named_carrier_decides_between_operations() -> None:
    """Cerium oxide polishes on pitch as on pitch, on cork as on a soft wheel; diamond on a belt grinds as a belt."""
    assert operation_of(VOCABULARY, "cerium-oxide", "loose", "pitch-lap") == "polishing-on-pitch"
    assert operation_of(VOCABULARY, "cerium-oxide", "loose", "cork-wheel") == "polishing-with-a-soft-wheel"
    assert operation_of(VOCABULARY, "diamond", "plated", "belt") == "belt-grinding"
    assert operation_of(VOCABULARY, "diamond", "plated", "flat-lap") == "diamond-grinding"


@pytest.mark.parametrize(("mineral", "hold", "carrier"), METHODS[::7])
def test_a_glass_that_grinds_less_easily_never_takes_less_time(mineral: str, hold: str, carrier: str) -> None:
    """For the same depth, pressure and speed both ends of the minutes rise from lead crystal to soda-lime to borosilicate."""
    operation = operation_of(VOCABULARY, mineral, hold, carrier)
    assert operation is not None
    same = (Quantity.of(10, "kPa"), Quantity.of(1, "m/s"), UNITS)
    times = []
    for glass in ("lead-crystal", "soda-lime-float", "borosilicate"):
        rate = coefficient(Working(VOCABULARY), operation, mineral, glass, Held(Quantity.of(20, "µm")))
        if isinstance(rate, str):
            assert operation == "blasting"
            return
        times.append(minutes_to_remove(Quantity.of(10, "µm"), rate.quantity, *same))
    for easier, harder in pairwise(times):
        assert easier.lowest <= harder.lowest
        assert easier.mid < harder.mid
        assert easier.highest <= harder.highest


@pytest.mark.parametrize("method", METHODS[::9])
def test_a_whole_step_never_takes_less_time_on_a_glass_that_grinds_less_easily(method: tuple[str, str, str]) -> None:
    """What practice takes off is the same for all glasses, so that the whole step's minutes rise as the glass grinds less easily."""
    times = [expect(method, glass, entering_hold="loose").minutes for glass in ("lead-crystal", "soda-lime-float", "borosilicate")]
    for easier, harder in pairwise(times):
        assert (easier is None) == (harder is None) == (method[1] == "air-borne")
        if easier and harder:
            assert easier.lowest <= harder.lowest
            assert easier.mid < harder.mid
            assert easier.highest <= harder.highest


def test_a_softer_mineral_never_takes_less_time() -> None:
    """Garnet and sand are no faster than silicon carbide, rouge no faster than cerium oxide, tripoli no faster than pumice."""
    for usual, slower, operation in (
        ("silicon-carbide", "garnet", "loose-grinding"),
        ("silicon-carbide", "quartz-sand", "loose-grinding"),
        ("cerium-oxide", "iron-oxide", "polishing-on-felt"),
        ("pumice", "tripoli", "rubbing"),
    ):
        fast, slow = (coefficient(Working(VOCABULARY), operation, m, "soda-lime-float", Held(Quantity.of(20, "µm"))) for m in (usual, slower))
        assert isinstance(fast, Held)
        assert isinstance(slow, Held)
        assert slow.quantity.highest <= fast.quantity.highest
        assert slow.quantity.mid < fast.quantity.mid


@given(st.integers(1, 400), st.integers(1, 400))
def test_a_larger_face_takes_longer_under_the_same_hand(one: int, other: int) -> None:
    """At a fixed force the pressure falls and the minutes rise with the area; twice the face takes twice the time."""
    rate, run, depth, hand = Quantity.of(32, "µm²/N"), Quantity.of(2, "m/s"), Quantity.of(20, "µm"), Quantity.of(30, "N")

    def minutes(area: int) -> Decimal:
        return minutes_to_remove(depth, rate, mean_pressure(hand, Quantity.of(area, "cm²"), UNITS), run, UNITS).mid

    small, large = sorted((one, other))
    assert minutes(small) <= minutes(large)
    assert minutes(2 * small) == pytest.approx(2 * minutes(small), rel=Decimal("0.002"))


# What to expect of a step


def expect(method: tuple[str, str, str], glass: str | None = "soda-lime-float", **more: object) -> Expected:
    """A step from a surface of 64 µm with grain of 29 µm, unless told otherwise."""
    mineral, hold, carrier = method
    said = {"entering": Quantity.of(64, "µm"), "grain": Quantity.of(29, "µm"), **more}
    return expect_step(VOCABULARY, mineral=mineral, hold=hold, carrier=carrier, glass=glass, **said)  # type: ignore[arg-type]


PARTS = ("owed", "removal", "roughness_left", "cracks_left", "speed", "pressure", "minutes")
LAPPING = ("silicon-carbide", "loose", "flat-lap")


def test_what_is_not_known_says_why() -> None:
    """For every method each part is known or has a sentence for why it is not, and blasting alone has no minutes."""
    for method in METHODS:
        found = expect(method)
        for part in PARTS:
            why = found.unknown.get(part)
            assert (getattr(found, part) is None) == (why is not None), (method, part)
            assert why is None or why.endswith(".")
        assert (found.minutes is None) == (method[1] == "air-borne"), method


@pytest.mark.parametrize(
    ("more", "part"),
    [
        ({"entering": None}, "surface that the step finds"),
        ({"grain": None}, "No grade is named"),
        ({"stage": "rough-shape"}, "form that is wanted"),
    ],
)
def test_minutes_need_to_know_what_is_taken_off(more: dict[str, object], part: str) -> None:
    """Without the surface found, without a grade, or while the form changes there are no minutes, and the reason says which."""
    found = expect(LAPPING, **more)
    assert found.minutes is None
    assert part in found.unknown["removal"]


def test_a_known_defect_gives_minutes_even_to_shaping() -> None:
    """Where the depth to go is known, a stage that changes the form has its minutes; a deeper one takes longer."""
    shallow, deep = (expect(LAPPING, stage="rough-shape", defect=Quantity.of(depth, "mm")).minutes for depth in ("0.2", "2"))
    assert shallow is not None
    assert deep is not None
    assert shallow.lowest < deep.lowest
    assert shallow.mid < deep.mid


@pytest.mark.parametrize("method", METHODS[::11])
def test_every_number_can_be_worked_out_again(method: tuple[str, str, str]) -> None:
    """Each computation gives its result again by name; each input is given, held by the ontology, or a result before it; minutes come last."""
    found = expect(method, None)
    given_or_found = [Quantity.of(64, "µm"), Quantity.of(29, "µm")]
    for step in found.computed:
        assert TABLE[step.function](step.inputs) == step.result
        for value, claim in zip(step.inputs, step.claims, strict=True):
            assert value in given_or_found if claim is None else claim.object == value
        given_or_found.append(step.result)
    if found.minutes is not None:
        assert found.computed[-1].result == found.minutes


@pytest.mark.parametrize("method", [LAPPING, ("diamond", "resin-bond", "flat-lap"), ("cerium-oxide", "loose", "pitch-lap")])
def test_knowing_less_never_narrows(method: tuple[str, str, str]) -> None:
    """For each glass every part lies inside what is expected of an unknown glass, and a vague surface widens it again."""
    unknown = expect(method, None, entering_hold="loose")
    vague = expect(method, None, entering=Quantity.between(40, 100, "µm"))
    for glass, part in product(GLASSES, PARTS):
        known = getattr(expect(method, glass, entering_hold="loose"), part)
        for wider in (getattr(unknown, part), getattr(vague, part)):
            assert wider.lowest <= known.lowest, (glass, part)
            assert known.highest <= wider.highest, (glass, part)


@given(st.integers(5, 200), st.integers(5, 200))
def test_a_coarser_surface_never_takes_less_time(one: int, other: int) -> None:
    """Minutes rise with the grain that left the surface."""
    fine, coarse = (expect(LAPPING, entering=Quantity.of(size, "µm")).minutes for size in sorted((one, other)))
    assert fine is not None
    assert coarse is not None
    assert fine.lowest <= coarse.lowest
    assert fine.mid <= coarse.mid
    assert fine.highest <= coarse.highest


def test_the_removal_is_never_less_than_what_is_owed() -> None:
    """A step takes off what it owes at least, and no less than its own roughness where it works over a bright face."""
    for method in METHODS:
        found = expect(method)
        if found.removal and found.owed:
            assert found.removal.lowest >= found.owed.lowest
            assert found.removal.highest >= found.owed.highest
    frosting = expect(LAPPING, entering=Quantity.of("0.2", "µm"))
    assert frosting.removal
    assert frosting.roughness_left
    assert frosting.removal.lowest >= frosting.roughness_left.lowest > 0


def test_what_was_assumed_is_told() -> None:
    """Area, force and speed that nobody said come from the ontology and are listed; what was said is not."""
    taken = {(claim.subject, claim.predicate) for claim in expect(LAPPING).assumed}
    assert taken == {("flat-lap", "leastSpeed"), ("flat-lap", "greatestSpeed"), ("bench", "workArea"), ("flat-lap", "workingForce")}
    told = expect(LAPPING, area=Quantity.of(50, "cm²"), speed=Quantity.of(2, "m/s"))
    assert {(claim.subject, claim.predicate) for claim in told.assumed} == {("flat-lap", "workingForce")}
    assert told.speed == Quantity.of(2, "m/s")
    assert expect(("diamond", "plated", "burr"), form="engraved-line").area == VOCABULARY.quantity("engraved-line", "workArea")


def test_a_wrong_quantity_is_refused() -> None:
    """A grain in rpm, an area in mm and a speed in mm are refused as sentences."""
    for more in ({"entering": Quantity.of(64, "rpm")}, {"area": Quantity.of(50, "mm")}, {"speed": Quantity.of(5, "mm")}):
        with pytest.raises(QuantityError):
            expect(LAPPING, **more)


def test_a_grade_has_a_nominal_size() -> None:
    """The nominal size of a grade is the middle of its range and no range."""
    assert nominal_size(VOCABULARY, "F600") == Quantity.of("9.3", "µm")


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


# The boundary to pint, against pint's own arithmetic

REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
small = st.integers(1, 5000).map(lambda n: Decimal(n) / 10)


def of(value: Decimal | int | str, unit: str) -> "pint.Quantity[Decimal]":
    """A pint quantity with a decimal magnitude."""
    return REGISTRY.Quantity(Decimal(value), unit)


@given(small, small, small, small)
def test_pint_works_out_the_same(a: Decimal, b: Decimal, c: Decimal, d: Decimal) -> None:
    """Rates, minutes, pressures, areas, speeds and stresses equal pint's own arithmetic to four digits, whatever units go in."""
    rub, press, run = of(a, "micrometer ** 2 / newton"), of(b, "kilopascal"), of(c, "meter / second")
    pi = Decimal("3.14159265358979323846")
    cases = [
        (with_pint(removal_rate, UNITS)(rub, press, run), rub * press * run),
        (with_pint(minutes_to_remove, UNITS)(of(d, "millimeter"), rub, press, run), of(d, "millimeter") / (rub * press * run)),
        (with_pint(mean_pressure, UNITS)(of(a, "newton"), of(b, "millimeter ** 2")), of(a, "newton") / of(b, "millimeter ** 2")),
        (with_pint(disc_area, UNITS)(of(a, "inch")), of(a, "inch") ** 2 * pi / 4),
        (with_pint(surface_speed, UNITS)(of(a, "inch"), of(b, "revolution / minute")), of(a, "inch") * pi * of(b, "1 / minute")),
        (
            with_pint(thermal_stress, UNITS)(of(a, "gigapascal"), EDGE, of(b, "micrometer / meter / kelvin"), of(c, "kelvin")),
            of(a, "gigapascal") * of(b, "micrometer / meter / kelvin") * of(c, "kelvin"),
        ),
        (
            with_pint(removal_owed, UNITS)(of(a, "millimeter"), of(b, "micrometer")),
            max(of(a, "millimeter") - of(b, "micrometer"), of(0, "micrometer")),
        ),
    ]
    for ours, theirs in cases:
        expected = REGISTRY.Quantity(theirs.magnitude, theirs.units).to(str(ours.units)).magnitude
        assert ours.magnitude == pytest.approx(expected, rel=Decimal("0.0006"), abs=Decimal("1e-9"))


FUNCTIONS: dict[str, Callable[..., Quantity]] = {
    SURFACE_SPEED: surface_speed,
    TURNING_SPEED: turning_speed,
    DAMAGE_FACTOR: damage_factor,
    QUOTIENT: quotient,
    CRACKS_WHEN_STOPPED: cracks_when_stopped,
    DISC_AREA: disc_area,
    MEAN_PRESSURE: mean_pressure,
    COEFFICIENT_FOR_GRAIN: coefficient_for_grain,
    REMOVAL_RATE: removal_rate,
    MINUTES: minutes_to_remove,
    THERMAL_STRESS: thermal_stress,
    BEARABLE_DIFFERENCE: bearable_difference,
    KNOOP_RATIO: knoop_ratio,
}


def in_pint(quantity: Quantity) -> object:
    """A quantity of ours as it goes to the boundary: a rank as it is, a range as a ``PintRange``."""
    if not UNITS.by_symbol[quantity.unit].pint:
        return quantity
    low, mid, high = (UNITS.to_pint(Quantity(number, quantity.unit)) for number in (quantity.lowest, quantity.mid, quantity.highest))
    return PintRange(low, mid, high) if quantity.low is not None else mid


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
@given(data=st.data())
def test_each_function_gives_the_same_through_pint(name: str, data: st.DataObject) -> None:
    """Asked with pint quantities, single or as ranges, a function gives to the last digit what it gives with ours."""
    for inputs in data.draw(nested(name, INPUTS[name])):
        found = with_pint(FUNCTIONS[name], UNITS)(*map(in_pint, inputs))
        assert found == in_pint(TABLE[name](inputs))


def test_a_pair_of_pint_quantities_is_a_range() -> None:
    """A pair goes in as a range, whatever units its ends have; the answer has both ends, and can be put in again."""
    speeds = with_pint(turning_speed, UNITS)(of(250, "millimeter"), (of(8, "meter / second"), of(90000, "centimeter / minute")))
    assert isinstance(speeds, PintRange)
    assert (speeds.low.magnitude, speeds.high.magnitude) == (Decimal("611.1"), Decimal("1145"))
    back = with_pint(surface_speed, UNITS)(of(250, "millimeter"), speeds)
    ends = [end.to("meter / second").magnitude for end in (back.low, back.high)]
    assert ends == [pytest.approx(8, rel=Decimal("0.001")), pytest.approx(15, rel=Decimal("0.001"))]
    assert ends[1] <= 15


def test_anything_of_the_room_takes_pint() -> None:
    """A whole step, a contrast of ranks and a limit can be asked with pint quantities, of a plain float registry too."""
    floats = pint.UnitRegistry()
    found = with_pint(expect_step, UNITS)(
        VOCABULARY,
        mineral="silicon-carbide",
        hold="loose",
        carrier="plate",
        glass="borosilicate",
        entering=floats.Quantity(0.064, "millimeter"),
        grain=floats.Quantity(29, "micrometer"),
    )
    ours = expect(("silicon-carbide", "loose", "plate"), "borosilicate").minutes
    assert ours is not None
    assert (found["minutes"].low.magnitude, found["minutes"].high.magnitude) == (ours.low, ours.high)
    assert found["unknown"] == {}
    assert with_pint(contrast, UNITS)(Quantity.of(9, "Mohs"), Quantity.of(6, "Mohs"))["mineral"] == Quantity.of(9, "Mohs")
    kelvin = with_pint(bearable_difference, UNITS)(of(30, "megapascal"), of(70, "gigapascal"), of("0.2", ""), of("0.000009", "1 / kelvin"))
    assert (kelvin.magnitude, str(kelvin.units)) == (Decimal("38.09"), "kelvin")


@pytest.mark.parametrize("wrong", [("3", "candela"), ("-4", "micrometer"), ("NaN", "micrometer")])
def test_pint_quantities_that_measure_nothing_here_are_refused(wrong: tuple[str, str]) -> None:
    """A luminous intensity, a length below nought and no number at all are refused as sentences."""
    with pytest.raises(QuantityError):
        with_pint(disc_area, UNITS)(of(*wrong))


def test_the_room_loads_no_heavy_library() -> None:
    """Importing every module of the room brings in neither pint nor networkx, rdflib nor pydantic."""
    folder = Path(__file__).parent.parent / "finishing_kg" / "quantities"
    modules = [f"finishing_kg.quantities.{file.stem}" for file in sorted(folder.glob("*.py")) if file.stem != "__init__"]
    heavy = {"pint", "networkx", "rdflib", "pydantic"}
    script = f"import sys, importlib; [importlib.import_module(m) for m in {modules!r}]; print(sorted({heavy!r} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=folder.parent.parent)
    assert len(modules) > 15
    assert done.stdout.strip() == "[]"
