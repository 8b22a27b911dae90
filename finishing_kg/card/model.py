"""A route card: what one answer tells a maker to do, in the words and the order in which it is written down."""

from __future__ import annotations

from finishing_kg.advice.contract import Range
from finishing_kg.record import field, record


@record(frozen=True, slots=True, kw_only=True)
class Labelled:
    """A text with the word that stands before it, and what it rests on where that is told.

    Attributes:
        label: such as *Grade*, or the steps that a reason belongs to.
        text: as it came, from anywhere; whoever writes it into a page makes it harmless there.
        basis: kind, source and place in the source, or nothing.
    """

    label: str
    text: str
    basis: str = ""


@record(frozen=True, slots=True, kw_only=True)
class CardStep:
    """One step of the card.

    Attributes:
        number: counted from 1.
        name: the abrasive and what carries it, in a line.
        purpose: what the step is for.
        facts: mineral, grade, hold and so on, only those that are known.
        advice: how to work, how to mix and how hard to press.
        checks: what must be seen or done before the next step; each gets a box to tick.
    """

    number: int
    name: str
    purpose: str
    facts: list[Labelled]
    advice: list[Labelled]
    checks: list[str]


@record(frozen=True, slots=True, kw_only=True)
class Rung:
    """One step as the ladder shows it; sizes in µm, ``None`` where they are not known.

    Attributes:
        number: of the step.
        name: what stands below its place.
        grain: the size of the grain that cuts.
        left: how coarse the surface is that the step leaves.
        cracks: how deep the cracks are that the step leaves.
    """

    number: int
    name: str
    grain: Range | None = None
    left: Range | None = None
    cracks: Range | None = None


@record(frozen=True, slots=True, kw_only=True)
class Card:
    """Everything that stands on a route card."""

    title: str
    understood: list[str]
    supposed: list[Labelled]
    unused: list[str]
    open: list[str]
    steps: list[CardStep]
    rungs: list[Rung]
    cautions: list[Labelled]
    hints: list[Labelled]
    others: list[Labelled]
    reasons: list[Labelled]
    values: list[Labelled]
    chosen_because: str
    weakest_basis: str | None = field(default=None)
    left_out: str | None = field(default=None)


class NoRoute(Exception):
    """The answer holds no route, so there is nothing to put on a card; the message is what the answer says instead."""
