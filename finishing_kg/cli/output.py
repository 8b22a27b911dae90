"""What is written to the terminal or a pipe: nothing in it can move a cursor, turn the text round or break the encoding."""

import contextlib
import json
import os
import re
import sys

from finishing_kg.visible import visible

__all__ = ["never_fail_on_a_letter", "print_data", "print_json", "print_parts", "silence", "visible"]

# JSON escapes the first thirty-two control characters by itself; these are the others that a terminal obeys,
# marks of writing direction, and halves of characters that no encoding can write.
_UNSAFE = re.compile("[\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff]")


def print_json(value: object, indent: int | None = None) -> None:
    """One JSON value, in one line unless indented, and sent off at once: whoever asked may be waiting for it."""
    plain = not (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "").startswith("utf")
    text = json.dumps(value, ensure_ascii=plain, allow_nan=False, indent=indent, separators=None if indent else (",", ":"))
    print(_UNSAFE.sub(lambda match: f"\\u{ord(match.group()):04x}", text), flush=True)


def print_parts(parts: object) -> None:
    """A part of the contract, or a list of parts, as ``print_json`` prints them."""
    from finishing_kg.advice.wire import as_json

    print_json(as_json(parts))


def print_data(data: str | bytes) -> None:
    """Data in a format of its own, a text in UTF-8 whatever the stream's encoding: with letters written out it would be other data."""
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:
        print(data if isinstance(data, str) else data.decode("latin-1"), end="", flush=True)
        return
    sys.stdout.flush()
    stream.write(data.encode("utf-8") if isinstance(data, str) else data)
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
