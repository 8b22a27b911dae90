"""The route: its steps as a table, and below it what to do in the step that is chosen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.message import Message
from textual.widgets import DataTable, Static

from finishing_kg_tui.plain import brief, clean, one_line, span, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Route, RouteStep

# Heading, least width in cells (the longest single word of the trade fits), share of the room that is left.
COLUMNS = (("step", 4, 0), ("grain, grade", 12, 6), ("hold", 10, 1), ("carrier", 12, 1), ("speed", 8, 1), ("leaves", 9, 1))
_NO_ROUTE = "No route yet. It comes here, step by step, once the piece is understood."


class RoutePanel(Vertical):
    """One route of the answer. Enter on a step asks for its reasons."""

    @dataclass
    class StepChosen(Message):
        """The reasons of a step are wanted."""

        number: int
        step: RouteStep

    def __init__(self) -> None:
        super().__init__(id="route")
        self._route: Route | None = None
        self._width = 0

    def compose(self) -> ComposeResult:
        """Why this route, the steps, and the chosen step in words."""
        yield Static(_NO_ROUTE, id="route-why", markup=False)
        yield DataTable[Text](id="steps", cursor_type="row", show_row_labels=False)
        with VerticalScroll(id="step-words"):
            yield Static("", id="step-text", markup=False)

    def on_mount(self) -> None:
        """Begin empty."""
        self.show(None)

    def show(self, route: Route | None, place: str = "") -> None:
        """Show a route.

        Args:
            route: None where there is none.
            place: Which of how many it is, such as ``1 of 2``.
        """
        self._route = route
        self.border_title = Text(f"Route {place}: {one_line(route.name)}" if route else "Route")
        self.set_class(route is None, "empty")
        why = " ".join(filter(None, (one_line(route.chosen_because), span(route.minutes, "min")))) if route else _NO_ROUTE
        self.query_one("#route-why", Static).update(Content(why))
        self._fill()

    def on_resize(self, event: Resize) -> None:
        """Share the width among the columns anew."""
        if event.size.width != self._width:
            self._width = event.size.width
            self._fill()

    @property
    def number(self) -> int:
        """The number of the chosen step, from 1."""
        return self.query_one("#steps", DataTable).cursor_row + 1

    @property
    def step(self) -> RouteStep | None:
        """The chosen step."""
        steps = self._route.steps if self._route else []
        return steps[self.number - 1] if 0 < self.number <= len(steps) else None

    def _fill(self) -> None:
        table = self.query_one("#steps", DataTable)
        row = table.cursor_row
        table.clear(columns=True)
        if self._route is None or not self._width:
            self.query_one("#step-text", Static).update("")
            return
        room = self._width - 3 - sum(least + 2 for _, least, _ in COLUMNS)
        shares = sum(share for _, _, share in COLUMNS)
        for name, least, share in COLUMNS:
            table.add_column(Text(name), width=least + max(0, room) * share // shares)
        for number, step in enumerate(self._route.steps, 1):
            table.add_row(*(Text(cell) for cell in cells(number, step)), height=None)
        table.move_cursor(row=min(row, len(self._route.steps) - 1))
        self._tell()

    def _tell(self) -> None:
        step = self.step
        told = Content("\n").join(Content.assemble((f"{name}: ", "bold"), text) for name, text in step_words(step)) if step else Content("")
        self.query_one("#step-text", Static).update(told)
        self.query_one("#step-words").scroll_home(animate=False)

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self._tell()

    @on(DataTable.RowSelected)
    def _selected(self) -> None:
        if step := self.step:
            self.post_message(self.StepChosen(self.number, step))


def cells(number: int, step: RouteStep) -> tuple[str, ...]:
    """A step as the cells of its row, in the order of ``COLUMNS``."""
    grade = one_line(step.grade) if step.grade else brief(step.grain_um, "µm")
    left = "\n".join(filter(None, (words(step.leaves.state), brief(step.leaves.effective_um, "µm"))))
    speed = brief(step.surface_speed_m_s, "m/s") or "—"
    return (str(number), f"{words(step.mineral)}\n{grade}".strip(), words(step.hold), words(step.carrier), speed, left)


def step_words(step: RouteStep) -> Iterator[tuple[str, str]]:
    """What to do in a step, as (name, text)."""
    gone = span(step.removal_um, "µm")
    facts = ["wet" if step.wet else "dry", words(step.machine or ""), span(step.minutes, "min"), f"takes off {gone}" if gone else ""]
    yield "For", f"{clean(step.purpose)} ({', '.join(filter(None, facts))})"
    yield "How", clean(step.how)
    yield "Done when", clean(step.done_when)
    if step.before_next:
        yield "Before the next", clean(step.before_next)
