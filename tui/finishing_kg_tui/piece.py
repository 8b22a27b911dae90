"""What is on the bench: the last answer, the route that is looked at, and what the reasons can be rooted at."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from finishing_kg_tui.knots import Knot, overview, reason_knot, resting_on, step_knot

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, Reason, ReasonLine, Route
    from finishing_kg_tui.actions import Need
    from finishing_kg_tui.chips import Chip
    from finishing_kg_tui.dialogue import Shortened

# Kinds of answer that speak about the route shown instead of replacing it, even where they tell it again.
_ABOUT_THE_SAME = {"why", "why_not", "comparison", "not_understood", "out_of_scope", "error"}


class Piece:
    """One piece and what was answered about it.

    Attributes:
        answer: The last answer; None before the first.
        supposed: The last answer where it only supposes something, and the piece is as it was; else None.
        place: Which of those routes is shown, from 0.
        chips: What was understood so far.
    """

    def __init__(self) -> None:
        self.answer: Answer | None = None
        self.supposed: Answer | None = None
        self._settled: Answer | None = None  # what brought the routes of the piece as it is
        self.place = 0
        self.chips: list[Chip] = []
        # By the reasons of an answer (the object itself) how they are told in a few lines.
        self._shortened: dict[int, Shortened] = {}

    def take(self, answer: Answer, shortened: Shortened | None = None, chips: list[Chip] | None = None) -> None:
        """Take in an answer. One that only speaks about the routes leaves them where they are; what is only supposed stays until the next answer."""
        if self.supposed is not None or answer.kind == "what_if":
            self.place = 0
        self.answer, self.supposed = answer, answer if answer.kind == "what_if" else None
        if self.supposed is None and (answer.kind not in _ABOUT_THE_SAME or (answer.routes and self.count == 0)):
            self._settled, self.place = answer, 0
        if self.supposed is None and chips is not None:
            self.chips = chips
        kept = {id(each.reasons) for each in (self.answer, self._settled) if each}
        self._shortened = {known: told for known, told in self._shortened.items() if known in kept}
        if shortened is not None:
            self._shortened[id(answer.reasons)] = shortened

    @property
    def routes_from(self) -> Answer | None:
        """The answer that brought the routes shown; it may be older than the last."""
        return self.supposed or self._settled

    @property
    def if_so(self) -> str:
        """What is supposed for the routes shown; empty where they are of the piece as it is."""
        return "; ".join(self.supposed.changed) if self.supposed else ""

    @property
    def count(self) -> int:
        """How many routes there are."""
        return len(self.routes_from.routes) if self.routes_from else 0

    @property
    def route(self) -> Route | None:
        """The route shown."""
        return self.routes_from.routes[self.place] if self.routes_from and self.count else None

    def next_route(self) -> None:
        """Go on to the next route, the first after the last."""
        self.place = (self.place + 1) % max(1, self.count)

    def in_lines(self, knot: Knot) -> list[ReasonLine]:
        """The telling lines of a knot's reason; none where they are not known."""
        told = self._shortened.get(id(knot.reasons)) if knot.reasons is not None else None
        return told(knot.rid) if told and knot.rid else []

    def answer_root(self) -> Knot | None:
        """Where to begin looking into the last answer: at its own reason, else at everything."""
        if self.answer and self.answer.reason:
            return reason_knot(self.answer.reasons, self.answer.reason)
        return self.everything() if self.answer and self.answer.reasons else None

    def everything(self) -> Knot | None:
        """All that has a reason."""
        return overview(self.answer, self.routes_from, self.route) if self.answer else None

    def step_root(self, number: int) -> Knot | None:
        """The reasons of a step (from 1) of the route shown."""
        return step_knot(self.routes_from, self.route, number) if self.routes_from and self.route else None

    def resting_root(self, reasons: Mapping[str, Reason], rid: str) -> Knot | None:
        """Everything that rests on a reason of the last answer, or of the one that brought the routes."""
        holder = next((each for each in (self.routes_from, self.answer) if each and each.reasons is reasons), None)
        return resting_on(holder, self.route if holder is self.routes_from else None, rid) if holder else None

    def situation(self) -> set[Need]:
        """What is there, in the words of the action table."""
        found: dict[Need, bool] = {
            "nothing": True,
            "an answer": self.answer is not None,
            "a route": self.count > 0,
            "several routes": self.count > 1,
            "reasons": any(answer.reasons for answer in (self.answer, self.routes_from) if answer),
        }
        return {need for need, there in found.items() if there}
