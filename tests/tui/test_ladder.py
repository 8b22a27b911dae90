"""The ladder in characters: every mark where its size is, readable without colour, two routes on one scale."""

from __future__ import annotations

import math

import pytest
from finishing_kg_tui.drawing import LEAST_WIDTH, differences, numbers_of, picture
from finishing_kg_tui.screens.ladder import LadderScreen
from hypothesis import given
from hypothesis import strategies as st

from finishing_kg.advice.contract import Range
from finishing_kg.card import Rung
from finishing_kg.card.ladder import decades

from .conftest import NARROW, WIDE, OpenBench
from .fake_dialogue import ROUTE, FakeDialogue

ASKED = "Blown borosilicate beaker, rim cracked off, to a polish"
SIZES = st.floats(0.01, 5_000)


@st.composite
def ranges(draw: st.DrawFn) -> Range:
    """A size with or without a spread."""
    low, mid, high = sorted(draw(st.lists(SIZES, min_size=3, max_size=3)))
    return Range(low=low, mid=mid, high=high) if draw(st.booleans()) else Range(mid=mid)


@st.composite
def ladders(draw: st.DrawFn) -> list[Rung]:
    """A few steps, of each at least the grain known."""
    count = draw(st.integers(1, 6))
    maybe = st.none() | ranges()
    return [Rung(number=number, name=f"F{number}00", grain=draw(ranges()), left=draw(maybe), cracks=draw(maybe)) for number in range(1, count + 1)]


def _text(rungs: list[Rung], width: int) -> list[str]:
    return ["".join(text for text, _ in line) for line in picture(rungs, ["plate"] * len(rungs), width, decades(rungs))]


@given(ladders(), st.integers(LEAST_WIDTH, 200))
def test_every_known_size_is_drawn_within_the_width(rungs: list[Rung], width: int) -> None:
    """Each size that is known has its mark on a line of its own with its word and numbers, and no line is too long."""
    lines = _text(rungs, width)
    known = [(word, value) for rung in rungs for word, value in (("grain", rung.grain), ("left", rung.left), ("cracks", rung.cracks)) if value]
    drawn = [line for line in lines[1:] if any(mark in line for mark in "█◇●")]
    assert len(drawn) == len(known)
    for line, (word, value) in zip(drawn, known, strict=True):
        assert word in line
        assert line.rstrip().endswith(numbers_of(value))
        assert line.count({"grain": "█", "left": "◇", "cracks": "●"}[word]) >= 1
    assert max(len(line) for line in lines) <= width + 8  # long numbers may reach over the edge, never the drawing


@given(st.lists(SIZES, min_size=2, max_size=6, unique=True))
def test_coarser_stands_further_right(sizes: list[float]) -> None:
    """Of two sizes the coarser is never drawn to the left of the finer, and a ten times coarser one is as far off as any other."""
    rungs = [Rung(number=number, name="F", left=Range(mid=size)) for number, size in enumerate(sizes, 1)]
    places = [line.index("◇") for line in _text(rungs, 100)[1:]]
    assert [place for _, place in sorted(zip(sizes, places, strict=True))] == sorted(places)
    low, high = decades(rungs)
    cells = 100 - 22 - 7 - 13 - 2
    for size, place in zip(sizes, places, strict=True):
        assert abs((place - 29) / cells - (math.log10(size) - low) / (high - low)) < 0.02


def test_a_step_without_sizes_says_so() -> None:
    """What is not known is not drawn but said."""
    rungs = [Rung(number=1, name="F80", grain=Range(mid=200)), Rung(number=2, name="pumice")]
    assert "2 pumice, plate" in _text(rungs, 100)[-1]
    assert "no size is known" in _text(rungs, 100)[-1]


def test_differences_are_those_and_no_others() -> None:
    """A route does not differ from itself; two that do are told step by step, the missing step too."""
    one, other = ROUTE.routes
    assert differences(one, one) == []
    assert [what for what, _, _ in differences(one, other)] == ["Step 2", "Step 3", "Minutes"]
    assert differences(one, other)[1][1:] == ("loose cerium oxide, felt wheel", "no such step")


@pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
async def test_ladder_screen(bench: OpenBench, size: tuple[int, int]) -> None:
    """Ctrl+L draws the route, right goes to the next, b puts another beside it with what differs, Escape goes back."""
    async with bench(FakeDialogue, size) as found:
        await found.ask(ASKED)
        await found.press("ctrl+l")
        screen = found.app.screen
        assert isinstance(screen, LadderScreen)
        assert "Ladder: route 1, lap, plate, felt" in found.screen_text()
        await found.press("right")
        assert "Ladder: route 2, without the plate" in found.screen_text()
        await found.press("left", "b")
        text = found.screen_text()
        assert "route 1, lap, plate, felt beside route 2, without the plate" in text
        assert "What differs" in text
        assert "no such step" in "".join(str(found.app.screen.query_one("#ladder-text").render()))
        await found.press("b", "escape")
        assert not isinstance(found.app.screen, LadderScreen)
