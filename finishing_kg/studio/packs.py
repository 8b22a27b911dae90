"""Packs of a studio: made from what it knows, tried before they are taken in, and taken out again without a trace."""

import hashlib
import re
import tomllib
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from finishing_kg import __version__
from finishing_kg.engine import Knowledge
from finishing_kg.files import CannotWrite, write_whole
from finishing_kg.studio.archive import PARTS
from finishing_kg.studio.contents import Studio, read_studio
from finishing_kg.studio.edit import copied, files_of, held_against_shapes
from finishing_kg.studio.errors import StudioError, StudioFault, fault
from finishing_kg.studio.folder import init, settings
from finishing_kg.studio.pack import Pack, is_for_newer, pack_bytes, read_pack, wrong_text
from finishing_kg.studio.sources import PACKS, Source, in_pack, sources
from finishing_kg.studio.standing import short_of
from finishing_kg.studio.things import speaks_of_things
from finishing_kg.studio.write import locked


@dataclass(frozen=True)
class Tried:
    """A studio as it is and as it would be with a change that is in order.

    Attributes:
        before: as it is.
        after: with the change.
        files: the checksum of each of its files when it was tried; nothing is written if one has changed since.
        replaces: an earlier version of the pack, ``None`` if there is none.
    """

    before: Studio
    after: Studio
    files: dict[Path, str]
    replaces: Pack | None


def make_pack(folder: Path, name: str, version: str, licence: str) -> tuple[Pack, Studio]:
    """A pack of the studio's own rules, things and cases; its shelf, its log and the packs of others stay where they are.

    Beside the pack stands a studio that holds it and nothing else.

    Args:
        folder: the studio's.
        name: what the pack is called, an identifier.
        version: its own.
        licence: under which others may use it.

    Raises:
        StudioError: the studio is not in order, or the pack would not be in order by itself: in a studio that holds nothing else.
    """
    studio = read_studio(folder)
    told = {"name": name, "version": version, "licence": licence}
    found = [StudioFault("", 0, f"--{key}", why) for key, text in told.items() if (why := wrong_text(key, text))]
    files = {str(source): _plain(source) for part in PARTS for source in sources(folder, part, ()) if _says_something(source)}
    if not files:
        found.append(StudioFault("", 0, "", "There is nothing to pack yet: no rule, no thing and no case of your own."))
    if found:
        raise StudioError(found)
    release = re.match(r"[\d.]*\d", __version__)
    pack = Pack(name, version, release.group() if release else "0", licence, studio.settings.name, files)
    pack = read_pack(pack_bytes(pack), pack.file)  # what nobody could open is not made
    return pack, _alone(pack)


def _alone(pack: Pack) -> Studio:
    """A studio that holds a pack and nothing else; its folder is gone when this returns."""
    with TemporaryDirectory() as place:
        init(Path(place))
        return tried(Path(place), pack, alone=True).after


def _plain(source: Source) -> bytes:
    """What a file holds, with the line ends that are the same everywhere."""
    return source.read_bytes().replace(b"\r\n", b"\n")


def _says_something(source: Source) -> bool:
    """Whether a file says anything; what ``studio init`` makes holds comments only."""
    if str(source).endswith(".ttl"):
        return speaks_of_things(source)
    return bool(tomllib.loads(source.read_text("utf-8")))


def tried(folder: Path, pack: Pack, upon: Knowledge | None = None, *, alone: bool = False) -> Tried:
    """The studio as it would be with a pack, all of it checked: files, guard, shapes and cases. Nothing is written.

    Args:
        folder: the studio's.
        pack: what is to be taken in.
        upon: the shipped knowledge, if it is at hand.
        alone: whether the pack is tried on its maker's side, in a studio that holds nothing else.

    Raises:
        StudioError: with everything that speaks against it.
    """
    settings(folder)
    before = read_studio(folder, upon)
    files = _sums(folder)
    if is_for_newer(pack):
        text = f"This pack was written for version {pack.written_for} of this program, and this is {__version__}. Install the newer one first."
        raise fault(text, pack.file, part="written_for")
    there = next((each for each in before.packs if each.name == pack.name), None)
    if there == pack:
        raise fault("This very pack is here already. Nothing was changed.", pack.file)
    if there and there.studio != pack.studio:
        text = f"A pack of this name is here already, of {there.studio}. Take it out first: finishing-kg studio remove pack {pack.name}"
        raise fault(text, pack.file, part="name")
    with copied(folder) as trial:
        put(trial, pack)
        try:
            after = read_studio(trial, upon)
            held_against_shapes(trial)
        except StudioError as error:
            raise _of_pack(error, pack, alone=alone) from error
    short = [each for each in short_of(after.knowledge, after.cases) if in_pack(each.file) == pack.name]
    if not alone:
        others = [case for case in after.cases if in_pack(case.file) != pack.name]
        known = set(short_of(before.knowledge, others))
        short += [each for each in short_of(after.knowledge, others) if each not in known]
    if short:
        raise _of_pack(StudioError(short), pack, alone=alone)
    return Tried(before, after, files, there)


def _of_pack(error: StudioError, pack: Pack, *, alone: bool) -> StudioError:
    """Faults that show only with a pack, so that the reader knows what was tried when they came up."""
    what = "The pack does not stand by itself, without your shelf, log and packs:" if alone else f"With the pack {pack.name}:"
    places = {each.file: each.file.removeprefix(f"{pack.file}/") if alone else each.file for each in error.faults}
    return StudioError([replace(each, file=places[each.file], text=f"{what} {each.text}") for each in error.faults])


def add_pack(folder: Path, pack: Pack, found: Tried) -> None:
    """Take a pack in that was tried.

    Raises:
        StudioError: the studio has changed since it was tried, or the system refuses. Nothing was then changed.
    """
    with locked(folder):
        if _sums(folder) != found.files:
            raise fault("Another program has changed the studio in the meantime. Nothing was changed; try again.", str(folder))
        put(folder, pack)


def remove_pack(folder: Path, name: str) -> None:
    """Take a pack out; the studio's folder is then as it was before the pack came, to the byte.

    A studio that the pack itself has spoilt, as after a change of version, is no reason to keep it.

    Raises:
        StudioError: there is no such pack, or something of the studio's own rests on it. Nothing was then changed.
    """
    settings(folder)
    with locked(folder):
        place = folder / PACKS / f"{name}.zip"
        if wrong_text("name", name) or not place.is_file():
            there = ", ".join(path.stem for path in sorted((folder / PACKS).glob("*.zip"))) or "none"
            raise fault(f"There is no pack {name!r} here. Packs that are here: {there}.", PACKS)
        with copied(folder) as trial:
            (trial / PACKS / f"{name}.zip").unlink()
            try:
                read_studio(trial)
                held_against_shapes(trial)
            except StudioError as error:
                if _in_order(folder):
                    text = f"Without the pack {name}:"
                    raise StudioError([replace(each, text=f"{text} {each.text}") for each in error.faults]) from error
        try:
            place.unlink()
        except OSError as error:
            raise fault(f"The pack cannot be taken out ({error.strerror}). Nothing was changed.", f"{PACKS}/{name}.zip") from error
        with suppress(OSError):  # other packs are there still
            place.parent.rmdir()


def _in_order(folder: Path) -> bool:
    try:
        read_studio(folder)
    except StudioError:
        return False
    return True


def put(folder: Path, pack: Pack) -> None:
    """Put a pack into its place, whole or not at all; call it only when the folder is ``locked``.

    Raises:
        StudioError: the system refuses. Nothing was then changed.
    """
    target = folder / pack.file
    try:
        target.parent.mkdir(exist_ok=True)
        write_whole(target, pack_bytes(pack))
    except (CannotWrite, OSError) as error:
        with suppress(OSError):
            target.parent.rmdir()  # made for nothing
        raise fault(f"The pack cannot be taken in. {error}", pack.file) from error


def _sums(folder: Path) -> dict[Path, str]:
    return {path.relative_to(folder): hashlib.sha256(path.read_bytes()).hexdigest() for path in files_of(folder)}
