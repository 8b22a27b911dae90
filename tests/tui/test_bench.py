"""The screen, driven by keys alone, with canned answers."""

from __future__ import annotations

import threading

import pytest
from effort import one_in
from finishing_kg_tui.widgets.adviser import Adviser
from finishing_kg_tui.widgets.conversation import Turn
from finishing_kg_tui.widgets.reasons import ReasonTree
from textual.events import Key
from textual.widgets import DataTable, Input

from .conftest import NARROW, WIDE, Bench, OpenBench
from .fake_dialogue import ROUTE, FakeDialogue

ASKED = "Blown borosilicate beaker, rim cracked off, to a polish"
SIZES = pytest.mark.parametrize("size", one_in(2, [NARROW, WIDE]), ids=lambda size: f"{size[0]}x{size[1]}")


def _lines(bench: Bench) -> list[str]:
    """The lines of the tree that are open, from the top."""
    tree = bench.app.screen.query_one(ReasonTree)
    found, waiting = [], [tree.root]
    while waiting:
        node = waiting.pop(0)
        found.append(str(node.label))
        if node.is_expanded:
            waiting = [*node.children, *waiting]
    return found


@SIZES
async def test_answer_is_shown(bench: OpenBench, size: tuple[int, int]) -> None:
    """A question by keys brings the answer, its caution, what was assumed and the weakest basis."""
    async with bench(FakeDialogue, size) as found:
        await found.pilot.press(*"rim to a polish", "enter")
        await found.settle()
        text = found.log_text()
        assert "› You: rim to a polish" in text
        assert ROUTE.text in text
        assert "▲ Caution: Keep it wet" in text
        assert "≈ Assumed: the wall of the piece is even" in text
        assert "Weakest basis: common practice" in text
        assert "working" not in text
        assert "borosilicate" in found.screen_text()


@SIZES
async def test_step_roots_the_reasons(bench: OpenBench, size: tuple[int, int]) -> None:
    """Enter on a step of the route roots the reasons at that step and gives them the keyboard."""
    async with bench(FakeDialogue, size) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter")
        assert _lines(found)[:2] == ["Step 2: silicon carbide F400 on plate", "loose silicon carbide on plate clears the damage of step 1"]
        assert isinstance(found.app.focused, ReasonTree)
        assert "Step 2: silicon carbide F400 on plate" in found.screen_text()


@SIZES
async def test_reasons_open_down_to_the_source(bench: OpenBench, size: tuple[int, int]) -> None:
    """A reason opens by key down to its basis with source and locator; what is below is hung in only then."""
    async with bench(FakeDialogue, size) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter")
        hardness = next(node for node in found.app.screen.query_one(ReasonTree).cursor_node.children if "hardness" in str(node.label))  # type: ignore[union-attr]
        assert not hardness.children
        found.app.screen.query_one(ReasonTree).move_cursor(hardness)
        await found.press("right")
        assert [str(child.label) for child in hardness.children] == ["Basis: handbook; A handbook of bench work; chapter 4, table 2"]
        await found.press("right")
        assert "chapter 4, table 2" in found.screen_text()


async def test_leaves_of_a_reason(bench: OpenBench) -> None:
    """Comparison, computation, absence, what was set aside, rule and mechanism stand below a reason."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter")
        assert _lines(found)[2:] == [
            "Because: What the last grain cracked must be gone.",
            "the piece has form rim",
            "the hardness of silicon carbide is 9.5 Mohs",
            "Compared: 40 µm at least 0.03 mm (40 µm at least 30 µm; margin 10 µm): holds",
            "Computed: damage depth of 64 µm gives 30 µm",
            "Absent: nothing here says that the wall of the piece is thin",
            "Set aside: loose silicon carbide on plate is discouraged",
            "Rule: clear-the-damage",
            "Basis: handbook; A handbook of bench work; chapter 4, table 2",
        ]


async def test_all_reasons_reach_cautions_and_what_is_ruled_out(bench: OpenBench) -> None:
    """F5 lists the steps, the cautions and what is ruled out; a circle and a missing reason end in a word."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f5")
        for node in found.app.screen.query_one(ReasonTree).root.children[3:]:
            node.expand_all()
        for _ in range(6):
            await found.settle()
            for node in found.app.screen.query_one(ReasonTree).root.children[3:]:
                node.expand_all()
        lines = _lines(found)
        assert "Cautions (1)" in lines
        assert "felt belt is ruled out for polish" in " ".join(lines)
        assert "dry grinding raises dust (already above)" in lines
        assert "the reason r99 was not handed over" in lines


async def test_keys_swap_the_panels_when_narrow(bench: OpenBench) -> None:
    """At 80 columns one panel shows at a time, F2 goes round, Escape goes back to the question."""
    async with bench(FakeDialogue, NARROW) as found:
        await found.ask(ASKED)
        shown = []
        for _ in range(3):
            shown.append([name for name in ("conversation", "route", "reasons") if found.app.screen.query_one(f"#{name}").region.area])
            await found.press("f2")
        assert shown == [["conversation"], ["route"], ["reasons"]]
        await found.press("f2", "escape")
        assert isinstance(found.app.focused, Input)
        assert found.app.screen.query_one("#conversation").region.area


async def test_side_panels_hide_and_come_back(bench: OpenBench) -> None:
    """F7 gives the conversation the whole width, and takes it back."""
    async with bench(FakeDialogue) as found:
        await found.press("f7")
        assert not found.app.screen.query_one("#side").region.area
        await found.press("f7")
        assert found.app.screen.query_one("#side").region.area


async def test_next_route(bench: OpenBench) -> None:
    """F3 steps through the routes, round and round."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        table = found.app.screen.query_one(DataTable)
        counts = [table.row_count]
        for _ in range(2):
            await found.press("f3")
            counts.append(table.row_count)
        assert counts == [3, 2, 3]
        assert "Route 1 of 2" in found.screen_text()


async def test_why_step_keeps_the_route(bench: OpenBench) -> None:
    """F4 asks why the chosen step is so; the answer roots the reasons and leaves the route where it was."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "f4")
        assert dialogue.heard[-1] == "why step 2"
        assert found.app.screen.query_one(DataTable).row_count == 3
        assert _lines(found)[0] == "loose silicon carbide on plate clears the damage of step 1"


async def test_markup_and_control_characters_are_literal(bench: OpenBench) -> None:
    """Brackets stay brackets; escape, bell and turned writing are shown as signs."""
    async with bench(FakeDialogue) as found:
        await found.ask("[red]rim[/red] \x1b[31m\x07 \u202eabc [@click=app.quit]x[/]")
        text = found.log_text()
        assert "[red]rim[/red] ␛[31m␇ �abc [@click=app.quit]x[/]" in text
        assert "\x1b" not in found.screen_text()
        assert "\u202e" not in found.screen_text()


@SIZES
async def test_failure_is_a_message(bench: OpenBench, size: tuple[int, int]) -> None:
    """A dialogue that breaks leaves a message in the conversation, and the next question is answered."""
    async with bench(FakeDialogue, size) as found:
        await found.ask("break it")
        assert "× No answer: The answer could not be worked out. (RuntimeError: the [bold]knowledge[/bold] is broken)" in found.log_text()
        assert "Traceback" not in found.screen_text()
        await found.ask(ASKED)
        assert ROUTE.text in found.log_text()


async def test_knowledge_that_cannot_be_loaded_is_tried_again(bench: OpenBench) -> None:
    """When loading fails, the question gets a message; asking again loads again."""
    tries: list[int] = []

    def opening() -> FakeDialogue:
        tries.append(1)
        if len(tries) < 3:
            raise OSError("no such folder")
        return FakeDialogue()

    async with bench(opening) as found:
        assert found.app.screen.query_one(Adviser).doing == "not ready"
        await found.ask(ASKED)
        assert "The knowledge could not be loaded. (OSError: no such folder)" in found.log_text()
        await found.ask(ASKED)
        assert ROUTE.text in found.log_text()


async def test_early_question_waits_for_the_knowledge(bench: OpenBench) -> None:
    """The question line works while the knowledge loads; what was asked is answered afterwards, in its order."""
    gate = threading.Event()
    dialogue = FakeDialogue()

    def opening() -> FakeDialogue:
        gate.wait(10)
        return dialogue

    async with bench(opening, loaded=False) as found:
        for text in ("first", "second"):
            found.app.screen.query_one(Input).value = text
            await found.pilot.press("enter")
        await found.pilot.pause()
        assert "reading the knowledge" in found.screen_text()
        assert "working" in found.log_text()
        gate.set()
        for _ in range(3):
            await found.settle()
        assert dialogue.heard == ["first", "second"]
        assert found.log_text().count(ROUTE.text) == 2


async def test_new_piece_forgets_and_drops_late_answers(bench: OpenBench) -> None:
    """Ctrl+N empties every panel, and an answer that was still being worked on does not appear afterwards."""
    gate = threading.Event()
    async with bench(lambda: FakeDialogue(gate)) as found:
        found.app.screen.query_one(Input).value = ASKED
        await found.pilot.press("enter")
        await found.pilot.pause()
        assert "working" in found.screen_text()
        await found.pilot.press("ctrl+n")
        gate.set()
        await found.settle()
        assert not found.app.screen.query(Turn)
        assert "No route yet" in found.screen_text()
        await found.ask(ASKED)
        assert len(found.app.screen.query(Turn)) == 1
        assert found.log_text().count(ROUTE.text) == 1


async def test_question_back_shows_its_choices(bench: OpenBench) -> None:
    """A question back is set apart with a word, a mark and what may be answered."""
    async with bench(FakeDialogue) as found:
        await found.ask("polish")
        assert "? Tell me: Which form is it where the work is?\nflat face / rim" in found.log_text()
        assert "No route yet" in found.screen_text()


async def test_copy(bench: OpenBench) -> None:
    """F6 copies the answer and its routes as plain text."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f6")
        copied = found.app.clipboard
        assert ROUTE.text in copied
        assert "  1. diamond D64, metal bond, flat lap, wet, 5–10 m/s, leaves ground" in copied
        assert "Route 2: without the plate." in copied


async def test_earlier_questions_come_back(bench: OpenBench) -> None:
    """The up key brings back what was asked before, the down key goes on to an empty line."""
    async with bench(FakeDialogue) as found:
        await found.ask("one")
        await found.ask("two")
        line = found.app.screen.query_one(Input)
        values = []
        for key in ("up", "up", "up", "down", "down"):
            await found.press(key)
            values.append(line.value)
        assert values == ["two", "one", "one", "two", ""]


async def test_a_key_right_behind_another_is_not_lost(bench: OpenBench) -> None:
    """Enter that comes in one breath with F2 is the route's, and opens the reasons of its first step."""
    async with bench(FakeDialogue) as found:
        await found.ask("Blown borosilicate beaker, rim cracked off")
        for key in (Key("f2", None), Key("enter", "\r")):
            found.app.post_message(key)
        await found.settle()
        assert "▼ Step 1: diamond" in found.screen_text()
