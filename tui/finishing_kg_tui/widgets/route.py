"""The route: its steps as a table with a line each, and below it what to do in the step that is chosen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.events import Resize
from textual.message import Message
from textual.widgets import DataTable, Static

from finishing_kg_tui.follow import Follows, Subject, follow_bindings, keys_line
from finishing_kg_tui.plain import Called, between, brief, clean, in_plain_words, one_line, roughly, span, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Route, RouteStep


class Column(NamedTuple):
    """A column: its heading, its least width in cells, its share of the room that is left, and how soon it gives way (last first)."""

    name: str
    least: int
    share: int
    stays: int


COLUMNS = (
    Column("", 2, 0, 0),
    Column("grain, grade", 20, 4, 0),
    Column("hold", 12, 1, 2),
    Column("carrier", 11, 1, 0),
    Column("speed", 11, 0, 3),
    Column("leaves", 19, 2, 1),
)
_PADDING = 2
_HIDDEN_WIDTH = 78  # until it is seen
_NO_ROUTE = "No route yet. It comes here, step by step, once the piece is understood."


class StepTable(Follows, DataTable[Text]):
    """The steps. Follow-ups are about the chosen one."""

    BINDINGS: ClassVar[list[BindingType]] = follow_bindings()
    shown_route: Route | None = None

    def follow_subject(self) -> Subject | None:
        """The chosen step as what a follow-up is about."""
        steps = self.shown_route.steps if self.shown_route else []
        if not 0 <= self.cursor_row < len(steps):
            return None
        step = steps[self.cursor_row]
        named = " ".join((words(step.hold), words(step.mineral), one_line(step.grade or ""), "on", words(step.carrier), words(step.leaves.state)))
        return Subject(text=named, step=self.cursor_row + 1)


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
        self._called: Called = in_plain_words
        self._width = 0

    def compose(self) -> ComposeResult:
        """Why this route, the steps, and the chosen step in words."""
        yield Static(_NO_ROUTE, id="route-why", markup=False)
        yield StepTable(id="steps", cursor_type="row", show_row_labels=False)
        with VerticalScroll(id="step-words"):
            yield Static("", id="step-text", markup=False)

    def on_mount(self) -> None:
        """Begin empty."""
        self.show(None)

    def show(self, route: Route | None, place: str = "", called: Called = in_plain_words, if_so: str = "") -> None:
        """Show a route.

        Args:
            route: None where there is none.
            place: Which of how many it is, such as ``1 of 2``.
            called: What its things are called.
            if_so: What is supposed for it; empty for the piece as it is.
        """
        self._route, self._called = route, called
        self.query_one(StepTable).shown_route = route
        supposed = f", what if {one_line(if_so)}" if if_so else ""
        self.border_title = Text(f"Route {place}: {one_line(route.name)}{supposed}" if route else f"Route{supposed}")
        self.set_class(route is None, "empty")
        minutes = f"All steps: {between(route.minutes, 'min')}." if route and route.minutes else ""
        why = " ".join(filter(None, (one_line(route.chosen_because), minutes))) if route else _NO_ROUTE
        self.query_one("#route-why", Static).update(Content(why))
        self._fill()

    def on_resize(self, event: Resize) -> None:
        """Share the width among the columns anew."""
        if event.size.width != self._width:
            self._width = event.size.width
            self._fill()

    def on_descendant_focus(self) -> None:
        """Say which keys there are."""
        self.border_subtitle = f"enter reasons · {keys_line('why', 'why_not', 'what_if', 'around')} · F3 next route"

    def on_descendant_blur(self) -> None:
        """The keys are another part's now."""
        self.border_subtitle = ""

    @property
    def number(self) -> int:
        """The number of the chosen step, from 1."""
        return self.query_one(StepTable).cursor_row + 1

    @property
    def step(self) -> RouteStep | None:
        """The chosen step."""
        steps = self._route.steps if self._route else []
        return steps[self.number - 1] if 0 < self.number <= len(steps) else None

    def _fill(self) -> None:
        table = self.query_one(StepTable)
        row = table.cursor_row
        table.clear(columns=True)
        if self._route is None:
            self.query_one("#step-text", Static).update("")
            return
        widths = widths_for((self._width or _HIDDEN_WIDTH) - 1)
        for column, width in zip(COLUMNS, widths, strict=True):
            if width:
                table.add_column(Text(column.name), width=width)
        for number, step in enumerate(self._route.steps, 1):
            shown = [cell for cell, width in zip(cells(number, step, self._called), widths, strict=True) if width]
            table.add_row(*(Text(cell, no_wrap=True, overflow="ellipsis") for cell in shown))
        table.move_cursor(row=min(row, len(self._route.steps) - 1))
        self._tell()

    def _tell(self) -> None:
        step = self.step
        words_of = step_words(step, self._called) if step else ()
        told = Content("\n").join(Content.assemble((f"{name}: ", "bold"), text) for name, text in words_of)
        self.query_one("#step-text", Static).update(told)
        self.query_one("#step-words").scroll_home(animate=False)

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self._tell()

    @on(DataTable.RowSelected)
    def _selected(self) -> None:
        if step := self.step:
            self.post_message(self.StepChosen(self.number, step))


def widths_for(room: int) -> list[int]:
    """How wide each of ``COLUMNS`` is in some cells; 0 for one that gives way. What it says stands below the table too."""
    shown = list(COLUMNS)
    while sum(column.least + _PADDING for column in shown) > room and any(column.stays for column in shown):
        shown.remove(max(shown, key=lambda column: column.stays))
    left = max(0, room - sum(column.least + _PADDING for column in shown))
    shares = sum(column.share for column in shown) or 1
    return [column.least + left * column.share // shares if column in shown else 0 for column in COLUMNS]


def cells(number: int, step: RouteStep, called: Called = in_plain_words) -> tuple[str, ...]:
    """A step as the cells of its row, in the order of ``COLUMNS``."""
    grade = one_line(step.grade) if step.grade else brief(step.grain_um, "µm")
    left = " ".join(filter(None, (called(step.leaves.state, "surface"), brief(step.leaves.effective_um, "µm") if step.leaves.effective_um else "")))
    speed = brief(step.surface_speed_m_s, "m/s") or "—"
    grain = f"{called(step.mineral, 'mineral')} {grade}".strip()
    return (str(number), grain, called(step.hold, "hold"), called(step.carrier, "carrier"), speed, left)


def step_words(step: RouteStep, called: Called = in_plain_words) -> Iterator[tuple[str, str]]:
    """What to do in a step, as (name, text)."""
    yield "For", clean(step.purpose)
    worked = [called(step.hold, "hold"), "wet" if step.wet else "dry", called(step.machine, "machine") if step.machine else ""]
    yield "With", ", ".join(filter(None, (*worked, span(step.surface_speed_m_s, "m/s"))))
    if step.minutes:
        yield "Takes", roughly(step.minutes, "min")
    if step.removal_um:
        yield "Takes off", roughly(step.removal_um, "µm")
    yield "How", clean(step.how)
    for name, text in (("Feed", step.mix), ("Pressure", step.pressure), ("Costs", step.loses)):
        if text:
            yield name, clean(text)
    yield "Done when", clean(step.done_when)
    if step.before_next:
        yield "Before the next", clean(step.before_next)
    if step.if_stopped:
        yield "If stopped early", clean(step.if_stopped)
