"""Changes to a studio's files: one writer at a time, whole files or whole lines, on the disk before anybody is told so."""

import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from filelock import FileLock, Timeout

from finishing_kg.studio.errors import fault

LOCK = ".lock"
PENDING = ".change.part"
_PATIENCE = 10.0
"""Seconds to wait for another writer; each holds the lock for a fraction of one."""


@contextmanager
def locked(folder: Path) -> Iterator[None]:
    """Hold the studio for reading, changing and writing in one go; other programs wait.

    Raises:
        StudioError: somebody else holds it too long, or the folder may not be written.
    """
    lock = FileLock(str(folder / LOCK), timeout=_PATIENCE)
    try:
        lock.acquire()
    except Timeout as error:
        what = f"Another program has held this studio for {_PATIENCE:.0f} seconds."
        raise fault(f"{what} Close it and try again. Nothing was changed.", LOCK) from error
    except OSError as error:
        raise fault(f"The studio cannot be changed here ({error.strerror}). Nothing was changed.", str(folder)) from error
    try:
        _finish(folder)
        _sweep(folder)
        yield
    finally:
        lock.release()


def _sweep(folder: Path) -> None:
    """Take away what was left of packs by a writer that was killed: another pack may never come to clear it away."""
    packs = folder / "packs"
    for left in packs.glob(".*.zip.????????.part"):
        with suppress(OSError):
            left.unlink()
    with suppress(OSError):  # packs are in it, or it was never made
        packs.rmdir()


def is_pending(folder: Path) -> bool:
    """Whether a change of several files was cut off: all of it is written down, and not all of it is in its place."""
    return (folder / PENDING).exists()


def replace_files(folder: Path, texts: Mapping[str, str]) -> None:
    """Put texts into several files of a studio, all of them or none, whatever happens; call it only when ``locked``.

    First all of it is written down in one file. Whoever locks or reads the studio next puts into place what a kill left over.

    Args:
        folder: the studio's.
        texts: by the name of the file within it.

    Raises:
        StudioError: the system refuses. What was written down is then put into place as soon as there is room; if not even that
            was possible, all is as it was.
    """
    replace_file(folder / PENDING, json.dumps(dict(texts), ensure_ascii=False))
    _finish(folder)


def _finish(folder: Path) -> None:
    """Put into place what was written down of a change that was cut off."""
    pending = folder / PENDING
    if not pending.exists():
        return
    try:
        texts = json.loads(pending.read_text(encoding="utf-8"))
        for name, text in texts.items():
            replace_file(folder / name, text)
        pending.unlink()
    except (OSError, ValueError, AttributeError, TypeError) as error:
        raise fault(f"A change that was cut off cannot be finished ({error}). The files it is for stand in it.", PENDING) from error


def replace_file(file: Path, text: str) -> None:
    """Put a text into a file of the studio, which is then the old one or the new one, whatever happens; its folder is made if it is missing.

    Raises:
        StudioError: the system refuses. What was there before is then as it was.
    """
    from finishing_kg.files import CannotWrite, unfinished, write_whole

    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        # Whoever writes here holds the lock, so that these are of writers that were killed.
        for left in unfinished(file):
            left.unlink(missing_ok=True)
        write_whole(file, text)
    except CannotWrite as error:
        raise fault(str(error)) from error
    except OSError as error:
        raise fault(f"The folder {file.parent} cannot be made ({error.strerror}). Nothing was changed.") from error


def append_line(file: Path, line: bytes, is_whole: Callable[[bytes], bool]) -> None:
    """Add one line to a file that only grows, in one write that is on the disk when this returns; call it only when ``locked``.

    A last line that was left half-written is first moved to ``aside``, so that nothing is joined to it and nothing is lost.

    Args:
        file: made if it is missing.
        line: without its end.
        is_whole: tells whether a last line without its end is whole all the same, as an editor may leave it.

    Raises:
        StudioError: the system refuses. The file then ends where it ended before.
    """
    try:
        handle = os.open(file, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o666)
    except OSError as error:
        raise fault(f"It cannot be written ({error.strerror}). Nothing was changed.", file.name) from error
    try:
        _mend(file, handle, is_whole)
        before = os.fstat(handle).st_size
        try:
            written = os.write(handle, line + b"\n")
            if written != len(line) + 1:
                raise OSError(0, "there is no room for the whole line")
            os.fsync(handle)
        except OSError:
            with suppress(OSError):
                os.ftruncate(handle, before)
                os.fsync(handle)
            raise
    except OSError as error:
        raise fault(f"The line could not be written ({error.strerror}). Nothing was changed; make room and try again.", file.name) from error
    finally:
        os.close(handle)


def aside(file: Path) -> Path:
    """Where half-written lines of a file are kept."""
    return file.with_name(f"{file.name}.aside")


def torn(raw: bytes) -> bytes:
    """What stands behind the last line end: nothing, unless a line was cut off while it was written."""
    return raw[raw.rfind(b"\n") + 1 :]


def _mend(file: Path, handle: int, is_whole: Callable[[bytes], bool]) -> None:
    """Move a half-written last line aside: first it is safe there, then it is cut off here."""
    raw = file.read_bytes()
    rest = torn(raw)
    if not rest:
        return
    if is_whole(rest):
        if os.write(handle, b"\n") != 1:
            raise OSError(0, "there is no room for a line end")
        return
    keeping = os.open(aside(file), os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
    try:
        if os.write(keeping, rest + b"\n") != len(rest) + 1:
            raise OSError(0, "there is no room to keep a half-written line")
        os.fsync(keeping)
    finally:
        os.close(keeping)
    os.ftruncate(handle, len(raw) - len(rest))
