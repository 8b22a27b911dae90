"""What was understood so far, as chips that can be changed or taken out, by key and by mouse."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual.binding import Binding, BindingType
from textual.content import Content
from textual.events import Blur, Click, Focus
from textual.message import Message
from textual.widgets import Static

from finishing_kg_tui.chips import NOT_SAID, Chip, unsaid_chips
from finishing_kg_tui.follow import Follows, Subject, follow_bindings

_BETWEEN = 2
_WAY_IN = "Ctrl+G change"
_CHANGES = " ▾"  # beside what can be changed, so that it does not rest on colour


class Taken(Follows, Static, can_focus=True):
    """The piece as the adviser understood it. Left and right choose a chip, Enter changes it, Delete takes it out."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left,up", "move(-1)", "Chip before", show=False),
        Binding("right,down", "move(1)", "Next chip", show=False),
        Binding("enter,space", "change", "Change", show=False),
        Binding("delete,backspace", "take_out", "Take out", show=False),
        *follow_bindings(),
    ]

    @dataclass
    class Change(Message):
        """Another value is wanted for a chip."""

        chip: Chip

    @dataclass
    class TakeOut(Message):
        """A chip is to go."""

        chip: Chip

    def on_mount(self) -> None:
        """Begin with nothing."""
        self.border_title, self.border_subtitle = "Understood so far", _WAY_IN
        self._places: list[tuple[int, int, int]] = []  # line, first column and the column after, of each chip
        self.chosen = 0
        self.show(unsaid_chips())

    def show(self, chips: list[Chip]) -> None:
        """Show what was understood."""
        self.chips = chips
        self.chosen = min(self.chosen, max(0, len(chips) - 1))
        self._fill()

    def on_resize(self) -> None:
        """Break the lines anew."""
        self._fill()

    @property
    def chip(self) -> Chip | None:
        """The chosen chip."""
        return self.chips[self.chosen] if self.chips else None

    def follow_subject(self) -> Subject | None:
        """The chosen chip as what a follow-up is about."""
        chip = self.chip
        return Subject(text=chip.statement or chip.name, part=chip.part, thing=chip.thing) if chip else None

    def action_move(self, by: int) -> None:
        """Go to another chip, round and round."""
        self.chosen = (self.chosen + by) % max(1, len(self.chips))
        self._fill()

    def action_change(self) -> None:
        """Ask for another value of the chosen chip."""
        if self.chip and self.chip.can_change:
            self.post_message(self.Change(self.chip))

    def action_take_out(self) -> None:
        """Take the chosen chip out."""
        if self.chip and self.chip.can_go:
            self.post_message(self.TakeOut(self.chip))

    def on_click(self, event: Click) -> None:
        """A click on a chip chooses it and opens what else it could be."""
        at = event.get_content_offset(self)
        if at is None:
            return
        for number, (line, first, after) in enumerate(self._places):
            if line == at.y and first <= at.x < after:
                self.chosen = number
                self._fill()
                self.action_change()

    def _on_focus(self, event: Focus) -> None:
        super()._on_focus(event)
        self.border_subtitle = "enter change · delete take out · i what if · a around"
        self._fill()

    def _on_blur(self, event: Blur) -> None:
        super()._on_blur(event)
        self.border_subtitle = _WAY_IN
        self._fill()

    def _fill(self) -> None:
        lines, column = [Content()], 0
        width, self._places = self.content_size.width, []
        for number, chip in enumerate(self.chips):
            shown = _shown(chip, chosen=number == self.chosen and self.has_focus)
            if column and column + _BETWEEN + shown.cell_length > width:
                lines.append(Content())
                column = 0
            gap = _BETWEEN if column else 0
            lines[-1] = Content.assemble(lines[-1], " " * gap, shown)
            self._places.append((len(lines) - 1, column + gap, column + gap + shown.cell_length))
            column += gap + shown.cell_length
        self.update(Content("\n").join(lines))


def _shown(chip: Chip, *, chosen: bool) -> Content:
    quiet = "" if chip.value != NOT_SAID else "$quiet"
    sign = _CHANGES if chip.can_change else ""
    text = Content.assemble((f"{chip.name} ", "$quiet"), (chip.value, quiet or "bold"), (sign, "$quiet"))
    return Content.assemble((text.plain, "reverse")) if chosen else text
