"""The ladder of a route as a drawing: sizes on a logarithmic scale over the steps, made of lines, boxes and words.

It is laid out once, and each format draws the same marks. What a mark means shows in its shape and in words, never in
colour alone: a filled bar is the grain, a hollow diamond the surface left, a dashed bracket the cracks left.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Literal, Protocol

from finishing_kg.record import record

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Range
    from finishing_kg.card.model import Rung

WIDTH, HEIGHT = 480.0, 230.0
"""The size of the drawing, in units of its own; each format scales it."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 58.0, 10.0, 14.0, 62.0
_BAR = 16.0
_LETTER = 10.0
_LEAST_HEIGHT = 3.0  # a size without a spread must still be seen

LineKind = Literal["axis", "grid", "cracks"]
Anchor = Literal["start", "middle", "end"]


@record(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line; *cracks* is drawn dashed."""

    x1: float
    y1: float
    x2: float
    y2: float
    kind: LineKind


@record(frozen=True, slots=True, kw_only=True)
class Bar:
    """A filled upright box, from its upper left corner."""

    x: float
    y: float
    width: float
    height: float


@record(frozen=True, slots=True, kw_only=True)
class Diamond:
    """A hollow diamond around its middle."""

    x: float
    y: float
    radius: float


@record(frozen=True, slots=True, kw_only=True)
class Word:
    """A text with its foot at ``y``."""

    x: float
    y: float
    text: str
    anchor: Anchor = "middle"
    size: float = _LETTER


Mark = Line | Bar | Diamond | Word


def has_sizes(rungs: Sequence[Rung]) -> bool:
    """Whether any size is known, so that there is something to draw."""
    return any(True for _ in _sizes(rungs))


def description(rungs: Sequence[Rung]) -> str:
    """The ladder in words, for those who do not see it."""
    return " ".join(f"Step {rung.number}, {rung.name}: {', '.join(_told(rung)) or 'no size known'}." for rung in rungs)


def decades(rungs: Sequence[Rung]) -> tuple[int, int]:
    """The powers of ten in µm between which all known sizes lie; every drawing of a ladder spans them.

    Raises:
        ValueError: no size is known.
    """
    sizes = list(_sizes(rungs))
    if not sizes:
        raise ValueError("a ladder without a size cannot be drawn")
    low, high = math.floor(math.log10(min(sizes))), math.ceil(math.log10(max(sizes)))
    return low, max(high, low + 1)


def ladder(rungs: Sequence[Rung]) -> Iterator[Mark]:
    """The marks of a ladder.

    Args:
        rungs: the steps, in order; at least one size must be known.

    Raises:
        ValueError: no size is known.
    """
    low, high = decades(rungs)
    foot, full = HEIGHT - _BOTTOM, HEIGHT - _BOTTOM - _TOP

    def height(size: float) -> float:
        return foot - (math.log10(size) - low) / (high - low) * full

    for decade in range(low, high + 1):
        y = height(10.0**decade)
        yield Line(x1=_LEFT, y1=y, x2=WIDTH - _RIGHT, y2=y, kind="axis" if decade == low else "grid")
        yield Word(x=_LEFT - 6, y=y + _LETTER / 3, text=f"{10.0**decade:g} µm", anchor="end")
    place = (WIDTH - _LEFT - _RIGHT) / len(rungs)
    for index, rung in enumerate(rungs):
        middle = _LEFT + (index + 0.5) * place
        yield from _marks(rung, middle, height)
        yield Word(x=middle, y=foot + 14, text=f"{rung.number}")
        yield Word(x=middle, y=foot + 26, text=_fitting(rung.name, place))
    yield from _legend(rungs, HEIGHT - 10)


def _marks(rung: Rung, middle: float, height: _Height) -> Iterator[Mark]:
    if rung.cracks is not None:
        top, bottom = _ends(rung.cracks, height)
        x = middle + _BAR
        yield Line(x1=x, y1=top, x2=x, y2=bottom, kind="cracks")
        for y in (top, bottom):
            yield Line(x1=x - 4, y1=y, x2=x + 4, y2=y, kind="axis")
    if rung.grain is not None:
        top, bottom = _ends(rung.grain, height)
        yield Bar(x=middle - _BAR, y=top, width=_BAR, height=max(bottom - top, _LEAST_HEIGHT))
        yield Word(x=middle - _BAR / 2, y=max(top - 4, _LETTER), text=f"{rung.grain.mid:g}")
    if rung.left is not None:
        yield Diamond(x=middle + _BAR / 2, y=height(rung.left.mid), radius=5)
        if rung.grain is None or rung.grain.mid != rung.left.mid:
            yield Word(x=middle + _BAR + 4, y=height(rung.left.mid) + _LETTER / 3, text=f"{rung.left.mid:g}", anchor="start")


def _legend(rungs: Sequence[Rung], y: float) -> Iterator[Mark]:
    x = _LEFT
    if any(rung.grain for rung in rungs):
        yield Bar(x=x, y=y - 8, width=8, height=10)
        yield Word(x=x + 13, y=y, text="grain size", anchor="start")
        x += 80
    if any(rung.left for rung in rungs):
        yield Diamond(x=x + 5, y=y - 3, radius=5)
        yield Word(x=x + 15, y=y, text="as coarse as the surface left", anchor="start")
        x += 165
    if any(rung.cracks for rung in rungs):
        yield Line(x1=x + 4, y1=y - 10, x2=x + 4, y2=y + 2, kind="cracks")
        yield Word(x=x + 12, y=y, text="depth of cracks left", anchor="start")


class _Height(Protocol):
    """What gives the height of a size in the drawing."""

    def __call__(self, size: float) -> float: ...


def _ends(value: Range, height: _Height) -> tuple[float, float]:
    """The upper and the lower end of a range in the drawing."""
    low, high = value.low or value.mid, value.high or value.mid
    return height(high), height(low)


def _sizes(rungs: Sequence[Rung]) -> Iterator[float]:
    for rung in rungs:
        for value in (rung.grain, rung.left, rung.cracks):
            if value is not None:
                yield from (size for size in (value.low, value.mid, value.high) if size is not None and size > 0)


def _told(rung: Rung) -> Iterator[str]:
    for what, value in (("grain", rung.grain), ("surface left", rung.left), ("cracks left", rung.cracks)):
        if value is not None:
            yield f"{what} {value.mid:g} µm"


def _fitting(text: str, room: float) -> str:
    """A text that fits into so many units; shortened with an ellipsis where it does not."""
    most = max(3, int(room / (0.56 * _LETTER)))
    return text if len(text) <= most else f"{text[: most - 1]}…"
