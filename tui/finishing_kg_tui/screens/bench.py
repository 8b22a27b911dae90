"""The one screen: conversation, what was understood, route, reasons, and the question line."""

from __future__ import annotations

import gc
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.events import DescendantFocus
from textual.reactive import reactive
from textual.screen import Screen
from textual.widgets import Input

from finishing_kg_tui import actions, themes
from finishing_kg_tui.dialogue import OpenDialogue
from finishing_kg_tui.follow import Follows, FollowUp, Kind
from finishing_kg_tui.piece import Piece
from finishing_kg_tui.plain import called_by
from finishing_kg_tui.screens.beside import RoomsBeside
from finishing_kg_tui.screens.following import Following
from finishing_kg_tui.telling import Part, as_text, parts_of
from finishing_kg_tui.widgets.adviser import Adviser
from finishing_kg_tui.widgets.conversation import Conversation, Turn
from finishing_kg_tui.widgets.keys import Keys
from finishing_kg_tui.widgets.question import EXAMPLES, QuestionLine
from finishing_kg_tui.widgets.taken import Taken

if TYPE_CHECKING:
    from finishing_kg_tui.knots import Knot
    from finishing_kg_tui.widgets.route import RoutePanel

PANELS = {"talk": "#question", "route": "#steps", "reasons": "#proof"}
"""The panels in their order, and the part of each that takes the keyboard."""
WIDE = 100
"""The columns from which all panels stand beside each other."""


class BenchScreen(RoomsBeside, Screen[None]):
    """Everything at once where there is room; below 100 columns one panel at a time."""

    COMMANDS = {actions.ActionProvider}  # noqa: RUF012 - the toolkit declares it so
    AUTO_FOCUS = "#question"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (WIDE, "-wide")]  # noqa: RUF012 - the toolkit declares it so
    VERTICAL_BREAKPOINTS = [(0, "-low"), (36, "-high")]  # noqa: RUF012 - the toolkit declares it so
    BINDINGS: ClassVar[list[BindingType]] = [*actions.bindings(), ("pageup", "scroll_talk(-1)"), ("pagedown", "scroll_talk(1)")]

    panel = reactive("talk", init=False)

    def __init__(self, open_dialogue: OpenDialogue) -> None:
        super().__init__(classes="front-talk")
        self._open_dialogue = open_dialogue
        self._waiting: list[Turn] = []
        self._begins_wide = False
        self.piece = Piece()
        self.following = Following(self)

    def compose(self) -> ComposeResult:
        """Top line, the panels, the question line and the footer. Route and reasons come after the first picture."""
        self._begins_wide = self.app.size.width >= WIDE
        yield Adviser(self._open_dialogue)
        with Horizontal(id="room"):
            with Vertical(id="talk"):
                yield Conversation(id="conversation")
                if not self._begins_wide:
                    yield Taken(classes="only-narrow")
            with Vertical(id="side"):
                if self._begins_wide:
                    yield Taken(classes="only-wide")
        yield QuestionLine()
        yield Keys()

    def on_mount(self) -> None:
        """The rest comes once the first picture stands."""
        self.call_after_refresh(self._furnish)

    async def _furnish(self) -> None:
        if not gc.isenabled():  # as ``application`` leaves it
            gc.freeze()
            gc.enable()
        from finishing_kg_tui.widgets.reasons import ReasonsPanel
        from finishing_kg_tui.widgets.route import RoutePanel

        # What was understood stands in two places, of which one is seen; the other comes now.
        if self._begins_wide:
            await self.query_one("#talk").mount(Taken(classes="only-narrow"))
            await self.query_one("#side").mount_all([RoutePanel(), ReasonsPanel()])
        else:
            await self.query_one("#side").mount_all([Taken(classes="only-wide"), RoutePanel(), ReasonsPanel()])
        await self.query_one(Conversation).offer(EXAMPLES)
        self.query_one(Adviser).begin()

    # What makes sense now

    def is_there(self, need: actions.Need) -> bool:
        """Whether there is something, in the words of the action table; asked for each key whenever anything is done."""
        if need == "a turn":
            return bool(self.query(Turn))
        if need == "room":
            return self.has_class("-wide")
        if need == "knowledge":
            return bool(self.query_one(Adviser).knowledge)
        return need in self.piece.situation()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """None (shown dim, does nothing) for an action of the table that makes no sense now."""
        found = actions.named(action)
        return None if found and not self.is_there(found.needs) else super().check_action(action, parameters)

    # The conversation

    @on(Adviser.Ready)
    def _knowing(self, message: Adviser.Ready) -> None:
        self.query_one(QuestionLine).knows(message.knowledge.vocabulary)
        self.refresh_bindings()

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
    async def _answered(self, message: Adviser.Answered) -> None:
        self.piece.take(message.answer, message.shortened, message.chips)
        self.query_one(QuestionLine).invites(message.answer.kind)
        if self._waiting:
            turn = self._waiting.pop(0)
            await turn.answered(list(parts_of(message.answer, self.query_one(Conversation).told)))
            self.call_after_refresh(self.query_one(Conversation).read_from, turn)
        self._show_taken()
        self._show_route()
        self._root(self.piece.answer_root())
        self.refresh_bindings()

    @on(Adviser.Failed)
    async def _failed(self, message: Adviser.Failed) -> None:
        if self._waiting:
            await self._waiting.pop(0).answered([Part("failed", "×", "No answer", message.text)])
        else:
            self.notify(message.text, severity="error", markup=False)

    @on(FollowUp)
    def _followed_up(self, message: FollowUp) -> None:
        self.following.follow(message.kind, message.subject)

    @on(Conversation.Opened)
    def _opened(self, message: Conversation.Opened) -> None:
        self.following.open(message.part)

    @on(Taken.Change)
    def _changing(self, message: Taken.Change) -> None:
        self.following.change(message.chip)

    @on(Taken.TakeOut)
    def _taking_out(self, message: Taken.TakeOut) -> None:
        self.ask(message.chip.taking_out)

    # Route and reasons

    @property
    def _route_panel(self) -> RoutePanel:
        from finishing_kg_tui.widgets.route import RoutePanel

        return self.query_one(RoutePanel)

    def _show_taken(self) -> None:
        from finishing_kg_tui.chips import unsaid_chips

        for taken in self.query(Taken):
            taken.show(self.piece.chips or unsaid_chips())

    def _show_route(self) -> None:
        self.query_one(Conversation).leads_to("F2 goes to the route" if self.piece.count else "")
        called = called_by(self.query_one(Adviser).knowledge)
        self._route_panel.show(self.piece.route, f"{self.piece.place + 1} of {self.piece.count}", called, self.piece.if_so)

    def _root(self, knot: Knot | None) -> None:
        from finishing_kg_tui.widgets.reasons import ReasonsPanel

        self.query_one(ReasonsPanel).root(knot, self.piece.in_lines)

    def look_into(self, knot: Knot | None) -> None:
        """Root the reasons at a knot and go there."""
        self._root(knot)
        self._go_to("reasons")

    def on_route_panel_step_chosen(self) -> None:
        """The reasons of the chosen step."""
        self.look_into(self.piece.step_root(self._route_panel.number))

    # Actions of the table

    def action_help(self) -> None:
        """Open the help page."""
        from finishing_kg_tui.screens.help import HelpScreen

        self.app.push_screen(HelpScreen())

    def action_next_panel(self) -> None:
        """Go on to the next panel that has something to choose from."""
        order = list(PANELS)
        self._go_to(order[(order.index(self.panel) + 1) % len(order)])

    def _go_to(self, panel: str) -> None:
        if panel != "talk":
            self.remove_class("side-hidden")
        self.panel = panel
        # What is seen already takes the keyboard at once, so that the next key is its own; else it must be laid out first.
        if not self._focus_on(PANELS[panel]):
            self.call_after_refresh(self._focus_on, PANELS[panel])

    def _focus_on(self, selector: str) -> bool:
        seen = next((each for each in self.query(selector) if each.region.area), None)
        if seen is not None:
            seen.focus(scroll_visible=False)
        return seen is not None

    @on(DescendantFocus)
    def _followed(self, event: DescendantFocus) -> None:
        """The panel in front is the one with the keyboard, so that it is the one that stays when the window shrinks."""
        for name, selector in PANELS.items():
            if event.widget in self.query(selector) and name != "talk":
                self.panel = name

    def watch_panel(self, panel: str) -> None:
        """Tell the style sheet which panel is in front."""
        self.update_classes({f"front-{name}": name == panel for name in PANELS})

    async def action_question(self) -> None:
        """Give up what is being worked on, if anything is; else back to the conversation and its question line."""
        count = self.query_one(Adviser).give_up()
        given_up, self._waiting = self._waiting[:count], self._waiting[count:]
        for turn in given_up:
            await turn.answered([Part("failed", "×", "Given up", "The piece is as it was. The up key brings the question back.")])
        self._go_to("talk")

    def action_next_route(self) -> None:
        """Show the next route, the first after the last."""
        self.piece.next_route()
        self._show_route()

    def action_why_step(self) -> None:
        """Ask why the chosen step is as it is."""
        self.following.why_step(self._route_panel.number)

    def action_all_reasons(self) -> None:
        """Root the tree at everything there is."""
        self.look_into(self.piece.everything())

    def action_copy_answer(self) -> None:
        """Put the last answer on the clipboard."""
        if self.piece.answer:
            self.app.copy_to_clipboard(as_text(self.piece.answer))
            self.notify("The answer is on the clipboard.", markup=False)

    def action_chips(self) -> None:
        """Give the keyboard to what was understood."""
        self.panel = "talk" if self.has_class("-narrow") else self.panel
        self.call_after_refresh(self._focus_on, "Taken")

    def action_paragraphs(self) -> None:
        """Give the keyboard to the conversation."""
        self.panel = "talk" if self.has_class("-narrow") else self.panel
        self.call_after_refresh(self._focus_on, "#conversation")

    def action_why_not(self) -> None:
        """Why not something else than what has the keyboard."""
        self._ask_about("why_not")

    def action_what_if(self) -> None:
        """What if something about what has the keyboard were different."""
        self._ask_about("what_if")

    def action_around(self) -> None:
        """What is known around what has the keyboard."""
        self._ask_about("around")

    def _ask_about(self, kind: Kind) -> None:
        """A follow-up about whatever has the keyboard; with nothing chosen, about the piece."""
        focused = self.focused
        self.following.follow(kind, focused.follow_subject() if isinstance(focused, Follows) else None)

    def action_ladder(self) -> None:
        """Show the ladder of the route."""
        self.following.ladder()

    def action_toggle_side(self) -> None:
        """Hide or show the panels beside the conversation."""
        self._go_to("talk")
        self.toggle_class("side-hidden")

    def action_next_theme(self) -> None:
        """Change the colours."""
        self.app.theme = themes.after(self.app.theme).name

    def action_anew(self) -> None:
        """Begin with another piece."""
        self.piece = Piece()
        self._waiting.clear()
        self.query_one(QuestionLine).invites("")
        self.query_one(Conversation).clear()
        self._show_taken()
        self._show_route()
        self._root(None)
        self.query_one(Adviser).begin_anew()
        self._go_to("talk")
        self.refresh_bindings()

    def action_scroll_talk(self, pages: int) -> None:
        """Scroll the conversation by a page, up (-1) or down (1)."""
        talk = self.query_one(Conversation)
        (talk.scroll_page_up if pages < 0 else talk.scroll_page_down)(animate=False)
