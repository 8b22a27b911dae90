"""The application: colours, the palette's provider, and the one screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.app import App
from textual.binding import BindingType
from textual.command import CommandPalette, Provider
from textual.theme import Theme

from finishing_kg_tui.actions import bindings
from finishing_kg_tui.dialogue import OpenDialogue, open_real
from finishing_kg_tui.library import OpenKnowledge, knowledge_here
from finishing_kg_tui.screens.bench import BenchScreen
from finishing_kg_tui.themes import DARK, THEMES


class FinishingApp(App[None]):
    """Advice at the bench, in a terminal."""

    CSS_PATH = "screens/bench.tcss"  # the toolkit reads no sheet of the screen it begins with
    TITLE = "Cold-working adviser"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = set()  # the screen brings its own
    BINDINGS: ClassVar[list[BindingType]] = bindings(of_app=True)

    def __init__(self, open_dialogue: OpenDialogue = open_real, open_knowledge: OpenKnowledge = knowledge_here) -> None:
        """Make the application; nothing is loaded before it has painted.

        Args:
            open_dialogue: Makes a dialogue that has heard nothing yet; called in a thread.
            open_knowledge: Makes the knowledge that the other screens ask; called in a thread.
        """
        super().__init__()
        self._open_dialogue = open_dialogue
        self.open_knowledge = open_knowledge
        for theme in THEMES:
            self.register_theme(theme)
        self._wear(DARK)

    def _wear(self, theme: Theme) -> None:
        """Begin in these colours. Setting ``theme`` would have every style sheet read a second time, before the first picture stands."""
        self.set_reactive(App.theme, theme.name)
        self.update_classes({f"-theme-{theme.name}": True, "-dark-mode": theme.dark, "-light-mode": not theme.dark}, update=False)
        self.stylesheet.set_variables(self.get_css_variables())

    def get_default_screen(self) -> BenchScreen:
        """The screen that everything happens on."""
        return BenchScreen(self._open_dialogue)

    def action_command_palette(self) -> None:
        """Open the palette, in words of our own."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(CommandPalette(placeholder="What do you want to do?"))
