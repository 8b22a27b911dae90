"""Paragraphs on standard output: broken at words, styled only where somebody sees it.

What rich would do with them, without the third of the time to an answer that loading rich takes; its rules are kept for the
width, for colour, and for breaking a word that is wider than the line, and a test holds the two side by side.
"""

import os
import re
import sys
import unicodedata
from collections.abc import Iterator
from itertools import pairwise

_WIDTH = 80  # where nothing tells another
_CODES = {"bold": "1", "dim": "2", "italic": "3", "red": "31", "yellow": "33", "cyan": "36"}
_COLOURS = frozenset({"red", "yellow", "cyan"})
_WORD = re.compile(r"\s*\S+\s*")


class Paper:
    """Standard output as it is now.

    Attributes:
        width: columns of a line.
    """

    def __init__(self) -> None:
        self.width = terminal_columns()
        terminal = bool(os.environ.get("FORCE_COLOR")) or (sys.stdout is not None and sys.stdout.isatty())
        self._styled = terminal and os.environ.get("TERM", "").lower() not in ("dumb", "unknown") and os.name != "nt"
        self._coloured = not os.environ.get("NO_COLOR")

    def blank(self) -> None:
        """An empty line."""
        print()

    def paragraph(self, parts: list[tuple[str, str]], indent: int = 0) -> None:
        """Parts of one text, each with its style, broken into lines.

        Args:
            parts: texts without line ends; a style is empty or names from ``bold dim italic red yellow cyan``.
            indent: columns left free before each line.
        """
        text = "".join(words for words, _ in parts)
        starts = [0, *breaks(text, max(20, self.width - indent)), len(text)]
        for start, end in pairwise(starts):
            print(" " * indent + "".join(self._styles(parts, start, start + len(text[start:end].rstrip()))))

    def _styles(self, parts: list[tuple[str, str]], start: int, end: int) -> Iterator[str]:
        """The text from one place to another, each part in its style."""
        at = 0
        for words, style in parts:
            piece = words[max(start - at, 0) : max(end - at, 0)]
            at += len(words)
            codes = [_CODES[name] for name in style.split() if self._coloured or name not in _COLOURS] if self._styled else []
            if piece:
                yield f"\x1b[{';'.join(codes)}m{piece}\x1b[0m" if codes else piece


def terminal_columns() -> int:
    """The width of the terminal that one of the three streams is, unless ``COLUMNS`` names another."""
    named = os.environ.get("COLUMNS", "")
    if named.isdecimal() and int(named):
        return int(named)
    if os.environ.get("TERM", "").lower() in ("dumb", "unknown"):
        return _WIDTH
    for descriptor in (0, 2, 1):
        try:
            return os.get_terminal_size(descriptor).columns or _WIDTH
        except (OSError, AttributeError, ValueError):
            continue
    return _WIDTH


def breaks(text: str, width: int) -> list[int]:
    """Where a text is broken so that no line is wider than ``width`` columns; a wider word is broken within."""
    found: list[int] = []
    used = 0
    for match in _WORD.finditer(text):
        start, word = match.start(), match.group()
        needed = columns(word.rstrip())
        if needed <= width - used:
            used += columns(word)
        elif needed > width:
            if start:
                found.append(start)
            used = 0
            for at, letter in enumerate(word, start):
                taken = columns(letter)
                if used + taken > width:
                    found.append(at)
                    used = 0
                used += taken
        else:
            if start:
                found.append(start)
            used = columns(word)
    return found


def columns(text: str) -> int:
    """How many columns a text takes: East Asian wide letters two, marks that stand on another letter none."""
    if text.isascii():
        return len(text)
    return sum(0 if unicodedata.category(each) in ("Mn", "Me") else 2 if unicodedata.east_asian_width(each) in "WF" else 1 for each in text)
