"""The question line, with what was asked before on the up and down keys."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.widgets import Input

EXAMPLE = "for example: kiln-cast lens in lead crystal, convex, ground with F320, to a full polish"
LONGEST = 2000


class QuestionLine(Input):
    """One line of free text. Enter asks it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "earlier(-1)", "Earlier question", show=False),
        Binding("down", "earlier(1)", "Later question", show=False),
    ]

    def __init__(self) -> None:
        super().__init__(placeholder=EXAMPLE, id="question", max_length=LONGEST, select_on_focus=False)
        self._asked: list[str] = []
        self._place = 0

    def take(self) -> str:
        """Hand over what is written, remember it and empty the line."""
        text = self.value.strip()
        if text and (not self._asked or self._asked[-1] != text):
            self._asked.append(text)
        self._place = len(self._asked)
        self.clear()
        return text

    def action_earlier(self, by: int) -> None:
        """Show the question asked before the one shown (-1) or after it (1)."""
        self._place = min(max(self._place + by, 0), len(self._asked))
        self.value = self._asked[self._place] if self._place < len(self._asked) else ""
        self.cursor_position = len(self.value)
