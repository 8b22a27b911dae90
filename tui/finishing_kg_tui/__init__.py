"""The terminal interface: one screen on top of ``finishing_kg``, which knows nothing of it.

``run`` opens it and ``application`` makes it; the toolkit is loaded when they are called, not before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishing_kg_tui.app import FinishingApp

__all__ = ["application", "run"]


def application() -> FinishingApp:
    """The interface as a process of its own runs it, not open yet."""
    import gc

    # Nothing of what is loaded up to the first picture is thrown away, and looking for it takes as long as the picture does;
    # the screen has it looked for again once it stands.
    gc.disable()
    from finishing_kg_tui.app import FinishingApp

    return FinishingApp()


def run() -> int:
    """Open the interface and stay until the maker leaves it.

    Returns:
        The exit status: 0, or what the toolkit reports after a breakdown of its own.
    """
    app = application()
    app.run()
    return app.return_code or 0
