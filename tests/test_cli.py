"""The commands: what they print, to people and to programs, how they end, and what they say to input that is wrong."""

import io
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import case_files
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

import finishing_kg.places
from finishing_kg.advice.contract import SCHEMAS, Answer, ErrorNote, GradeAnswer, PlanCheck, RuleEntry
from finishing_kg.advice.schema import read_back
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.rules import as_written

ROOT = Path(__file__).parent.parent
BAD = tomllib.loads((Path(__file__).parent / "data" / "bad_input.toml").read_text(encoding="utf-8"))
SETUPS = case_files.load("setup")
MARKS = {"stop": "■ STOP", "caution": "▲ caution", "note": "· note"}
# What a terminal obeys or hides; line ends are the only control characters that may be printed.
UNSAFE = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff]")

ROUTE = "a sawn block of float glass, flat face, to fine grind"
SHORT = "a rough sawn rim of float glass, to rough shape"
NO_ROUTE = "flat face of a lead crystal block, already polished, to pre-polish"
OPEN = "polish a rim"
NONSENSE = "when does the train leave"
GOOD_PLAN = """
[piece]
glass = "soda-lime-studio"
make = "cast"
form = "bas-relief"
surface = { state = "ground", grade = "F600" }
finish = "pre-polish"
[[step]]
mineral = "pumice"
grade = "2F"
hold = "loose"
carrier = "brush-wheel"
wet = true
"""
STOPPED_PLAN = GOOD_PLAN.replace("brush-wheel", "flat-lap")


@dataclass(frozen=True)
class Told:
    """What one run of a command gave."""

    status: int
    out: str
    err: str

    @property
    def words(self) -> str:
        """Standard output with all white space as single spaces, for text that may be broken into lines."""
        return " ".join(self.out.split())

    @property
    def data(self) -> Any:
        """Standard output as the one JSON value that it holds."""
        return json.loads(self.out)


Run = Callable[..., Told]


@pytest.fixture
def bare_run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> Run:
    """Run a command in this process, in an empty folder; whatever it is, it must hold to what every command holds to."""
    empty = tmp_path / "empty"
    empty.mkdir()
    monkeypatch.chdir(empty)
    monkeypatch.setenv("COLUMNS", "80")
    for name in ("FORCE_COLOR", "NO_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE"):
        monkeypatch.delenv(name, raising=False)

    def run(*arguments: str, stdin: bytes = b"") -> Told:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8"))
        capsys.readouterr()
        try:
            status = main(arguments)
        except SystemExit as ended:  # --help and --version
            status = int(ended.code or 0)
        told = Told(status, *capsys.readouterr())
        assert "Traceback" not in told.err
        assert not list(empty.iterdir()), "a command wrote into the folder that it was started in"
        assert not UNSAFE.search(told.out + told.err), "something that a terminal obeys was printed"
        assert (status == 2) == bool(told.err), "standard error is for input that cannot be used, and only for that"
        return told

    return run


@pytest.fixture
def run(bare_run: Run, monkeypatch: pytest.MonkeyPatch, knowledge: Knowledge) -> Run:
    """As ``bare_run``, with the shipped knowledge that the other tests have loaded already."""
    monkeypatch.setattr(Knowledge, "shipped", lambda: knowledge)
    return bare_run


@pytest.fixture
def plan_file(tmp_path: Path) -> Callable[[str | bytes], str]:
    """Write a plan file, outside the folder that commands run in; its name."""

    def write(plan: str | bytes) -> str:
        file = tmp_path / "plan.toml"
        file.write_bytes(plan.encode("utf-8") if isinstance(plan, str) else plan)
        return str(file)

    return write


def refused(told: Told, says: list[str], where: str | None = None) -> None:
    """Whether a run, with ``--json``, refused its input as it should."""
    assert told.status == 2
    assert set(told.data) == {"kind", "text", "where"}
    note = read_back(ErrorNote, told.out)
    assert all(part in note.text for part in says), note.text
    assert where is None or (note.where or "").endswith(where), note.where
    said = told.err.strip()
    assert " ".join(note.text.split())[:40] in " ".join(said.split()) or not note.text.isprintable()
    assert "\n\n" not in said, "a message is one paragraph"


# --- Every command, to people and to programs ---


def test_ask_prints_a_route_and_ends_with_0(run: Run) -> None:
    """A question that can be answered gives steps with reasons for people, and the same answer as one line of JSON."""
    plain, as_json = run("ask", ROUTE), run("ask", ROUTE, "--json")
    assert plain.status == as_json.status == 0
    answer = read_back(Answer, as_json.out)
    assert answer.kind == "route"
    assert as_json.out.count("\n") == 1
    assert answer.routes and all(f"{number}. " in plain.words for number, _ in enumerate(answer.routes[0].steps, 1))
    for step in answer.routes[0].steps:
        assert all(text in plain.words for text in (step.purpose, f"How: {step.how}", f"Done when: {step.done_when}"))
    assert all(f"{caution.id}: {caution.text}" in plain.words for caution in answer.cautions)
    assert all(question.text in plain.words for question in answer.ask_back)


def test_the_words_of_a_question_need_no_quotes(run: Run) -> None:
    """Words given one by one are the same question."""
    assert run("ask", *SHORT.split(), "--json") == run("ask", "--json", SHORT)


@pytest.mark.parametrize(
    ("question", "kind", "status"),
    [
        (SHORT, "route", 0),
        (NO_ROUTE, "no_route", 0),
        (OPEN, "question", 3),
        (NONSENSE, "not_understood", 3),
        ("I want to etch the vase with hydrofluoric acid", "out_of_scope", 3),
    ],
)
def test_ask_ends_as_its_answer_demands(run: Run, question: str, kind: str, status: int) -> None:
    """A route and a reasoned no end with 0; a question back and what was not understood end with 3; all print their text."""
    plain, as_json = run("ask", question), run("ask", "--json", question)
    answer = read_back(Answer, as_json.out)
    assert (answer.kind, as_json.status, plain.status) == (kind, status, status)
    assert " ".join(answer.text.split()) in plain.words


def test_why_shows_every_step_down_to_its_sources(run: Run) -> None:
    """Each step's statement, the rules and the bases of the leaves are printed, and the JSON holds the same proof."""
    plain, as_json = run("why", ROUTE), run("why", ROUTE, "--json")
    assert plain.status == as_json.status == 0
    answer = read_back(Answer, as_json.out)
    assert answer.kind == "why" and answer.reason in answer.reasons
    for number, step in enumerate(answer.routes[0].steps, 1):
        assert f"step {number} is in order by rule" in plain.words
        assert f"by rule {answer.reasons[step.reason].rule}" in plain.words
    assert "[you said" in plain.words and "[common practice" in plain.words


def test_why_of_one_step_is_about_that_step(run: Run) -> None:
    """--step N explains step N and no other."""
    plain, as_json = run("why", "--step", "1", ROUTE), run("why", "--step", "1", ROUTE, "--json")
    assert plain.status == as_json.status == 0
    assert read_back(Answer, as_json.out).about == "step 1"
    assert "step 1 is in order" in plain.words and "step 2 is in order" not in plain.words


def test_why_not_names_what_is_in_the_way(run: Run) -> None:
    """--not explains why something is not used, with a verdict and a proof."""
    plain, as_json = run("why", "--not", "cork wheel", SHORT), run("why", "--not", "cork wheel", SHORT, "--json")
    assert plain.status == as_json.status == 0
    answer = read_back(Answer, as_json.out)
    assert (answer.kind, answer.about) == ("why_not", "cork-wheel")
    assert answer.verdict and answer.blocker
    assert " ".join(answer.text.split()) in plain.words


def test_why_of_an_open_question_asks_back(run: Run) -> None:
    """Where there is no answer yet, there is none to explain: the question back is shown, with status 3."""
    plain, as_json = run("why", OPEN), run("why", OPEN, "--json")
    assert plain.status == as_json.status == 3
    assert read_back(Answer, as_json.out).kind == "question"
    assert "? " in plain.out


def test_why_of_a_conversation_is_about_its_last_answer(run: Run) -> None:
    """With - the turns are answered silently, and the last answer is explained."""
    told = run("why", "-", "--json", stdin=f"{OPEN}\n{SHORT}\n".encode())
    assert told.status == 0
    assert read_back(Answer, told.out).understood.form == "rim"


def test_check_of_a_sound_plan_ends_with_0(run: Run, plan_file: Callable[[str], str]) -> None:
    """Notes and cautions do not change the exit status."""
    file = plan_file(GOOD_PLAN)
    plain, as_json = run("check", file), run("check", "--json", file)
    assert plain.status == as_json.status == 0
    checked = read_back(PlanCheck, as_json.out)
    assert not [finding for finding in checked.findings if finding.level == "stop"]
    assert plain.words.endswith(f"{len([f for f in checked.findings if f.level == 'note'])} notes.")


def test_check_of_a_plan_with_a_stop_ends_with_1(run: Run, plan_file: Callable[[str], str]) -> None:
    """One finding of level stop is enough; it is printed first."""
    file = plan_file(STOPPED_PLAN)
    plain, as_json = run("check", file), run("check", "--json", file)
    assert plain.status == as_json.status == 1
    assert read_back(PlanCheck, as_json.out).findings[0].level == "stop"
    assert plain.out.startswith("■ STOP, step 1: rigid-on-relief")


@pytest.mark.parametrize("name", [["F220"], ["P600"], ["D126"], ["120", "mesh"], ["6 µm"], ["2F"], ["1/2 pumice"], ["400"]])
def test_grade_prints_the_size_and_where_it_comes_from(run: Run, name: list[str]) -> None:
    """Designation, scale, size and basis are printed, and what else the words could mean."""
    plain, as_json = run("grade", *name), run("grade", *name, "--json")
    assert plain.status == as_json.status == 0
    answer = read_back(GradeAnswer, as_json.out)
    assert plain.words.startswith(f"{answer.designation} on the scale {answer.system}: {answer.mid_um:g} µm")
    assert answer.basis.kind in plain.words
    assert all(f"{other.designation} on the scale {other.system}" in plain.words for other in answer.other_readings)


def test_rules_list_has_every_rule(run: Run, knowledge: Knowledge) -> None:
    """A line for each shipped rule, with its reason, and the same as JSON."""
    plain, as_json = run("rules", "list"), run("rules", "list", "--json")
    assert plain.status == as_json.status == 0
    entries = read_back(list[RuleEntry], as_json.out)
    assert sorted(entry.id for entry in entries) == sorted(knowledge.base.by_id)
    for entry in entries:
        assert f"{entry.id} {'(safety) ' if entry.safety else ''}{' '.join(entry.because.split())}" in plain.words


def test_rules_show_prints_sentences_that_can_be_read_back(run: Run, knowledge: Knowledge) -> None:
    """Every rule can be shown; what it shows parses to the very sentences of the rule."""
    for rule in knowledge.base.rules:
        told = run("rules", "show", rule.id, "--json")
        assert told.status == 0
        for key, held in (("if", rule.conditions), ("unless", rule.exceptions), ("then", tuple(as_written(rule, knowledge.vocabulary)))):
            assert tuple(knowledge.language.parse(text) for text in told.data[key]) == held
    plain = run("rules", "show", "bristles-for-relief")
    assert plain.status == 0
    assert all(" ".join(knowledge.language.print(each).split()) in plain.words for each in knowledge.base.by_id["bristles-for-relief"].conditions)


def test_rules_alone_says_what_it_can(run: Run) -> None:
    """Without an inner command the help is printed."""
    told = run("rules")
    assert told.status == 0
    assert "list" in told.out and "show" in told.out


def test_schema_has_every_schema(run: Run) -> None:
    """All schemas, or the one that is named; the fields of a real output are the fields of its schema."""
    every = run("schema")
    assert every.status == 0
    assert set(every.data) == set(SCHEMAS)
    for name in SCHEMAS:
        assert run("schema", name).data == {name: every.data[name]}
    assert set(run("ask", OPEN, "--json").data) == set(every.data["ask"]["properties"])
    assert set(run("grade", "F220", "--json").data) == set(every.data["grade"]["properties"])
    assert set(run("rules", "list", "--json").data[0]) == set(every.data["rules"]["properties"])
    assert set(run("grade", "F221", "--json").data) == set(every.data["error"]["properties"])


def test_schema_of_nothing_known_names_the_known(run: Run) -> None:
    """A wrong name is refused with the names that there are."""
    told = run("schema", "answers")
    assert told.status == 2
    assert all(name in told.err for name in SCHEMAS)


def test_without_a_command_and_a_terminal_it_says_what_to_do(run: Run) -> None:
    """The interface needs a terminal; in a pipe the way out is named."""
    told = run()
    assert told.status == 2
    assert "finishing-kg ask" in told.err


@pytest.mark.parametrize("command", [[], ["ask"], ["why"], ["check"], ["grade"], ["rules"], ["rules", "list"], ["rules", "show"], ["schema"]])
def test_every_command_has_help(run: Run, command: list[str]) -> None:
    """--help prints how the command is called."""
    told = run(*command, "--help")
    assert told.status == 0
    assert told.out.startswith(f"usage: {' '.join(['finishing-kg', *command])}")


# --- Conversations ---


@pytest.mark.parametrize(
    ("turns", "kinds", "status"),
    [
        ([SHORT, "why?", NONSENSE], ["route", "why", "not_understood"], 3),
        ([OPEN, "it is sawn, and rough shape will do"], ["question", "route"], 0),
        ([SHORT, "", "what if it were lead crystal?"], ["route", "what_if"], 0),
    ],
)
def test_a_conversation_gives_one_answer_a_turn_and_ends_as_the_last(run: Run, turns: list[str], kinds: list[str], status: int) -> None:
    """Each turn gives one line of JSON, an empty line none; the exit status is the last answer's."""
    told = run("ask", "-", "--json", stdin="\n".join(turns).encode())
    answers = [read_back(Answer, line) for line in told.out.splitlines()]
    assert [answer.kind for answer in answers] == kinds
    assert told.status == status
    plain = run("ask", "-", stdin="\r\n".join(turns).encode())
    assert plain.status == status
    assert all(" ".join(answer.text.split()) in plain.words for answer in answers)


def test_only_a_line_end_ends_a_turn(run: Run) -> None:
    """Form feeds and the like stand within a turn."""
    told = run("ask", "-", "--json", stdin="polish\x0b\x0c\x1c\x85\u2028 a rim\n".encode())
    (line,) = told.out.splitlines()
    understood = read_back(Answer, line).understood
    assert (understood.finish, understood.form) == ("polish", "rim")


@pytest.mark.parametrize(
    ("second", "says"), [(b"\xff\xfe", "not text in UTF-8"), (b"x" * 300_000, "at most 100000"), ("é".encode() * 210_000, "at most 100000")]
)
def test_a_bad_turn_ends_a_conversation_after_the_answers_before_it(run: Run, second: bytes, says: str) -> None:
    """What came before is answered; then the error names the line, and the status is 2."""
    told = run("ask", "-", "--json", stdin=OPEN.encode() + b"\n" + second + b"\npolish\n")
    first, last = told.out.splitlines()
    assert read_back(Answer, first).kind == "question"
    note = read_back(ErrorNote, last)
    assert says in note.text and note.where == "standard input, line 2"
    assert told.status == 2


# --- Input that is wrong ---


def outcome(run: Run, expected: dict[str, Any], *arguments: str, stdin: bytes = b"") -> None:
    """Run a command both ways and hold what comes of it against a case of the table."""
    plain, as_json = run(*arguments, stdin=stdin), run(*arguments, "--json", stdin=stdin)
    assert plain.status == as_json.status == expected["status"]
    if expected["status"] == 2:
        assert plain.out == ""
        assert plain.err == as_json.err
        refused(as_json, expected["says"], expected.get("where"))
        return
    assert all(part in plain.words for part in expected["says"]), plain.out
    if arguments[0] != "check":
        read_back(Answer, as_json.out)
        return
    found = [{"code": finding.code, "level": finding.level, "step": finding.step} for finding in read_back(PlanCheck, as_json.out).findings]
    for finding in expected["findings"]:
        assert {"step": None, **finding} in found


@pytest.mark.parametrize("case", BAD["words"], ids=[case["id"] for case in BAD["words"]])
def test_wrong_words(run: Run, case: dict[str, Any]) -> None:
    """Words that no command can use are answered as the table says, with nothing raw printed and nothing written."""
    outcome(run, case, *case["arguments"], stdin=case.get("input", "").encode())


@pytest.mark.parametrize("case", BAD["plan"], ids=[case["id"] for case in BAD["plan"]])
def test_wrong_plan(run: Run, plan_file: Callable[[str], str], case: dict[str, Any]) -> None:
    """A plan file with something wrong is answered as the table says."""
    outcome(run, case, "check", plan_file(case["plan"]))


HUGE_PLANS: dict[str, tuple[str | bytes, str]] = {
    "not-utf-8": ("[piece]\nglass = 'é'\n".encode("latin-1"), "not text in UTF-8"),
    "utf-16": (GOOD_PLAN.encode("utf-16"), "not text in UTF-8"),
    "ten-thousand-steps": ("[piece]\n" + "[[step]]\n" * 10_000, "at most 100 steps; this one has 10000"),
    "two-megabytes": ("[piece]\n" + "# a remark\n" * 180_000, "larger than 200 kB"),
    "lists-in-lists": ("[piece]\ndiameter = " + "[\n" * 5_000 + "]\n" * 5_000, "too deeply"),
    "lists-in-few-lists": ("[piece]\ndiameter = " + "[" * 50 + "]" * 50, "I found a list"),
    "tables-in-tables": ("[piece]\ndiameter" + ".a" * 20 + " = 1\n", "I found a table"),
    "tables-in-many-tables": ("[piece]\ndiameter" + ".a" * 900 + " = 1\n", "chains more than 30 parts"),
    "a-key-of-many-parts": ("[piece]\ndiameter" + ".a" * 20_000 + " = 1\n", "longer than 2000"),
    "more-digits-than-a-number-has": ("[piece]\ndiameter = 0x" + "f" * 1_900 + "\n", "a very large number"),
    "a-long-key": ("[piece]\n" + "k" * 1_900 + " = 1\n", "I know no key 'kkkk"),
    "a-long-text": (f'[piece]\nglass = "{"g" * 1_900}"\n', "far too long"),
}


@pytest.mark.parametrize(("plan", "says"), HUGE_PLANS.values(), ids=HUGE_PLANS)
def test_plan_that_is_too_much(run: Run, plan_file: Callable[[str | bytes], str], plan: str | bytes, says: str) -> None:
    """Size, depth and encodings are refused by name, quickly and in few words."""
    outcome(run, {"status": 2, "says": [says]}, "check", plan_file(plan))
    assert len(run("check", plan_file(plan)).err) < 600


def test_a_folder_is_no_plan(run: Run, tmp_path: Path) -> None:
    """A folder in the place of a plan is refused by its name."""
    outcome(run, {"status": 2, "says": ["The file cannot be read"], "where": tmp_path.name}, "check", str(tmp_path))


def test_a_hundred_steps_are_a_plan(run: Run, plan_file: Callable[[str], str]) -> None:
    """The longest plan is checked to its end; a note that holds of every step is told once."""
    step = '[[step]]\nmineral = "diamond"\nhold = "plated"\ncarrier = "flat-lap"\n'
    told = run("check", "--json", plan_file("[piece]\n" + step * 99 + "[[step]]\n"))
    findings = read_back(PlanCheck, told.out).findings
    assert any(finding.step == 100 for finding in findings)
    assert len({(finding.code, finding.text) for finding in findings}) == len(findings)


def test_a_question_of_a_hundred_kilobytes_is_refused(run: Run) -> None:
    """More than 100,000 characters are not read."""
    outcome(run, {"status": 2, "says": ["at most 100000"]}, "ask", "polish " * 16_000)


def test_a_pasted_page_is_read_as_far_as_it_is_said(run: Run) -> None:
    """A text below that limit is read up to a mark, and the answer says so."""
    told = run("ask", "polish a rim " + "and so on " * 5_000)
    assert told.status == 3
    assert "only its first 3000 characters were read" in told.words


def test_bytes_that_are_no_text_are_no_question(run: Run) -> None:
    """Arguments that the shell could not decode neither break the output nor hide what can be read."""
    outcome(run, {"status": 3, "says": ["the piece wants finish polish"]}, "ask", "\udcff\udc9b polish \udcfe")
    outcome(run, {"status": 2, "says": ["no rule"]}, "rules", "show", "\udcff")


@given(text=st.text(max_size=60))
@example(text="-")
@example(text="--json")
@example(text="\x1b[31m")
def test_no_question_whatever_breaks_ask(run: Run, text: str) -> None:
    """Any text ends with a status of the table and an answer of the contract."""
    told = run("ask", "--json", "--", text)
    assert told.status in (0, 2, 3)
    read_back(ErrorNote if told.status == 2 else Answer, told.out)


TOML_TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x7f"), max_size=12)
VALUES = st.one_of(
    TOML_TEXT, st.integers(), st.booleans(), st.lists(TOML_TEXT, max_size=2), st.sampled_from(["polish", "diamond", "loose", "300 mm", "F220"])
)
STEP_KEYS = ["mineral", "hold", "carrier", "machine", "grade", "wet", "wheel_diameter", "spindle_speed", "rated_speed"]
PIECE_KEYS = ["glass", "make", "form", "surface", "finish", "diameter", "wall_thickness"]


@given(piece=st.dictionaries(st.sampled_from(PIECE_KEYS), VALUES), step=st.dictionaries(st.sampled_from(STEP_KEYS), VALUES))
def test_no_plan_whatever_breaks_check(run: Run, plan_file: Callable[[str], str], piece: dict[str, Any], step: dict[str, Any]) -> None:
    """Any value under any key is found fault with or refused, never a defect of the program."""
    tables = (("[piece]", piece), ("[[step]]", step))
    # JSON's texts, numbers, truths and lists are TOML's too.
    told = run(
        "check",
        "--json",
        plan_file("\n".join(f"{head}\n" + "".join(f"{k} = {json.dumps(v, ensure_ascii=False)}\n" for k, v in t.items()) for head, t in tables)),
    )
    assert told.status in (0, 1, 2)
    read_back(ErrorNote if told.status == 2 else PlanCheck, told.out)


# --- What a check prints ---


@pytest.mark.parametrize("case", SETUPS, ids=[case["id"] for case in SETUPS])
def test_each_finding_is_printed_with_mark_text_and_remedy(run: Run, plan_file: Callable[[str], str], case: dict[str, Any]) -> None:
    """The level stands there in a word, not in colour alone; what is grave has a remedy; what a rule found has its proof."""
    file = plan_file(case["plan"])
    plain, checked = run("check", file), read_back(PlanCheck, run("check", "--json", file).out)
    for finding in checked.findings:
        where = f", step {finding.step}" if finding.step else ""
        instead = f" Instead: {finding.remedy}" if finding.remedy else ""
        assert " ".join(f"{MARKS[finding.level]}{where}: {finding.code} {finding.text}{instead}".split()) in plain.words
        assert finding.remedy or finding.level == "note"
        assert finding.reason in checked.reasons
    counts = [sum(finding.level == level for finding in checked.findings) for level in MARKS]
    assert f"{counts[0]} to stop for, {counts[1]} to be careful of, {counts[2]} note" in plain.words
    assert plain.status == (1 if counts[0] else 0)


# --- Shipped data that is spoilt ---


@pytest.mark.parametrize(
    ("spoilt", "names"),
    [
        (("ask", "ontology/minerals.ttl", "fk:Mineral ;", "fk:Mineral ] ;"), ["minerals.ttl, line "]),
        (("grade", "ontology/minerals.ttl", "fk:Mineral ;", "nothing:Mineral ;"), ["minerals.ttl, line ", "nothing"]),
        (("ask", "ontology/minerals.ttl", "skos:prefLabel", "\udcff"), ["minerals.ttl", "UTF-8"]),
        (("ask", "rules/plan.toml", "[[rule]]", "[[rule"), ["plan.toml, line 3", "not TOML"]),
        (("ask", "rules/plan.toml", "?step runs dry", "?step runs dryly"), ["plan.toml, line 5", "driven-tools-run-wet", "dry"]),
        (("ask", "rules/plan.toml", "[[rule]]", "\udcff"), ["plan.toml", "UTF-8"]),
    ],
)
def test_spoilt_data_is_named(
    bare_run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, spoilt: tuple[str, str, str, str], names: list[str]
) -> None:
    """A shipped file that cannot be read is told like unusable input: one paragraph with file and line, status 2."""
    command, file, old, new = spoilt
    data = tmp_path / "data"
    for folder in ("ontology", "rules"):
        shutil.copytree(ROOT / folder, data / folder)
    text = (data / file).read_text(encoding="utf-8")
    assert old in text
    (data / file).write_bytes(text.replace(old, new, 1).encode("utf-8", "surrogateescape"))
    monkeypatch.setattr(finishing_kg.places, "shipped_folder", lambda folder: str(data / folder))
    told = bare_run(command, "F220", "--json")
    refused(told, [])
    assert all(name in told.err for name in names), told.err


def test_missing_data_names_both_places(bare_run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where the shipped folders are gone, the message says where they were looked for."""
    monkeypatch.setattr(finishing_kg.places, "__file__", str(tmp_path / "site" / "finishing_kg" / "places.py"))
    told = bare_run("ask", ROUTE, "--json")
    refused(told, ["Install the program again"])
    assert str(tmp_path / "site" / "ontology") in told.err


# --- As a whole process ---


def environment(**more: str) -> dict[str, str]:
    """The environment without what would switch colour on or off."""
    kept = {name: value for name, value in os.environ.items() if name not in ("FORCE_COLOR", "NO_COLOR", "TTY_COMPATIBLE", "TTY_INTERACTIVE")}
    return {**kept, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tui")]), "COLUMNS": "80", "TERM": "xterm-256color", **more}


COMMAND = [sys.executable, "-m", "finishing_kg"]


def on_a_terminal(*arguments: str, **more: str) -> tuple[int, str]:
    """Run a command with a pseudo-terminal for standard output; its exit status and what it wrote."""
    pty = pytest.importorskip("pty")
    ours, theirs = pty.openpty()
    with subprocess.Popen([*COMMAND, *arguments], stdin=subprocess.DEVNULL, stdout=theirs, stderr=theirs, env=environment(**more)) as process:
        os.close(theirs)
        written = b""
        # When the other side is closed, Linux gives an error and other systems an empty read.
        try:
            while read := os.read(ours, 65536):
                written += read
        except OSError:
            pass
        os.close(ours)
        status = process.wait()
    return status, written.decode("utf-8").replace("\r\n", "\n")


def test_colour_is_for_terminals_and_says_nothing_by_itself(plan_file: Callable[[str], str]) -> None:
    """In a pipe nothing is coloured, on a terminal it is, with NO_COLOR it is not; the words are the same each time."""
    file = plan_file(STOPPED_PLAN)
    piped = subprocess.run([*COMMAND, "check", file], capture_output=True, env=environment(), check=False)
    coloured, plain = on_a_terminal("check", file), on_a_terminal("check", file, NO_COLOR="1")
    assert piped.returncode == coloured[0] == plain[0] == 1
    assert b"\x1b" not in piped.stdout
    styles = [re.findall(r"\x1b\[([\d;]*)m", text) for _, text in (coloured, plain)]
    with_colour = [{part for style in found for part in style.split(";") if part[:1] in ("3", "4", "9") and len(part) == 2} for found in styles]
    assert with_colour[0] and not with_colour[1]
    for _, text in (coloured, plain):
        assert re.sub(r"\x1b\[[\d;]*m", "", text) == piped.stdout.decode("utf-8")


def test_each_turn_is_answered_before_the_next_is_sent() -> None:
    """A program can hold a conversation: an answer comes as soon as its line was sent."""
    with subprocess.Popen([*COMMAND, "ask", "-", "--json"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=environment(), text=True) as process:
        assert process.stdin and process.stdout
        for turn, kind in ((OPEN, "question"), (NONSENSE, "not_understood")):
            process.stdin.write(f"{turn}\n")
            process.stdin.flush()
            assert json.loads(process.stdout.readline())["kind"] == kind
        process.stdin.close()
        assert process.wait() == 3


def test_an_encoding_without_our_letters_loses_none() -> None:
    """Where the output's encoding lacks a letter, JSON escapes it and plain text writes its number; nothing fails."""
    as_json, plain = (
        subprocess.run([*COMMAND, "grade", *more], capture_output=True, env=environment(PYTHONIOENCODING="ascii"), check=False)
        for more in (["6 µm", "--json"], ["--help"])
    )
    assert (as_json.returncode, plain.returncode, as_json.stderr, plain.stderr) == (0, 0, b"", b"")
    assert json.loads(as_json.stdout)["designation"] == "6 µm"
    assert b"6 \\xb5m" in plain.stdout


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_output_that_cannot_be_written_is_said_and_a_reader_that_left_is_not() -> None:
    """A full disk is told in one line with status 2; a closed pipe ends the command silently."""
    with Path("/dev/full").open("wb") as full:
        told = subprocess.run([*COMMAND, "schema"], stdout=full, stderr=subprocess.PIPE, env=environment(), check=False)
    assert (told.returncode, told.stderr.count(b"\n")) == (2, 1)
    assert b"cannot be written" in told.stderr
    ours, theirs = os.pipe()
    os.close(ours)
    left = subprocess.run([*COMMAND, "schema"], stdout=theirs, stderr=subprocess.PIPE, env=environment(), check=False)
    os.close(theirs)
    assert (left.returncode, left.stderr) == (0, b"")
