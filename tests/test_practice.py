"""What a practitioner adds: how a step is done, what is said of a piece in passing, speeds, and what a bench lacks."""

import json
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing_kg.advice import Answer
from finishing_kg.advice.additions import with_things
from finishing_kg.advice.ask import advise
from finishing_kg.advice.contract import SCHEMAS, SpeedAnswer
from finishing_kg.advice.schema import read_back
from finishing_kg.chat import Dialogue
from finishing_kg.chat.pieces import Remarks, noted, remarks_of
from finishing_kg.cli.main import main
from finishing_kg.cli.speed import answer_for
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

ROOT = Path(__file__).parent.parent
RULES = tomllib.loads((ROOT / "rules" / "practice.toml").read_text(encoding="utf-8"))["rule"]


def said(knowledge: Knowledge, text: str) -> Answer:
    return Dialogue(knowledge).say(text)


# How a step is done


def test_every_mineral_is_mixed_and_every_carrier_pressed(vocabulary: Vocabulary) -> None:
    """Each mineral and each hold that is not fed loose says what is mixed; each carrier says how hard to press and what it costs."""
    assert [name.id for name in vocabulary.things("mineral") if "mix" not in name.texts] == []
    assert [name.id for name in vocabulary.things("hold") if ("mix" in name.texts) == (name.id == "loose")] == []
    assert [name.id for name in vocabulary.things("carrier") if not {"pressure", "loses"} <= set(name.texts)] == []


def test_a_step_says_how_it_is_done(knowledge: Knowledge) -> None:
    """A loose step is mixed as its mineral says, a held one runs under water as its hold says, and each names pressure and loss."""
    names = knowledge.vocabulary.names
    steps = said(knowledge, "Sawn lead crystal block, flat face, to polish").routes[0].steps
    assert {step.hold == "loose" for step in steps} == {True, False}
    for step in steps:
        assert step.mix == (names[step.mineral] if step.hold == "loose" else names[step.hold]).texts["mix"]
        assert (step.pressure, step.loses) == (names[step.carrier].texts["pressure"], names[step.carrier].texts["loses"])


def test_only_the_first_route_is_printed_in_full(capsys: pytest.CaptureFixture[str]) -> None:
    """Feed, pressure and cost are printed for the steps of the first route alone, and not again where they are as before."""
    question = "Sawn lead crystal block, flat face, to polish"
    assert main(["ask", question, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert len(answer["routes"]) > 1
    main(["ask", question])
    printed = capsys.readouterr().out
    steps = answer["routes"][0]["steps"]
    for mark, field in (("Feed: ", "mix"), ("Pressure: ", "pressure"), ("Costs: ", "loses")):
        told = [step[field] for step in steps]
        assert printed.count(mark) == sum(text != before for before, text in zip([None, *told], told, strict=False)) > 1


# Rules


def test_each_rule_notes_a_finding_of_its_own(vocabulary: Vocabulary) -> None:
    """No two rules of practice note the same finding, so that each hint has one reason."""
    noted_for = [conclusion for rule in RULES for conclusion in rule["then"] if " brings up " in conclusion]
    assert len(noted_for) >= 30
    assert len(set(noted_for)) == len(noted_for)


def test_hazards_of_practice_are_safety_rules() -> None:
    """A rule of practice that calls for a caution cannot be overridden."""
    cautions = [rule for rule in RULES if any("call" in conclusion and "caution" in conclusion for conclusion in rule["then"])]
    assert len(cautions) == 3
    assert all(rule.get("safety") for rule in cautions)


# What is said in passing

COUNTS = {
    "12 tumblers, sawn rims": 12,
    "a dozen float panels": 12,
    "half a dozen small lead crystal blocks": 6,
    "two dozen coasters": 24,
    "thirty-two float panels": 32,
    "forty five tumblers": 45,
    "one hundred and twenty tiles": 120,
    "two hundred and six coasters": 206,
    "a batch of 30": 30,
    "a set of six in borosilicate": 6,
    "twelve of them to polish": 12,
    "a pair of bowls": 2,
    "3 cast blocks, each with 2 flat faces": 3,
    "I have 8 blown soda-lime tumblers": 8,
    "3 dozen pressed tiles": 36,
    "a dozen and a half tiles": 18,
    "25 cast opal medals": 25,
    "30 float shelves": 30,
    "ten tumblers, I mean eleven": 11,
    "15 float panels. Correction: it is 18 panels": 18,
    "eight bowls, er, make it 9": 9,
    "two glued float sheets": None,
    "3 opal": None,
    "one tumbler": None,
    "a tumbler": None,
    "a bowl with 3 feet": None,
    "ground with 220 grit tumblers": None,
    "ground with F220, bowls to polish": None,
    "ground to 600 panels": None,
    "12 mm discs": None,
    "300 mm bowls": None,
    "bowls of 12 cm": None,
    "2 flat faces of a block": None,
    "a 12 sided vase": None,
    "1.5 panels": None,
    "grade 12 panels": None,
    "in 3 steps, panels": None,
    "99999999999999999999 tumblers": None,
    "0 tumblers": None,
    "": None,
}


@pytest.mark.parametrize("text", COUNTS)
def test_a_number_of_pieces_is_read(vocabulary: Vocabulary, text: str) -> None:
    """A number counts pieces only where it stands before a body in the plural or behind a word such as batch."""
    assert remarks_of(vocabulary, text).count == COUNTS[text]


TRAITS: dict[str, set[str]] = {
    "a vase with a gold band": {"isAVessel", "bearsAppliedDecoration"},
    "a vase without gold leaf": {"isAVessel"},
    "not painted": set(),
    "cold working of a vase": {"isAVessel"},
    "the piece is cold": {"comesInCold"},
    "straight from the cold shed, full of bubbles": {"comesInCold", "holdsBubbles"},
    "no bubbles": set(),
    "gold ruby glass": set(),
    "a tempered pane": {"isToughened"},
    "it is not tempered": set(),
    "not polished yet, but it is tempered": {"isToughened"},
    "cameo vase on a dop": {"isCased", "isAVessel", "isStuckToAHolder"},
    "wine glasses": {"isAVessel", "willHoldFood"},
    "a block": set(),
}


@pytest.mark.parametrize("text", TRAITS)
def test_what_is_said_of_a_piece_in_passing(vocabulary: Vocabulary, text: str) -> None:
    """Words tell a trait of the piece unless a no or not turns them round."""
    assert set(remarks_of(vocabulary, text).traits) == TRAITS[text]


def test_every_remark_is_one_that_is_read(vocabulary: Vocabulary) -> None:
    """Each remark of the ontology names a trait of the piece or a part of the reader."""
    roles = {remark.id.removeprefix("remark-") for remark in vocabulary.things("remark")}
    traits = {role for role in roles if role in vocabulary.phrases}
    assert all(vocabulary.phrases[trait].shape == "trait" and vocabulary.phrases[trait].subjects == ("piece",) for trait in traits)
    assert {role for role in roles - traits if not role.startswith("count-")} == {"pieces", "batch", "joined", "not", "no-count"}
    assert all(role.removeprefix("count-").isdecimal() for role in roles if role.startswith("count-"))


@given(st.text(max_size=300))
def test_remarks_never_fail(vocabulary: Vocabulary, text: str) -> None:
    """Any text gives remarks; a count is never one or less."""
    count = remarks_of(vocabulary, text).count
    assert count is None or count > 1


def test_remarks_add_up_over_turns() -> None:
    """What was said in an earlier turn stays; a form is another form only beside the one that is worked."""
    case = noted(noted(Case(form="convex"), Remarks(12, ("isAVessel",), ("convex",))), Remarks(None, ("isCased",), ("flat-face",)))
    facts = {(statement.predicate, statement.object) for statement in case.facts()}
    assert {("isAVessel", None), ("isCased", None), ("alsoHasForm", "flat-face"), ("batchSize", Quantity.of(12, "pieces"))} <= facts
    assert ("alsoHasForm", "convex") not in facts


def test_what_was_used_is_not_reported_as_unused(knowledge: Knowledge) -> None:
    """Words that told a remark are not among the unused words; others are."""
    answer = said(knowledge, "a dozen gilded lead crystal vases, wibble, flat base sawn, to polish")
    assert answer.understood.unused_words == ["wibble"]
    assert answer.understood.measures["batch size"] == "12 pieces"


# Speeds


def speed(vocabulary: Vocabulary, **given_: str) -> SpeedAnswer:
    asked: dict[str, Any] = {"diameter": None, "turning": None, "surface": None, "carrier": None, **given_}
    return answer_for(vocabulary, **asked)


def test_twelve_inches_at_four_hundred(vocabulary: Vocabulary) -> None:
    """π times 0.3048 m times 400/60 s is 6.384 m/s; by 0.00508 m/s a surface foot per minute, 1257."""
    answer = speed(vocabulary, diameter="12 in", turning="400 rpm")
    assert (answer.surface_m_s.mid, answer.surface_sfpm.mid) == (6.384, 1257)
    assert answer.carrier is None and answer.verdict is None


@given(st.integers(5, 1000), st.decimals("0.1", "60", places=2))
def test_turns_are_never_rounded_up(vocabulary: Vocabulary, width: int, metres: Decimal) -> None:
    """A wheel at the turning speed that is told never runs faster than the surface speed that was asked for."""
    answer = speed(vocabulary, diameter=f"{width} mm", surface=f"{metres} m/s")
    exact = float(metres) * 60_000 / (3.141592653589793 * width)
    assert answer.turning_rpm.mid <= exact * (1 + 1e-12)
    assert answer.turning_rpm.mid > exact * 0.998


HELD = {"1 m/s": "below", "4 m/s": "within", "12 m/s": "within", "12.1 m/s": "above", "3 to 5 m/s": "partly", "2400 sfpm": "above"}


@pytest.mark.parametrize("surface", HELD)
def test_a_speed_is_held_against_the_carrier(vocabulary: Vocabulary, surface: str) -> None:
    """A felt wheel works between 4 and 12 m/s, ends included."""
    answer = speed(vocabulary, diameter="300 mm", surface=surface, carrier="Felt-Wheel")
    assert (answer.carrier, answer.verdict) == ("felt-wheel", HELD[surface])
    assert answer.carrier_m_s is not None and (answer.carrier_m_s.low, answer.carrier_m_s.high) == (4, 12)
    assert answer.carrier_rpm is not None and (answer.carrier_rpm.low, answer.carrier_rpm.high) == (254.6, 763.9)


def test_a_carrier_alone_gives_its_turns(vocabulary: Vocabulary) -> None:
    """With a diameter and a carrier only, the turning speeds are those of its working speed, and nothing is judged."""
    answer = speed(vocabulary, diameter="300 mm", carrier="felt wheels")
    assert answer.turning_rpm == answer.carrier_rpm
    assert answer.verdict is None


WRONG = {
    ("--diameter", "12", "--turning", "400 rpm"): "Write '12 mm'",
    ("--diameter", "12 in", "--turning", "400"): "Write '400 rpm'",
    ("--diameter", "12 in", "--surface", "10"): "Write '10 m/s'",
    ("--diameter", "30,5 cm", "--turning", "400 rpm"): "Write '30.5 cm'",
    ("--diameter", "12 in", "--turning", "400 mm"): "not turning speed",
    ("--diameter", "12 furlongs", "--turning", "400 rpm"): "I know no unit 'furlongs'",
    ("--diameter", "0 mm", "--turning", "400 rpm"): "above nought",
    ("--diameter", "-5 mm", "--turning", "400 rpm"): "--diameter",
    ("--diameter", "wide", "--turning", "400 rpm"): "Write '60 mm'",
    ("--diameter", "12 in", "--carrier", "felt whel"): "felt wheel",
    ("--diameter", "12 in", "--carrier", "hand pad"): "No machine",
    ("--diameter", "12 in", "--turning", "4 rpm", "--surface", "4 m/s"): "not both",
    ("--diameter", "12 in"): "beside the diameter",
    ("--turning", "400 rpm"): "Give the diameter",
    ("--diameter", "1" * 500, "--turning", "400 rpm"): "far too long",
}


@pytest.mark.parametrize("arguments", WRONG, ids=" ".join)
def test_a_wrong_speed_is_refused_with_a_repair(arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    """Input that cannot be used ends with status 2 and says what to write, as JSON too."""
    assert main(["speed", *arguments]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert WRONG[arguments] in printed.err
    assert main(["speed", *arguments, "--json"]) == 2
    assert WRONG[arguments] in json.loads(capsys.readouterr().out)["text"]


def test_speed_prints_what_its_schema_says(capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON of a speed is read back by its model; the plain words hold the same numbers."""
    arguments = ["speed", "--diameter", "300 mm", "--surface", "10 m/s", "--carrier", "felt wheel"]
    assert main([*arguments, "--json"]) == 0
    answer = read_back(SCHEMAS["speed"], capsys.readouterr().out)
    assert isinstance(answer, SpeedAnswer)
    assert main(arguments) == 0
    printed = " ".join(capsys.readouterr().out.split())
    for part in ("636.6 rpm", "10 m/s", "1969 surface feet per minute", "4 to 12 m/s", "254.6 to 763.9 rpm", "within its working speed"):
        assert part in printed


# What a bench lacks

LACKING = [
    "float glass flat face, ground F600, to polish, I only have pumice and a cork wheel",
    "Sawn lead crystal block, flat face, to polish, I only have a belt sander and pumice",
    "Deep carving on float glass without a blast cabinet",
]


@pytest.mark.parametrize("text", LACKING)
def test_what_is_missing_opens_a_way_and_nothing_less_does(knowledge: Knowledge, text: str) -> None:
    """With the things that are named there is a route; with one of them left out there is none."""
    dialogue = Dialogue(knowledge)
    answer = dialogue.say(text)
    assert answer.kind == "no_route"
    things = tuple(answer.missing)  # ids of minerals, carriers and machines are what is printed
    assert things
    case = dialogue.case
    assert advise(knowledge, with_things(case, things)).kind == "route"
    for thing in things:
        fewer = tuple(other for other in things if other != thing)
        assert advise(knowledge, with_things(case, fewer)).kind == "no_route"


def test_nothing_is_missing_where_no_limit_was_named(knowledge: Knowledge) -> None:
    """A surface that is finer already lacks nothing, whatever the shelf holds."""
    plain = said(knowledge, "flat face of a lead crystal block, already polished, to pre-polish")
    limited = said(knowledge, "flat face of a lead crystal block, already polished, to pre-polish, I only have pumice")
    assert (plain.kind, plain.missing) == ("no_route", [])
    assert (limited.kind, limited.missing) == ("no_route", [])
