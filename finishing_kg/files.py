"""What can be read like a file, and a file that is written whole or not at all."""

import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path
from typing import Protocol


class Readable(Protocol):
    """Something with a name that can be read like a file: a file on the disk, or one inside of another file."""

    @property
    def name(self) -> str:
        """Its name, for messages."""

    @property
    def stem(self) -> str:
        """Its last name without the ending."""

    def read_bytes(self) -> bytes:
        """What it holds."""

    def read_text(self, encoding: str) -> str:
        """What it holds, as text."""


_BESIDE = ".{}.{}.part"


class CannotWrite(Exception):
    """Nothing was written; the message says why and what to do."""


def _taken(file: Path) -> CannotWrite:
    return CannotWrite(f"{file}: this file is there already, and it stays as it is. Name another, or allow it with --overwrite.")


def place_of(file: Path, *, overwrite: bool = True) -> Path:
    """The place that a file name leads to, links followed, if an ordinary file can stand there.

    Args:
        file: its name.
        overwrite: whether a file may stand there already.

    Raises:
        CannotWrite: there is a file that shall not be replaced; or the place is a folder, no ordinary file or a file that may
            not be changed, or its folder is missing.
    """
    try:
        target = file.resolve()
        there = target.stat() if target.exists() else None
    except (OSError, RuntimeError, ValueError) as error:  # a circle of links, a name that no system takes
        raise CannotWrite(f"{file}: this cannot be the name of a file ({getattr(error, 'strerror', None) or error}).") from error
    if there is not None and stat.S_ISDIR(there.st_mode):
        raise CannotWrite(f"{file}: this is a folder. Name a file in it, such as {file / 'name'}")
    if there is not None and not stat.S_ISREG(there.st_mode):
        raise CannotWrite(f"{file}: this is no ordinary file. Name another, or leave the option out.")
    if there is not None and not os.access(target, os.W_OK):
        raise CannotWrite(f"{file}: this file may not be changed. Name another, or let it be written first.")
    if there is not None and not overwrite:
        raise _taken(file)
    if not target.parent.is_dir():
        raise CannotWrite(f"{file}: there is no folder {file.parent}. Make it first.")
    return target


def unfinished(file: Path) -> list[Path]:
    """What writers that were killed have left beside a file; some of it may be of one that is writing now."""
    from glob import escape

    target = file.resolve()
    return sorted(target.parent.glob(_BESIDE.format(escape(target.name[:60]), "?" * 8)))


def write_whole(file: Path, data: str | bytes, *, overwrite: bool = True) -> None:
    """Put a text, in UTF-8, or bytes into a file: beside it first, then into its place in one move, so that nobody ever sees half of it.

    A file that was there keeps its permissions; a link stays a link and its target is written.

    Args:
        file: its name.
        data: what it shall hold.
        overwrite: whether a file that is there may be replaced.

    Raises:
        CannotWrite: as ``place_of``, or the system refuses. What was there before is then as it was.
    """
    target = place_of(file, overwrite=overwrite)
    beside = target.with_name(_BESIDE.format(target.name[:60], secrets.token_hex(4)))
    try:
        with beside.open("xb") as stream:
            stream.write(data.encode("utf-8") if isinstance(data, str) else data)
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            beside.chmod(stat.S_IMODE(target.stat().st_mode))
        if overwrite:
            beside.replace(target)
        else:
            os.link(beside, target)  # unlike a move it refuses where a file came to stand in the meantime
    except FileExistsError as error:
        raise _taken(file) from error
    except OSError as error:
        raise CannotWrite(f"{file}: this cannot be written ({error.strerror}). Nothing was changed.") from error
    finally:
        with suppress(OSError):
            beside.unlink()
