"""A zip file from anybody, opened with care: every entry is looked at before anything of it is read, and nothing is unpacked to the disk."""

import io
import re
import stat
import zipfile
import zlib

from finishing_kg.studio.errors import StudioError, StudioFault, fault

MANIFEST = "pack.toml"
PARTS = {"rules": ".toml", "things": ".ttl", "cases": ".toml"}
"""The folders of a pack, and how their files end."""

MOST_BYTES = 2_000_000
"""The largest pack; five hundred rules take an eighth of it."""

# Text grows four- to tenfold when it is unpacked, and a hundredfold only if somebody means harm.
_MOST_FILES, _LARGEST, _RATIO = 100, 1_000_000, 100
_FILE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _-]*(?:\.[A-Za-z0-9 _-]+)*")
_ENCRYPTED = 0x1
# What no text that people write holds, and what a terminal would obey.
UNSAFE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_LONGEST_NAME = 60


def files_in(data: bytes, called: str) -> dict[str, bytes]:
    """What the files of a pack hold, by their names in it.

    Args:
        data: the whole zip file.
        called: its name, for messages.

    Raises:
        StudioError: with every entry that cannot belong to a pack, or that cannot be read.
    """
    if len(data) > MOST_BYTES:
        raise fault(f"This file has {len(data)} bytes; a pack has at most {MOST_BYTES}.", called)
    faults: list[StudioFault] = []
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        entries = archive.infolist()
    except (zipfile.BadZipFile, zipfile.LargeZipFile, ValueError, OverflowError, NotImplementedError, OSError) as error:
        raise fault(f"This is no pack: it cannot be read as a zip file ({error}). Make one with: finishing-kg studio pack", called) from error
    if len(entries) > _MOST_FILES:
        raise fault(f"It holds {len(entries)} files; a pack holds at most {_MOST_FILES}.", called)
    seen: set[str] = set()
    for entry in entries:
        shown = ascii(entry.orig_filename)[1:-1][:80]
        if why := _wrong_entry(entry) or ("it stands there twice" if entry.filename.casefold() in seen else ""):
            faults.append(StudioFault(called, 0, shown, f"{why[0].upper()}{why[1:]}. A pack is taken as a whole or not at all: ask for another."))
        seen.add(entry.filename.casefold())
    if sum(entry.file_size for entry in entries) > MOST_BYTES:
        faults.append(StudioFault(called, 0, "", f"Unpacked it would have more than {MOST_BYTES} bytes. A pack is text, and smaller."))
    if faults:
        raise StudioError(faults)
    held: dict[str, bytes] = {}
    for entry in entries:
        try:
            with archive.open(entry) as stream:
                held[entry.filename] = stream.read(_LARGEST + 1)
            text = held[entry.filename].decode("utf-8")
            if len(held[entry.filename]) > _LARGEST or UNSAFE.search(text):
                raise ValueError("it is not plain text")
        except UnicodeDecodeError as error:
            faults.append(StudioFault(called, 0, entry.filename, f"This is not text in UTF-8 (byte {error.start})."))
        except (zipfile.BadZipFile, zlib.error, ValueError, EOFError, NotImplementedError, RuntimeError, OSError) as error:
            faults.append(StudioFault(called, 0, entry.filename, f"This cannot be read ({error}). The file was damaged: fetch it again."))
    if faults:
        raise StudioError(faults)
    return held


def _wrong_entry(entry: zipfile.ZipInfo) -> str:
    """Why an entry cannot belong to a pack, or nothing."""
    mode = entry.external_attr >> 16
    name = entry.orig_filename
    folder, _, last = name.partition("/")
    belongs = name == MANIFEST or (last.endswith(PARTS.get(folder, "/")) and _FILE.fullmatch(last) and len(last) <= _LONGEST_NAME)
    reasons = (
        (name != entry.filename or not name.isascii() or "\\" in name or UNSAFE.search(name), "a file name in a pack has plain letters and digits"),
        (name.startswith("/") or ":" in name or ".." in name.split("/"), "this path leads out of the pack"),
        (stat.S_IFMT(mode) and not stat.S_ISREG(mode), "this is a link, a folder or a device, and a pack holds plain files only"),
        (entry.flag_bits & _ENCRYPTED, "this is encrypted"),
        (entry.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED), "this is compressed in a way that is not read here"),
        (not belongs, f"a pack holds {MANIFEST}, and TOML and Turtle in {', '.join(PARTS)}, and nothing else"),
        (entry.file_size > _LARGEST, f"a file in a pack has at most {_LARGEST} bytes"),
        (entry.file_size > _RATIO * max(entry.compress_size, 1), "this would grow more than a hundredfold when it is unpacked"),
    )
    return next((text for holds, text in reasons if holds), "")
