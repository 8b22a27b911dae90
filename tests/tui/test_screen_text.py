"""The whole screen as plain text, at both sizes. A changed screen is a difference of a few lines."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.single_file import SingleFileSnapshotExtension, WriteMode

from .conftest import NARROW, WIDE, OpenBench
from .fake_dialogue import FakeDialogue


class TextFile(SingleFileSnapshotExtension):
    """One text file a picture."""

    _write_mode = WriteMode.TEXT
    file_extension = "txt"


STATES: dict[str, tuple[str, ...]] = {
    "talk": (),
    "paragraphs": ("ctrl+b", "down"),
    "chips": ("ctrl+g", "right", "right"),
    "values": ("ctrl+g", "right", "right", "enter", "r", "i", "m"),
    "route": ("f2", "down"),
    "reasons": ("f2", "down", "enter"),
    "one-line": ("f2", "down", "enter", "1"),
    "short": ("f2", "down", "enter", "2"),
    "rests-on-it": ("f2", "down", "enter", "down", "down", "u"),
    "ladder": ("ctrl+l",),
    "beside": ("ctrl+l", "b"),
    "around": ("ctrl+g", "right", "a"),
}
"""After one question, by these keys. What the ontology holds is shown as little as can be: a screen should change when screens do."""


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
@pytest.mark.parametrize("state", STATES)
async def test_screen(bench: OpenBench, snapshot: SnapshotAssertion, size: tuple[int, int], state: str) -> None:
    """After one question, each state of the screen looks as it did."""
    async with bench(FakeDialogue, size) as found:
        await found.ask("Blown borosilicate beaker, rim cracked off, to a polish, no belt please")
        await found.press(*STATES[state])
        await found.pilot.pause(0.3)  # the scrollbar is drawn anew a moment after what it belongs to
        assert found.screen_text() == snapshot(extension_class=TextFile)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_screen_at_the_start(bench: OpenBench, snapshot: SnapshotAssertion, size: tuple[int, int]) -> None:
    """Before anything was said."""
    async with bench(FakeDialogue, size) as found:
        assert found.screen_text() == snapshot(extension_class=TextFile)


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_screen_with_a_question_back(bench: OpenBench, snapshot: SnapshotAssertion, size: tuple[int, int]) -> None:
    """Where something is missing."""
    async with bench(FakeDialogue, size) as found:
        await found.ask("polish it")
        assert found.screen_text() == snapshot(extension_class=TextFile)
