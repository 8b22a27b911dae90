"""The knowledge around a thing, both ways: what holds of it, what leads to it, which rules speak of it; from thing to thing and back."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from finishing_kg.advice.around import Around, Mention
    from finishing_kg.engine import Knowledge

_PLACES = {"if": "as a condition", "unless": "as an exception", "then": "as what follows"}


class AroundScreen(ModalScreen[None]):
    """One thing at a time. Enter goes on to what a line leads to, left goes back."""

    CSS_PATH = "around.tcss"
    AUTO_FOCUS = "#near"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "dismiss", "Leave", show=False),
        Binding("left,backspace", "back", "Back", show=False),
        Binding("right", "go_on", "Go on", show=False),
    ]

    def __init__(self, knowledge: Knowledge, starts: list[str]) -> None:
        """Begin at a thing, or at a choice of several.

        Args:
            knowledge: Ontology and rules.
            starts: Ids of things or rules, at least one.
        """
        super().__init__()
        self._knowledge, self._starts = knowledge, starts
        self._trail: list[str] = [""] if len(starts) > 1 else [starts[0]]
        self._chosen: list[int] = []
        self._goals: list[tuple[str, ...]] = []
        self._whole: list[str] = []

    def compose(self) -> ComposeResult:
        """What it is, and what is next to it."""
        with Vertical(id="around") as box:
            box.border_subtitle = "enter go on · left back · escape leave"
            yield Static("", id="around-what", markup=False)
            yield OptionList(id="near", markup=False)
            with VerticalScroll(id="near-words", can_focus=False):
                yield Static("", id="near-text", markup=False)

    def on_mount(self) -> None:
        """Show where it begins."""
        self._show()

    @property
    def here(self) -> str:
        """The id of the thing that is looked at; empty at a choice of several."""
        return self._trail[-1]

    def action_back(self) -> None:
        """Go back to the thing before."""
        if len(self._trail) > 1:
            self._trail.pop()
            self._show(self._chosen.pop())

    def action_go_on(self) -> None:
        """Go on to what the chosen line leads to."""
        self.query_one("#near", OptionList).action_select()

    @on(OptionList.OptionSelected)
    def _selected(self, event: OptionList.OptionSelected) -> None:
        goals = self._goals[event.option_index]
        if len(goals) == 1:
            self._go(goals[0], event.option_index)
        elif goals:
            self._choose(goals, event.option_index)

    @on(OptionList.OptionHighlighted)
    def _looked_at(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_index < len(self._whole):
            self.query_one("#near-text", Static).update(Content(one_line(self._whole[event.option_index])))

    def _go(self, goal: str, left_at: int) -> None:
        self._trail.append(goal)
        self._chosen.append(left_at)
        self._show()

    def _choose(self, goals: tuple[str, ...], left_at: int) -> None:
        """A sentence that leads to two things asks which."""
        from finishing_kg_tui.screens.pick import Choice, PickScreen

        def went(goal: str | None) -> None:
            if goal:
                self._go(goal, left_at)

        names = self._knowledge.vocabulary.names
        self.app.push_screen(PickScreen("Where to?", [Choice(each, names[each].label, names[each].note) for each in goals]), went)

    def _show(self, chosen: int | None = None) -> None:
        from finishing_kg.advice.around import around

        found = around(self._knowledge, self.here) if self.here else None
        what, rows = (_what(found), _rows(found)) if found else ("Things that are named here", self._beginnings())
        box, near = self.query_one("#around"), self.query_one("#near", OptionList)
        names = [self._label(each) for each in self._trail]
        box.border_title = Content("Around: " + " › ".join(names[-4:]))
        self.query_one("#around-what", Static).update(Content(what))
        near.clear_options()
        self._goals, self._whole = [goals for _, goals in rows], [text for text, _ in rows]
        near.add_options([Option(Content(f"{_sign(goals)} {one_line(text)}"), disabled=not goals and text.endswith(":")) for text, goals in rows])
        first = next((place for place, (_, goals) in enumerate(rows) if goals), 0)
        near.highlighted = chosen if chosen is not None else first

    def _beginnings(self) -> list[tuple[str, tuple[str, ...]]]:
        return [(self._label(each), (each,)) for each in self._starts]

    def _label(self, identifier: str) -> str:
        return one_line(self._knowledge.language.names.label(identifier)) if identifier else "what is named"


def _sign(goals: tuple[str, ...]) -> str:
    return "→" if goals else " "


def _what(found: Around) -> str:
    return f"{one_line(found.label)} ({one_line(found.kind)}). {one_line(found.note)}"


def _rows(found: Around) -> list[tuple[str, tuple[str, ...]]]:
    """Heads and sentences, each with the ids that it leads to."""
    head = "The rule says:" if found.kind == "rule" else f"What holds of it ({len(found.held)}):"
    rows: list[tuple[str, tuple[str, ...]]] = [(head, ()), *map(_sentence, found.held)] if found.held else []
    if found.leading_here:
        rows += [(f"What leads here ({len(found.leading_here)}):", ()), *map(_sentence, found.leading_here)]
    if found.rules:
        rows.append((f"Rules that speak of it ({len(found.rules)}):", ()))
        rows += [
            (f"{rule.id}, {' and '.join(_PLACES[place] for place in rule.places)}: {rule.because}", (f"rule/{rule.id}",)) for rule in found.rules
        ]
    return rows or [("Nothing else is said of it:", ())]


def _sentence(mention: Mention) -> tuple[str, tuple[str, ...]]:
    return mention.sentence + (f"  [{mention.basis}]" if mention.basis else ""), mention.leads_to
