"""What was understood so far, as one paragraph of names and values that breaks only between them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import Static

from finishing_kg_tui.telling import taken_from

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Understood

_NOTHING_YET = "Nothing yet."
_BETWEEN = "  "


class Taken(Static):
    """The piece as the adviser understood it."""

    def on_mount(self) -> None:
        """Begin with nothing."""
        self.border_title = "Understood so far"
        self._pairs: list[tuple[str, str]] = []
        self.show(None)

    def show(self, understood: Understood | None) -> None:
        """Show what was understood; None means a piece that nothing was said of."""
        self._pairs = taken_from(understood) if understood else []
        self._fill(self.content_size.width)

    def on_resize(self) -> None:
        """Break the lines anew."""
        self._fill(self.content_size.width)

    def _fill(self, width: int) -> None:
        lines, room = [Content()], width
        for name, value in self._pairs:
            pair = Content.assemble((name, "bold"), " ", value)
            if lines[-1] and pair.cell_length + len(_BETWEEN) > room:
                lines.append(Content())
                room = width
            lines[-1] = Content.assemble(lines[-1], _BETWEEN if lines[-1] else "", pair)
            room = width - lines[-1].cell_length
        self.update(Content("\n").join(lines) if self._pairs else _NOTHING_YET)
