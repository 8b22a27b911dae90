"""The file that compiled sections are kept in: its form, and how it is read and written without trusting anybody.

    8 bytes   magic
    2         version of this form
    32        key: what the sections were compiled from, and by what
    8         length of the payload
    32        BLAKE2b of the payload
    ...       payload: a table of sections by name, each the bytes of its own marshalled plain data

Numbers are unsigned, the highest byte first. A section is bytes within bytes so that one that is not asked for is not
made into objects.
"""

import marshal
import os
import stat
from contextlib import suppress

from finishing_kg.compiled.digest import blake2b
from finishing_kg.compiled.folder import is_own, own_folder

FORM = 1
"""The version of this form. A file of another version is not read."""

_MAGIC = b"\x89FKGC\r\n\x1a"
_HEADER = len(_MAGIC) + 2 + 32 + 8 + 32
_LARGEST = 1 << 28  # bytes; a file beyond this is not one of ours
_KEPT = 16  # files: a checkout and an installed program, before and after an edit, each perhaps with a case library and a studio's things


def packed(key: bytes, sections: dict[str, bytes]) -> bytes:
    """The bytes of a file."""
    payload = marshal.dumps(sections)
    header = _MAGIC + FORM.to_bytes(2, "big") + key + len(payload).to_bytes(8, "big") + blake2b(payload, digest_size=32).digest()
    return header + payload


def unpacked(key: bytes, held: bytes) -> dict[str, bytes] | None:
    """The sections in a file's bytes; ``None`` if anything about them is off."""
    expected = _MAGIC + FORM.to_bytes(2, "big") + key
    if len(held) < _HEADER or not held.startswith(expected):
        return None
    at = len(expected)
    length, digest, payload = int.from_bytes(held[at : at + 8], "big"), held[at + 8 : _HEADER], held[_HEADER:]
    if len(payload) != length or blake2b(payload, digest_size=32).digest() != digest:
        return None
    try:
        sections = marshal.loads(payload)
    except (EOFError, ValueError, TypeError):
        return None
    well_formed = isinstance(sections, dict) and all(isinstance(name, str) and isinstance(part, bytes) for name, part in sections.items())
    return sections if well_formed else None


def path_of(folder: str, key: bytes) -> str:
    """The file of a key."""
    return os.path.join(folder, f"knowledge-{key.hex()[:16]}.bin")


def read_file(folder: str, key: bytes) -> dict[str, bytes] | None:
    """The sections that are kept for a key; ``None`` if there are none, or none that can be trusted."""
    if not own_folder(folder, make=False):
        return None
    try:
        # Not through a link, which may lead to what somebody else can change.
        opened = os.open(path_of(folder, key), os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0))
    except OSError:
        return None
    try:
        found = os.fstat(opened)
        if not (stat.S_ISREG(found.st_mode) and is_own(found) and found.st_size <= _LARGEST):
            return None
        with open(opened, "rb", buffering=0, closefd=False) as file:
            held = file.read()
        _used(opened)
        return unpacked(key, held)
    except OSError:
        return None
    finally:
        os.close(opened)


def write_file(folder: str, key: bytes, sections: dict[str, bytes]) -> bool:
    """Keep sections, whole or not at all; says whether they are kept. That they cannot be is no fault."""
    if not own_folder(folder, make=True):
        return False
    # A name of its own for each process: two that write at once do not mix, and the later one's file stays.
    unfinished = f"{path_of(folder, key)}.{os.getpid()}.{os.urandom(4).hex()}"
    try:
        opened = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
    except OSError:
        return False
    try:
        with open(opened, "wb") as file:
            file.write(packed(key, sections))
            file.flush()
            os.fsync(file.fileno())
        os.replace(unfinished, path_of(folder, key))
    except OSError:
        with suppress(OSError):
            os.unlink(unfinished)
        return False
    _tidy(folder)
    return True


def note_use(folder: str, key: bytes) -> None:
    """Note that what is kept for a key is in use, where it is not read again but others rest on it."""
    with suppress(OSError, NotImplementedError):
        os.utime(path_of(folder, key), follow_symlinks=False)


def _used(opened: int) -> None:
    """Note that a file is in use, so that what many edits leave behind does not push it out."""
    with suppress(OSError, NotImplementedError, TypeError):
        os.utime(opened)


def _tidy(folder: str) -> None:
    """Leave the few files used last: each edit of the rules makes one, and so does each process that was killed while writing."""
    with suppress(OSError):
        with os.scandir(folder) as entries:
            ours = [(entry.stat(follow_symlinks=False).st_mtime_ns, entry.path) for entry in entries if entry.name.startswith("knowledge-")]
        for _, path in sorted(ours, reverse=True)[_KEPT:]:
            with suppress(OSError):
                os.unlink(path)
