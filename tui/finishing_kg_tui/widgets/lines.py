"""A plan line by line, with the findings beside the line that causes them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import TYPE_CHECKING

from textual.content import Content
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from finishing_kg_tui.plain import Called, in_plain_words, one_line
from finishing_kg_tui.planning import Sheet, in_words, piece_in_words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import FindingNote

MARKS = {"stop": "×", "caution": "▲", "note": "·"}
WORDS = {"stop": "Stop", "caution": "Caution", "note": "Note"}
_EDGES = 4  # columns beside the text of a row: padding and the scrollbar
_ROOMY = 24  # rows from which there is room for an empty one below each line
STYLES = {"stop": "$error", "caution": "$warning", "note": "$foreground"}


class PlanLines(OptionList):
    """The piece, then a row for each step; below each what was found in it, the worst first."""

    def __init__(self) -> None:
        super().__init__(id="lines", markup=False, compact=True)
        self._sheet, self._findings, self._old = Sheet(), [], False
        self._notes, self._called = False, in_plain_words

    _findings: Sequence[FindingNote]
    _called: Called

    def show(self, sheet: Sheet, findings: Sequence[FindingNote], place: int, called: Called, *, notes: bool, old: bool) -> None:
        """Show a plan.

        Args:
            sheet: the plan.
            findings: what was found in it.
            place: the line to stand on, 0 for the piece.
            called: what its things are called.
            notes: whether notes are told in full, or only counted.
            old: whether the findings are of the plan before the last change.
        """
        self._sheet, self._findings, self._notes, self._old, self._called = sheet, list(findings), notes, old, called
        self._fill(place)

    def on_resize(self) -> None:
        """Break the findings anew."""
        self._fill(self.highlighted or 0)

    def _fill(self, place: int) -> None:
        rows = [self._row(number) for number in range(len(self._sheet.steps) + 1)]
        self.set_options(Option(Content("\n").join(row)) for row in rows)
        self.highlighted = min(place, len(rows) - 1)

    def _row(self, place: int) -> list[Content]:
        name = "Piece" if place == 0 else f"{place:>2}"
        said = piece_in_words(self._sheet.piece, self._called) if place == 0 else in_words(self._sheet.steps[place - 1], self._called)
        found = [finding for finding in self._findings if (finding.step or 0) == place]
        room = [Content("")] if self.size.height >= _ROOMY else []
        return [*self._hung((f"{name:<5} ", "bold"), said), *self._told(found), *room]

    def _hung(self, head: tuple[str, str], text: str) -> list[Content]:
        """A head with the text beside it, whose further lines begin below its first word."""
        first, *others = wrap(text, max(20, self.size.width - _EDGES - len(head[0])), break_on_hyphens=False) or [""]
        return [Content.assemble(head, first), *(Content(" " * len(head[0]) + line) for line in others)]

    def _told(self, found: Sequence[FindingNote]) -> Iterator[Content]:
        told = [finding for finding in found if self._notes or finding.level != "note"]
        for finding in told:
            mark = "○" if self._old else MARKS[finding.level]
            style = "bold" if self._old else f"bold {STYLES[finding.level]}"
            yield from self._hung((f"      {mark} {WORDS[finding.level]}: ", style), one_line(finding.text))
            if finding.remedy:
                yield from self._hung(("        → ", ""), one_line(finding.remedy))
        if quiet := len(found) - len(told):
            yield Content(f"      · {quiet} note{'s' * (quiet > 1)}, shown with N")
