"""Changes to a studio: each is tried on a copy, and takes effect only if the whole studio is in order with it."""

import re
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from finishing_kg.studio.contents import Studio, read_studio
from finishing_kg.studio.errors import StudioFault, fault
from finishing_kg.studio.folder import settings
from finishing_kg.studio.things import against_shapes
from finishing_kg.studio.write import locked, replace_file, replace_files

_FENCE = re.compile(r'"""|\'\'\'')
_PARTS = ("rules/*.toml", "things/*.ttl", "cases/*.toml", "packs/*.zip", "*.toml", "*.jsonl")


_TEXTS = (".toml", ".ttl", ".jsonl")


def change(folder: Path, file: str, how: Callable[[str], str], *, shapes: bool = False) -> Studio:
    """Change one file of a studio.

    Args:
        folder: the studio's.
        file: its name within it; it may be missing.
        how: from the file's text, empty if it is missing, to the new one.
        shapes: whether the things must be held against the shapes too.

    Returns:
        The studio with the change.

    Raises:
        StudioError: with the change something in the studio is wrong, or the system refuses. Nothing was then changed.
    """
    settings(folder)  # a folder of a newer format is not touched, not even by the lock
    with locked(folder), copied(folder) as trial:
        target = folder / file
        before = _text(target, file)
        after = how(before)
        (trial / file).parent.mkdir(parents=True, exist_ok=True)
        (trial / file).write_text(after, encoding="utf-8", newline="\n")
        studio = read_studio(trial)
        if shapes:
            held_against_shapes(trial, file)
        if after != before:
            replace_file(target, after)
        return studio


def change_all(folder: Path, how: Callable[[str, str], str]) -> Studio:
    """Change all text files of a studio at once: either all are changed, or none is.

    Args:
        folder: the studio's.
        how: from a file's name within the folder and its text to the new text.

    Raises:
        StudioError: as ``change``.
    """
    settings(folder)
    with locked(folder), copied(folder) as trial:
        texts = {}
        for path in (path for path in files_of(folder) if path.suffix in _TEXTS):
            name = path.relative_to(folder).as_posix()
            before = _text(path, name)
            after = how(name, before)
            if after != before:
                texts[name] = after
                (trial / name).write_text(after, encoding="utf-8", newline="\n")
        studio = read_studio(trial)
        held_against_shapes(trial)
        replace_files(folder, texts)
        return studio


def tried(folder: Path, file: str, how: Callable[[str], str], *, shapes: bool = False) -> Studio:
    """The studio as it would be with a change to one file, as ``change`` has it; nothing is written.

    Raises:
        StudioError: as ``change``.
    """
    with copied(folder) as trial:
        after = how(_text(folder / file, file))
        (trial / file).parent.mkdir(parents=True, exist_ok=True)
        (trial / file).write_text(after, encoding="utf-8", newline="\n")
        studio = read_studio(trial)
        if shapes:
            held_against_shapes(trial, file)
        return studio


def files_of(folder: Path) -> list[Path]:
    """All files that a studio is read from; its lock and what writers leave beside are not among them."""
    return [path for pattern in _PARTS for path in sorted(folder.glob(pattern))]


@contextmanager
def copied(folder: Path) -> Iterator[Path]:
    """A copy of a studio to try something on; it is thrown away afterwards.

    Raises:
        StudioError: a file cannot be read, or there is no room for the copy.
    """
    with tempfile.TemporaryDirectory() as place:
        try:
            for path in files_of(folder):
                copy = Path(place) / path.relative_to(folder)
                copy.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(path, copy)
        except OSError as error:
            raise fault(f"The studio cannot be copied to try the change ({error.strerror}). Nothing was changed.", str(folder)) from error
        yield Path(place)


def held_against_shapes(folder: Path, file: str = "things") -> None:
    """Hold the things against the shipped shapes.

    Raises:
        StudioError: with every shape that does not hold.
    """
    from finishing_kg.studio.errors import StudioError
    from finishing_kg.vocabulary.shapes import ShapesError

    try:
        found = against_shapes(folder)
    except ShapesError as error:
        raise fault(str(error), file) from error
    if found:
        raise StudioError([StudioFault(file, 0, *_split(sentence)) for sentence in found])


def _split(sentence: str) -> tuple[str, str]:
    thing, _, text = sentence.partition(": ")
    return thing, text[:1].upper() + text[1:]


def _text(target: Path, file: str) -> str:
    try:
        return target.read_text(encoding="utf-8") if target.exists() else ""
    except (OSError, UnicodeDecodeError) as error:
        raise fault(f"It cannot be read ({error}). Nothing was changed.", file) from error


def without_table(text: str, header: str, index: int) -> str:
    """A TOML text without one table of an array of tables; every comment outside of it stays, and all else letter for letter.

    Args:
        text: as it stands in the file.
        header: the name of the array.
        index: which of its tables, counted from nought.
    """
    begins = re.compile(rf"\s*\[\[\s*{re.escape(header)}\s*\]\]")
    lines, starts, fenced = text.split("\n"), [], False
    for number, line in enumerate(lines):
        if not fenced and begins.match(line):
            starts.append(number)
        fenced = fenced ^ (len(_FENCE.findall(line)) % 2 == 1)
    first = starts[index]
    last = starts[index + 1] if index + 1 < len(starts) else len(lines)
    while last > first + 1 and (not lines[last - 1].strip() or lines[last - 1].lstrip().startswith("#")):
        last -= 1
    kept = "\n".join([*lines[:first], *lines[last:]])
    expected = tomllib.loads(text)[header]
    left = [*expected[:index], *expected[index + 1 :]]
    if tomllib.loads(kept).get(header, []) != left:
        raise fault("This file is laid out so that I cannot take the entry out without harm. Take it out by hand. Nothing was changed.")
    return kept
