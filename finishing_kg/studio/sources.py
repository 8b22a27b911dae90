"""The files that a studio's knowledge is read from: its own, and those inside of its packs, which stay as they came."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from finishing_kg.studio.archive import PARTS
from finishing_kg.studio.errors import StudioError, StudioFault
from finishing_kg.studio.pack import Inside, Pack, read_pack
from finishing_kg.texts import MOST_BYTES

PACKS = "packs"


@dataclass(frozen=True)
class Own:
    """A file of the studio's own.

    Attributes:
        file: where it lies.
        place: its name within the studio's folder.
    """

    file: Path
    place: str

    def __str__(self) -> str:
        return self.place

    @property
    def name(self) -> str:
        """Its name without that of its folder."""
        return self.file.name

    @property
    def stem(self) -> str:
        """Its name without the ending."""
        return self.file.stem

    def read_bytes(self) -> bytes:
        """What it holds, and no more than shows that it is too large."""
        with self.file.open("rb") as stream:
            return stream.read(MOST_BYTES + 1)

    def read_text(self, encoding: str) -> str:
        """What it holds, as text."""
        return self.file.read_text(encoding)


Source = Own | Inside


def in_pack(place: str) -> str | None:
    """The name of the pack that a place lies in; ``None`` for a place among the studio's own files."""
    folder, _, rest = place.partition("/")
    return rest.partition("/")[0].removesuffix(".zip") if folder == PACKS else None


def read_packs(folder: Path, faults: list[StudioFault]) -> list[Pack]:
    """The packs of a studio in the order of their names; what is wrong with them is added to ``faults``."""
    packs = []
    for path in sorted((folder / PACKS).glob("*.zip")):
        place = f"{PACKS}/{path.name}"
        try:
            pack = read_pack(path.read_bytes(), place)
        except OSError as error:
            faults.append(StudioFault(place, 0, "", f"It cannot be read ({error.strerror})."))
        except StudioError as error:
            faults += error.faults
        else:
            packs.append(pack)
            if pack.file != place:
                faults.append(StudioFault(place, 0, "", f"This is the pack {pack.name}. Give the file its name again: {pack.file}"))
    return packs


def sources(folder: Path, part: str, packs: Sequence[Pack]) -> list[Source]:
    """All files of one part, ``rules``, ``things`` or ``cases``: the studio's own first."""
    own = [Own(file, f"{part}/{file.name}") for file in sorted((folder / part).glob(f"*{PARTS[part]}"))]
    return [*own, *(inside for pack in packs for inside in pack.inside(part))]
