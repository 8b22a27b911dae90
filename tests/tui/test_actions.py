"""One table of actions: keys, footer, help page and palette agree."""

from __future__ import annotations

import gc
import subprocess
import sys

import pytest
from finishing_kg_tui import application
from finishing_kg_tui.actions import ACTIONS
from finishing_kg_tui.app import FinishingApp
from finishing_kg_tui.screens.help import HelpScreen
from finishing_kg_tui.themes import THEMES
from textual.command import CommandPalette
from textual.widgets import Input, OptionList

from .conftest import NARROW, WIDE, OpenBench
from .fake_dialogue import FakeDialogue


def test_keys_are_unique_and_type_nothing() -> None:
    """No key stands twice, and none is one that the question line needs."""
    keys = [action.key for action in ACTIONS]
    assert len(keys) == len(set(keys))
    taken = {key.strip() for binding in Input.BINDINGS for key in binding.key.split(",")}  # type: ignore[union-attr]
    assert not taken & set(keys)
    assert all(len(key) > 1 for key in keys)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_help_lists_every_action(bench: OpenBench, size: tuple[int, int]) -> None:
    """F1 opens a page with every action of the table; Escape closes it."""
    async with bench(FakeDialogue, size) as found:
        await found.press("f1")
        assert isinstance(found.app.screen, HelpScreen)
        seen = found.screen_text()
        await found.press("pagedown")
        seen += found.screen_text()
        assert all(action.shown_key in seen for action in ACTIONS)
        await found.press("escape")
        assert not isinstance(found.app.screen, HelpScreen)


async def test_palette_offers_what_makes_sense(bench: OpenBench) -> None:
    """Before an answer there is nothing to copy; after it there is, and the palette runs what is chosen."""
    async with bench(FakeDialogue) as found:

        async def offered() -> str:
            await found.press("ctrl+p")
            assert isinstance(found.app.screen, CommandPalette)
            options = found.app.screen.query_one(OptionList)
            text = "\n".join(str(options.get_option_at_index(place).prompt) for place in range(options.option_count))
            await found.press("escape")
            return text

        assert "Copy the last answer" not in await offered()
        await found.ask("rim")
        assert "Copy the last answer" in await offered()
        await found.press("ctrl+p")
        await found.pilot.press(*"every reason")
        await found.settle()
        await found.press("enter")
        assert "Cautions (1)" in found.screen_text()


async def test_an_action_without_sense_does_nothing(bench: OpenBench) -> None:
    """Keys for a route, an answer or reasons are harmless before there are any."""
    async with bench(FakeDialogue) as found:
        before = found.screen_text()
        await found.press("f3", "f4", "f5", "f6", "ctrl+n")
        assert found.screen_text() == before


async def test_colours_change(bench: OpenBench) -> None:
    """F8 goes through dark, light and high contrast, and round."""
    async with bench(FakeDialogue) as found:
        seen = [found.app.theme]
        for _ in THEMES:
            await found.press("f8")
            seen.append(found.app.theme)
        assert seen == ["lamp-light", "daylight", "high-contrast", "lamp-light"]


async def test_no_colour(bench: OpenBench, monkeypatch: pytest.MonkeyPatch) -> None:
    """With NO_COLOR set every colour on the screen is a grey."""
    monkeypatch.setenv("NO_COLOR", "1")
    async with bench(FakeDialogue) as found:
        await found.ask("rim")
        assert found.app.no_color
        colours = {
            tuple(colour.triplet)
            for strip in found.app.screen._compositor.render_strips()
            for segment in strip.apply_filter(found.app._filters[-1], found.app.screen.background_colors[1])
            for colour in (segment.style.color, segment.style.bgcolor)
            if segment.style and colour and colour.triplet
        }
        assert colours
        assert all(max(colour) - min(colour) <= 2 for colour in colours)


def test_nothing_heavy_before_the_first_picture() -> None:
    """The interface's modules load none of the library's heavy parts; those come in the thread that needs them."""
    code = "import sys, finishing_kg_tui.app; print(sorted({'rdflib', 'pint', 'networkx', 'pydantic', 'finishing_kg.chat'} & set(sys.modules)))"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env={"PYTHONPATH": ":".join(sys.path)})
    assert found.stdout.strip() == "[]"


def test_route_and_reasons_come_after_the_first_picture() -> None:
    """The parts of the screen that are empty at first, and the other screens, are not loaded with it."""
    late = (
        "'finishing_kg_tui.widgets.route', 'finishing_kg_tui.widgets.reasons', 'finishing_kg_tui.screens.ladder', 'finishing_kg_tui.screens.around'"
    )
    late += ", 'finishing_kg_tui.screens.pick', 'finishing_kg_tui.screens.help', 'textual.widgets._data_table'"
    code = f"import sys, finishing_kg_tui.app; print(sorted({{{late}}} & set(sys.modules)))"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env={"PYTHONPATH": ":".join(sys.path)})
    assert found.stdout.strip() == "[]"


async def test_it_begins_in_its_own_colours_without_reading_them_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """The first picture has the first theme's colours, and no style sheet was read anew for it."""
    again: list[object] = []
    monkeypatch.setattr(FinishingApp, "refresh_css", lambda *_, **__: again.append(None))
    app = FinishingApp(FakeDialogue)
    async with app.run_test(size=WIDE) as pilot:
        await pilot.pause()
        assert app.theme == THEMES[0].name and app.has_class(f"-theme-{THEMES[0].name}", "-dark-mode")
        assert app.screen.styles.background.hex.lower() == THEMES[0].background and again == []


async def test_rubbish_is_looked_for_again_once_the_first_picture_stands() -> None:
    """The interface switches the collector off for its start, and on again right after it."""
    try:
        app = application()
        assert not gc.isenabled()
        async with app.run_test(size=WIDE) as pilot:
            await pilot.pause()
            await pilot.pause()
            assert gc.isenabled()
    finally:
        gc.enable()


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_what_was_understood_stands_in_both_places(bench: OpenBench, size: tuple[int, int]) -> None:
    """Beside the conversation or below it: whichever was not there for the first picture comes after it, at its place."""
    async with bench(FakeDialogue, size) as found:
        screen = found.app.screen
        assert [type(each).__name__ for each in screen.query("#side > *")] == ["Taken", "RoutePanel", "ReasonsPanel"]
        assert [type(each).__name__ for each in screen.query("#talk > *")] == ["Conversation", "Taken"]
        assert [each.display for each in screen.query("Taken")] == [size == NARROW, size == WIDE]
