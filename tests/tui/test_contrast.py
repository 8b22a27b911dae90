"""Whatever is written on any screen can be read: contrast as WCAG 2.1 reckons it, 4.5 for letters and 3 for lines."""

from __future__ import annotations

import pytest
from finishing_kg_tui.screens.bench import BenchScreen
from finishing_kg_tui.themes import THEMES
from rich.color import Color

from .conftest import Bench, OpenBench
from .fake_dialogue import FakeDialogue

# WCAG 2.1, success criteria 1.4.3 (text) and 1.4.11 (parts that are no text).
LETTERS, LINES = 4.5, 3.0
STATES: dict[str, tuple[str, ...]] = {
    "talk": (),
    "chips": ("ctrl+g", "right"),
    "values": ("ctrl+g", "enter"),
    "route": ("f2", "down"),
    "reasons": ("f2", "enter"),
    "paragraphs": ("ctrl+b", "down"),
    "ladder": ("ctrl+l", "b"),
    "around": ("f2", "a"),
    "help": ("f1",),
    "palette": ("ctrl+p",),
}


def _luminance(colour: Color) -> float:
    parts = [part / 255 for part in colour.get_truecolor()]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: Color, other: Color) -> float:
    """The contrast ratio of two colours, from 1 to 21 (WCAG 2.1, relative luminance)."""
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def _faint(found: Bench) -> set[tuple[str, float]]:
    """Texts on the screen that cannot be read well enough, with their contrast."""
    faint = set()
    screen = found.app.screen
    # What lies dimmed around an open box is not there to be read.
    seen = screen.region if isinstance(screen, BenchScreen) else screen.children[0].region
    for strip in screen._compositor.render_strips()[seen.y : seen.bottom]:
        for segment in strip.crop(seen.x, seen.right):
            style, text = segment.style, segment.text.strip()
            if not text or style is None or style.color is None or style.bgcolor is None:
                continue
            front, back = (style.bgcolor, style.color) if style.reverse else (style.color, style.bgcolor)
            needed = LETTERS if any(character.isalnum() for character in text) else LINES
            ratio = contrast(front, back)
            # A block that fills the cell is a bar of scrolling or of a mark beside a text that says the same.
            if ratio < needed and not set(text) <= set("█▌▐▁▂▃▄▅▆▇▔▎▊ "):
                faint.add((text, round(ratio, 2)))
    return faint


def test_contrast_is_reckoned_as_published() -> None:
    """Black on white is 21 to 1; the grey #767676 on white is the darkest that passes (WCAG 2.1, understanding 1.4.3)."""
    white = Color.parse("#ffffff")
    assert contrast(Color.parse("#000000"), white) == pytest.approx(21)
    assert contrast(Color.parse("#767676"), white) == pytest.approx(4.54, abs=0.01)
    assert contrast(Color.parse("#777777"), white) < LETTERS


@pytest.mark.parametrize("theme", [theme.name for theme in THEMES])
async def test_everything_on_every_screen_can_be_read(bench: OpenBench, theme: str) -> None:
    """In each state of the interface and each of its colours."""
    async with bench(FakeDialogue) as found:
        found.app.theme = theme
        await found.ask("Blown borosilicate beaker, rim cracked off, to a polish")
        await found.ask("polish")
        faint = {}
        for state, keys in STATES.items():
            await found.press(*keys)
            if few := _faint(found):
                faint[state] = few
            await found.press("escape", "escape")
        assert faint == {}
