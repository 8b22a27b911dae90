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

    def show(self, rows: Sequence[tuple[str, ...]], place: int | None = None) -> None:
        """Show rows of a name, a value, and what stands dimmed beside it if anything does; the names as wide as the longest."""
        wide = max((len(row[0]) for row in rows), default=0)
        kept = self.highlighted if place is None else place
        self.set_options(Option(_shown(wide, *row)) for row in rows)
        self.highlighted = min(kept or 0, len(rows) - 1) if rows else None


def _shown(wide: int, name: str, value: str, aside: str = "") -> Content:
    # The chosen row has a colour of its own, on which dimmed letters could not be read; slanted ones can.
    return Content.assemble((f"{name:<{wide}}  ", "bold"), one_line(value), (f"  {one_line(aside)}", "italic") if aside else "")
