"""The ladder of a route as a picture, alone or beside another route with what differs."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from finishing_kg_tui.drawing import LEGEND, Spans, differences, picture
from finishing_kg_tui.plain import one_line

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Route
    from finishing_kg.vocabulary import Vocabulary

_STYLES = {"name": "bold", "quiet": "$quiet", "grain": "$primary", "left": "$accent", "cracks": "$warning"}
_GAP = "  │ "
_KEYS = "left, right other route · b beside another · escape back"


class LadderScreen(ModalScreen[None]):
    """Grain size and remaining cracks over the steps."""

    CSS_PATH = "ladder.tcss"
    AUTO_FOCUS = "#ladder"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,enter", "dismiss", "Back", show=False),
        Binding("right", "turn(1)", "Next route", show=False),
        Binding("left", "turn(-1)", "Route before", show=False),
        Binding("b", "beside", "Beside another", show=False),
    ]

    def __init__(self, routes: list[Route], place: int, vocabulary: Vocabulary) -> None:
        """Show one of some routes.

        Args:
            routes: At least one.
            place: Which of them, from 0.
            vocabulary: Names what the routes use.
        """
        super().__init__()
        self._routes, self._vocabulary = routes, vocabulary
        self.place = place
        self.other: int | None = None

    def compose(self) -> ComposeResult:
        """One page that scrolls."""
        with VerticalScroll(id="ladder") as page:
            page.border_subtitle = _KEYS if len(self._routes) > 1 else "escape back"
            yield Static("", id="ladder-text", markup=False)

    def on_resize(self) -> None:
        """Draw anew at the new width."""
        self.call_after_refresh(self._draw)

    def action_turn(self, by: int) -> None:
        """Show another route; beside another, that one changes."""
        count = len(self._routes)
        if self.other is None:
            self.place = (self.place + by) % count
        elif count > 2:
            self.other = (self.other + by) % count
            if self.other == self.place:
                self.other = (self.other + by) % count
        self._draw()

    def action_beside(self) -> None:
        """Put another route beside this one, or take it away again."""
        if len(self._routes) > 1:
            self.other = (self.place + 1) % len(self._routes) if self.other is None else None
            self._draw()

    def _draw(self) -> None:
        shown = [self.place] if self.other is None else [self.place, self.other]
        page = self.query_one("#ladder")
        page.border_title = Content("Ladder: " + " beside ".join(f"route {place + 1}, {one_line(self._routes[place].name)}" for place in shown))
        self.query_one("#ladder-text", Static).update(Content("\n").join(map(_styled, self._lines(shown, page.content_size.width))))

    def _lines(self, shown: list[int], width: int) -> list[Spans]:
        from finishing_kg.card import rungs_of
        from finishing_kg.card.ladder import decades, has_sizes

        routes = [self._routes[place] for place in shown]
        ladders = [rungs_of(route, self._vocabulary) for route in routes]
        if not has_sizes([rung for rungs in ladders for rung in rungs]):
            return [[("Of no step a size is known, so there is nothing to draw.", "quiet")]]
        scale = decades([rung for rungs in ladders for rung in rungs])
        room = width if len(routes) == 1 else (width - len(_GAP)) // 2
        drawn = [list(picture(rungs, [step.carrier for step in route.steps], room, scale)) for rungs, route in zip(ladders, routes, strict=True)]
        legend: list[Spans] = [LEGEND, [("In µm, by tens: fine at the left, coarse at the right.", "quiet")], []]
        if len(routes) == 1:
            return [*legend, *drawn[0]]
        heads = [[_padded([(f"Route {place + 1}: {one_line(self._routes[place].name)}", "name")], room) for place in shown]]
        rows = heads + [[_padded(each, room) for each in pair] for pair in _paired(*drawn)]
        beside: list[Spans] = [[*left, (_GAP, "quiet"), *right] for left, right in rows]
        return [*legend, *beside, [], *_told(differences(*routes), room)]


def _paired(left: list[Spans], right: list[Spans]) -> list[tuple[Spans, Spans]]:
    count = max(len(left), len(right))
    return list(zip(left + [[]] * (count - len(left)), right + [[]] * (count - len(right)), strict=True))


def _padded(line: Spans, room: int) -> Spans:
    """The line at a width: cut where it is longer, filled up where it is shorter."""
    kept: Spans = []
    for text, role in line:
        if room > 0:
            kept.append((text[:room], role))
            room -= len(text)
    return [*kept, (" " * max(room, 0), "")]


def _told(found: list[tuple[str, str, str]], room: int) -> list[Spans]:
    """What differs, the words of each route below its picture."""
    if not found:
        return [[("Nothing differs.", "name")]]
    lines: list[Spans] = [[("What differs", "name")]]
    for what, *told in found:
        lines.append([(what, "quiet")])
        columns: list[list[Spans]] = [[[(part, "")] for part in wrap(text, room)] for text in told]
        lines += [[*_padded(left, room), (_GAP, "quiet"), *right] for left, right in _paired(*columns)]
    return lines


def _styled(line: Spans) -> Content:
    return Content.assemble(*((text, _STYLES.get(role, "")) for text, role in line))
