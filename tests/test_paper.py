"""Paragraphs for people: broken and styled as the library of terminals does it, which is too slow to load for that."""

import io
import os
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.text import Text

from finishing_kg.cli.paper import Paper, breaks

LETTERS = st.text(alphabet="abc 12,.-µ–…■▲×éñ漢字か", max_size=200)
STYLES = st.sampled_from(["", "bold", "dim", "italic", "bold red", "yellow", "bold yellow", "bold cyan", "cyan"])


def by_rich(parts: list[tuple[str, str]], width: int, *, coloured: bool) -> str:
    """The same paragraph as rich prints it on a terminal."""
    out = io.StringIO()
    console = Console(
        file=out, width=width, force_terminal=True, color_system="standard", no_color=not coloured, highlight=False, markup=False, emoji=False
    )
    text = Text()
    for words, style in parts:
        text.append(words, style)
    for line in text.wrap(console, width):
        line.rstrip()
        console.print(line, soft_wrap=True)
    return out.getvalue()


def by_cell(text: str) -> list[tuple[str, frozenset[str]]]:
    """What a terminal shows: each letter with what is switched on where it stands."""
    shown, on = [], frozenset[str]()
    for codes, letter in re.findall(r"\x1b\[([\d;]*)m|([^\x1b])", text):
        if letter:
            shown.append((letter, on))
        else:
            on = frozenset() if codes == "0" else on | frozenset(codes.split(";"))
    return shown


@given(parts=st.lists(st.tuples(LETTERS, STYLES), min_size=1, max_size=4), width=st.integers(20, 100), coloured=st.booleans())
def test_a_paragraph_looks_as_rich_prints_it(parts: list[tuple[str, str]], width: int, coloured: bool) -> None:
    """On a terminal every letter stands in the same place in the same style."""
    with pytest.MonkeyPatch.context() as patch:
        out = io.StringIO()
        patch.setattr("sys.stdout", out)
        for name, value in {"COLUMNS": str(width), "FORCE_COLOR": "1", "TERM": "xterm", "NO_COLOR": "" if coloured else "1"}.items():
            patch.setenv(name, value)
        Paper().paragraph(parts)
    assert by_cell(out.getvalue()) == by_cell(by_rich(parts, width, coloured=coloured))


@given(LETTERS, st.integers(20, 60))
def test_nothing_is_lost_where_a_text_is_broken(text: str, width: int) -> None:
    """The breaks rise and lie within the text."""
    found = breaks(text, width)
    assert found == sorted(set(found))
    assert all(0 < place < len(text) for place in found)


@pytest.mark.parametrize(
    ("environment", "width"),
    [({"COLUMNS": "61"}, 61), ({"COLUMNS": "0"}, 80), ({"COLUMNS": "wide"}, 80), ({"TERM": "dumb"}, 80)],
    ids=str,
)
def test_the_width_is_what_is_named_or_eighty(monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], width: int) -> None:
    """Without a terminal ``COLUMNS`` decides, and where it says nothing the width is eighty."""

    def no_terminal(_descriptor: int) -> os.terminal_size:
        raise OSError

    monkeypatch.setattr(os, "get_terminal_size", no_terminal)
    for name in ("COLUMNS", "TERM"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert Paper().width == width
