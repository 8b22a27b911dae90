"""Drives the interface without a terminal, and reads the screen as plain text."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager

import pytest
from finishing_kg_tui.app import FinishingApp
from finishing_kg_tui.dialogue import OpenDialogue
from textual.events import Paste
from textual.pilot import Pilot
from textual.widgets import Input, Static

NARROW, WIDE = (80, 24), (120, 40)


class Bench:
    """A running interface and the few things that tests do with it."""

    def __init__(self, app: FinishingApp, pilot: Pilot[None]) -> None:
        self.app, self.pilot = app, pilot

    async def settle(self) -> None:
        """Wait until no thread works and nothing waits to be drawn."""
        await self.pilot.pause()
        while any(not worker.is_finished for worker in self.app.workers):
            await self.app.workers.wait_for_complete()
            await self.pilot.pause()
        await self.pilot.pause()  # the footer is made anew a moment after the screen that it belongs to

    async def ask(self, text: str) -> None:
        """Write a question and wait for its answer."""
        self.app.screen.query_one(Input).value = text
        await self.pilot.press("enter")
        await self.settle()

    async def press(self, *keys: str) -> None:
        """Press keys one after the other and wait for what they do."""
        for key in keys:
            await self.pilot.press(key)
            await self.settle()

    async def paste(self, text: str) -> None:
        """Put a text into the field that has the keyboard; pressing a key for each letter takes a tenth of a second a letter."""
        self.app.post_message(Paste(text))
        await self.settle()

    def screen_text(self) -> str:
        """What stands on the screen, line by line."""
        # The toolkit moves what is anchored to its end without drawing the scrollbar beside it anew.
        for widget in self.app.screen.query():
            if widget.show_vertical_scrollbar:
                widget.vertical_scrollbar.position = widget.scroll_y
                widget.vertical_scrollbar.refresh()
        lines = ("".join(segment.text for segment in strip) for strip in self.app.screen._compositor.render_strips())
        return "\n".join(line.rstrip() for line in lines)

    def log_text(self) -> str:
        """All that stands in the conversation, seen or scrolled away."""
        return "\n".join(str(part.content) for part in self.app.screen.query("#conversation Static").results(Static))


OpenBench = Callable[..., AbstractAsyncContextManager[Bench]]


@pytest.fixture
def bench() -> OpenBench:
    """Opens the interface at a size, with the cursor held still."""

    @asynccontextmanager
    async def opened(open_dialogue: OpenDialogue, size: tuple[int, int] = WIDE, *, loaded: bool = True) -> AsyncIterator[Bench]:
        app = FinishingApp(open_dialogue)
        async with app.run_test(size=size) as pilot:
            app.screen.query_one(Input).cursor_blink = False
            found = Bench(app, pilot)
            if loaded:
                await found.settle()
            yield found

    return opened
