"""The conversation: one widget a turn, the maker's words and then the answer in its parts."""

from __future__ import annotations

from collections.abc import Iterable

from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from finishing_kg_tui.plain import clean
from finishing_kg_tui.telling import Part

KEPT_TURNS = 100
WELCOME = (
    "Say what the piece is and how it should end: the glass, how it was made, the form where the work is, "
    "the surface as it is now, and the finish. One line will do; what matters and was not said is asked for."
)


class Turn(Vertical):
    """One turn: what the maker said, and below it the answer once it is there."""

    def __init__(self, said: str) -> None:
        super().__init__(classes="turn")
        self._said = clean(said)

    def compose(self) -> ComposeResult:
        """The maker's words, and a line that holds the answer's place."""
        yield Static(Content.assemble(("› You: ", "bold"), self._said), classes="said", markup=False)
        yield Static("○ working …", classes="waiting", markup=False)

    def answered(self, parts: Iterable[Part]) -> None:
        """Put the answer where it was waited for."""
        self.query(".waiting").remove()
        shown = (Content.assemble((f"{part.mark} {part.word}", "bold"), "\n" if part.role == "answer" else ": ", part.text) for part in parts)
        self.mount_all(Static(text, classes=part.role, markup=False) for text, part in zip(shown, parts, strict=True))


class Conversation(VerticalScroll):
    """All turns. It stays at its end, and holds still when the reader scrolls up."""

    def compose(self) -> ComposeResult:
        """A word of welcome."""
        with Vertical(id="turns"):
            yield Static(WELCOME, id="welcome", markup=False)

    def on_mount(self) -> None:
        """Keep to the end as turns come."""
        self.border_title = "Conversation"
        self.anchor()

    def add(self, said: str) -> Turn:
        """Begin a turn; the oldest go when there are too many."""
        turns = self.query(Turn)
        for old in list(turns)[: max(0, len(turns) - KEPT_TURNS + 1)]:
            old.remove()
        turn = Turn(said)
        self.query_one("#turns").mount(turn)
        self.anchor()
        return turn

    def clear(self) -> None:
        """Forget all turns."""
        self.query(Turn).remove()
