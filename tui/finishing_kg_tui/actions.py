"""Everything that can be done, in one table: keys, footer, help page and command palette are made from it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from textual.binding import Binding, BindingType
from textual.command import DiscoveryHit, Hit, Hits, Provider

Need = Literal["nothing", "a turn", "an answer", "a route", "several routes", "reasons", "room", "knowledge"]
"""What must be there before an action makes sense; the screen knows what is."""


@dataclass(frozen=True)
class Action:
    """One thing that can be done.

    Attributes:
        name: The action as the toolkit calls it.
        key: A key that types nothing, so that it works while a question is being written.
        label: The short name in the footer.
        says: What it does, for the help page and the palette.
        needs: What must be there before it makes sense.
        in_footer: Whether it stands in the footer, which has room for few at 80 columns.
    """

    name: str
    key: str
    label: str
    says: str
    needs: Need = "nothing"
    in_footer: bool = True

    @property
    def shown_key(self) -> str:
        """The key as it is printed: ``F1``, ``Ctrl+N``."""
        return "+".join(part.capitalize() for part in self.key.split("+"))


ACTIONS = (
    Action("help", "f1", "Help", "Show what can be done and with which key"),
    Action("next_panel", "f2", "Panel", "Go to the next panel: conversation, route, reasons"),
    Action("next_route", "f3", "Next route", "Show the next of several routes", "several routes", in_footer=False),
    Action("why_step", "f4", "Why", "Ask why the chosen step of the route is as it is", "a route"),
    Action("all_reasons", "f5", "Reasons", "List every reason: steps, cautions, what is ruled out", "reasons", in_footer=False),
    Action("copy_answer", "f6", "Copy", "Copy the last answer with its routes", "an answer", in_footer=False),
    Action("toggle_side", "f7", "Side panels", "Hide or show the panels beside the conversation", "room", in_footer=False),
    Action("next_theme", "f8", "Colours", "Change the colours: dark, light, high contrast", in_footer=False),
    Action("anew", "ctrl+n", "New", "Forget this piece and begin with another", "a turn"),
    Action("chips", "ctrl+g", "Change", "Change or take out what was understood", "knowledge", in_footer=False),
    Action("ladder", "ctrl+l", "Ladder", "Draw the route: grain and cracks left over the steps, two routes side by side", "a route"),
    Action("paragraphs", "ctrl+b", "Lines", "Choose a paragraph of the conversation, or at first an example", in_footer=False),
    Action("why_not", "ctrl+t", "Why not", "Why not something else", "an answer", in_footer=False),
    Action("what_if", "ctrl+o", "What if", "What if one thing were different", "an answer", in_footer=False),
    Action("around", "ctrl+r", "Around", "What is known around the words of the line", "knowledge", in_footer=False),
    Action("question", "escape", "Question", "Give up what is worked on, or go back to the question line", in_footer=False),
    Action("app.command_palette", "ctrl+p", "Actions", "Search for something to do by its name"),
    Action("plan_check", "f9", "Plan", "Write a plan step by step and have it checked; the route shown is taken over"),
    Action("studio", "f10", "Studio", "The studio's own rules, things, shelf and bench log"),
    Action("write_card", "ctrl+s", "Card", "Write the route card into a file: Markdown, HTML or PDF", "a route"),
    Action("app.quit", "ctrl+q", "Quit", "Leave the program", in_footer=False),
)

OTHER_KEYS = (
    ("up, down", "In the question line: what was asked before. In a panel: move"),
    ("page up/down", "Scroll the conversation, or the panel that has the keyboard"),
    ("tab, shift+tab", "Go to the next or the previous part of the screen"),
    ("enter", "Ask; in the route: open the reasons of the step; in the reasons: open or close"),
    ("right", "At the end of the question line: take the words that are offered"),
    ("w, n, i", "In any panel, of the chosen line: why, why not, what if"),
    ("c", "In any panel: copy the chosen line"),
    ("a", "In any panel: what is known around the things that the line names"),
    ("u", "In the reasons: everything that rests on the chosen line; backspace goes back"),
    ("1, 2, 3", "In the reasons: one line, short, whole"),
)
"""Keys that belong to parts of the screen and need no action of their own."""


def bindings(*, of_app: bool = False) -> list[BindingType]:
    """The table as key bindings: those of the screen, or those that the whole application holds."""
    return [
        Binding(
            action.key,
            action.name,
            action.label,
            key_display=action.shown_key.replace("Ctrl+", "^"),
            show=action.in_footer,
            tooltip=action.says,
            priority=True,  # done before the next key is given to whatever has the keyboard then, however quickly that comes
        )
        for action in ACTIONS
        if action.name.startswith("app.") is of_app
    ]


def named(name: str) -> Action | None:
    """The action of this name, if the table has it."""
    return next((action for action in ACTIONS if action.name.rpartition(".")[2] == name.rpartition(".")[2]), None)


class ActionProvider(Provider):
    """Offers in the palette what makes sense at this moment, with its key."""

    def _offered(self) -> list[Action]:
        screen = self.screen
        return [action for action in ACTIONS if action.name != "app.command_palette" and screen.check_action(action.name, ())]

    async def discover(self) -> Hits:
        """Everything that makes sense now, in the table's order."""
        for action in self._offered():
            yield DiscoveryHit(f"{action.says} ({action.shown_key})", lambda name=action.name: self.screen.run_action(name), help=action.label)

    async def search(self, query: str) -> Hits:
        """What makes sense now and matches the words typed."""
        matcher = self.matcher(query)
        for action in self._offered():
            text = f"{action.says} ({action.shown_key})"
            score = matcher.match(text)
            if score > 0:
                yield Hit(score, matcher.highlight(text), lambda name=action.name: self.screen.run_action(name), help=action.label)


class KeysProvider(Provider):
    """Offers in the palette the keys of a screen that has its own."""

    def _offered(self) -> list[tuple[str, str]]:
        shown = [binding for binding in self.screen.BINDINGS if isinstance(binding, Binding) and binding.show]
        return [(f"{binding.description} ({binding.key_display or binding.key})", binding.action) for binding in shown]

    async def discover(self) -> Hits:
        """All of them, in their order."""
        for text, action in self._offered():
            yield DiscoveryHit(text, lambda action=action: self.screen.run_action(action))

    async def search(self, query: str) -> Hits:
        """Those that match the words typed."""
        matcher = self.matcher(query)
        for text, action in self._offered():
            if (score := matcher.match(text)) > 0:
                yield Hit(score, matcher.highlight(text), lambda action=action: self.screen.run_action(action))
