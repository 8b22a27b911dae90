"""What a change to the rules changes: the quick look equals a cold run of all cases, and nothing is said to be without effect that has one."""

import json
from pathlib import Path
from typing import Any

import pytest
from effort import tries
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from studio_folders import contents

from finishing_kg.casebook import Case, load_cases
from finishing_kg.casebook.recorded import Library
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.rules import load_rules, make_base
from finishing_kg.statements import Statement
from finishing_kg.studio import init, read_studio
from finishing_kg.studio.add import add_rule, try_rule
from finishing_kg.studio.impact import impact, lines_of
from finishing_kg.studio.library import keep, library_of
from finishing_kg.studio.say import Account
from finishing_kg.studio.trial import Trial, conclusions, evaluated

pytestmark = pytest.mark.usefixtures("shipped_once")

ROOT = Path(__file__).parent.parent
# Of each sort and kind of answer some, so that a cold run takes seconds.
SPREAD: tuple[str, ...] = ("relief-why-not-felt", "silica-polish", "by-hand-only", "many-machines-missing", "etched-to-polish", "thin-rim-ground")
SPREAD += ("polishing-silica", "polishing-opal-and-silica", "satin-to-polish", "lacks-a-polish", "symptom-haze-quartz")
# One that looks for what would help to know, and so tries nearly everything: what it brings up is of no use where rules shall have no effect.
ASKING = "convex-outside-and-flat-base"
REASON = 'because = "So it has turned out here."\nbasis = { kind = "studio" }\n'


@pytest.fixture(scope="module")
def every() -> dict[str, Case]:
    """The shipped cases."""
    return {case.id: case for case in load_cases(sorted((ROOT / "rules" / "cases").glob("*.toml")))}


@pytest.fixture(scope="module")
def cases(every: dict[str, Case]) -> list[Case]:
    """Some of them."""
    return [every[name] for name in SPREAD]


@pytest.fixture(scope="module")
def library(knowledge: Knowledge, cases: list[Case]) -> Library:
    """Those cases with what is said to them now."""
    return Library.of(knowledge, cases)


@pytest.fixture(scope="module")
def asking(knowledge: Knowledge, every: dict[str, Case]) -> Library:
    """A conversation that looks for what would help to know."""
    return Library.of(knowledge, [every[ASKING]])


def with_rules(knowledge: Knowledge, folder: Path, *rules: str) -> Knowledge:
    """The knowledge with further rules."""
    file = folder / "ours.toml"
    file.write_text("\n".join(f"[[rule]]\n{rule}\n{REASON}" for rule in rules), encoding="utf-8")
    return Knowledge(knowledge.vocabulary, knowledge.language, load_rules([file], knowledge.language, knowledge.base))


def without(knowledge: Knowledge, name: str) -> Knowledge:
    """The knowledge without a rule that overrides nothing and is overridden by none."""
    return Knowledge(knowledge.vocabulary, knowledge.language, make_base(rule for rule in knowledge.base.rules if rule.id != name))


@st.composite
def changes(draw: st.DrawFn, knowledge: Knowledge) -> str:
    """The id of a shipped rule to take out, or the text of a rule to add."""
    if draw(st.booleans()):
        overridden = {loser for rule in knowledge.base.rules for loser in rule.overrides}
        free = [rule.id for rule in knowledge.base.rules if not rule.overrides and rule.id not in overridden and rule.subject != "verdicts"]
        return draw(st.sampled_from(free))

    def thing(kind: str) -> str:
        return draw(st.sampled_from([name.id for name in knowledge.vocabulary.things(kind)]))

    conditions = [f"the piece has {part} {thing(part)}" for part in draw(st.sets(st.sampled_from(["glass", "form", "surface", "make"]), max_size=2))]
    conditions += [f"the diameter of the piece is below {draw(st.integers(1, 400))} mm"] if draw(st.integers(0, 4)) == 0 else []
    conditions += [f"?option uses {part} {thing(part)}" for part in draw(st.sets(st.sampled_from(["carrier", "mineral"]), min_size=1))]
    unless = [f"{thing('carrier')} is at hand"] if draw(st.booleans()) else []
    verdict = draw(st.sampled_from(["is ruled out", "is discouraged", "is preferred", "suits the work"]))
    return f'id = "drawn"\nif = {conditions}\nunless = {unless}\nthen = ["?option {verdict}"]'.replace("'", '"')


@settings(max_examples=tries(4), suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_the_quick_look_is_what_a_cold_run_says(
    knowledge: Knowledge, library: Library, asking: Library, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """Whatever rule comes or goes, the answers that are said to change are those that a run of all cases shows, word for word."""
    library = Library(knowledge, (*library.cases, *asking.cases), {**library.told, **asking.told})
    drawn = data.draw(changes(knowledge))
    after = with_rules(knowledge, tmp_path_factory.mktemp("rules"), drawn) if " = " in drawn else without(knowledge, drawn)
    found, cold = impact(library, after), Library.of(after, library.cases)
    assert {name: told.answers for name, told in found.library.told.items()} == {name: told.answers for name, told in cold.told.items()}
    assert {change.case for change in found.changes} == {name for name, told in cold.told.items() if told.answers != library.told[name].answers}
    assert bool(found.changes) == (found.why_nothing is None)


def test_what_a_rule_tells_apart_anew_is_looked_into(knowledge: Knowledge, asking: Library, tmp_path: Path) -> None:
    """A rule about a limit that no rule named fires in nothing that was tried; where the advice hangs on it, it is asked for all the same."""
    rule = 'id = "small"\nif = ["the diameter of the piece is below 77 mm", "?option uses carrier belt"]\nthen = ["?option is ruled out"]'
    after = with_rules(knowledge, tmp_path, rule)
    found = impact(asking, after)
    assert found.library.told[ASKING].answers == Library.of(after, asking.cases).told[ASKING].answers
    assert any("ask back" in line for change in found.changes for line in change.differences)


def test_changes_are_told_as_they_come(knowledge: Knowledge, library: Library, tmp_path: Path) -> None:
    """Each change is told once, while the rest is still looked at, whichever cores are used."""
    rule = 'id = "no-felt"\nif = ["the piece has glass fused-silica", "?option uses carrier felt-wheel"]\nthen = ["?option is ruled out"]'
    heard: list[str] = []
    came: list[tuple[int, int]] = []
    after = with_rules(knowledge, tmp_path, rule)
    found = impact(library, after, hear=lambda change: heard.append(change.case), progress=lambda *at: came.append(at))
    assert sorted(heard) == sorted(change.case for change in found.changes) and len(heard) > 1
    assert came == [(done, found.looked_at) for done in range(found.looked_at + 1)]


def test_old_stands_against_new_with_the_proof(knowledge: Knowledge, library: Library, tmp_path: Path) -> None:
    """A rule against the felt wheel on fused silica changes its polish, says how and why, and leaves all other cases without running them."""
    rule = 'id = "no-felt"\nif = ["the piece has glass fused-silica", "?option uses carrier felt-wheel"]\nthen = ["?option is ruled out"]'
    found = impact(library, with_rules(knowledge, tmp_path, rule))
    polish = next(change for change in found.changes if change.case == "silica-polish")
    assert polish.advice and any("felt-wheel" in line for line in polish.before) and not any("felt-wheel" in line for line in polish.after)
    assert any(line.startswith("No longer: cerium-oxide loose felt-wheel") for line in polish.differences)
    assert "rule no-felt: So it has turned out here." in polish.proof[0] and any("fused silica (you said)" in line for line in polish.proof)
    assert found.looked_at < len(library.cases) and found.rules == ("no-felt",)
    assert any("silica-polish" in line for line in lines_of(found))


NOTHING = {
    "never true": ('if = ["?option uses carrier nozzle", "?carrier spins", "?option uses carrier ?carrier", "nozzle spins"]', "is never true"),
    "comes up in no case": (
        'if = ["the piece has form bevel", "?option uses mineral pumice"]',
        "no case of the library",
    ),
    "already follows": (
        'if = ["the bench is limited in minerals", "?option uses mineral ?mineral", "?option works toward polish"]\nunless = ["?mineral is at hand"]',
        "already follows",
    ),
}


@pytest.mark.parametrize("why", NOTHING)
def test_why_nothing_changes(knowledge: Knowledge, cases: list[Case], library: Library, tmp_path: Path, why: str) -> None:
    """A rule that is never true, that no case brings up, or that follows already changes nothing, and that is said."""
    conditions, said = NOTHING[why]
    found = impact(library, with_rules(knowledge, tmp_path, f'id = "idle"\n{conditions}\nthen = ["?option is ruled out"]'))
    assert found.changes == () and said in str(found.why_nothing), (found.why_nothing, found.changes)


def test_a_rule_that_another_always_overrides_changes_nothing(knowledge: Knowledge, library: Library, tmp_path: Path) -> None:
    """A rule that is true and loses wherever it is, to another that comes with it, is said to be overridden, and by which."""
    limited = 'if = ["the bench is limited in minerals", "?option uses mineral ?mineral", "?option works toward polish"]\n'
    limited += 'unless = ["?mineral is at hand"]'
    idle = f'id = "idle"\n{limited}\nthen = ["?option is preferred"]'
    winner = f'id = "winner"\n{limited}\nthen = ["?option is discouraged"]\noverrides = ["idle"]'
    found = impact(library, with_rules(knowledge, tmp_path, idle, winner))
    assert found.changes == () and "idle is always overridden where it is true, by winner." in str(found.why_nothing), found.why_nothing
    alone = impact(library, with_rules(knowledge, tmp_path, idle))
    assert "overridden" not in str(alone.why_nothing)


SAYS = {
    "whatever is asked": 'if = ["?option uses carrier felt-wheel"]',
    "of what is given": 'if = ["the piece has glass fused-silica", "?option uses mineral cerium-oxide"]',
    "of what follows": 'if = ["the surface grain of the piece is above 20 µm", "?option uses what is at hand"]',
    "with an exception": 'if = ["?option uses mineral diamond"]\nunless = ["the bench is limited in carriers"]',
    "of a measure": 'if = ["the wall thickness of the piece is below 5 mm", "?option uses carrier belt"]',
}


@pytest.mark.parametrize("what", SAYS)
def test_where_a_rule_has_a_say_is_told_before_any_case_is_run(
    knowledge: Knowledge, library: Library, asking: Library, tmp_path: Path, what: str
) -> None:
    """A rule has a say where it fires in an evaluation that is recorded, and with that which it concludes there; so much is told at once."""
    library = Library(knowledge, (*library.cases, *asking.cases), {**library.told, **asking.told})
    after = with_rules(knowledge, tmp_path, f'id = "tried"\n{SAYS[what]}\nthen = ["?option is ruled out"]')
    heard: list[Account] = []
    found = impact(library, after, first=heard.append, within=60.0, stop=lambda: bool(heard))
    fires = {name: [asked for asked in told.asked if "tried" in evaluated(after, asked).fired()] for name, told in library.told.items()}
    (account,) = heard
    assert found.looked_at == 0 and account.says and not account.left
    assert [say.case for say in account.says] == [name for name, asked in fires.items() if asked]
    rule = after.base.by_id["tried"]
    for say in account.says:
        concluded = [
            [after.language.print(Statement("isRuledOut", made.subject)) for made in conclusions(evaluated(after, asked), rule)]
            for asked in fires[say.case]
        ]
        assert any(list(say.concludes) == made[:3] and say.more == len(made[3:]) for made in concluded)


def test_where_a_rule_had_a_say_that_goes(knowledge: Knowledge, library: Library) -> None:
    """Of a rule that goes away it is told where it has a say until then."""
    after = without(knowledge, "bristles-for-relief")
    heard: list[Account] = []
    impact(library, after, first=heard.append, stop=lambda: True)
    says = heard[0].says
    assert says and {say.case for say in says} == {name for name, told in library.told.items() if "bristles-for-relief" in told.fired}
    assert all(say.goes and say.concludes for say in says)


def test_a_why_not_that_becomes_a_why_is_told_in_full(knowledge: Knowledge, tmp_path: Path) -> None:
    """Where a turn looks at reasons only after the change, the earlier answers are made again with theirs."""
    rule = 'id = "no-felt"\nif = ["?option uses carrier felt-wheel"]\nthen = ["?option is ruled out"]'
    before = with_rules(knowledge, tmp_path, rule)
    turns = ["flat face of float glass, sawn, to polish", "why felt wheel?"]
    library = Library.of(before, [Case("felt", "dialogue", "here", {"turns": turns, "expect": [{}, {}]})])
    found, cold = impact(library, knowledge), Library.of(knowledge, library.cases)
    assert [turn.kind for turn in library.told["felt"].turns] == ["route", "why_not"]
    assert [turn.kind for turn in found.library.told["felt"].turns] == ["route", "why"]
    assert found.library.told["felt"].answers == cold.told["felt"].answers


def test_what_was_not_looked_at_is_named(knowledge: Knowledge, library: Library, tmp_path: Path) -> None:
    """When time is up, or somebody leaves off, the cases that may change and were not run are named, and nothing is called without effect."""
    rule = 'id = "no-felt"\nif = ["?option uses carrier felt-wheel"]\nthen = ["?option is ruled out"]'
    after = with_rules(knowledge, tmp_path, rule)
    for found in (impact(library, after, within=0.0), impact(library, after, stop=lambda: True)):
        assert found.left and found.looked_at == 0 and found.why_nothing is None


def test_a_rule_is_tried_without_being_written(tmp_path: Path) -> None:
    """To look what a rule would change writes nothing; the rule is then saved as it was looked at."""
    init(tmp_path / "studio")
    folder = tmp_path / "studio"
    before = {file: file.read_bytes() for file in folder.rglob("*.*") if file.is_file()}
    entry: dict[str, Any] = {
        "id": "no-tripoli",
        "if": ["?option uses mineral tripoli"],
        "then": ["?option is ruled out"],
        "because": "It left a film here.",
    }
    entry["basis"] = {"kind": "studio"}
    tried = try_rule(folder, entry)
    assert {file: file.read_bytes() for file in before} == before
    assert tried.knowledge.base.by_id["no-tripoli"] == add_rule(folder, entry).knowledge.base.by_id["no-tripoli"]


def test_the_library_is_kept(knowledge: Knowledge, cases: list[Case], monkeypatch: pytest.MonkeyPatch) -> None:
    """Cases are run once; the next time they come from the cache, the same, and nothing is run."""
    monkeypatch.setattr("finishing_kg.studio.library.shipped_cases", lambda: cases[:3])
    first = library_of(None, upon=knowledge)
    monkeypatch.setattr("finishing_kg.casebook.recorded.tell", lambda *_: pytest.fail("a case was run again"))
    assert library_of(None, upon=knowledge).told == first.told


def test_after_a_save_nothing_need_be_run_again(knowledge: Knowledge, cases: list[Case], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The library that an impact gives is that of the studio once the rule is saved, and is kept as such."""
    monkeypatch.setattr("finishing_kg.studio.library.shipped_cases", lambda: cases[:3])
    folder = tmp_path / "studio"
    init(folder)
    entry: dict[str, Any] = {"id": "no-felt", "if": ["the piece has glass fused-silica", "?option uses carrier felt-wheel"]}
    entry |= {"then": ["?option is ruled out"], "because": "It streaked every time here.", "basis": {"kind": "studio"}}
    found = impact(library_of(read_studio(folder, knowledge), upon=knowledge), try_rule(folder, entry).knowledge)
    add_rule(folder, entry)
    keep(found.library, folder)
    for place in ("finishing_kg.casebook.recorded.tell", "finishing_kg.studio.impact.tell"):
        monkeypatch.setattr(place, lambda *_: pytest.fail("a case was run again"))
    assert found.changes and library_of(read_studio(folder, knowledge), upon=knowledge).told == found.library.told


def test_the_command_says_what_would_change(
    tmp_path: Path, cases: list[Case], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`rules impact FILE` tells it; rules that cannot be read, safety rules to be taken out and ids that are not there end with 2."""
    monkeypatch.setattr("finishing_kg.studio.library.shipped_cases", lambda: cases[:2])
    file = tmp_path / "more.toml"
    rule = 'id = "no-felt"\nif = ["the piece has glass fused-silica", "?option uses carrier felt-wheel"]\nthen = ["?option is ruled out"]\n'
    file.write_text("[[rule]]\n" + rule + REASON, encoding="utf-8")
    assert main(["rules", "impact", str(file)]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("no-felt has a say in 1 of 2 cases:") and "silica-polish" in shown.partition("1 of 2 cases answer otherwise")[2]
    assert main(["rules", "impact", str(file), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)["has_a_say"]
    assert [(say["case"], say["rule"], say["supposed"]) for say in told] == [("silica-polish", "no-felt", False)] and told[0]["more"] > 0
    file.write_text("[[rule]]\n" + rule.replace("felt-wheel", "filt-whel") + REASON, encoding="utf-8")
    assert main(["rules", "impact", str(file)]) == 2
    assert "line 3" in capsys.readouterr().err
    assert main(["rules", "impact", "--without", "no-such-rule"]) == 2
    safety = next(rule.id for rule in Knowledge.shipped().base.rules if rule.safety)
    assert main(["rules", "impact", "--without", safety]) == 2


def test_what_a_thing_would_change_is_shown_before_it_is_added(
    tmp_path: Path, cases: list[Case], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`studio add thing --preview` asks the cases with the thing as if it were there, writes nothing, and refuses what adding refuses."""
    monkeypatch.setattr("finishing_kg.studio.library.shipped_cases", lambda: cases[:2])
    init(tmp_path / "studio")
    folder, told = tmp_path / "studio", ["--preview", "--studio", str(tmp_path / "studio")]
    case = '[[question]]\nid = "ours"\nask = "flat face of soda-lime glass, F220, to polish; I have bims and felt wheels"\nkind = ["route"]\n'
    (folder / "cases" / "ours.toml").write_text(case, encoding="utf-8")
    before = contents(folder)
    assert main(["studio", "add", "thing", "pumice", "--also", "bims", *told]) == 0
    shown = capsys.readouterr().out
    assert "1 of 3 cases answer otherwise" in shown and "ours: flat face" in shown and "This was a preview; nothing was changed." in shown
    assert main(["studio", "add", "thing", "pumice", "--also", "the grey one", *told]) == 0
    assert "It changes nothing in 3 cases. No case of the library brings up what is new." in capsys.readouterr().out
    assert main(["studio", "add", "thing", "pumice", "--also", "quartz sand", *told]) == 2
    assert main(["studio", "add", "thing", "our-wheel", "--kind", "carrier", "--label", "our wheel", *told]) == 2, "the shapes ask for more"
    assert contents(folder) == before


def test_rules_that_were_read_anew_are_the_same_rules(knowledge: Knowledge, asking: Library, tmp_path: Path) -> None:
    """What may change hangs on what the rules say, and not on which copy of them says it."""
    ours = 'id = "ours"\nif = ["?option uses carrier belt", "the piece has form bas-relief"]\nthen = ["?option is ruled out"]'
    added = with_rules(knowledge, tmp_path, ours)
    copied = Knowledge(knowledge.vocabulary, knowledge.language, make_base(replace(rule) for rule in added.base.rules))
    told = asking.told[ASKING]
    assert Trial(knowledge, copied).changing(told) == Trial(knowledge, added).changing(told)
    assert not Trial(knowledge, copied).changing(told)[1], "it is told apart already"
