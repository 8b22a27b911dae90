"""Something to read and then to say yes or no to: a corrected plan, what a rule would change, a removal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from finishing_kg_tui.plain import clean, one_line


class DecideScreen(ModalScreen[bool]):
    """Lines of text; Enter says yes, Escape no. Without ``yes`` there is nothing to decide, only to read."""

    CSS_PATH = "decide.tcss"
    AUTO_FOCUS = "#decide"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "dismiss(True)", "Yes", show=False),
        Binding("escape", "dismiss(False)", "No", show=False),
    ]

    def __init__(self, title: str, lines: Sequence[str], yes: str = "") -> None:
        super().__init__()
        self._title, self._lines, self._yes = title, lines, yes

    def compose(self) -> ComposeResult:
        """One page that scrolls."""
        with VerticalScroll(id="decide") as page:
            page.border_title = Content(one_line(self._title))
            page.border_subtitle = Content(f"Enter: {self._yes}   Escape: leave it as it is" if self._yes else "Escape closes")
            yield Static(Content(clean("\n".join(self._lines))), id="decide-text", markup=False)
