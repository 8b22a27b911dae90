"""The help page: what can be done, with which key, and what may be said."""

from __future__ import annotations

from typing import ClassVar

from rich.table import Table
from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from finishing_kg_tui.actions import ACTIONS, OTHER_KEYS

SAYINGS = (
    ("bevel on float glass, ground with F220, to a full polish", "a piece and how it should end"),
    ("why step 2", "the reasons of a step"),
    ("why not a belt", "what rules something out, and the smallest change that would let it in"),
    ("what if the glass is borosilicate", "what one changed fact would change"),
    ("the form is rim", "an answer to a question back"),
)


class HelpScreen(ModalScreen[None]):
    """All actions and keys, and examples of what may be said."""

    CSS_PATH = "help.tcss"
    AUTO_FOCUS = "#help"
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,f1,enter,q", "dismiss", "Close", show=False)]

    def compose(self) -> ComposeResult:
        """One page that scrolls."""
        with VerticalScroll(id="help") as page:
            page.border_title = "Help: keys, and what may be said"
            page.border_subtitle = "Escape closes"
            yield Static(_keys(), markup=False)
            yield Static(_sayings(), markup=False)


def _keys() -> Table:
    table = Table.grid(padding=(0, 2, 0, 0))
    table.add_column(width=14, style="bold")
    for key, says in (*((action.shown_key, action.says) for action in ACTIONS), *OTHER_KEYS):
        table.add_row(Text(key), Text(says))
    return table


def _sayings() -> Text:
    lines = [Text("\nWhat may be said, for example", style="bold underline")]
    for said, use in SAYINGS:
        lines += [Text(said, style="bold"), Text(f"    {use}")]
    return Text("\n").join(lines)
