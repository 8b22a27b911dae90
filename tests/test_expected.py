"""Operations, and what is to be expected of a step: minutes that follow the glass and the face, and reasons where nothing is known."""

from decimal import Decimal
from itertools import pairwise, product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from inputs import TABLE, UNITS
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity, QuantityError
from finishing_kg.quantities.expected import Expected, expect_step
from finishing_kg.quantities.operations import coefficient, operation_of
from finishing_kg.quantities.preston import mean_pressure, minutes_to_remove
from finishing_kg.quantities.scales import nominal_size
from finishing_kg.quantities.working import Held, Working
from finishing_kg.routes.options import methods

METHODS = methods(VOCABULARY)
GLASSES = [name.id for name in VOCABULARY.things("glass")]


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
