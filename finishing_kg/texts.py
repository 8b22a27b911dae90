"""Text from files that anybody may have written, bounded before anything tries to understand it.

Readers of TOML and Turtle take memory a hundred times the size of a file, and time that grows with the square of a line or of
a chain of keys. Within these bounds nothing takes long; no file that people write comes near them.
"""

import re
from pathlib import Path
from typing import Protocol

MOST_BYTES = 2_000_000
"""Bytes that a file of rules, things, cases, shelf or settings may have; all that is shipped has less than that together."""

LONGEST_LINE = 2_000
"""Characters that a line may have."""

MOST_TABLES = 2_000
"""Tables that a file may list, such as rules or entries of a shelf."""

_MOST_PARTS = 30
_CHAIN = re.compile(rf"""(?<![\w"'.-])(?:[\w"'-]+[ \t]*\.[ \t]*){{{_MOST_PARTS}}}""")


class Holding(Protocol):
    """What can be read like a file, whether it lies on the disk or within another file."""

    def read_bytes(self) -> bytes:
        """What it holds."""


class NotReadable(ValueError):
    """A file whose text cannot be taken: ``line`` is where, and the message says why and what to do."""

    def __init__(self, line: int, text: str) -> None:
        super().__init__(text)
        self.line = line


def text_of(file: Holding, most_bytes: int = MOST_BYTES) -> str:
    """The text of a file.

    Args:
        file: of which no more is read than it may have.
        most_bytes: that it may have.

    Raises:
        NotReadable: it is too large, is no UTF-8, or has a line or a chain of keys that is too long.
        OSError: the system cannot read it.
    """
    if isinstance(file, Path):
        with file.open("rb") as stream:
            raw = stream.read(most_bytes + 1)
    else:
        raw = file.read_bytes()
    if len(raw) > most_bytes:
        raise NotReadable(1, f"The file is larger than {most_bytes // 1000} kB, and no file of its kind is. Split it, if all of it is meant.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(10) + 1
        raise NotReadable(line, f"The file is not text in UTF-8 (byte {error.start}).") from error
    bound_lines(text)
    return text


def bound_lines(text: str) -> None:
    """See that no line of a text takes its readers long.

    Raises:
        NotReadable: a line, or a chain of keys in it, is too long.
    """
    for number, line_text in enumerate(text.split("\n"), 1):
        if len(line_text) > LONGEST_LINE:
            raise NotReadable(number, f"This line is longer than {LONGEST_LINE} characters. Break it into several.")
        if line_text.count(".") >= _MOST_PARTS and _CHAIN.search(line_text):
            raise NotReadable(number, f"This line chains more than {_MOST_PARTS} parts by full stops; no key of ours has more than three.")
