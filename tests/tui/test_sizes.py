"""Every screen at the sizes that people have: nothing is cut off in a small window, and no line is stretched in a large one."""

from __future__ import annotations

from pathlib import Path

import pytest
from finishing_kg_tui.keeping import read
from finishing_kg_tui.planning import Sheet
from finishing_kg_tui.screens.form import FormScreen
from finishing_kg_tui.screens.plan import PlanScreen
from finishing_kg_tui.screens.studio import StudioScreen
from finishing_kg_tui.studio_forms import rule_form
from textual.widgets._footer import FooterKey

from finishing_kg.engine import Knowledge
from finishing_kg.studio import init

from .conftest import NARROW, WIDE, Bench, OpenBench
from .fake_dialogue import FakeDialogue
from .test_plan import DRY, PIECE, ROUGH

WIDEST = (200, 50)
LONGEST_LINE = 160
SCREENS = ("conversation", "plan", "studio", "form")
PARTS = "#conversation, #route, #reasons, #question, #plan-lines, #plan-parts, #studio-list, #studio-entry, #fields"
SIZES = pytest.mark.parametrize("size", [NARROW, WIDE, WIDEST], ids=["80x24", "120x40", "200x50"])


async def show(bench: Bench, name: str, knowledge: Knowledge, folder: Path) -> None:
    """Go to a screen, with something on it."""
    if name == "conversation":
        await bench.ask("Blown borosilicate beaker")
    elif name == "plan":
        await bench.app.push_screen(PlanScreen(lambda: knowledge, Sheet(dict(PIECE), [dict(ROUGH), dict(DRY)]), lambda _: None))
    elif name == "studio":
        screen = StudioScreen()
        screen._shipped = knowledge
        await bench.app.push_screen(screen)
    else:
        await bench.app.push_screen(FormScreen(rule_form(read(folder, knowledge))))
    await bench.settle()


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A studio that is found."""
    made = tmp_path / "studio"
    init(made, "The glass shed")
    monkeypatch.setenv("FINISHING_KG_STUDIO", str(made))
    return made


@SIZES
@pytest.mark.parametrize("name", SCREENS)
async def test_screens_fit(bench: OpenBench, knowledge: Knowledge, folder: Path, name: str, size: tuple[int, int]) -> None:
    """Every key of the footer can be read, every part that is seen lies within the window, and none is wider than a line can be read."""
    async with bench(FakeDialogue, size) as found:
        await show(found, name, knowledge, folder)
        screen = found.app.screen
        keys = list(screen.query(FooterKey))
        assert len(keys) > 3
        assert all(key.region.width and key.region.right <= size[0] for key in keys), [(key.description, key.region) for key in keys]
        seen = [part for part in screen.query(PARTS) if part.region.area]
        assert seen
        for part in seen:
            assert part.region.right <= size[0] and part.region.bottom <= size[1] and part.region.width <= LONGEST_LINE, part
