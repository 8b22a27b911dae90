"""The knowledge that screens beside the conversation ask: opened in a thread, with the studio's own where there is a studio."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from textual.message import Message
from textual.message_pump import MessagePump
from textual.worker import Worker, WorkerState

from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from finishing_kg.advice.contract import ProposedRule
    from finishing_kg.advice.proposing import Candidate
    from finishing_kg.engine import Knowledge
    from finishing_kg.routes import Case
    from finishing_kg.studio import Studio

OpenKnowledge = Callable[[], "Knowledge"]
"""Makes the knowledge; it may take a second, so it is called in a thread."""


OpenShelf = Callable[["Knowledge"], "Case | None"]
"""Gives what is on the studio's shelf, as a case; None where there is no studio, or nothing on its shelf."""


def studio_here(shipped: Knowledge | None = None) -> Studio | None:
    """The studio that is found from here, or None where there is none.

    Args:
        shipped: the shipped knowledge, where it is at hand.

    Raises:
        StudioError: the studio's files are not in order.
    """
    from finishing_kg.studio import find, may_be_studio, read_studio

    folder = find() if may_be_studio() else None
    return read_studio(folder, shipped) if folder is not None else None


def knowledge_here() -> Knowledge:
    """The knowledge of the studio that is found from here, or the shipped one where there is none.

    Raises:
        StudioError: the studio's files are not in order.
    """
    from finishing_kg.engine import Knowledge

    studio = studio_here()
    return studio.knowledge if studio is not None else Knowledge.shipped()


def shelf_here(knowledge: Knowledge) -> Case | None:
    """What is on the shelf of the studio that is found from here.

    Raises:
        StudioError: the studio's files are not in order.
    """
    studio = studio_here()
    return studio.shelf.case(knowledge.vocabulary) if studio is not None and studio.shelf.items else None


def ranked_here(found: Iterator[Candidate]) -> Sequence[ProposedRule]:
    """Proposed rules by what they would change for the studio that is found from here, the narrowest first where that is not known."""
    from finishing_kg.engine import Knowledge
    from finishing_kg.studio.ranking import ranked

    shipped = Knowledge.shipped()
    return ranked(studio_here(shipped), shipped, found)


def why(error: Exception) -> str:
    """What went wrong, in words for the screen; an error of the library's own tells it in its text."""
    said = one_line(str(error))
    return said if said else type(error).__name__


class Reports(MessagePump):
    """What a worker of this part hands back is posted as a message once it has ended, so that nobody waits for one that is thrown away."""

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Post the report of a worker that came to its end."""
        if event.state is WorkerState.SUCCESS and isinstance(event.worker.result, Message):
            self.post_message(event.worker.result)
