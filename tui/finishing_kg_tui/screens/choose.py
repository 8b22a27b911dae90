"""One thing chosen from many, or written where it cannot be listed: opened wherever a form or a plan wants a value."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import ClassVar, NamedTuple

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from finishing_kg_tui.plain import clean, one_line

_LONGEST = 600
MOST_SHOWN = 200
"""Entries of a list; whoever wants others types more."""


class Choice(NamedTuple):
    """One thing that can be chosen: what is handed back, how it is shown, and a word on it."""

    value: str
    label: str
    note: str = ""


Refusal = Callable[[str], str]
"""Tells why a written text will not do; an empty text where it will."""


class NarrowingScreen(ModalScreen[str | None]):
    """A line that keeps the keyboard, and below it a list that what is typed narrows. Hands back a text, or None if it was left."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "dismiss(None)", "Leave", show=False),
        Binding("up", "move(-1)", "Up", show=False),
        Binding("down", "move(1)", "Down", show=False),
        Binding("pageup", "move(-8)", "Page up", show=False),
        Binding("pagedown", "move(8)", "Page down", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._shown: list[Choice] = []

    def _list(self, shown: list[Choice]) -> None:
        """Show these, the first of them chosen."""
        self._shown = shown
        listed = self.query_one(OptionList)
        listed.set_options(Option(Content(one_line(choice.label) or "—")) for choice in shown)
        listed.highlighted = 0 if shown else None
        listed.display = bool(shown)
        self._tell()

    def _chosen(self) -> Choice | None:
        place = self.query_one(OptionList).highlighted
        return self._shown[place] if place is not None and place < len(self._shown) else None

    def _tell(self) -> None:
        """Say a word on the chosen, or on why there is none."""
        raise NotImplementedError

    def _take(self, choice: Choice) -> None:
        """Go on with what was chosen."""
        raise NotImplementedError

    @on(Input.Submitted)
    def _entered(self, event: Input.Submitted) -> None:
        event.stop()
        if choice := self._chosen():
            self._take(choice)

    @on(OptionList.OptionSelected)
    def _clicked(self, event: OptionList.OptionSelected) -> None:
        event.stop()
        if event.option_index < len(self._shown):
            self._take(self._shown[event.option_index])

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._tell()

    def action_move(self, by: int) -> None:
        """Go through the list while the line keeps the keyboard."""
        listed = self.query_one(OptionList)
        if self._shown:
            listed.highlighted = min(max((listed.highlighted or 0) + by, 0), len(self._shown) - 1)


class ChooseScreen(NarrowingScreen):
    """Type to narrow down, up and down to go through, Enter to take. Hands back a value, an empty text for nothing, or None if it was left."""

    CSS_PATH = "choose.tcss"
    AUTO_FOCUS = "#choose-line"

    def __init__(
        self, title: str, choices: Sequence[Choice], *, written: Refusal | None = None, now: str = "", none: str = "", hint: str = ""
    ) -> None:
        """Make it.

        Args:
            title: what is chosen.
            choices: what there is, the likeliest first.
            written: what else may be written is tried with it; without it only the choices may be taken.
            now: the value as it is.
            none: the words for taking nothing; empty where something must be taken.
            hint: a word on what is wanted.
        """
        super().__init__()
        self._title, self._written, self._now, self._hint = title, written, now, hint
        self._choices = [*choices, *([Choice("", none)] if none else [])]

    def compose(self) -> ComposeResult:
        """The line to type in, what there is, and a word on the chosen."""
        with Vertical(id="choose") as box:
            box.border_title = Content(one_line(self._title))
            box.border_subtitle = "Enter takes it, Escape leaves"
            text = self._now if not any(choice.value == self._now for choice in self._choices) else ""
            yield Input(text, id="choose-line", max_length=_LONGEST, select_on_focus=False, compact=True, placeholder=self._placeholder())
            yield OptionList(id="choices", markup=False, compact=True)
            yield Static("", id="choose-word", markup=False)

    def _placeholder(self) -> str:
        return "write it here" if not self._choices else "type to find" + (", or write another" if self._written else "")

    def on_mount(self) -> None:
        """Show everything, the value as it is chosen."""
        self._fill(self.query_one(Input).value)
        place = next((place for place, choice in enumerate(self._shown) if choice.value == self._now), 0)
        if self._shown:
            self.query_one(OptionList).highlighted = place

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self._fill(event.value)

    def _fill(self, typed: str) -> None:
        text = typed.strip()
        shown = narrowed(self._choices, text)[:MOST_SHOWN]
        self._refused = self._written(text) if self._written and text else ""
        if self._written and text and not self._refused and not any(text == choice.label for choice in shown):
            exact = bool(shown) and shown[0].label.casefold() == text.casefold()
            shown.insert(1 if exact else 0, Choice(text, f"“{text}”", self._hint or "as written"))
        self._list(shown)

    def _tell(self) -> None:
        choice = self._chosen()
        if choice is not None:
            said = choice.note or self._hint
        else:
            said = f"× {self._refused}" if self._refused else "× Nothing here is called that." if self._choices else self._hint
        self.query_one("#choose-word", Static).update(Content(clean(said)))

    def _take(self, choice: Choice) -> None:
        self.dismiss(choice.value)


def narrowed(choices: Sequence[Choice], typed: str) -> list[Choice]:
    """The choices that a text can mean: those that begin with it, then those with a word that does, then those that hold it."""
    text = typed.casefold()
    if not text:
        return list(choices)
    begins = [choice for choice in choices if choice.label.casefold().startswith(text)]
    word = [choice for choice in choices if f" {text}" in choice.label.casefold().replace("-", " ")]
    holds = [choice for choice in choices if text in choice.label.casefold() or text in choice.value.casefold()]
    return list(dict.fromkeys([*begins, *word, *holds]))
