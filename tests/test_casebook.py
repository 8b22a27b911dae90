"""The casebook: cases that fall short are named, changes to rules are noticed, and the audit finds what it should."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from finishing_kg.casebook import Case, audit, faults_of, load_cases, load_waivers, mutations, run, survivors
from finishing_kg.cli import commands as cli_commands
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.rules import make_base
from finishing_kg.statements import Statement, Variable
from finishing_kg.vocabulary import Basis

pytestmark = pytest.mark.usefixtures("shipped_once")

CASES = """
[[question]]
id = "relief"
ask = "cast bas-relief in lead-free crystal, ground with F600, to pre-polish"
last_step = { mineral = ["pumice"], carrier = ["brush-wheel"] }

[[setup]]
id = "dry"
plan = '''
[piece]
form = "flat-face"
surface = "sawn"
finish = "ground"
[[step]]
mineral = "diamond"
grade = "D126"
hold = "plated"
carrier = "flat-lap"
wet = false
'''
must_find = [{ code = "dry-grinding", level = "stop", step = 1 }]
"""
WRONG = CASES.replace('"brush-wheel"', '"felt-wheel"')


@pytest.fixture
def cases(tmp_path: Path) -> list[Case]:
    """Two cases that hold."""
    (tmp_path / "some.toml").write_text(CASES, encoding="utf-8")
    return load_cases([tmp_path / "some.toml"])


def test_cases_that_hold_have_no_faults(knowledge: Knowledge, cases: list[Case]) -> None:
    """A case that the program answers as expected has no faults."""
    assert [faults_of(knowledge, case) for case in cases] == [[], []]


def test_a_case_that_falls_short_says_how(knowledge: Knowledge, cases: list[Case]) -> None:
    """A wrong expectation, and a key that means nothing, are told."""
    table = {**cases[0].table, "last_step": {"carrier": ["felt-wheel"]}}
    assert "felt-wheel" in " ".join(faults_of(knowledge, replace(cases[0], table=table)))
    assert "unknown keys" in " ".join(faults_of(knowledge, replace(cases[0], table={**cases[0].table, "lsat_step": {}})))


def test_what_is_said_is_the_same_twice_and_differs_between_cases(knowledge: Knowledge, cases: list[Case]) -> None:
    """The text that stands for an answer depends on the case alone."""
    assert run(knowledge, cases[0]) == run(knowledge, cases[0]) != run(knowledge, cases[1])


def test_a_rule_that_matters_is_noticed(knowledge: Knowledge, cases: list[Case]) -> None:
    """Taking out or turning round a rule that decides a case changes what is said."""
    assert survivors(knowledge, cases, ["bristles-for-relief", "driven-tools-run-wet"]) == []
    assert [how for how, _ in mutations(knowledge.base.by_id["bristles-for-relief"])] == ["taken out", "turned round"]


def test_a_rule_that_does_not_matter_survives(knowledge: Knowledge, cases: list[Case]) -> None:
    """A rule that no case needs is reported, whether it fires in none or concludes what nobody asks."""
    rule = knowledge.base.by_id["hand-driven-is-by-hand"]
    idle = replace(rule, id="idle", conclusions=(Statement("isWorkedByHand", Variable("option")),))
    padded = Knowledge(knowledge.vocabulary, knowledge.language, make_base([*knowledge.base.rules, idle]))
    found = survivors(padded, cases, ["idle", "pores-show-through-a-polish"])
    assert {survivor.rule for survivor in found} == {"idle", "pores-show-through-a-polish"}


def test_the_audit_finds_what_is_planted(knowledge: Knowledge, cases: list[Case]) -> None:
    """A rule that never fires, a thing that nothing touches and a source without a name are found; a waiver is kept with its reason."""
    nameless = replace(knowledge.base.by_id["bristles-for-relief"], id="nameless", basis=Basis("handbook"))
    padded = Knowledge(knowledge.vocabulary, knowledge.language, make_base([*knowledge.base.rules, nameless]))
    found = audit(padded, cases, {("dead rule", "rouge-stains-pores"): "only a test"})
    assert ("unsourced value", "nameless") in {(fault.fault, fault.about) for fault in found}
    assert ("thing without a rule", "glass opal glass") in {(fault.fault, fault.about) for fault in found}
    dead = {fault.about: fault.waived for fault in found if fault.fault == "dead rule"}
    assert dead["rouge-stains-pores"] == "only a test"
    assert dead["pores-show-through-a-polish"] is None
    assert "bristles-for-relief" not in dead


def test_the_audit_begins_with_what_shows_without_cases(knowledge: Knowledge) -> None:
    """Without cases a planted duplicate is found, with its case in words; a waiver keeps it, and each stage is told."""
    source = knowledge.base.by_id["two-people-for-a-large-piece"]
    grown = Knowledge(knowledge.vocabulary, knowledge.language, make_base([*knowledge.base.rules, replace(source, id="again")]))
    told: list[str] = []
    found = audit(grown, [], {("duplicate", "again"): "only a test"}, told.append)
    assert [(fault.fault, fault.rules, fault.waived) for fault in found] == [("duplicate", ("again", source.id), "only a test")]
    assert found[0].witness.startswith("the diameter of the piece is ")
    assert told == ["what shows without running a case"]


@pytest.mark.parametrize("as_json", [False, True])
def test_rules_audit_can_leave_the_cases_out(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *, as_json: bool
) -> None:
    """``rules audit --static`` ends with 1 where there is a fault, and tells it with a case that shows it."""
    source = knowledge.base.by_id["two-people-for-a-large-piece"]
    wanted = Statement("reachesTheFinish", Variable("step"))
    lost = replace(source, id="lost", conditions=(*source.conditions, wanted))
    grown = Knowledge(knowledge.vocabulary, knowledge.language, make_base([*knowledge.base.rules, lost]))
    monkeypatch.setattr(cli_commands, "_knowledge", lambda *_: grown)
    assert main(["rules", "audit", "--static", *(["--json"] if as_json else [])]) == 1
    printed = capsys.readouterr().out
    if as_json:
        [fault] = json.loads(printed)
        assert {**fault, "text": "", "witness": ""} == {
            "fault": "unreachable", "rules": ["lost"], "about": "lost", "text": "", "witness": "", "waived": None,
        }  # fmt: skip
        printed = f"{fault['text']} {fault['witness']}"
    assert "“?step reaches the finish”" in printed
    assert "the diameter of the piece is" in printed


def test_waivers_name_a_reason() -> None:
    """Every shipped waiver says which fault it is for, of what, and why."""
    waivers = load_waivers(sorted((Path(__file__).parent.parent / "rules" / "cases").glob("*.toml")))
    assert waivers
    assert all(len(reason) > 20 for reason in waivers.values())


@pytest.mark.parametrize(("content", "status"), [(CASES, 0), (WRONG, 1)])
def test_rules_test_runs_a_folder_of_cases(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str], *, content: str, status: int
) -> None:
    """``rules test`` ends with 0 where every case holds, and names the ones that fall short."""
    (tmp_path / "some.toml").write_text(content, encoding="utf-8")
    monkeypatch.setattr(cli_commands, "_knowledge", lambda *_: knowledge)
    assert main(["rules", "test", "--cases", str(tmp_path), "--json"]) == status
    assert [fault["case"] for fault in json.loads(capsys.readouterr().out)] == ["relief"] * status
    assert main(["rules", "test", "--cases", str(tmp_path)]) == status
    assert f"2 cases, {status} fall short." in capsys.readouterr().out


def test_rules_test_refuses_what_it_cannot_use(
    knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An empty folder, an unknown rule, and a rule named without ``--mutate`` end with 2 and a message."""
    monkeypatch.setattr(cli_commands, "_knowledge", lambda *_: knowledge)
    assert main(["rules", "test", "--cases", str(tmp_path)]) == 2
    assert main(["rules", "test", "--mutate", "--rule", "no-such-rule"]) == 2
    assert main(["rules", "test", "--rule", "bristles-for-relief"]) == 2
    told = capsys.readouterr().err
    assert "no case files" in told
    assert "no rule 'no-such-rule'" in told
    assert "--mutate" in told
