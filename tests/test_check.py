"""The check of a plan: causes and consequences, corrected plans, plans in TOML and CSV, and routes saved as plans."""

import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import case_files
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishing_kg.advice import PlanCheck, PlanError, check_plan, read_plan
from finishing_kg.advice.bench_moves import Bench
from finishing_kg.advice.check import check
from finishing_kg.advice.correct import _OTHERWISE, _REMEDIES, _judge, correct
from finishing_kg.advice.plan import Plan, plan_from_tables
from finishing_kg.advice.plan_writing import plan_tables, plan_toml
from finishing_kg.advice.saved_route import route_tables
from finishing_kg.chat import Dialogue
from finishing_kg.cli.main import main
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.routes import judge

pytestmark = pytest.mark.usefixtures("shipped_once")

SETUPS = {case["id"]: case["plan"] for case in case_files.load("setup") if "shelf" not in case}
FAULTY = [
    case["id"]
    for case in case_files.load("setup")
    if case["id"] in SETUPS and any(found.get("level") != "note" for found in case.get("must_find", []))
]
QUESTIONS = [case["ask"] for case in case_files.load("question") if case.get("kind") == ["route"]][::5]
PIECE = "# glass = soda-lime-float\n# form = flat-face\n# surface = ground\n# surface_grade = F120\n# finish = fine-ground\n"
HEADER = "mineral,grade,hold,carrier,wet,minutes\n"
STEP = "silicon-carbide,F220,loose,plate,yes,20 min\n"


def plan_of(knowledge: Knowledge, text: str) -> Plan:
    """A plan from TOML."""
    return plan_from_tables(knowledge, tomllib.loads(text), "plan.toml")


def written(folder: Path, text: str | bytes, name: str = "plan.toml") -> Path:
    """A file with a text."""
    file = folder / name
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def grave(checked: PlanCheck) -> list[tuple[str, int | None]]:
    """What a check stops for or is careful of."""
    return [(finding.code, finding.step) for finding in checked.findings if finding.level != "note"]


# --- What is found ---


def test_every_finding_has_a_proof_and_a_remedy(knowledge: Knowledge, tmp_path: Path) -> None:
    """Each finding of every setup is proved, and says what to do instead."""
    for text in SETUPS.values():
        checked = check_plan(knowledge, written(tmp_path, text))
        assert [finding.code for finding in checked.findings if finding.reason not in checked.reasons or not finding.remedy] == []


def test_one_cause_a_step(knowledge: Knowledge, tmp_path: Path) -> None:
    """A polish stopped early over grey is one finding, and the cracks that it leaves are told as its consequence, with their proof."""
    checked = check_plan(knowledge, written(tmp_path, SETUPS["polish-in-six-minutes-over-grey"]))
    assert grave(checked) == [("skips-pre-polish", 1)]
    (found,) = (finding for finding in checked.findings if finding.code == "skips-pre-polish")
    assert set(found.explains) == {"damage-not-cleared"}
    assert checked.reasons[found.explains["damage-not-cleared"]].rule == "stopped-long-before-the-cracks-are-gone"


@pytest.mark.parametrize(("said", "level"), [('minutes = "3 min"', "caution"), ('minutes = "13 min"', "note"), ('minutes = "2 h"', None)])
def test_time_decides_what_is_left(knowledge: Knowledge, tmp_path: Path, said: str, level: str | None) -> None:
    """Less than half of the needed time leaves cracks, less than all of it may, and more than that leaves none."""
    text = SETUPS["three-minutes-only"].replace('minutes = "3 min"', said)
    levels = [f.level for f in check_plan(knowledge, written(tmp_path, text)).findings if f.code == "damage-not-cleared" and f.step == 1]
    assert levels == ([level] if level else [])


@settings(max_examples=25, deadline=None)
@given(first=st.integers(1, 600), second=st.integers(1, 600))
def test_longer_never_leaves_deeper_cracks(knowledge: Knowledge, first: int, second: int) -> None:
    """The cracks that stay grow no deeper with the minutes that a step is given, and are never deeper than those it found."""

    def cracks(minutes: int) -> dict[str, Quantity]:
        plan = plan_of(knowledge, SETUPS["three-minutes-only"].replace("3 min", f"{minutes} min"))
        judged = judge(knowledge, plan.case, [plan.steps], brought=True)
        (step, *_) = judged.routes[0]
        values = {each: judged.model.objects(each, step)[0] for each in ("remainingCracks", "foundCracks", "ownCracks")}
        return {each: value for each, value in values.items() if isinstance(value, Quantity)}

    short, long = cracks(min(first, second)), cracks(max(first, second))
    assert short["remainingCracks"].mid >= long["remainingCracks"].mid >= long["ownCracks"].mid
    assert short["remainingCracks"].mid <= short["foundCracks"].mid


# --- Corrected plans ---


@pytest.mark.parametrize("case", FAULTY[::3])
def test_a_corrected_plan_is_clean(knowledge: Knowledge, tmp_path: Path, case: str) -> None:
    """The corrected plan, written and checked again, has nothing to stop for or be careful of."""
    checked = check_plan(knowledge, written(tmp_path, SETUPS[case]))
    assert checked.changes
    assert checked.corrected is not None
    again = check_plan(knowledge, written(tmp_path, plan_toml(checked.corrected)))
    assert grave(again) == [] and again.corrected is None and again.changes == []


@pytest.mark.parametrize(
    ("case", "change"),
    [
        ("dry-belt", "Step 1: run it wet."),
        ("three-minutes-only", "Step 1: go on for 16 min instead of 3 min."),
        ("over-the-mark", "Step 1: turn at 2400 rpm instead of 3000 rpm."),
        ("thin-glass-in-the-cabinet", "Step 1: use the blast cabinet."),
    ],
)
def test_the_smallest_change_is_taken(knowledge: Knowledge, case: str, change: str) -> None:
    """A fault that one value mends is mended by that value."""
    assert correct(knowledge, plan_of(knowledge, SETUPS[case])).changes == (change,)


def _tables() -> Iterator[dict[str, Any]]:
    for text in SETUPS.values():
        yield tomllib.loads(text)


PIECES = [tables["piece"] for tables in _tables() if {"form", "surface", "finish"} <= tables["piece"].keys()]
STEPS = [step for tables in _tables() for step in tables["step"]]


@st.composite
def plans(draw: st.DrawFn) -> dict[str, Any]:
    """The tables of a plan: a piece and steps of the cases, some of them spoilt: a misspelt word, a grade of no scale, no water, another speed."""
    piece = dict(draw(st.sampled_from(PIECES)))
    for part in draw(st.lists(st.sampled_from(sorted(piece)), max_size=2, unique=True)):
        if isinstance(piece[part], str) and part not in ("diameter", "wall_thickness"):
            piece[part] = draw(st.sampled_from([piece[part][:-1], f"{piece[part]}s", "zzyzx"]))
    steps = [dict(step) for step in draw(st.lists(st.sampled_from(STEPS), min_size=1, max_size=3))]
    spoils: dict[str, st.SearchStrategy[object]] = {
        "wet": st.booleans(),
        "grade": st.sampled_from(["F9999", "F80", "F220", "P1200", "2F"]),
        "minutes": st.sampled_from(["1 min", "30 min"]),
        "mineral": st.sampled_from(["cerium-oxide", "quartz-sand", "dimond"]),
    }
    for step in steps:
        for key in draw(st.lists(st.sampled_from(sorted(spoils)), max_size=1)):
            step[key] = draw(spoils[key])
    return {"piece": piece, "step": steps}


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(tables=plans())
def test_any_plan_is_corrected_or_told_why_not(knowledge: Knowledge, tables: dict[str, Any]) -> None:
    """Of any plan: its corrected plan, checked again, has nothing grave in it, of a step or of the piece; where there is none a sentence says so."""
    plan = plan_from_tables(knowledge, tables, "plan.toml")
    correction = correct(knowledge, plan)
    if correction.tables is None:
        assert len(correction.changes) == 1
        return
    again = plan_from_tables(knowledge, tomllib.loads(plan_toml(correction.tables)), "corrected.toml")
    checked = check(knowledge, again)
    assert grave(checked) == [] and checked.corrected is None


EVERY_KIND = tuple(dict.fromkeys(kind for kinds in (*_REMEDIES.values(), _OTHERWISE) for kind in kinds))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(piece=st.sampled_from(PIECES), steps=st.lists(st.sampled_from(STEPS), min_size=1, max_size=3))
def test_no_single_change_does_what_several_do(knowledge: Knowledge, piece: dict[str, Any], steps: list[dict[str, Any]]) -> None:
    """Where the corrected plan has several changes, each single change there is, of any kind at any step, leaves something grave."""
    plan = plan_from_tables(knowledge, {"piece": piece, "step": steps}, "plan.toml")
    correction, planned = correct(knowledge, plan), tuple(plan.steps)
    if len(correction.changes) < 2:
        return
    bench, (judgement,) = Bench(knowledge, plan.case, planned), _judge(knowledge, plan, [planned])
    moves = [move for kind in EVERY_KIND for at in range(len(planned)) for move in kind(bench, planned, at, judgement) if len(move.changes) == 1]
    judged = _judge(knowledge, plan, [move.steps for move in moves])
    assert [move.changes for move, each in zip(moves, judged, strict=True) if not each.troubles] == []


# --- Plans written down, and routes saved ---


@pytest.mark.parametrize("case", sorted(SETUPS)[::4])
def test_a_plan_written_down_reads_the_same(knowledge: Knowledge, case: str) -> None:
    """What is known of a plan survives being written as TOML and read again."""
    plan = plan_of(knowledge, SETUPS[case])
    again = plan_of(knowledge, plan_toml(plan_tables(knowledge.vocabulary, plan.case, plan.steps)))
    assert [(s.mineral, s.hold, s.carrier, s.grade, s.machine, s.wet, s.measures, s.stage) for s in again.steps] == [
        (s.mineral, s.hold, s.carrier, s.grade, s.machine, s.wet, s.measures, s.stage) for s in plan.steps
    ]
    parts = ("glass", "make", "form", "surface", "surface_grade", "finish", "measures")
    assert [getattr(again.case, part) for part in parts] == [getattr(plan.case, part) for part in parts]


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_advised_route_is_checked_clean(knowledge: Knowledge, tmp_path: Path, question: str) -> None:
    """The first choice of an answer, saved as a plan, has nothing to stop for or to be careful of."""
    dialogue = Dialogue(knowledge)
    dialogue.say(question)
    assert dialogue.advice is not None
    tables = route_tables(dialogue.advice)
    assert tables is not None
    assert grave(check_plan(knowledge, written(tmp_path, plan_toml(tables)))) == []


# --- CSV ---


@pytest.mark.parametrize(
    "text",
    [
        PIECE + HEADER + STEP,
        "\ufeff" + PIECE + HEADER + STEP,
        (PIECE + HEADER + STEP).replace("\n", "\r\n"),
        PIECE + (HEADER + STEP).replace(",", ";"),
        PIECE + (HEADER + STEP).replace(",", "\t"),
        "".join(f'"{line}";;;;;\n' for line in PIECE.splitlines()) + (HEADER + STEP).replace(",", ";") + ";;;;;\n",
        "# a remark, and no more\n\n" + PIECE + HEADER.upper() + STEP.replace("F220", '" F220 "') + "\n\n",
        PIECE + "wet,minutes,carrier,hold,grade,mineral,removal\nyes,20 min,plate,loose,F220,silicon-carbide,\n",
    ],
    ids=["plain", "byte order mark", "line ends", "semicolons", "tabs", "spreadsheet", "remarks", "other order"],
)
def test_csv_says_the_same_as_toml(knowledge: Knowledge, tmp_path: Path, text: str) -> None:
    """However a spreadsheet writes it, a plan in CSV is the same plan as in TOML."""
    plan = read_plan(knowledge, written(tmp_path, text, "plan.csv"))
    toml = (
        '[piece]\nglass = "soda-lime-float"\nform = "flat-face"\nsurface = { state = "ground", grade = "F120" }\nfinish = "fine-ground"\n'
        '[[step]]\nmineral = "silicon-carbide"\ngrade = "F220"\nhold = "loose"\ncarrier = "plate"\nwet = true\nminutes = "20 min"\n'
    )
    assert plan == plan_of(knowledge, toml)


@pytest.mark.parametrize(
    ("text", "where", "says"),
    [
        (PIECE, "plan.csv", "no line of column names"),
        (HEADER + STEP, "plan.csv", "Begin with lines such as: # glass = lead-crystal"),
        (PIECE + "mineral,grad\n", "line 6", "I know no column 'grad'. Write grade."),
        (PIECE + "mineral,grade,grade\n", "line 6", "two columns grade"),
        (PIECE + HEADER + STEP.strip() + ",more\n", "line 7", "7 cells, and there are 6 columns"),
        (PIECE + HEADER + STEP.replace("yes", "perhaps"), "line 7", "wet is yes or no; I found 'perhaps'."),
        (PIECE + HEADER + STEP.replace("F220", '"F220'), "line 7", "Close every quote"),
        (PIECE + "# finish = polish\n" + HEADER, "line 6", "finish is said twice"),
        (PIECE + "# colour = blue\n" + HEADER, "line 6", "I know no key 'colour'"),
        (PIECE.replace("# surface = ground\n", "") + HEADER, "plan.csv", "surface_grade stands alone"),
        (PIECE + HEADER + STEP + STEP.replace("20 min", "20"), "step 2 (line 8)", "minutes"),
    ],
)
def test_csv_that_cannot_be_used(knowledge: Knowledge, tmp_path: Path, text: str, where: str, says: str) -> None:
    """What is wrong with a plan in CSV is told with its line and what to write."""
    with pytest.raises(PlanError) as raised:
        read_plan(knowledge, written(tmp_path, text, "plan.csv"))
    assert where in raised.value.where and says in str(raised.value)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rest=st.text(max_size=120))
def test_no_csv_whatever_breaks_the_reading(knowledge: Knowledge, tmp_path: Path, rest: str) -> None:
    """Any text below the piece is a plan or a PlanError, never anything else."""
    file = written(tmp_path, (PIECE + rest).encode("utf-8", "replace"), "plan.csv")
    try:
        assert len(read_plan(knowledge, file).steps) <= 100
    except PlanError as error:
        assert str(error)


# --- What the commands write ---


def test_a_route_is_written_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that is there stays as it was unless it is said that it may go; JSON stays alone on standard output."""
    file = tmp_path / "plan.toml"
    asked = ["ask", "--json", "ground bevel on float glass, F220, to pre-polish", "--plan", str(file)]
    assert main(asked) == 0
    told = capsys.readouterr()
    assert json.loads(told.out)["kind"] == "route" and "Wrote the first choice" in told.err
    first = file.read_text(encoding="utf-8")
    assert tomllib.loads(first)["piece"]["form"] == "bevel"
    file.write_text("mine", encoding="utf-8")
    assert main(asked) == 2 and "--overwrite" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == "mine"
    assert main([*asked, "--overwrite"]) == 0 and file.read_text(encoding="utf-8") == first


def test_a_corrected_plan_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``check --corrected`` writes what the check proposes, and nothing for a plan that is right."""
    plan, better, best = written(tmp_path, SETUPS["dry-belt"]), tmp_path / "better.toml", tmp_path / "best.toml"
    assert main(["check", str(plan), "--corrected", str(better)]) == 1
    assert tomllib.loads(better.read_text(encoding="utf-8"))["step"][0]["wet"] is True
    assert main(["check", str(better), "--corrected", str(best)]) == 0
    assert "needs no correction" in capsys.readouterr().out and not best.exists()
