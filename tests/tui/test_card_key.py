"""The key that writes the route card: into the file that the maker names, or a clear word on why not."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from finishing_kg_tui.screens.choose import ChooseScreen

from finishing_kg.engine import Knowledge

from .conftest import Bench, OpenBench
from .fake_dialogue import FakeDialogue


async def write_to(bench: Bench, file: Path) -> None:
    """Press the key and name a file."""
    await bench.press("ctrl+s")
    assert isinstance(bench.app.screen, ChooseScreen)
    await bench.press("ctrl+u")
    await bench.paste(str(file))
    await bench.press("enter")


def told(bench: Bench) -> str:
    """What was told beside the screen."""
    return "\n".join(note.message for note in bench.app._notifications)


@pytest.mark.parametrize(("name", "begins"), [("card.html", b"<!DOCTYPE html>"), ("card.md", b"# "), ("card.pdf", b"%PDF")])
async def test_the_ending_tells_the_form(bench: OpenBench, knowledge: Knowledge, tmp_path: Path, name: str, begins: bytes) -> None:
    """The card of the route shown is written in the form that the file's ending names, and how many steps it has is told."""
    async with bench(FakeDialogue) as found:
        found.app.open_knowledge = lambda: knowledge
        await found.ask("Blown borosilicate beaker")
        await found.press("f3")
        await write_to(found, tmp_path / name)
        assert (tmp_path / name).read_bytes().startswith(begins)
        assert "Wrote a card of 2 steps" in told(found)


async def test_a_file_that_is_there_stays(bench: OpenBench, knowledge: Knowledge, tmp_path: Path) -> None:
    """Nothing is written over a file; that it is there is told."""
    file = tmp_path / "card.html"
    file.write_text("mine", encoding="utf-8")
    async with bench(FakeDialogue) as found:
        found.app.open_knowledge = lambda: knowledge
        await found.ask("Blown borosilicate beaker")
        await write_to(found, file)
        assert file.read_text(encoding="utf-8") == "mine"
        assert "No card was written." in told(found) and "there already" in told(found)


async def test_a_missing_library_is_named(bench: OpenBench, knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the library for PDF the command that brings it is told, and no file is left."""
    monkeypatch.setitem(sys.modules, "fpdf", None)
    monkeypatch.delitem(sys.modules, "finishing_kg.card.pdf", raising=False)
    async with bench(FakeDialogue) as found:
        found.app.open_knowledge = lambda: knowledge
        await found.ask("Blown borosilicate beaker")
        await write_to(found, tmp_path / "card.pdf")
        assert "finishing-kg[pdf]" in told(found)
        assert not list(tmp_path.iterdir())


async def test_without_a_route_the_key_does_nothing(bench: OpenBench) -> None:
    """Before there is a route nothing is asked and nothing written."""
    async with bench(FakeDialogue) as found:
        before = found.screen_text()
        await found.press("ctrl+s")
        assert found.screen_text() == before


async def test_the_name_that_is_offered_is_free(bench: OpenBench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Enter alone writes a card, a second one beside the first, from the knowledge that the answer came of."""
    monkeypatch.chdir(tmp_path)
    async with bench(FakeDialogue) as found:
        found.app.open_knowledge = lambda: pytest.fail("the knowledge is at hand")
        await found.ask("Blown borosilicate beaker")
        await found.press("ctrl+s", "enter", "ctrl+s", "enter")
        assert sorted(each.name for each in tmp_path.iterdir()) == ["route-card-2.html", "route-card.html"]
