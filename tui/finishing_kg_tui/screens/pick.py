"""Choose one of many: a list that narrows as one types."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from finishing_kg_tui.plain import one_line


@dataclass(frozen=True)
class Choice:
    """One thing to choose.

    Attributes:
        says: What choosing it gives back.
        label: What it is called.
        note: One sentence on it.
        now: Whether it is what stands at present.
    """

    says: str
    label: str
    note: str = ""
    now: bool = False


class PickScreen(ModalScreen[str | None]):
    """Gives back what the chosen line says, or None."""

    CSS_PATH = "pick.tcss"
    AUTO_FOCUS = "#narrow"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave", show=False),
        Binding("down", "move('cursor_down')", "Down", show=False, priority=True),
        Binding("up", "move('cursor_up')", "Up", show=False, priority=True),
        Binding("pagedown", "move('page_down')", "Page down", show=False, priority=True),
        Binding("pageup", "move('page_up')", "Page up", show=False, priority=True),
    ]

    def __init__(self, title: str, choices: list[Choice]) -> None:
        """Make the list.

        Args:
            title: What is chosen, in a few words.
            choices: Everything that can be chosen; where one stands at present it is chosen at first.
        """
        super().__init__()
        self._title, self._choices = title, choices
        self._shown: list[Choice] = []

    def compose(self) -> ComposeResult:
        """What to type, the list, and the note of the chosen line."""
        with Vertical(id="pick") as box:
            box.border_title = Content(one_line(self._title))
            box.border_subtitle = "enter choose · escape leave"
            yield Input(placeholder="type to narrow the list", id="narrow", max_length=80)
            yield OptionList(id="choices", markup=False)
            yield Static("", id="pick-note", markup=False)

    def on_mount(self) -> None:
        """Show all, at what stands now."""
        self._fill("")
        now = next((place for place, choice in enumerate(self._shown) if choice.now), 0)
        if self._shown:
            self.query_one(OptionList).highlighted = now

    def _fill(self, typed: str) -> None:
        wanted = typed.casefold().split()
        self._shown = [each for each in self._choices if all(word in f"{each.label} {each.note}".casefold() for word in wanted)]
        # What has the words in its own name comes before what only speaks of them.
        self._shown.sort(key=lambda each: not all(word in each.label.casefold() for word in wanted))
        listed = self.query_one(OptionList)
        listed.clear_options()
        listed.add_options(
            [Option(Content(f"{'●' if each.now else ' '} {one_line(each.label)}{'  (now)' if each.now else ''}")) for each in self._shown]
        )
        listed.highlighted = 0 if self._shown else None
        if not self._shown:
            self.query_one("#pick-note", Static).update(Content("Nothing has these words. Take some away."))

    @on(Input.Changed, "#narrow")
    def _narrowed(self, event: Input.Changed) -> None:
        self._fill(event.value)

    @on(OptionList.OptionHighlighted)
    def _looked_at(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_index < len(self._shown):
            self.query_one("#pick-note", Static).update(Content(one_line(self._shown[event.option_index].note)))

    @on(OptionList.OptionSelected)
    def _clicked(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self._shown[event.option_index].says)

    @on(Input.Submitted)
    def _entered(self) -> None:
        place = self.query_one(OptionList).highlighted
        if place is not None:
            self.dismiss(self._shown[place].says)

    def action_move(self, how: str) -> None:
        """Move in the list while the line keeps the keyboard."""
        getattr(self.query_one(OptionList), f"action_{how}")()

    def action_leave(self) -> None:
        """Choose nothing."""
        self.dismiss(None)
