"""The knowledge that screens beside the conversation ask: opened in a thread, with the studio's own where there is a studio."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge

OpenKnowledge = Callable[[], "Knowledge"]
"""Makes the knowledge; it may take a second, so it is called in a thread."""


def knowledge_here() -> Knowledge:
    """The knowledge of the studio that is found from here, or the shipped one where there is none.

    Raises:
        StudioError: the studio's files are not in order.
    """
    from finishing_kg.engine import Knowledge
    from finishing_kg.studio import find, may_be_studio, read_studio

    folder = find() if may_be_studio() else None
    return read_studio(folder).knowledge if folder is not None else Knowledge.shipped()


def why(error: Exception) -> str:
    """What went wrong, in words for the screen; an error of the library's own tells it in its text."""
    said = one_line(str(error))
    return said if said else type(error).__name__
