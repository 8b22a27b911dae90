"""From a rejected advice to a rule: what is proposed brings it about, changes as few other cases as it says, and weakens no safety rule."""

from pathlib import Path

import pytest
from effort import one_in

from finishing_kg.advice.contract import ProposedRule
from finishing_kg.casebook import load_cases
from finishing_kg.casebook.recorded import Library
from finishing_kg.chat import Dialogue
from finishing_kg.chat.rejection import rejects
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.studio import init, read_studio
from finishing_kg.studio.ranking import Ranking

pytestmark = pytest.mark.usefixtures("shipped_once")

RIM = "rim of a blown studio soda-lime tumbler, ground F600, to polish"
FLAT = "flat face of float glass, sawn, to polish"
CASES = ("silica-polish", "thin-rim-ground", "etched-to-polish", "by-hand-only")


def methods(answer: object) -> list[str]:
    """The carriers and minerals of the first route."""
    steps = answer.routes[0].steps if answer.routes else []  # type: ignore[attr-defined]
    return [word for step in steps for word in (step.mineral, step.carrier)]


def saved(rule: ProposedRule, folder: Path) -> Knowledge:
    """The knowledge of a new studio that holds a proposed rule, saved by the command that is proposed."""
    import shlex

    init(folder)
    command = shlex.split(rule.command)
    assert command[0] == "finishing-kg" and main([*command[1:], "--studio", str(folder), "--yes"]) == 0
    return read_studio(folder).knowledge


REJECTIONS = [
    (RIM, "We never use felt for that.", "felt-wheel"),
    (FLAT, "I would not use cerium", "cerium-oxide"),
    (RIM, "not with pumice here", "pumice"),
]


@pytest.mark.parametrize(("ask", "reject", "without"), one_in(2, REJECTIONS))
def test_each_proposed_rule_brings_it_about(knowledge: Knowledge, tmp_path: Path, ask: str, reject: str, without: str) -> None:
    """The work is told without what was rejected, and a studio that saves any of the rules gets that answer by itself."""
    dialogue = Dialogue(knowledge)
    assert without in methods(dialogue.say(ask))
    answer = dialogue.say(reject)
    assert without not in methods(answer)
    assert 1 <= len(answer.proposed_rules) <= 3
    for number, rule in enumerate(answer.proposed_rules):
        again = Dialogue(saved(rule, tmp_path / str(number))).say(ask)
        assert without not in methods(again), rule
        own = read_studio(tmp_path / str(number)).own_rules[0]
        assert own.basis.kind == "studio" and reject in own.because
        assert not any(knowledge.base.by_id[loser].safety for loser in own.overrides)


@pytest.mark.parametrize("turn", ["We never use diamond for that.", "correction: the piece has form edge"])
def test_what_was_supposed_is_supposed_again(knowledge: Knowledge, turn: str) -> None:
    """What nothing hangs on is not asked for after a turn that rejects or puts right either."""
    dialogue = Dialogue(knowledge)
    first = dialogue.say("rough shape a float rim")
    assert first.kind == "route" and first.assumed
    after = dialogue.say(turn)
    assert not {question.about for question in after.ask_back} & {"finish", "form", "surface"}
    assert [taken.statement for taken in after.assumed] == [taken.statement for taken in first.assumed]


def test_where_nothing_is_named_the_last_step_is_meant(knowledge: Knowledge) -> None:
    """*We never do that* keeps the answer and proposes rules, each of which would do the last step otherwise."""
    dialogue = Dialogue(knowledge)
    first = dialogue.say(RIM)
    answer = dialogue.say("we never do that")
    last = first.routes[0].steps[-1]
    assert answer.routes == first.routes and answer.proposed_rules
    assert all(rule.instead and rule.instead[-1] != f"{last.mineral} on {last.carrier}" for rule in answer.proposed_rules)


def test_what_rejects_nothing(knowledge: Knowledge) -> None:
    """A question, a thing that is missing, and what the answer does not use bring up no rules; nor does a first turn."""
    for turn in ("why not felt?", "I have no felt", "we never use a belt sander on that?", "what if it were a flat face?"):
        dialogue = Dialogue(knowledge)
        dialogue.say(RIM)
        assert dialogue.say(turn).proposed_rules == []
    assert Dialogue(knowledge).say("We never use felt for that").proposed_rules == []
    assert rejects("We don't do it that way") and not rejects("we always do that")


def test_no_caution_goes(knowledge: Knowledge) -> None:
    """To reject a caution proposes nothing: rules that are proposed only rule out."""
    dialogue = Dialogue(knowledge)
    dialogue.say("dry grinding of a lead crystal edge by hand, broken, to be ground")
    for turn in ("we never do it wet", "we never wear a mask", "we never use water for that"):
        for rule in dialogue.say(turn).proposed_rules:
            assert rule.conclusions == ["?option is ruled out"] and not any(knowledge.base.by_id[loser].safety for loser in rule.overrides)


def test_the_rule_that_changes_least_comes_first(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ranked by a case library, each rule says how many cases it changes, the fewest first."""
    every = {case.id: case for case in load_cases(sorted((Path(__file__).parent.parent / "rules" / "cases").glob("*.toml")))}
    dialogue = Dialogue(knowledge)
    monkeypatch.setattr("finishing_kg.studio.ranking._SECONDS", 600)  # what is ranked here is not the machine
    dialogue.rank = Ranking(Library.of(knowledge, [every[name] for name in CASES]))
    dialogue.say(FLAT)
    counts = [rule.cases for rule in dialogue.say("we never use cerium for that").proposed_rules if rule.cases is not None]
    assert len(counts) == 3 and counts == sorted(counts)
    assert counts[0] < counts[-1]
