"""The middles that a search weighs are those of whole steps, and what they do not know a whole step does not know either."""

import pytest
from shipped_words import VOCABULARY
from test_expected import METHODS

from finishing_kg.measure import Quantity
from finishing_kg.quantities import Pace, expect_step
from finishing_kg.quantities.operations import operation_of
from finishing_kg.record import replace
from finishing_kg.vocabulary import Basis, Claim, Vocabulary

SIZES = [
    (Quantity.of(90, "µm"), Quantity.of(30, "µm")),
    (Quantity.of(12, "µm"), Quantity.between(4, 12, "µm", 6)),
    (Quantity.of(2, "µm"), Quantity.of("0.5", "µm")),
]


@pytest.mark.parametrize("area", [None, Quantity.of(30, "cm²")], ids=["usual area", "own area"])
@pytest.mark.parametrize("form", ["flat-face", "edge", None])
@pytest.mark.parametrize("glass", ["lead-crystal", None])
def test_middles_are_those_of_whole_steps(glass: str | None, form: str | None, area: Quantity | None) -> None:
    """Of some methods of every kind, at three sizes and in three stages: removal, minutes and cracks agree, and are unknown together."""
    pace, known = Pace(VOCABULARY, glass, form, area), 0
    for mineral, hold, carrier in METHODS[::29]:
        for stage in ("ground", "polish", "rough-shape"):
            for (entering, grain), entering_hold in zip(SIZES, (None, "loose", "loose"), strict=True):
                whole = expect_step(
                    VOCABULARY, mineral=mineral, hold=hold, carrier=carrier, glass=glass, stage=stage, form=form,
                    entering=entering, entering_hold=entering_hold, grain=grain, area=area,
                )
                # What a mineral leaves that does not cut is its own affair: the search asks with the surface that it leaves.
                left = grain if VOCABULARY.holds(mineral, "cutsGlass") else VOCABULARY.quantity(mineral, "leftGrain")
                if left is None:
                    continue
                removal = pace.removal(stage, entering, entering_hold, left, hold)
                minutes, cracks = pace.minutes((mineral, hold, carrier), removal, grain), pace.cracks(left, hold)
                for quick, slow in ((removal, whole.removal), (minutes, whole.minutes), (cracks, whole.cracks_left)):
                    assert (quick is None) is (slow is None), (mineral, hold, carrier, stage)
                    assert quick is None or slow is None or quick == pytest.approx(float(slow.mid), rel=0.005)
                known += minutes is not None
                if removal is not None:
                    least = pace.least(left, hold)
                    assert least is not None and least <= removal
    assert known > 5


def test_middles_that_are_asked_again_are_the_same() -> None:
    """What is kept for a method, a grain and a glass is not what was kept for another."""
    asked = [(glass, method, grain) for glass in ("lead-crystal", "borosilicate") for method in METHODS[::31] for _, grain in SIZES]

    def told(vocabulary: Vocabulary, glass: str, method: tuple[str, str, str], grain: Quantity) -> tuple[float | None, float | None]:
        pace = Pace(vocabulary, glass, "flat-face", None)
        return pace.cracks(grain, method[1]), pace.minutes(method, 10.0, grain)

    # What is worked out is kept with the vocabulary: a copy of it has nothing kept yet.
    fresh, shared = [told(replace(VOCABULARY), *each) for each in asked], replace(VOCABULARY)
    assert [told(shared, *each) for each in asked] == fresh
    assert [told(shared, *each) for each in reversed(asked)] == fresh[::-1]
    assert len(set(fresh)) > len(fresh) / 2


def test_unknown_removal_takes_unknown_minutes() -> None:
    """Where nobody knows how much comes off, nobody knows how long it takes."""
    pace = Pace(VOCABULARY, "lead-crystal", "flat-face", None)
    assert pace.minutes(METHODS[0], None, SIZES[0][1]) is None


_TOLD = ("roughness_left", "cracks_left", "owed", "removal", "speed", "pressure", "minutes")


@pytest.mark.parametrize("grain", [None, Quantity.of(30, "µm")], ids=["no grade", "graded"])
@pytest.mark.parametrize("entering", [None, Quantity.of(90, "µm")], ids=["unknown surface", "known surface"])
@pytest.mark.parametrize("stage", [None, "ground", "rough-shape"])
def test_of_a_whole_step_all_that_is_not_known_says_why(stage: str | None, entering: Quantity | None, grain: Quantity | None) -> None:
    """A part of what is expected is a quantity or a sentence, never neither and never both, for every kind of method."""
    for mineral, hold, carrier in [*METHODS[::17], ("cerium-oxide", "plated", "flat-lap")]:
        found = expect_step(VOCABULARY, mineral=mineral, hold=hold, carrier=carrier, stage=stage, entering=entering, grain=grain)
        for part in _TOLD:
            assert (getattr(found, part) is None) is (part in found.unknown), (part, mineral, hold, carrier)
        assert set(found.unknown) <= set(_TOLD)
        for why in found.unknown.values():
            assert why[0].isupper() and why.endswith(".") and not why.isupper()
        assert found.minutes is None or found.minutes_a_millimetre is None


@pytest.mark.parametrize("lacking", ["workingForce", "leastSpeed", "greatestSpeed"])
def test_a_carrier_of_which_one_thing_is_not_known_has_no_minutes_and_says_why(lacking: str) -> None:
    """Minutes take force and both speeds: without one of them there are none, quick or whole, and the reason is that of what lacks."""
    less = replace(VOCABULARY, claims=tuple(claim for claim in VOCABULARY.claims if (claim.subject, claim.predicate) != ("flat-lap", lacking)))
    sizes = {"entering": Quantity.of(90, "µm"), "grain": Quantity.of(30, "µm")}
    found = expect_step(less, mineral="silicon-carbide", hold="loose", carrier="flat-lap", stage="ground", **sizes)
    part = "pressure" if lacking == "workingForce" else "speed"
    assert found.removal is not None and found.minutes is None and found.minutes_a_millimetre is None
    assert found.unknown == {part: found.unknown[part], "minutes": found.unknown[part]}
    assert VOCABULARY.names["flat-lap"].label in found.unknown[part]
    pace = Pace(less, None, "flat-face", None)
    assert pace.minutes(("silicon-carbide", "loose", "flat-lap"), 10.0, sizes["grain"]) is None
    assert pace.minutes(("silicon-carbide", "loose", "plate"), 10.0, sizes["grain"]) is not None


@pytest.mark.parametrize("factor", [Quantity.of("2.5", "times"), Quantity.between("0.3", 5, "times", "0.5")])
def test_the_pace_of_a_studio_counts_on_its_glass_and_operation_alone(factor: Quantity) -> None:
    """Where a log has told how many times the expected minutes an operation takes on a glass, quick minutes are that many times as long."""
    method, other, glass = ("silicon-carbide", "loose", "flat-lap"), ("cerium-oxide", "loose", "pitch-lap"), "lead-crystal"
    operation = operation_of(VOCABULARY, *method)
    assert operation is not None and operation_of(VOCABULARY, *other) != operation
    told = [("isThePaceOn", glass), ("isThePaceOf", operation), ("minutesFactor", factor)]
    claims = tuple(Claim(predicate, "a-pace", value, Basis("measured")) for predicate, value in told)
    studio, grain = replace(VOCABULARY, claims=(*VOCABULARY.claims, *claims)), Quantity.of(30, "µm")

    def minutes(vocabulary: Vocabulary, method: tuple[str, str, str], glass: str, paced: bool = True) -> float | None:
        return Pace(vocabulary, glass, "flat-face", None, paced=paced).minutes(method, 10.0, grain)

    usual = minutes(VOCABULARY, method, glass)
    assert usual is not None and minutes(studio, method, glass) == pytest.approx(usual * float(factor.mid))
    assert minutes(studio, method, glass, paced=False) == pytest.approx(usual)
    for elsewhere in ((method, "borosilicate"), (other, glass)):
        assert minutes(studio, *elsewhere) == minutes(VOCABULARY, *elsewhere)
