"""The question line: begun words go on, and what was asked before is on the up and down keys."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.events import Paste
from textual.suggester import Suggester
from textual.widgets import Input

from finishing_kg_tui.follow import Follows, Subject
from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from finishing_kg.vocabulary import Vocabulary

EXAMPLE = "for example: kiln-cast lens in lead crystal, ground with F320, to polish"
EXAMPLES = (
    "relief cast panel in studio soda-lime glass, straight from the mould, to pre-polish",
    "orange peel on lead crystal after the felt wheel",
    "can I grind the edge of float glass dry on a belt?",
)
"""Questions of each kind, to be chosen by whoever does not know yet what can be asked: for a way, about a fault, about something in mind."""
INVITATIONS = {
    "route": "go on: why step 1 · why not a felt wheel · what if it were float glass",
    "question": "answer what is asked, or say: I don't know",
}
"""What stands in the empty line after an answer of a kind; after other kinds what stood there before."""
LONGEST = 2000


class OntologyWords(Suggester):
    """Goes on with the begun words as the ontology has them."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        super().__init__(case_sensitive=True)
        self._vocabulary = vocabulary

    async def get_suggestion(self, value: str) -> str | None:
        """The whole line with its last words gone on with."""
        from finishing_kg.chat.named import completed

        return completed(self._vocabulary, value)


class QuestionLine(Follows, Input):
    """One line of free text. Enter asks it; right at the end takes the completion."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "earlier(-1)", "Earlier question", show=False),
        Binding("down", "earlier(1)", "Later question", show=False),
    ]

    def __init__(self) -> None:
        super().__init__(placeholder=EXAMPLE, id="question", max_length=LONGEST, select_on_focus=False)
        self._asked: list[str] = []
        self._place = 0

    def knows(self, vocabulary: Vocabulary) -> None:
        """From now on begun words go on."""
        self.suggester = OntologyWords(vocabulary)

    def invites(self, kind: str) -> None:
        """Say in the empty line what may come next, after an answer of this kind; an empty kind stands for no answer yet."""
        self.placeholder = INVITATIONS.get(kind, self.placeholder) if kind else EXAMPLE

    def follow_subject(self) -> Subject | None:
        """The words that are being written."""
        return Subject(text=self.value) if self.value.strip() else None

    def take(self) -> str:
        """Hand over what is written, remember it and empty the line."""
        text = self.value.strip()
        if text and (not self._asked or self._asked[-1] != text):
            self._asked.append(text)
        self._place = len(self._asked)
        self.clear()
        return text

    def action_earlier(self, by: int) -> None:
        """Show the question asked before the one shown (-1) or after it (1)."""
        self._place = min(max(self._place + by, 0), len(self._asked))
        self.value = self._asked[self._place] if self._place < len(self._asked) else ""
        self.cursor_position = len(self.value)

    def _on_paste(self, event: Paste) -> None:
        """Lines become one; what is longer than a question can be is cut, and that is said."""
        event.prevent_default()
        event.stop()
        first, last = sorted(self.selection)
        room = LONGEST - (len(self.value) - (last - first))
        # Looked at no further than could be taken: a paste can be of any size.
        text = one_line(event.text[: 4 * LONGEST])
        self.replace(text[:room], first, last)
        if len(text) > room or len(event.text) > 4 * LONGEST:
            self.notify(f"Only the beginning was taken: a question has at most {LONGEST} characters.", severity="warning", markup=False)
