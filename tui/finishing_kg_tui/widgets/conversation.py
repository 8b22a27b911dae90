"""The conversation: one widget a turn, the maker's words and then the answer in its parts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Blur, Click, Focus
from textual.message import Message
from textual.widgets import Static

from finishing_kg_tui.follow import Follows, Subject, follow_bindings, keys_line
from finishing_kg_tui.plain import clean
from finishing_kg_tui.telling import Part

KEPT_TURNS = 100
WELCOME = (
    "Say what the piece is and how it should end: the glass, how it was made, the form where the work is, "
    "the surface as it is now, and the finish. One line will do; what matters and was not said is asked for."
)
_MORE = "Ctrl+B chooses one of these. F1 shows every key, F9 checks a plan, F10 opens the studio's own room."


# The colour of the word that names a paragraph; its text is as all text is.
_HEADS = {"caution": "$warning", "finding-caution": "$warning", "finding-stop": "$error", "failed": "$error", "question": "$accent"}


_ENTER = {
    "choices": "Enter here chooses one of them.",
    "turn": "Enter here goes on with it.",
    "rule": "Enter here opens its form, to look at what it changes and to save it.",
}


class Paragraph(Static):
    """One part of an answer, or the maker's words."""

    @dataclass
    class Clicked(Message):
        """A paragraph was clicked."""

        paragraph: Paragraph

    def __init__(self, text: Content, part: Part | None = None, classes: str = "") -> None:
        super().__init__(text, classes=f"paragraph {classes}", markup=False)
        self.part = part

    def on_click(self, event: Click) -> None:
        """Choose this paragraph."""
        event.stop()
        self.post_message(self.Clicked(self))


class Turn(Vertical):
    """One turn: what the maker said, and below it the answer once it is there."""

    def __init__(self, said: str) -> None:
        super().__init__(classes="turn")
        self._said = clean(said)

    def compose(self) -> ComposeResult:
        """The maker's words, and a line that holds the answer's place."""
        yield Paragraph(Content.assemble(("› You: ", "bold"), self._said), Part("said", "›", "You", self._said, Subject(text=self._said)), "said")
        yield Static("○ working …", classes="waiting", markup=False)

    async def answered(self, parts: Iterable[Part]) -> None:
        """Put the answer where it was waited for."""
        await self.query(".waiting").remove()
        await self.mount_all(Paragraph(_shown(part), part, part.role) for part in parts)


def _shown(part: Part) -> Content:
    more = (f"\n{_ENTER[kind]}", "italic") if (kind := _opening(part)) else ""
    style = f"bold {_HEADS[part.role]}" if part.role in _HEADS else "bold"
    return Content.assemble((f"{part.mark} {part.word}", style), "\n" if part.role == "answer" else ": ", part.text, more)


def _opening(part: Part) -> str:
    """What entering a paragraph opens, where that has to be told."""
    return "choices" if part.choices else "turn" if part.turn else "rule" if part.rule else ""


class Conversation(Follows, VerticalScroll):
    """All turns. It stays at its end, and holds still when the reader scrolls up. Up and down choose a paragraph."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "choose(-1)", "Paragraph before", show=False),
        Binding("down", "choose(1)", "Next paragraph", show=False),
        Binding("enter", "open", "Open", show=False),
        *follow_bindings(),
    ]

    @dataclass
    class Opened(Message):
        """A paragraph was entered: its reasons are wanted, or what may be answered to it."""

        part: Part

    chosen: Paragraph | None = None
    _leads_to = ""

    def compose(self) -> ComposeResult:
        """A word of welcome."""
        with Vertical(id="turns"):
            yield Static(WELCOME, id="welcome", markup=False)

    def on_mount(self) -> None:
        """Keep to the end as turns come."""
        self.border_title = "Conversation"
        self.anchor()

    async def offer(self, examples: Iterable[str]) -> None:
        """Show questions that can be asked by entering them, for as long as nothing was asked."""
        lines = [Paragraph(Content(f"› {text}"), Part("example", "›", "Example", text, turn=text), "example") for text in examples]
        await self.mount_all([*lines, Static(_MORE, id="more-ways", markup=False)], after="#welcome")

    @property
    def told(self) -> frozenset[str]:
        """The ids of the cautions and hints that stand here in full."""
        return frozenset(paragraph.part.note for paragraph in self.query(Paragraph) if paragraph.part and paragraph.part.note)

    def leads_to(self, where: str) -> None:
        """Say on the edge where to go from here, while the keyboard is elsewhere."""
        self._leads_to = where
        if not self.has_focus:
            self.border_subtitle = where

    def add(self, said: str) -> Turn:
        """Begin a turn; the oldest go when there are too many."""
        self._choose(None)
        self.add_class("begun")
        turns = self.query(Turn)
        for old in list(turns)[: max(0, len(turns) - KEPT_TURNS + 1)]:
            old.remove()
        turn = Turn(said)
        self.query_one("#turns").mount(turn)
        self.anchor()
        return turn

    def read_from(self, turn: Turn) -> None:
        """Show a turn from its beginning where it is too long to be seen whole."""
        if turn.outer_size.height > self.size.height:
            self.anchor(False)
            self.scroll_to_widget(turn, top=True, animate=False)

    def clear(self) -> None:
        """Forget all turns."""
        self._choose(None)
        self.remove_class("begun")
        self.query(Turn).remove()

    def follow_subject(self) -> Subject | None:
        """The chosen paragraph as what a follow-up is about."""
        return self.chosen.part.subject if self.chosen and self.chosen.part else None

    def action_choose(self, by: int) -> None:
        """Choose the paragraph before or after; at first the beginning of the last answer."""
        paragraphs = [each for each in self.query(Paragraph) if each.display]
        if not paragraphs:
            return
        if self.chosen in paragraphs:
            self._choose(paragraphs[min(max(paragraphs.index(self.chosen) + by, 0), len(paragraphs) - 1)])
        else:
            answers = [each for each in paragraphs if each.has_class("answer")]
            self._choose(answers[-1] if answers else paragraphs[0] if not self.has_class("begun") else paragraphs[-1])

    def action_open(self) -> None:
        """Open the chosen paragraph."""
        if self.chosen and self.chosen.part:
            self.post_message(self.Opened(self.chosen.part))

    def _choose(self, paragraph: Paragraph | None) -> None:
        if self.chosen:
            self.chosen.remove_class("chosen")
        self.chosen = paragraph
        if paragraph:
            paragraph.add_class("chosen")
            paragraph.scroll_visible(animate=False)

    @on(Paragraph.Clicked)
    def _clicked(self, message: Paragraph.Clicked) -> None:
        message.stop()
        again = self.chosen is message.paragraph
        self._choose(message.paragraph)
        part = message.paragraph.part
        if again or (part and _opening(part)):
            self.action_open()

    def _on_focus(self, event: Focus) -> None:
        super()._on_focus(event)
        self.border_subtitle = keys_line("why", "why_not", "what_if", "around")
        if self.chosen is None:
            self.action_choose(0)

    def _on_blur(self, event: Blur) -> None:
        super()._on_blur(event)
        self.border_subtitle = self._leads_to
        self._choose(None)
