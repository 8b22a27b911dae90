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


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
@pytest.mark.parametrize("keys", [(), ("f2", "down"), ("f2", "down", "enter")], ids=["talk", "route", "reasons"])
async def test_screen(bench: OpenBench, snapshot: SnapshotAssertion, size: tuple[int, int], keys: tuple[str, ...]) -> None:
    """After one question, each panel in front looks as it did."""
    async with bench(FakeDialogue, size) as found:
        await found.ask("Blown borosilicate beaker, rim cracked off, to a polish, no belt please")
        await found.press(*keys)
        assert found.screen_text() == snapshot(extension_class=TextFile)
