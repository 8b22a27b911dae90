"""A pack: one file that carries a studio's rules, things and cases to another. It may come from anybody, so it is opened with care.

A pack is a zip file. ``pack.toml`` in it says what it is called, which version it has, for which version of this program it was written,
under which licence, and the checksum of every other file. Those are TOML and Turtle in ``rules``, ``things`` and ``cases``. Nothing in a
pack is ever unpacked to the disk or executed: it stays in one piece and is read from memory.
"""

import hashlib
import io
import re
import stat
import tomllib
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Any

from finishing_kg import __version__
from finishing_kg.studio.archive import MANIFEST, UNSAFE, files_in
from finishing_kg.studio.errors import StudioError, StudioFault, fault

FORMAT = 1
"""The newest form of a pack that this program reads, and the one that it writes."""

_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
_VERSION = re.compile(r"\d{1,6}(?:\.\d{1,6}){0,3}")
_LONGEST_NAME, _LONGEST_TEXT = 60, 200
_TEXTS = ("name", "version", "written_for", "licence", "studio")


@dataclass(frozen=True)
class Inside:
    """A file inside of a pack.

    Attributes:
        name: of the pack's file and of the file in it, such as ``packs/canal.zip/rules/ours.toml``.
        data: what it holds.
    """

    name: str
    data: bytes

    def __str__(self) -> str:
        return self.name

    @property
    def stem(self) -> str:
        """Its last name without the ending."""
        return PurePosixPath(self.name).stem

    def read_bytes(self) -> bytes:
        """What it holds."""
        return self.data

    def read_text(self, encoding: str) -> str:
        """What it holds, as text."""
        return self.data.decode(encoding)


@dataclass(frozen=True)
class Pack:
    """A pack that is whole, and whose files are what they were when it was made.

    Attributes:
        name: its identifier, small letters, digits and hyphens.
        version: its own, numbers with dots.
        written_for: the version of this program that it was made with.
        licence: under which others may use it, as text.
        studio: whose knowledge it is.
        files: what each file holds, by its name within the pack; ``pack.toml`` is not among them.
    """

    name: str
    version: str
    written_for: str
    licence: str
    studio: str
    files: Mapping[str, bytes]

    @property
    def file(self) -> str:
        """Where it lies in a studio's folder."""
        return f"packs/{self.name}.zip"

    def inside(self, part: str) -> list[Inside]:
        """Its files of one folder, in the order of their names."""
        return [Inside(f"{self.file}/{name}", data) for name, data in sorted(self.files.items()) if name.startswith(f"{part}/")]


def pack_bytes(pack: Pack) -> bytes:
    """The pack as a file; the same to the byte for the same contents, on every machine.

    Nothing is compressed, since how small a text becomes differs from one library to the next; and a file is never younger than 1980.
    """
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name, data in [(MANIFEST, _manifest(pack).encode()), *sorted(pack.files.items())]:
            entry = zipfile.ZipInfo(name)
            entry.create_system = 3  # as on Unix, wherever it is made
            entry.external_attr = (stat.S_IFREG | 0o644) << 16
            archive.writestr(entry, data)
    return stream.getvalue()


def _manifest(pack: Pack) -> str:
    import tomlkit

    document = tomlkit.document()
    for key in _TEXTS:
        document.add(key, tomlkit.string(getattr(pack, key)))
    document.add("format", tomlkit.integer(FORMAT))
    sums = tomlkit.table()
    for name, data in sorted(pack.files.items()):
        sums.add(name, tomlkit.string(hashlib.sha256(data).hexdigest()))
    document.add("sha256", sums)
    return tomlkit.dumps(document)


def read_pack(data: bytes, called: str) -> Pack:
    """Read a pack, and refuse one of which anything is not as it must be.

    Args:
        data: the whole file.
        called: its name, for messages.

    Raises:
        StudioError: with everything that is wrong in the part that was looked at last; what is inside is not judged here.
    """
    files = files_in(data, called)
    table = _told(files.pop(MANIFEST, None), called)
    return _matched(table, files, called)


def _told(data: bytes | None, called: str) -> dict[str, Any]:
    """What ``pack.toml`` says."""
    where = f"{called}/{MANIFEST}"
    if data is None:
        raise fault(f"It holds no {MANIFEST}, so it is no pack. Make one with: finishing-kg studio pack", called)
    try:
        table = tomllib.loads(data.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise fault(f"This is not TOML: {error}.", where, 1) from error
    form = table.get("format")
    if not isinstance(form, int) or isinstance(form, bool) or form < 1:
        raise fault(f"The version of the form is a number, such as: format = {FORMAT}", where, 0, "format")
    if form > FORMAT:
        raise fault(f"This pack has form {form}, and this program reads forms up to {FORMAT}: a newer version made it.", where, 0, "format")
    return table


def _matched(table: dict[str, Any], files: dict[str, bytes], called: str) -> Pack:
    """The pack, if its description is whole and the files are those that it names, to the byte."""
    where = f"{called}/{MANIFEST}"
    faults: list[StudioFault] = []

    def wrong(part: str, text: str) -> None:
        faults.append(StudioFault(where, 0, part, text))

    for key in _TEXTS:
        if why := wrong_text(key, table.get(key)):
            wrong(key, why)
    for key in sorted(set(table) - {*_TEXTS, "format", "sha256"}):
        wrong(key[:_LONGEST_TEXT], f"I know no key {key[:_LONGEST_TEXT]!r} here. The keys are: {', '.join((*_TEXTS, 'format', 'sha256'))}.")
    sums = table.get("sha256", {})
    if not isinstance(sums, dict):
        wrong("sha256", "The checksums are a table: for each file its SHA-256.")
        sums = {}
    for name in sorted(set(sums) - set(files)):
        wrong("sha256", f"{name[:_LONGEST_TEXT]!r} is named and is not in the pack. Fetch the pack again.")
    for name, data in sorted(files.items()):
        if sums.get(name) != hashlib.sha256(data).hexdigest():
            wrong("sha256", f"{name} is not what it was when the pack was made: its checksum differs or is missing. Fetch the pack again.")
    if faults:
        raise StudioError(faults)
    return Pack(**{key: table[key] for key in _TEXTS}, files=files)


def wrong_text(key: str, value: Any) -> str:
    """Why a text will not do in a pack's description, or nothing."""
    if not isinstance(value, str) or not 0 < len(value) <= _LONGEST_TEXT or UNSAFE.search(value) or "\n" in value:
        return f"{key} is one line of text, of at most {_LONGEST_TEXT} letters."
    if key == "name" and not (_ID.fullmatch(value) and len(value) <= _LONGEST_NAME):
        return 'A name is small letters, digits and single hyphens, such as: name = "canal-rules"'
    if key in ("version", "written_for") and not _VERSION.fullmatch(value):
        return f'{key} is up to four numbers with dots, such as: {key} = "1.0"'
    return ""


def is_for_newer(pack: Pack, running: str = __version__) -> bool:
    """Whether a pack was written for a newer version of this program than the one that runs."""
    return _numbers(pack.written_for) > _numbers(running)


def _numbers(version: str) -> list[int]:
    found = re.match(_VERSION, version)
    numbers = [int(part) for part in found.group().split(".")] if found else [0]
    while numbers and not numbers[-1]:
        numbers.pop()  # 1.0 is no newer than 1
    return numbers
