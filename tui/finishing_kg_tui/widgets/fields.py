"""Names and values below each other, to be gone through with the arrow keys: the parts of a plan's line, the fields of a form."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from finishing_kg_tui.plain import one_line


class Fields(OptionList):
    """One field a row. Enter on a row wants to change it."""

    def __init__(self, *, id: str) -> None:
        super().__init__(id=id, markup=False, compact=True)

    def show(self, rows: Sequence[tuple[str, str]], place: int | None = None) -> None:
        """Show rows of a name and a value, the names as wide as the longest."""
        wide = max((len(name) for name, _ in rows), default=0)
        kept = self.highlighted if place is None else place
        self.set_options(Option(Content.assemble((f"{name:<{wide}}  ", "bold"), one_line(value))) for name, value in rows)
        self.highlighted = min(kept or 0, len(rows) - 1) if rows else None
