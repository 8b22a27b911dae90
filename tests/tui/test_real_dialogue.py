"""From the question line to the library and back: nothing is canned here."""

from __future__ import annotations

import pytest
from finishing_kg_tui.dialogue import open_real
from finishing_kg_tui.widgets.reasons import ReasonTree
from textual.widgets import DataTable

from .conftest import NARROW, WIDE, OpenBench


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_relief_panel(bench: OpenBench, size: tuple[int, int]) -> None:
    """A relief panel gets a route whose first step opens down to what it rests on."""
    async with bench(open_real, size) as found:
        await found.ask("Cast relief panel in studio soda-lime, straight from the mould, to pre-polish")
        text = found.log_text()
        assert "No answer" not in text
        assert "● Route" in text
        assert found.app.screen.query_one(DataTable).row_count > 0
        await found.press("f2", "enter")
        tree = found.app.screen.query_one(ReasonTree)
        assert str(tree.root.label).startswith("Step 1: ")
        node = tree.root.children[0]
        while node.allow_expand:
            node.expand()
            await found.settle()
            node = node.children[-1]
        assert str(node.label).startswith("Basis: ")
