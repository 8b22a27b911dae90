"""The bottom line: the keys that do something here."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Footer

if TYPE_CHECKING:
    from textual.app import ComposeResult
    from textual.screen import Screen


class Keys(Footer):
    """The toolkit's line of keys, drawn anew only where other keys do something, or the same do something else.

    The toolkit itself makes all of its parts anew each time that the keyboard goes elsewhere, or that anything is done.
    """

    _drawn: list[tuple[object, ...]] | None = None

    def __init__(self) -> None:
        super().__init__(show_command_palette=False, compact=True)

    def compose(self) -> ComposeResult:
        """The keys as they are now."""
        self._drawn = _keys(self.screen) if self._bindings_ready else None
        yield from super().compose()

    def bindings_changed(self, screen: Screen[object]) -> None:
        """Draw anew what shows, if it is no longer so."""
        if self._drawn is None or not self.is_attached or screen is not self.screen or _keys(screen) != self._drawn:
            super().bindings_changed(screen)


def _keys(screen: Screen[object]) -> list[tuple[object, ...]]:
    return [(binding, enabled, tooltip) for _, binding, enabled, tooltip in screen.active_bindings.values() if binding.show]
