"""The top line: it holds the dialogue, does the heavy work in threads and says what is going on."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING

from textual import on, work
from textual.content import Content
from textual.message import Message
from textual.reactive import reactive
from textual.widgets import Static

from finishing_kg_tui.dialogue import DialogueLike, OpenDialogue
from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from textual.timer import Timer

    from finishing_kg.advice.contract import Answer
    from finishing_kg.engine import Knowledge
    from finishing_kg_tui.chips import Chip
    from finishing_kg_tui.dialogue import Shortened

_READING, _WORKING, _READY, _NOT_READY, _LETTING_GO = "reading the knowledge …", "working …", "ready", "not ready", "letting go …"
_SIGNS = {_READY: "●", _NOT_READY: "×"}
_TURNING = "◐◓◑◒"
TOLD_AFTER = 0.3
"""Seconds after which work shows how long it has taken."""


class Adviser(Static):
    """Title and state of the adviser. Questions wait in line; one is worked on at a time."""

    doing = reactive(_READING)

    @dataclass
    class Ready(Message):
        """The knowledge is there."""

        knowledge: Knowledge

    @dataclass
    class Answered(Message):
        """An answer to the question that was asked first of those that wait, how its reasons are shortened, and what was understood."""

        answer: Answer
        shortened: Shortened
        chips: list[Chip]

    @dataclass
    class Failed(Message):
        """No answer came; ``text`` says what went wrong, in one line."""

        text: str

    @dataclass
    class _Opened(Message, bubble=False):
        dialogue: DialogueLike
        task: int

    @dataclass
    class _Done(Message, bubble=False):
        outcome: Adviser.Answered | str
        dialogue: DialogueLike | None
        task: int

    def __init__(self, open_dialogue: OpenDialogue) -> None:
        super().__init__(id="adviser")
        self._open_dialogue = open_dialogue
        self._dialogue: DialogueLike | None = None
        self._waiting: deque[str] = deque()
        self._busy = True  # a question that comes before the first picture waits for the loading that follows it
        # The number of the work whose outcome is wanted; what a thread brings of any other is dropped.
        self._work_number = 0
        self._in_hand = False  # a question is being worked on
        self._since = 0.0
        self._clock: Timer | None = None

    def on_mount(self) -> None:
        """Prepare the clock; the knowledge is loaded when the screen says so."""
        self._clock = self.set_interval(0.1, self.refresh, pause=True)

    @property
    def knowledge(self) -> Knowledge | None:
        """Ontology and rules, once they are there."""
        return self._dialogue.knowledge if self._dialogue else None

    @property
    def can_give_up(self) -> bool:
        """Whether a question is being worked on or waits."""
        return self._in_hand or bool(self._waiting)

    def begin(self) -> None:
        """Open a dialogue that has heard nothing; what was asked before, while the screen was still being put together, waits for it."""
        self._dialogue, self._in_hand = None, False
        self._start_opening()

    def begin_anew(self) -> None:
        """The same, with what waited or was being worked on forgotten."""
        self._waiting.clear()
        self.begin()

    def ask(self, text: str) -> None:
        """Put a question in line. One that comes before the knowledge is loaded waits for it."""
        self._waiting.append(text)
        self._go_on()

    def give_up(self) -> int:
        """Give up the question in hand and all that wait; the piece stays as it was.

        Returns:
            How many questions get no answer.
        """
        count = len(self._waiting) + self._in_hand
        self._waiting.clear()
        if self._in_hand:
            # The thread cannot be ended, but it works on a dialogue of its own, which is dropped with what it brings.
            self._work_number += 1
            self._in_hand = False
            self.doing = _LETTING_GO
        return count

    def render(self) -> Content:
        """The title at the left, sign and word of the state at the right."""
        taken = monotonic() - self._since
        long = self._busy and taken >= TOLD_AFTER
        sign = _SIGNS.get(self.doing) or (_TURNING[int(taken * 5) % len(_TURNING)] if long else "○")
        told = f" {taken:.1f} s" + (" · Escape gives up" if self._in_hand else "") if long else ""
        title, state = f" {self.app.TITLE}", f"{sign} {self.doing}{told} "
        gap = " " * max(1, self.size.width - len(title) - len(state))
        return Content.assemble((title, "bold"), gap, state)

    def _work_on(self, doing: str) -> int:
        self._busy, self.doing, self._since = True, doing, monotonic()
        self._work_number += 1
        if self._clock:
            self._clock.resume()
        return self._work_number

    def _rest(self) -> None:
        self._busy = self._in_hand = False
        self.doing = _READY if self._dialogue else _NOT_READY
        if self._clock:
            self._clock.pause()

    def _start_opening(self) -> None:
        self._open(self._work_on(_READING))

    def _go_on(self) -> None:
        if self._busy or not self._waiting:
            return
        if self._dialogue is None:
            self._start_opening()
            return
        self._in_hand = True
        self._say(self._dialogue.fork(), self._waiting.popleft(), self._work_on(_WORKING))

    @work(thread=True, exit_on_error=False, group="adviser")
    def _open(self, task: int) -> None:
        try:
            dialogue = self._open_dialogue()
        except Exception as error:
            self.post_message(self._Done(f"The knowledge could not be loaded. {_named(error)} Ask again to try again.", None, task))
        else:
            self.post_message(self._Opened(dialogue, task))

    @work(thread=True, exit_on_error=False, group="adviser")
    def _say(self, dialogue: DialogueLike, text: str, task: int) -> None:
        from finishing_kg_tui.chips import chips_of

        try:
            answer = dialogue.say(text)
            outcome: Adviser.Answered | str = self.Answered(answer, dialogue.shortened(), chips_of(answer.understood, dialogue.knowledge))
        except Exception as error:
            outcome = f"The answer could not be worked out. {_named(error)} Put it in other words; the up key brings it back."
        self.post_message(self._Done(outcome, dialogue, task))

    @on(_Opened)
    def _opened(self, message: _Opened) -> None:
        if message.task == self._work_number:
            self._dialogue = message.dialogue
            self._rest()
            self.post_message(self.Ready(message.dialogue.knowledge))
            self._go_on()

    @on(_Done)
    def _done(self, message: _Done) -> None:
        if message.task != self._work_number:
            if self.doing == _LETTING_GO:
                self._rest()
                self._go_on()
            return
        if isinstance(message.outcome, str):
            if self._dialogue is None and self._waiting:
                self._waiting.popleft()
            self.post_message(self.Failed(message.outcome))
        else:
            self._dialogue = message.dialogue
            self.post_message(message.outcome)
        self._rest()
        if self._dialogue:
            self._go_on()


def _named(error: Exception) -> str:
    said = one_line(str(error))
    return f"({type(error).__name__}: {said})" if said else f"({type(error).__name__})"
