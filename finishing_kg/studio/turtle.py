"""Turtle as text: where each statement stands, so that faults have a line and a statement can be taken out without touching the rest."""

import re
from dataclasses import dataclass

# What may hold a full stop that ends nothing: comments, IRIs and texts. Numbers are left out: a full stop between digits ends nothing either.
_SKIPPED = re.compile(
    r"""\#[^\n]*|<[^>\n]*>|\"{3}(?:[^"\\]|\\.|"(?!""))*\"{3}|'{3}(?:[^'\\]|\\.|'(?!''))*'{3}|"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)*'""",
    re.DOTALL,
)
_END = re.compile(r"\.(?!\w)")
_SUBJECT = re.compile(r"\s*(?:fk:([\w-]+)|<https://finishing-kg\.example/onto#([\w-]+)>)")


@dataclass(frozen=True, slots=True)
class Placed:
    """One statement of a Turtle file.

    Attributes:
        start, end: its place in the text, from its first letter to behind its full stop.
        line: of its first letter, counted from 1.
        subject: the local name of the thing it is about; empty where it is about no thing.
    """

    start: int
    end: int
    line: int
    subject: str


def placed(text: str) -> list[Placed]:
    """All statements of a text, in their order; prefixes and statements about statements are among them."""
    plain = _SKIPPED.sub(lambda found: re.sub(r"[^\n]", " " if found.group().startswith("#") else "x", found.group()), text)
    statements, start = [], 0
    for stop in _END.finditer(plain):
        first = start + len(plain[start : stop.end()]) - len(plain[start : stop.end()].lstrip())
        subject = _SUBJECT.match(text, first)
        local = (subject.group(1) or subject.group(2)) if subject else ""
        statements.append(Placed(first, stop.end(), text.count("\n", 0, first) + 1, local))
        start = stop.end()
    return statements


def line_of(text: str, local: str, within: str = "") -> int:
    """The line on which a thing is spoken of, or a word of that statement stands; the first line if it is nowhere."""
    mentioned = 0
    for statement in placed(text):
        body = text[statement.start : statement.end]
        if statement.subject == local:
            at = body.find(within) if within else 0
            return text.count("\n", 0, statement.start + max(at, 0)) + 1
        if not mentioned and re.search(rf"[:#]{re.escape(local)}(?![\w-])", body):
            mentioned = statement.line
    return mentioned or 1


def without(text: str, local: str) -> str:
    """The text without the statements about a thing; comments and all else stay letter for letter."""
    for statement in reversed(placed(text)):
        body = text[statement.start : statement.end]
        about = re.search(rf"rdf:subject\s+fk:{re.escape(local)}(?![\w-])", body) if body.startswith("[") else None
        if statement.subject == local or about:
            end = statement.end + (1 if text[statement.end : statement.end + 1] == "\n" else 0)
            text = text[: statement.start] + text[end:]
    return text
