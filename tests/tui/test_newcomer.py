"""What helps whoever does not know the interface yet: examples to begin with, what may come next, and nothing told twice."""

from __future__ import annotations

from pathlib import Path

import pytest
from finishing_kg_tui.screens.form import FormScreen
from finishing_kg_tui.widgets.conversation import Conversation
from finishing_kg_tui.widgets.question import EXAMPLE, EXAMPLES, INVITATIONS, QuestionLine
from finishing_kg_tui.widgets.route import RoutePanel

from finishing_kg.advice.contract import Answer, ProposedRule
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.studio import init

from .conftest import NARROW, WIDE, Bench, OpenBench
from .fake_dialogue import ROUTE, FakeDialogue

RULE = ProposedRule(
    id="no-felt-for-rims",
    conditions=["?option uses carrier felt wheel", "the piece has form rim"],
    conclusions=["?option is ruled out"],
    because="Said at the bench: we never do [b]that[/b].",
    command="finishing-kg studio add rule --id no-felt-for-rims",
)


async def _enter(found: Bench, words: str) -> None:
    """Go down the conversation to the paragraph with some words, and enter it."""
    conversation = found.app.screen.query_one(Conversation)
    await found.press("ctrl+b")
    while conversation.chosen is None or words not in str(conversation.chosen.content):
        await found.press("down")
    await found.press("enter")


class Supposing(FakeDialogue):
    """Answers *what if* with another glass, one route and one caution more, and *never* with a rule that would see to it."""

    def say(self, text: str) -> Answer:
        """Answer as canned."""
        answer = super().say(text)
        if text.startswith("what if"):
            understood = replace(ROUTE.understood, statements=["the piece has glass lead crystal", *ROUTE.understood.statements[1:]])
            more = replace(ROUTE.cautions[0], id="lead-dust", text="Lead harms.")
            answer = replace(ROUTE, kind="what_if", understood=understood, routes=ROUTE.routes[1:], cautions=[*ROUTE.cautions, more])
            answer = replace(answer, changed=["the piece has glass lead crystal"], differences=["A caution more: lead dust", "Instead: felt"])
        if text.startswith("never"):
            answer = replace(ROUTE, proposed_rules=[RULE])
        self.answer = answer
        return answer


@pytest.mark.parametrize("question", EXAMPLES)
def test_every_example_is_answered(knowledge: Knowledge, question: str) -> None:
    """What is offered at the beginning is understood: a way, a fault found out, or a plan judged."""
    answer = Dialogue(knowledge).say(question)
    assert answer.kind not in ("not_understood", "out_of_scope", "error") and not answer.understood.unused_words[3:]
    assert answer.routes or answer.diagnosis or answer.findings


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_an_example_is_asked_by_entering_it(bench: OpenBench, size: tuple[int, int]) -> None:
    """Ctrl+B goes to the first example, Enter asks it; then they are gone, and back for the next piece."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue, size) as found:
        assert EXAMPLES[1][:30] in found.screen_text()
        await found.press("ctrl+b", "down", "enter")
        assert dialogue.heard == [EXAMPLES[1]]
        await found.press("ctrl+b", "pageup")
        assert EXAMPLES[0][:20] not in found.screen_text()
        await found.press("ctrl+n")
        assert EXAMPLES[0][:20] in found.screen_text()


async def test_the_empty_line_says_what_may_come_next(bench: OpenBench) -> None:
    """First an example; after a question back how to answer, after a route how to ask on; a new piece begins again."""
    async with bench(FakeDialogue, NARROW) as found:
        line = found.app.screen.query_one(QuestionLine)
        assert line.placeholder == EXAMPLE
        for said, kind in (("polish it", "question"), ("rim", "route"), ("why", "route")):
            await found.ask(said)
            assert INVITATIONS[kind] in found.screen_text()
        await found.press("ctrl+n")
        assert EXAMPLE in found.screen_text()


async def test_a_caution_is_told_in_full_once(bench: OpenBench) -> None:
    """A second answer only names the cautions that stand above, and tells the new one in full; forgotten with the piece."""
    async with bench(Supposing) as found:
        await found.ask("rim")
        await found.ask("what if it were lead crystal")
        log = found.log_text()
        assert log.count("Keep it wet") == 1 and log.count("Lead harms") == 1
        assert "▲ Cautions as before: dry dust." in log
        await found.ask("rim")
        assert "▲ Cautions as before: dry dust." in found.log_text().rpartition("You: ")[2]
        await found.press("ctrl+n")
        await found.ask("rim")
        assert "Keep it wet" in found.log_text() and "as before" not in found.log_text()


async def test_cautions_that_are_named_open_to_the_reasons(bench: OpenBench) -> None:
    """Entering the line that only names cautions lists all reasons, the cautions among them."""
    async with bench(FakeDialogue) as found:
        await found.ask("rim")
        await found.ask("rim")
        await _enter(found, "as before")
        assert "Cautions (1)" in found.screen_text()


async def test_what_is_supposed_leaves_the_piece_as_it_is(bench: OpenBench) -> None:
    """What differs comes first; the route is headed by what is supposed; chips stay, and the next question is about the piece again."""
    dialogue = Supposing()
    async with bench(lambda: dialogue) as found:
        await found.ask("rim")
        await found.press("f3")
        await found.ask("what if it were lead crystal")
        screen, panel = found.app.screen, found.app.screen.query_one(RoutePanel)
        assert "what if the piece has glass lead crystal" in str(panel.border_title) and "1 of 1" in str(panel.border_title)
        assert [chip.value for chip in screen.query_one("Taken").chips][:1] == ["borosilicate"]  # type: ignore[attr-defined]
        told = found.log_text().rpartition("You: ")[2]
        assert told.index("A caution more: lead dust") < told.index("Lead harms")
        heard = len(dialogue.heard)
        await found.press("f4")  # of a route that is only supposed the reasons are opened: the adviser would speak of the piece as it is
        assert len(dialogue.heard) == heard and "Step 1" in found.screen_text()
        await found.press("escape")
        await found.ask("why")
        assert "what if" not in str(panel.border_title) and "1 of 2" in str(panel.border_title)


async def test_what_was_supposed_can_be_gone_on_with(bench: OpenBench) -> None:
    """Entering the paragraph that says so makes the piece as it was supposed, as one turn."""
    dialogue = Supposing()
    async with bench(lambda: dialogue) as found:
        await found.ask("rim")
        await found.ask("what if it were lead crystal")
        await _enter(found, "Only supposed")
        assert dialogue.heard[-1] == "correction: the piece has glass lead crystal"


async def test_a_proposed_rule_opens_its_form(bench: OpenBench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Enter on a rule that is proposed opens the form with all of it filled in, its text as text; Escape leaves it without a question."""
    init(tmp_path / "studio", "Shed")
    monkeypatch.setenv("FINISHING_KG_STUDIO", str(tmp_path / "studio"))
    async with bench(Supposing) as found:
        await found.ask("never felt")
        assert "--id" not in found.log_text()
        await _enter(found, "A rule for it")
        form = found.app.screen
        assert isinstance(form, FormScreen)
        assert (form.values["id"], form.values["if"], form.values["then"]) == ([RULE.id], RULE.conditions, RULE.conclusions)
        assert "we never do [b]that[/b]" in found.screen_text()
        await found.press("escape")
        assert found.app.screen.query(Conversation)


async def test_without_a_studio_a_proposed_rule_says_where_one_is_made(bench: OpenBench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is opened and nothing made; a word says which key makes a studio."""
    monkeypatch.setattr("finishing_kg.studio.find", lambda: None)
    async with bench(Supposing) as found:
        await found.ask("never felt")
        await _enter(found, "A rule for it")
        assert not isinstance(found.app.screen, FormScreen)
        assert any("F10" in each.message for each in found.app._notifications)
