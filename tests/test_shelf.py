"""What is on the studio's shelf: what a check says of a plan that uses more, and what an answer keeps to."""

import json
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishing_kg.advice import Advice
from finishing_kg.cli.main import main
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.quantities import grain, scales_for
from finishing_kg.routes import Case, on_the_shelf, with_shelf
from finishing_kg.statements import option_parts
from finishing_kg.studio import init

PLAN = """
[piece]
glass = "soda-lime-studio"
form = "bevel"
surface = { state = "ground", grade = "F600" }
finish = "pre-polish"
[[step]]
mineral = "pumice"
grade = "3F"
hold = "loose"
carrier = "cork-wheel"
wet = true
wheel_diameter = "100 mm"
spindle_speed = "1250 rpm"
"""
GROUND = Case(glass="soda-lime-float", form="flat-face", surface="sawn", finish="fine-ground")
GRADES = ["F60", "F80", "F100", "F120", "F150", "F180", "F220", "F240", "F280", "F320", "F360", "F400", "F500", "F600", "P80", "P120", "P240", "P400"]


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A studio's folder, with a plan beside it."""
    init(tmp_path / "ours")
    (tmp_path / "plan.toml").write_text(PLAN, encoding="utf-8")
    return tmp_path / "ours"


def on_shelf(studio: Path, *items: str) -> None:
    """Write what is on the shelf."""
    (studio / "shelf.toml").write_text("".join(f"[[shelf]]\n{item}\n" for item in items), encoding="utf-8")


def checked(studio: Path, capsys: pytest.CaptureFixture[str], status: int) -> dict[str, tuple[str, str]]:
    """What the command finds, without notes: by its code the level and the remedy."""
    assert main(["check", "--json", "--studio", str(studio), str(studio.parent / "plan.toml")]) == status
    findings = json.loads(capsys.readouterr().out)["findings"]
    return {finding["code"]: (finding["level"], finding["remedy"]) for finding in findings if finding["level"] != "note"}


def test_a_check_tells_what_is_not_on_the_shelf(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A mineral, a carrier or a grade that is not there is told with the nearest that is; an empty shelf says nothing."""
    assert checked(studio, capsys, 0) == {}
    on_shelf(studio, 'thing = "tripoli"')
    assert checked(studio, capsys, 0) == {"not-on-shelf": ("caution", "Instead of pumice the nearest on the shelf is tripoli.")}
    on_shelf(studio, 'thing = "felt-wheel"')
    assert checked(studio, capsys, 0) == {"not-on-shelf": ("caution", "Instead of cork wheel the nearest on the shelf is felt wheel.")}
    on_shelf(studio, 'thing = "pumice"\ngrades = ["2F"]')
    (told,) = checked(studio, capsys, 0).values()
    assert told[1].startswith("Instead of 3F the nearest on the shelf is 2F, about ")
    on_shelf(studio, 'thing = "pumice"\ngrades = ["2F", "3F"]', 'thing = "cork wheel"')
    assert checked(studio, capsys, 0) == {}


def test_the_mark_on_the_shelf_is_the_limit(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A speed above the lower of two marks of a kind is a stop, and the corrected plan turns no faster; at the mark there is nothing."""
    on_shelf(studio, 'thing = "cork-wheel"\nmarked_speed = "1500 rpm"', 'thing = "cork-wheel"\nmarked_speed = "1200 rpm"')
    assert [level for level, _ in checked(studio, capsys, 1).values()] == ["stop"]
    main(["check", "--json", "--studio", str(studio), str(studio.parent / "plan.toml")])
    assert json.loads(capsys.readouterr().out)["corrected"]["step"][0]["spindle_speed"] == "1200 rpm"
    on_shelf(studio, 'thing = "cork-wheel"\nmarked_speed = "1250 rpm"')
    assert checked(studio, capsys, 0) == {}


def test_from_shelf_wants_a_shelf(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where a check is to keep to the shelf and there is none, it says so instead of finding nothing."""
    assert main(["check", "--from-shelf", "--studio", str(studio), str(studio.parent / "plan.toml")]) == 2
    assert "nothing on one" in capsys.readouterr().err


def test_an_answer_keeps_to_the_grades_on_the_shelf(studio: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``ask --from-shelf`` proposes no grade of a mineral beside those that the shelf lists of it."""
    on_shelf(studio, 'thing = "silicon-carbide"\ngrades = ["F120", "F240", "F400", "F600"]', 'thing = "plate"')
    asked = "soda-lime float, flat face, sawn, fine-ground"
    assert main(["ask", "--json", "--studio", str(studio), "--from-shelf", asked]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["kind"] == "route"
    assert {step["grade"] for route in answer["routes"] for step in route["steps"]} <= {"F120", "F240", "F400", "F600"}
    on_shelf(studio, 'thing = "silicon-carbide"\ngrades = ["F120", "F1000"]', 'thing = "plate"')
    assert main(["ask", "--json", "--studio", str(studio), "--from-shelf", asked]) == 0
    assert json.loads(capsys.readouterr().out)["kind"] == "no_route"


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(grades=st.lists(st.sampled_from(GRADES), min_size=1, max_size=8, unique=True))
def test_no_route_uses_a_grade_that_is_not_there(knowledge: Knowledge, grades: list[str]) -> None:
    """Whatever grades a shelf lists, each step with the mineral has one of them, and one that its hold is graded in."""
    shelf = on_the_shelf(knowledge.vocabulary, [("silicon-carbide", tuple(grades), None)])
    advice = Advice(knowledge, with_shelf(GROUND, shelf))
    for place in (place for found in advice.found for place in found.places):
        _, hold, _, _ = option_parts(str(place.option))
        assert place.grade in grades
        assert knowledge.vocabulary.related(place.grade, "belongsTo")[0] in scales_for(knowledge.vocabulary, "silicon-carbide", hold)
        assert grain(knowledge.vocabulary, place.grade) == place.grain


def test_a_shelf_of_things_only_limits_no_grades(knowledge: Knowledge) -> None:
    """Things without grades leave all of their grades to choose from, and of marks the lowest stands."""
    plain = on_the_shelf(knowledge.vocabulary, [("silicon-carbide", (), None), ("belt", (), Quantity.of(900, "rpm")), ("belt", (), None)])
    assert (plain.stock, plain.marks, plain.limited_in) == ((), {"belt": Quantity.of(900, "rpm")}, frozenset({"mineral", "carrier"}))
