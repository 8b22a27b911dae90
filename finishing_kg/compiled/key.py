"""The key of a compiled form: what must be the same for it to be of use."""

import os
import sys
from collections.abc import Iterable

from finishing_kg import __version__
from finishing_kg.compiled.digest import blake2b
from finishing_kg.places import is_checkout


def key_of(files: Iterable[str]) -> bytes:
    """A key over the contents of the files that are compiled, and over the program and the Python that compile them.

    In a checkout the program's version tells nothing of an edit, so there the sources count by size and time.

    Args:
        files: that are compiled; their order does not matter.

    Returns:
        32 bytes.

    Raises:
        OSError: a file cannot be read.
    """
    digest = blake2b(digest_size=32)
    digest.update(f"{__version__} {sys.version} {sys.implementation.cache_tag} {sys.byteorder}\n".encode())
    for file in sorted(files):
        with open(file, "rb", buffering=0) as opened:
            held = opened.read()
        folder, name = os.path.split(file)
        digest.update(f"{os.path.basename(folder)}/{name} {len(held)}\n".encode("utf-8", "surrogateescape"))
        digest.update(held)
    if is_checkout():
        for source in sorted(_sources(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))):
            digest.update(source.encode("utf-8", "surrogateescape"))
    return digest.digest()


def _sources(folder: str) -> Iterable[str]:
    """Path, size and time of each source file of the package."""
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.name.endswith(".py"):
                found = entry.stat()
                yield f"{entry.path} {found.st_size} {found.st_mtime_ns}\n"
            elif "." not in entry.name and entry.name not in ("data", "__pycache__") and entry.is_dir():
                yield from _sources(entry.path)
