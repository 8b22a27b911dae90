"""The one screen: conversation, what was understood, route, reasons, and the question line."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.events import DescendantFocus
from textual.reactive import reactive
from textual.screen import Screen
from textual.widgets import Footer, Input

from finishing_kg_tui import actions, themes
from finishing_kg_tui.dialogue import OpenDialogue
from finishing_kg_tui.piece import Piece
from finishing_kg_tui.screens.beside import RoomsBeside
from finishing_kg_tui.screens.help import HelpScreen
from finishing_kg_tui.telling import Part, as_text, parts_of
from finishing_kg_tui.widgets.adviser import Adviser
from finishing_kg_tui.widgets.conversation import Conversation, Turn
from finishing_kg_tui.widgets.question import QuestionLine
from finishing_kg_tui.widgets.reasons import ReasonsPanel
from finishing_kg_tui.widgets.route import RoutePanel
from finishing_kg_tui.widgets.taken import Taken

PANELS = {"talk": "#question", "route": "#steps", "reasons": "#proof"}
"""The panels in their order, and the part of each that takes the keyboard."""


class BenchScreen(RoomsBeside, Screen[None]):
    """Everything at once where there is room; below 100 columns one panel at a time."""

    COMMANDS = {actions.ActionProvider}  # noqa: RUF012 - the toolkit declares it so
    AUTO_FOCUS = "#question"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]  # noqa: RUF012 - the toolkit declares it so
    VERTICAL_BREAKPOINTS = [(0, "-low"), (36, "-high")]  # noqa: RUF012 - the toolkit declares it so
    BINDINGS: ClassVar[list[BindingType]] = [*actions.bindings(), ("pageup", "scroll_talk(-1)"), ("pagedown", "scroll_talk(1)")]

    panel = reactive("talk")

    def __init__(self, open_dialogue: OpenDialogue) -> None:
        super().__init__()
        self._open_dialogue = open_dialogue
        self._waiting: list[Turn] = []
        self.piece = Piece()

    def compose(self) -> ComposeResult:
        """Top line, the panels, the question line and the footer."""
        yield Adviser(self._open_dialogue)
        with Horizontal(id="room"):
            with Vertical(id="talk"):
                yield Conversation(id="conversation")
                yield Taken(classes="only-narrow")
            with Vertical(id="side"):
                yield Taken(classes="only-wide")
                yield RoutePanel()
                yield ReasonsPanel()
        yield QuestionLine()
        yield Footer(show_command_palette=False, compact=True)

    # What makes sense now

    def situation(self) -> set[actions.Need]:
        """What is there, in the words of the action table."""
        have = self.piece.situation()
        if self.query(Turn):
            have.add("a turn")
        if self.has_class("-wide"):
            have.add("room")
        return have

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """None (shown dim, does nothing) for an action of the table that makes no sense now."""
        found = actions.named(action)
        return None if found and found.needs not in self.situation() else super().check_action(action, parameters)

    # The conversation

    @on(Input.Submitted)
    def _submitted(self) -> None:
        if text := self.query_one(QuestionLine).take():
            self.ask(text)

    def ask(self, text: str) -> None:
        """Say something to the adviser."""
        self._waiting.append(self.query_one(Conversation).add(text))
        self.panel = "talk"
        self.query_one(Adviser).ask(text)
        self.refresh_bindings()

    @on(Adviser.Answered)
    def _answered(self, message: Adviser.Answered) -> None:
        self.piece.take(message.answer)
        if self._waiting:
            self._waiting.pop(0).answered(list(parts_of(message.answer)))
        for taken in self.query(Taken):
            taken.show(message.answer.understood)
        self._show_route()
        self.query_one(ReasonsPanel).root(self.piece.answer_root())
        self.refresh_bindings()

    @on(Adviser.Failed)
    def _failed(self, message: Adviser.Failed) -> None:
        if self._waiting:
            self._waiting.pop(0).answered([Part("failed", "×", "No answer", message.text)])
        else:
            self.notify(message.text, severity="error", markup=False)

    # Route and reasons

    def _show_route(self) -> None:
        self.query_one(RoutePanel).show(self.piece.route, f"{self.piece.place + 1} of {self.piece.count}")

    @on(RoutePanel.StepChosen)
    def _step_chosen(self, message: RoutePanel.StepChosen) -> None:
        self.query_one(ReasonsPanel).root(self.piece.step_root(message.number))
        self._go_to("reasons")

    # Actions of the table

    def action_help(self) -> None:
        """Open the help page."""
        self.app.push_screen(HelpScreen())

    def action_next_panel(self) -> None:
        """Go on to the next panel that has something to choose from."""
        order = list(PANELS)
        self._go_to(order[(order.index(self.panel) + 1) % len(order)])

    def _go_to(self, panel: str) -> None:
        if panel != "talk":
            self.remove_class("side-hidden")
        self.panel = panel
        self.call_after_refresh(self.query_one(PANELS[panel]).focus)

    @on(DescendantFocus)
    def _followed(self, event: DescendantFocus) -> None:
        """The panel in front is the one with the keyboard, so that it is the one that stays when the window shrinks."""
        for name, selector in PANELS.items():
            if event.widget in self.query(selector) and name != "talk":
                self.panel = name

    def watch_panel(self, panel: str) -> None:
        """Tell the style sheet which panel is in front."""
        for name in PANELS:
            self.set_class(name == panel, f"front-{name}")

    def action_question(self) -> None:
        """Back to the conversation and its question line."""
        self._go_to("talk")

    def action_next_route(self) -> None:
        """Show the next route, the first after the last."""
        self.piece.next_route()
        self._show_route()

    def action_why_step(self) -> None:
        """Ask why the chosen step is as it is."""
        self.ask(f"why step {self.query_one(RoutePanel).number}")

    def action_all_reasons(self) -> None:
        """Root the tree at everything there is."""
        self.query_one(ReasonsPanel).root(self.piece.everything())
        self._go_to("reasons")

    def action_copy_answer(self) -> None:
        """Put the last answer on the clipboard."""
        if self.piece.answer:
            self.app.copy_to_clipboard(as_text(self.piece.answer))
            self.notify("The answer is on the clipboard.", markup=False)

    def action_toggle_side(self) -> None:
        """Hide or show the panels beside the conversation."""
        self.action_question()
        self.toggle_class("side-hidden")

    def action_next_theme(self) -> None:
        """Change the colours."""
        self.app.theme = themes.after(self.app.theme).name

    def action_anew(self) -> None:
        """Begin with another piece."""
        self.piece = Piece()
        self._waiting.clear()
        self.query_one(Conversation).clear()
        for taken in self.query(Taken):
            taken.show(None)
        self._show_route()
        self.query_one(ReasonsPanel).root(None)
        self.query_one(Adviser).begin()
        self.action_question()
        self.refresh_bindings()

    def action_scroll_talk(self, pages: int) -> None:
        """Scroll the conversation by a page, up (-1) or down (1)."""
        talk = self.query_one(Conversation)
        (talk.scroll_page_up if pages < 0 else talk.scroll_page_down)(animate=False)
