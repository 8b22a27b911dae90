"""The commands that the documents show, run again: ``python tests/refresh_docs.py`` rewrites what they printed.

How an example is written: a block of the kind ``sh`` with commands, each a line that begins with ``finishing-kg``; where
it is followed by a block of the kind ``text``, that block is what the one command above it printed, its standard error
included. A command that ends otherwise than with status 0 says so: ``# exit status 1``. One that runs all cases says
``# takes minutes``, one that serves ``# runs until it is stopped``; neither is run here nor has an output below it.
An output is shortened only with lines that say so, and these lines are the instructions by which it is shortened anew:

    [left out: from “Second choice” up to “▲ Cautions”]     both are beginnings of lines, looked for from here on
    [left out: from “· note” up to the last line]
    [left out: from “Second choice” to the end]
    [each line is cut after 100 characters]                 stands last

The commands of a walk run one after another in one folder, so that each finds what those before it have written.
"""

from __future__ import annotations

import io
import os
import re
import shlex
import sys
from collections.abc import Iterator
from contextlib import chdir, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from unittest import mock

ROOT = Path(__file__).resolve().parent.parent
DOCUMENTS = ("README.md", "examples/examples.md")
WALKS = ("examples/walk-through.md",)
COLUMNS = 100
"""How wide the outputs in the documents are."""

_FENCED = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_STATUS = re.compile(r"#\s*exit status (\d+)\s*$")
_MINUTES = re.compile(r"#\s*(?:takes minutes|runs until it is stopped)\s*$")
_LEFT_OUT = re.compile(r"\[left out: from “(.+)” (?:up to “(.+)”|up to (the last line)|to the end)\]$")
_CUT = re.compile(r"\[each line is cut after (\d+) characters\]$")


@dataclass(frozen=True)
class Example:
    """One command of a document.

    Attributes:
        document, line: where it stands, the line counted from 1.
        command: as written, without the remarks on its status and on its time.
        status: the exit status that the document states.
        output: what the document says it printed, as the block's text; ``None`` where it does not say.
        span: where in the document's text that output stands.
        takes_minutes: whether it runs all cases, and so is shown and not run.
    """

    document: str
    line: int
    command: str
    status: int
    output: str | None = None
    span: tuple[int, int] = (0, 0)
    takes_minutes: bool = False


def examples(document: str) -> Iterator[Example]:
    """The commands of a document, save the bare one that opens the interface."""
    text = (ROOT / document).read_text(encoding="utf-8")
    blocks = list(_FENCED.finditer(text))
    for block, after in zip(blocks, [*blocks[1:], None], strict=True):
        if block[1] != "sh":
            continue
        written = [line for line in block[2].splitlines() if _command(line)]
        follows = after is not None and after[1] == "text" and not text[block.end() : after.start()].strip()
        assert not follows or len(written) == 1, f"{document}: an output must stand below one command, not below {written}"
        for line in written:
            number = text.count("\n", 0, text.index(line, block.start())) + 1
            status = found[1] if (found := _STATUS.search(line)) else "0"
            made = Example(document, number, _command(line), int(status), takes_minutes=bool(_MINUTES.search(line)))
            assert not (follows and made.takes_minutes), f"{document}: an output must not stand below {line}, which is not run"
            if follows and after is not None:
                made = Example(document, number, made.command, made.status, after[2], after.span(2))
            yield made


def _command(line: str) -> str:
    """The command of this program that a line runs last, or nothing."""
    last = _MINUTES.sub("", _STATUS.sub("", line)).strip().rpartition(" && ")[2].removeprefix(".venv/bin/")
    return last if last.startswith("finishing-kg ") else ""


@cache
def run(command: str) -> tuple[int, str]:
    """Run a command: its exit status, and what it printed. One that stands in two documents is run once."""
    words = shlex.split(command)[1:]
    with _somewhere(words) as folder:
        return _run_in(folder, words)


@cache
def walk(document: str) -> tuple[tuple[int, str], ...]:
    """Run the commands of a walk in their order, in one folder that is thrown away: of each its exit status, and what it printed."""
    with TemporaryDirectory() as place:
        return tuple(_run_in(Path(place), shlex.split(example.command)[1:]) for example in examples(document))


def _run_in(folder: Path, words: list[str]) -> tuple[int, str]:
    """Run a command in this process: its exit status, and what it printed, without spaces at the ends of lines."""
    from finishing_kg.cli import main

    given = ""
    if "<" in words:
        given = (ROOT / words[words.index("<") + 1]).read_text(encoding="utf-8")
        words = words[: words.index("<")]
    # Bytes below, as in a pipe: what the program can write depends on the encoding of the stream.
    printed = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    with (
        redirect_stdout(printed),
        redirect_stderr(printed),
        chdir(folder),
        mock.patch.dict(os.environ, {"COLUMNS": str(COLUMNS), "NO_COLOR": "1", "FORCE_COLOR": ""}),
        mock.patch.object(sys, "stdin", io.TextIOWrapper(io.BytesIO(given.encode()), encoding="utf-8")),
    ):
        try:
            status = main(words)
        except SystemExit as left:  # argparse leaves so after --help and after wrong options
            status = int(left.code or 0)
    printed.seek(0)
    return status, "".join(f"{line.rstrip()}\n" for line in printed)


@contextmanager
def _somewhere(words: list[str]) -> Iterator[Path]:
    """Where a command runs: in the project; one that may write, in a copy of the examples that is thrown away."""
    if words[:1] != ["studio"]:
        yield ROOT
        return
    with TemporaryDirectory() as place:
        copytree(ROOT / "examples", Path(place, "examples"))
        yield Path(place)


def shortened(printed: str, shown: str) -> str:
    """What was printed, shortened by the instructions in what a document shows of it.

    Raises:
        LookupError: a line that an instruction names was not printed.
    """
    lines = printed.splitlines()
    made: list[str] = []
    width = None
    for instruction in (line.strip() for line in shown.splitlines()):
        if cut := _CUT.match(instruction):
            width = int(cut[1])
        elif left_out := _LEFT_OUT.match(instruction):
            first = _find(lines, left_out[1], 0)
            last = _find(lines, left_out[2], first + 1) if left_out[2] else len(lines) - bool(left_out[3])
            made += [*lines[:first], instruction]
            lines = lines[last:]
    made += lines
    if width is not None:
        made = [f"{line[:width]}…" if len(line) > width else line for line in made]
        made.append(f"[each line is cut after {width} characters]")
    return "\n".join(made).strip("\n") + "\n"


def _find(lines: list[str], beginning: str, start: int) -> int:
    for index in range(start, len(lines)):
        if lines[index].strip().startswith(beginning):
            return index
    raise LookupError(f"no line begins with {beginning!r}")


def refresh(document: str) -> list[str]:
    """Rewrite the outputs of a document from runs; gives what could not be done."""
    faults = []
    file = ROOT / document
    text = file.read_text(encoding="utf-8")
    found = list(examples(document))
    walked = dict(zip(found, walk(document), strict=True)) if document in WALKS else {}
    for example in sorted(found, key=lambda example: -example.span[0]):
        if example.takes_minutes:
            continue
        status, printed = walked.get(example) or run(example.command)
        where = f"{document}, line {example.line}: {example.command}"
        if status != example.status:
            faults.append(f"{where}\n  is left as it was: it ended with status {status}, and the document says {example.status}")
        elif example.output is not None:
            try:
                start, end = example.span
                text = text[:start] + shortened(printed, example.output) + text[end:]
            except LookupError as error:
                faults.append(f"{where}\n  is left as it was: {error}")
    file.write_text(text, encoding="utf-8")
    return faults


if __name__ == "__main__":
    from findings_page import PAGE, findings_page

    from finishing_kg.engine import Knowledge

    PAGE.write_text(findings_page(Knowledge.shipped()), encoding="utf-8")
    found = [fault for document in (*DOCUMENTS, *WALKS) for fault in refresh(document)]
    print("\n".join(found) or "All outputs were taken anew.")
    sys.exit(1 if found else 0)
