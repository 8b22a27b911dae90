"""From the question line to the library and back: nothing is canned here."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice

import pytest
from finishing_kg_tui.dialogue import open_real
from finishing_kg_tui.widgets.reasons import ReasonTree
from textual.widgets import DataTable

from finishing_kg.advice.contract import ProposedRule
from finishing_kg.advice.proposing import Candidate, with_impact

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


async def test_proposed_rules_are_ranked_by_what_they_change(bench: OpenBench, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a rejected advice the rules proposed come with how many cases of the recorded library each would change, in that order."""

    def ranking(_library: object) -> Callable[[Iterator[Candidate]], list[ProposedRule]]:
        return lambda found: [with_impact(each.proposed, count, []) for count, each in enumerate(islice(found, 2), 3)]

    monkeypatch.setattr("finishing_kg.studio.ranking.kept_library", lambda *_: "recorded before")
    monkeypatch.setattr("finishing_kg.studio.ranking.Ranking", ranking)
    async with bench(open_real) as found:
        await found.ask("Cast relief panel in studio soda-lime, straight from the mould, to pre-polish")
        await found.ask("we never use the brush wheel for that")
        text = found.log_text()
        assert 0 < text.index("in 3 cases of the library") < text.index("in 4 cases of the library")


async def test_a_story_is_said_back_and_goes_on_after_yes(bench: OpenBench) -> None:
    """What was heard is a question that Enter goes on with; nothing is understood before."""
    story = (
        "My aunt kept this jug on her windowsill for thirty years until the gardener leaned a ladder on it, and gave it to me with its rim broken "
        "off. It is blown, and the seller once wrote lead crystal on the box. I would love to give it back to her with the rim polished."
    )
    async with bench(open_real) as found:
        await found.ask(story)
        assert "Enter here goes on with it." in found.log_text()
        assert found.app.screen.query_one(DataTable).row_count == 0
        await found.ask("yes")
        assert "● Route" in found.log_text()
        assert found.app.screen.query_one(DataTable).row_count > 0
