"""The top line: it holds the dialogue, does the heavy work in threads and says what is going on."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import on, work
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widgets import Static

from finishing_kg_tui.dialogue import DialogueLike, OpenDialogue
from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer

_SIGNS = {"reading the knowledge …": "○", "working …": "○", "ready": "●", "not ready": "×"}


class Adviser(Static):
    """Title and state of the adviser. Questions wait in line; one is worked on at a time."""

    doing = reactive("reading the knowledge …")

    @dataclass
    class Answered(Message):
        """An answer to the question that was asked first of those that wait."""

        answer: Answer

    @dataclass
    class Failed(Message):
        """No answer came; ``text`` says what went wrong, in one line."""

        text: str

    @dataclass
    class _Opened(Message, bubble=False):
        dialogue: DialogueLike
        piece: int

    @dataclass
    class _Done(Message, bubble=False):
        outcome: Answer | str
        piece: int

    def __init__(self, open_dialogue: OpenDialogue) -> None:
        super().__init__(id="adviser")
        self._open_dialogue = open_dialogue
        self._dialogue: DialogueLike | None = None
        self._waiting: deque[str] = deque()
        self._busy = True  # a question that comes before the first picture waits for the loading that follows it
        # Counts the pieces begun: what a thread brings for an earlier piece is dropped.
        self._piece = 0

    def on_mount(self) -> None:
        """Load the knowledge once the first picture stands."""
        self.call_after_refresh(self._start_opening)

    def begin(self) -> None:
        """Open a dialogue that has heard nothing; what waited or was being worked on is forgotten."""
        self._piece += 1
        self._waiting.clear()
        self._dialogue = None
        self._start_opening()

    def ask(self, text: str) -> None:
        """Put a question in line. One that comes before the knowledge is loaded waits for it."""
        self._waiting.append(text)
        self._go_on()

    def render(self) -> Content:
        """The title at the left, sign and word of the state at the right."""
        title, state = f" {self.app.TITLE}", f"{_SIGNS[self.doing]} {self.doing} "
        gap = " " * max(1, self.size.width - len(title) - len(state))
        return Content.assemble((title, "bold"), gap, state)

    def _start_opening(self) -> None:
        self._busy, self.doing = True, "reading the knowledge …"
        self._open(self._piece)

    def _go_on(self) -> None:
        if self._busy or not self._waiting:
            return
        if self._dialogue is None:
            self._start_opening()
            return
        self._busy, self.doing = True, "working …"
        self._say(self._dialogue, self._waiting.popleft(), self._piece)

    @work(thread=True, exclusive=True, exit_on_error=False, group="adviser")
    def _open(self, piece: int) -> None:
        try:
            dialogue = self._open_dialogue()
        except Exception as error:
            self.post_message(self._Done(f"The knowledge could not be loaded. {_named(error)} Ask again to try again.", piece))
        else:
            self.post_message(self._Opened(dialogue, piece))

    @work(thread=True, exclusive=True, exit_on_error=False, group="adviser")
    def _say(self, dialogue: DialogueLike, text: str, piece: int) -> None:
        try:
            outcome: Answer | str = dialogue.say(text)
        except Exception as error:
            outcome = f"The answer could not be worked out. {_named(error)} Put it in other words; the up key brings it back."
        self.post_message(self._Done(outcome, piece))

    @on(_Opened)
    def _opened(self, message: _Opened) -> None:
        if message.piece == self._piece:
            self._dialogue, self._busy, self.doing = message.dialogue, False, "ready"
            self._go_on()

    @on(_Done)
    def _done(self, message: _Done) -> None:
        if message.piece != self._piece:
            return
        self._busy, self.doing = False, "ready" if self._dialogue else "not ready"
        if not isinstance(message.outcome, str):
            self.post_message(self.Answered(message.outcome))
        else:
            if self._dialogue is None and self._waiting:
                self._waiting.popleft()
            self.post_message(self.Failed(message.outcome))
        if self._dialogue:
            self._go_on()


def _named(error: Exception) -> str:
    said = one_line(str(error))
    return f"({type(error).__name__}: {said})" if said else f"({type(error).__name__})"
