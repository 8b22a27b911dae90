"""The one door to the library: what the interface asks of a dialogue, and how the real one is opened."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, ReasonLine
    from finishing_kg.chat import Dialogue
    from finishing_kg.engine import Knowledge

Shortened = Callable[[str], "list[ReasonLine]"]
"""Gives the telling lines of the reasoning of a reason (by its id), the most telling first; none where they are not known."""


class DialogueLike(Protocol):
    """A conversation with the adviser. One object, one piece: what was said before counts for what is said next."""

    @property
    def answer(self) -> Answer | None:
        """The last answer, or None before the first."""

    @property
    def knowledge(self) -> Knowledge:
        """Ontology and rules: the words that can be said, and what is known of each thing."""

    def say(self, text: str) -> Answer:
        """Take one turn of the maker and answer it."""

    def shortened(self) -> Shortened:
        """How the reasons of the last answer are told in a few lines."""

    def fork(self) -> DialogueLike:
        """The same conversation once more: what is said to one is not heard by the other, so that a turn can be given up."""


OpenDialogue = Callable[[], DialogueLike]
"""Makes a dialogue that has heard nothing yet. It may take a second, so it is called in a thread."""


class RealDialogue:
    """The library's dialogue as the interface uses it."""

    def __init__(self, dialogue: Dialogue) -> None:
        self._dialogue = dialogue

    @property
    def answer(self) -> Answer | None:
        """The last answer about the piece, or None before the first."""
        return self._dialogue.answer

    @property
    def knowledge(self) -> Knowledge:
        """Ontology and rules."""
        return self._dialogue.knowledge

    def say(self, text: str) -> Answer:
        """Take one turn of the maker and answer it."""
        return self._dialogue.say(text)

    def shortened(self) -> Shortened:
        """How the reasons of the last answer are told in a few lines; good for as long as that answer is looked at."""
        from finishing_kg.advice.levels import lines

        book = self._dialogue.book
        return lambda rid: list(lines(book, rid)) if rid in book.proved else []

    def fork(self) -> RealDialogue:
        """The same conversation once more. What it holds is never changed in place but its turns, so those are copied."""
        from copy import copy

        made = copy(self._dialogue)
        made.turns = list(made.turns)
        return RealDialogue(made)


def open_real() -> DialogueLike:
    """Load the knowledge, with the studio's own where there is a studio, and begin a dialogue.

    The library is imported here, in the thread that waits for it: the first picture stands on the screen before.
    """
    from finishing_kg.chat import Dialogue
    from finishing_kg_tui.library import knowledge_here, ranked_here

    dialogue = Dialogue(knowledge_here())
    dialogue.rank = ranked_here
    return RealDialogue(dialogue)
