"""What is written to the terminal or a pipe: nothing in it can move a cursor, turn the text round or break the encoding."""

import contextlib
import json
import os
import re
import sys
import unicodedata

# JSON escapes the first thirty-two control characters by itself; these are the others that a terminal obeys,
# marks of writing direction, and halves of characters that no encoding can write.
_UNSAFE = re.compile("[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff]")


def visible(text: str, keep: str = "") -> str:
    """The text with every character that is not shown as itself written out, such as ``\\x1b``.

    Args:
        text: from anywhere.
        keep: characters that stay although they are not printable, such as a line end.
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or letter in keep else _written_out(letter) for letter in text)


def _written_out(letter: str) -> str:
    return " " if unicodedata.category(letter) == "Zs" else letter.encode("unicode_escape").decode("ascii")


def print_json(value: object, indent: int | None = None) -> None:
    """One JSON value, in one line unless indented, and sent off at once: whoever asked may be waiting for it."""
    plain = not (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "").startswith("utf")
    text = json.dumps(value, ensure_ascii=plain, allow_nan=False, indent=indent, separators=None if indent else (",", ":"))
    print(_UNSAFE.sub(lambda match: f"\\u{ord(match.group()):04x}", text), flush=True)


def print_parts(parts: object) -> None:
    """A part of the contract, or a list of parts, as ``print_json`` prints them."""
    from finishing_kg.advice.wire import as_json

    print_json(as_json(parts))


def print_data(text: str) -> None:
    """A text in a data format, in UTF-8 whatever the stream's encoding: with letters written out it would be other data."""
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:
        print(text, end="", flush=True)
        return
    sys.stdout.flush()
    stream.write(text.encode("utf-8"))
    stream.flush()


def never_fail_on_a_letter() -> None:
    """Let a stream whose encoding lacks a letter write its number instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def silence() -> None:
    """Write nothing more to standard output, not even what is still waiting when the program ends."""
    with contextlib.suppress(OSError, ValueError, AttributeError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
