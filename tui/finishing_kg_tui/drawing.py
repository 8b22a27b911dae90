"""The ladder of a route in characters: sizes from left (fine) to right (coarse), a group of lines a step, on one scale of tens.

The numbers are those of the route card's drawing. Each kind of mark has a shape and a word of its own, so that nothing
rests on colour: ``████`` the grain, ``◇`` the surface left, ``├┄┄●┄┄┤`` the cracks left, with the likeliest depth at the dot.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import TYPE_CHECKING

from finishing_kg_tui.plain import number, one_line, roughly, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Range, Route, RouteStep
    from finishing_kg.card import Rung

Spans = list[tuple[str, str]]
"""A line as pieces of text, each with its role: ``name``, ``quiet``, ``grain``, ``left``, ``cracks`` or nothing."""

LEGEND: Spans = [
    ("████", "grain"),
    (" grain size   ", ""),
    ("◇", "left"),
    (" surface left   ", ""),
    ("├┄●┄┤", "cracks"),
    (" cracks left, likeliest at ●", ""),
]
_WORD, _NUMBERS, _NAME = 7, 13, 22
_ROOMY = 76  # from here on the step's name has a column of its own
LEAST_WIDTH = 30


@dataclass(frozen=True)
class _Scale:
    """Where a size stands in a plot.

    Attributes:
        low, high: powers of ten at the ends.
        width: in cells.
    """

    low: int
    high: int
    width: int

    def cell(self, size: float) -> int:
        """The cell of a size in µm; what is beyond an end stands at it."""
        if size <= 0:
            return 0
        share = (math.log10(size) - self.low) / (self.high - self.low)
        return min(max(round(share * (self.width - 1)), 0), self.width - 1)

    def empty(self) -> list[str]:
        """A line of the plot with nothing but the marks of the tens."""
        cells = [" "] * self.width
        for decade in range(self.low, self.high + 1):
            cells[self.cell(10.0**decade)] = "·"
        return cells

    def axis(self) -> str:
        """The tens in figures above their marks; one that has no room is left out."""
        cells = [" "] * self.width
        free = 0
        for decade in range(self.low, self.high + 1):
            text = f"{10.0**decade:g}"
            first = min(max(self.cell(10.0**decade) - len(text) // 2, 0), self.width - len(text))
            if first >= free:
                cells[first : first + len(text)] = text
                free = first + len(text) + 1
        return "".join(cells)


def picture(rungs: Sequence[Rung], carriers: Sequence[str], width: int, span_of: tuple[int, int]) -> Iterator[Spans]:
    """The lines of a ladder.

    Args:
        rungs: The steps, as the route card has them.
        carriers: What each is worked on.
        width: Of the picture, in cells; at least ``LEAST_WIDTH``.
        span_of: The powers of ten between which the sizes lie; two pictures with the same can be held beside each other.
    """
    roomy = width >= _ROOMY
    before = _WORD + (_NAME if roomy else 0)
    scale = _Scale(*span_of, max(width - before - _NUMBERS - 1, 8))
    yield [(" " * before, ""), (scale.axis(), "quiet"), (" µm", "quiet")]
    for rung, carrier in zip(rungs, carriers, strict=True):
        name = one_line(f"{rung.number} {rung.name}, {words(carrier)}")
        if not roomy:
            yield [(_cut(name, width), "name")]
        rows = list(_rows(rung, scale))
        for place, row in enumerate(rows):
            label = [(_cut(name, _NAME - 1).ljust(_NAME) if not place else " " * _NAME, "name")] if roomy else []
            yield [*label, *row]
        if not rows:
            yield [(_cut(name, _NAME - 1).ljust(_NAME), "name"), ("no size is known", "quiet")] if roomy else [("no size is known", "quiet")]


def _rows(rung: Rung, scale: _Scale) -> Iterator[Spans]:
    if rung.grain is not None:
        yield _row("grain", "grain", rung.grain, _bar(scale, rung.grain))
    if rung.left is not None:
        cells = scale.empty()
        cells[scale.cell(rung.left.mid)] = "◇"
        yield _row("left", "left", rung.left, cells)
    if rung.cracks is not None:
        yield _row("cracks", "cracks", rung.cracks, _bracket(scale, rung.cracks))


def _row(word: str, role: str, value: Range, cells: list[str]) -> Spans:
    drawn = [(character, "quiet" if character == "·" else role if character != " " else "") for character in cells]
    merged: Spans = [(f"{word:{_WORD}}", "quiet")]
    for character, kind in drawn:
        if merged[-1][1] == kind and len(merged) > 1:
            merged[-1] = (merged[-1][0] + character, kind)
        else:
            merged.append((character, kind))
    return [*merged, (f" {numbers_of(value)}", "")]


def _bar(scale: _Scale, value: Range) -> list[str]:
    cells = scale.empty()
    low, high = scale.cell(value.low or value.mid), scale.cell(value.high or value.mid)
    cells[low : high + 1] = "█" * (high + 1 - low)
    return cells


def _bracket(scale: _Scale, value: Range) -> list[str]:
    cells = scale.empty()
    low, high = scale.cell(value.low if value.low is not None else value.mid), scale.cell(value.high or value.mid)
    cells[low : high + 1] = "┄" * (high + 1 - low)
    if high > low:
        cells[low], cells[high] = "├" if value.low else "<", "┤"  # down to nothing has no end on a scale of tens
    cells[scale.cell(value.mid)] = "●"
    return cells


def numbers_of(value: Range) -> str:
    """A range in few letters: its ends, or its middle where no spread is known."""
    if value.low is None or value.high is None or value.low == value.high:
        return f"≈{_figures(value.mid)}"
    return f"{_figures(value.low)}–{_figures(value.high)}"


def _figures(value: float) -> str:
    return f"{value:.2g}" if abs(value) < 10 else number(value)


def _cut(text: str, room: int) -> str:
    return text if len(text) <= room else f"{text[: room - 1]}…"


def differences(one: Route, other: Route) -> list[tuple[str, str, str]]:
    """What differs between two routes, as (what, in the first, in the second): step by step, then as a whole."""
    found: list[tuple[str, str, str]] = []
    for place, (left, right) in enumerate(zip_longest(one.steps, other.steps), 1):
        found.append((f"Step {place}", _of_step(left), _of_step(right)))
    minutes = [roughly(route.minutes, "min") or "not known" for route in (one, other)]
    found += [("Minutes", minutes[0], minutes[1]), ("Cracks left", _last_cracks(one), _last_cracks(other))]
    return [each for each in found if each[1] != each[2]]


def _of_step(step: RouteStep | None) -> str:
    if step is None:
        return "no such step"
    grade = one_line(step.grade or "")
    return ", ".join(
        filter(None, (" ".join(filter(None, (words(step.hold), words(step.mineral), grade))), words(step.carrier), "" if step.wet else "dry"))
    )


def _last_cracks(route: Route) -> str:
    damage = route.steps[-1].leaves.damage_um if route.steps else None
    return f"{numbers_of(damage)} µm" if damage else "not known"
