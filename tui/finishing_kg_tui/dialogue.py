"""The one door to the library: what the interface asks of a dialogue, and how the real one is opened."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer


class DialogueLike(Protocol):
    """A conversation with the adviser. One object, one piece: what was said before counts for what is said next."""

    @property
    def answer(self) -> Answer | None:
        """The last answer, or None before the first."""

    def say(self, text: str) -> Answer:
        """Take one turn of the maker and answer it."""


OpenDialogue = Callable[[], DialogueLike]
"""Makes a dialogue that has heard nothing yet. It may take a second, so it is called in a thread."""


def open_real() -> DialogueLike:
    """Load the knowledge, with the studio's own where there is a studio, and begin a dialogue.

    The library is imported here, in the thread that waits for it: the first picture stands on the screen before.
    """
    from finishing_kg.chat import Dialogue
    from finishing_kg_tui.library import knowledge_here

    return Dialogue(knowledge_here())
