"""What is on the bench: the last answer, the route that is looked at, and what the reasons can be rooted at."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishing_kg_tui.knots import Knot, overview, reason_knot, step_knot

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, Route
    from finishing_kg_tui.actions import Need

# Kinds of answer that speak about the route shown instead of replacing it.
_ABOUT_THE_SAME = {"why", "why_not", "comparison", "not_understood", "out_of_scope", "error"}


class Piece:
    """One piece and what was answered about it.

    Attributes:
        answer: The last answer; None before the first.
        routes_from: The answer that brought the routes shown; it may be older than the last.
        place: Which of those routes is shown, from 0.
    """

    def __init__(self) -> None:
        self.answer: Answer | None = None
        self.routes_from: Answer | None = None
        self.place = 0

    def take(self, answer: Answer) -> None:
        """Take in an answer. One that only speaks about the routes leaves them where they are."""
        self.answer = answer
        if answer.routes or answer.kind not in _ABOUT_THE_SAME:
            self.routes_from, self.place = answer, 0

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
