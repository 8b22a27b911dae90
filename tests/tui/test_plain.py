"""Text that is safe to show, and ranges with their unit."""

from __future__ import annotations

import unicodedata

from finishing_kg_tui.plain import clean, one_line, span, words
from hypothesis import given
from hypothesis import strategies as st

from finishing_kg.advice.contract import Range


@given(st.text(st.characters(codec=None)))
def test_clean_leaves_nothing_that_steers(text: str) -> None:
    """Whatever comes in, only line breaks and joiners of the control and format characters are left."""
    shown = clean(text)
    assert len(shown) == len(text)
    assert all(character in "\n\u200c\u200d" or unicodedata.category(character) not in {"Cc", "Cf", "Cs"} for character in shown)


@given(st.text(st.characters(codec=None)))
def test_one_line_is_one_line(text: str) -> None:
    """A cell or a title has no line break and nothing at its ends."""
    shown = one_line(text)
    assert shown == shown.strip()
    assert len(shown.splitlines()) <= 1


def test_spans() -> None:
    """A range names its unit; without a spread it says about; unknown is nothing."""
    assert span(Range(low=5, mid=8, high=10), "m/s") == "5–10 m/s"
    assert span(Range(mid=12.34), "µm") == "about 12.3 µm"
    assert span(Range(low=1500, mid=1500, high=1500), "rpm") == "1500 rpm"
    assert span(None, "µm") == ""
    assert words("brush-wheel") == "brush wheel"
