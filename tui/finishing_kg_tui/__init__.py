"""The terminal interface: one screen on top of ``finishing_kg``, which knows nothing of it.

``run`` is the only public name; the toolkit is loaded when it is called, not before.
"""

__all__ = ["run"]


def run() -> int:
    """Open the interface and stay until the maker leaves it.

    Returns:
        The exit status: 0, or what the toolkit reports after a breakdown of its own.
    """
    from finishing_kg_tui.app import FinishingApp

    app = FinishingApp()
    app.run()
    return app.return_code or 0
