"""``finishing-kg studio``: packs, which carry what one studio knows to another."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishing_kg.cli.errors import USED, Unusable
from finishing_kg.cli.output import visible

if TYPE_CHECKING:
    from finishing_kg.studio.pack import Pack
    from finishing_kg.studio.packs import Tried

InStudio = Callable[[argparse.Namespace, Path], int]
Commands = Callable[[Any, str, InStudio, str], argparse.ArgumentParser]


def options_of(inner: Any, adding: Any, removing: Any, command: Commands) -> None:
    """Add the commands about packs.

    Args:
        inner: takes the commands of ``studio``.
        adding: takes those of ``studio add``.
        removing: takes those of ``studio remove``.
        command: makes one that runs in the studio's folder.
    """
    pack = command(inner, "pack", _pack, "put the studio's own rules, things and cases into one file, for others")
    pack.add_argument("file", metavar="FILE", help="the file to make, such as canal-rules.zip")
    pack.add_argument("--name", help="what the pack is called; the file's name unless given")
    pack.add_argument("--version", default="1.0", help="its version, numbers with dots")
    pack.add_argument("--licence", required=True, metavar="TEXT", help="under which others may use it, such as 'CC BY 4.0'")
    pack.add_argument("--overwrite", action="store_true", help="replace a file that is there")
    added = command(adding, "pack", _add, "take a pack in, after showing what it changes")
    added.add_argument("file", metavar="PACK", help="a file that 'studio pack' made")
    for_sure(added)
    command(removing, "pack", _remove, "take a pack out; the folder is then as it was before").add_argument("id", metavar="NAME")


def for_sure(parser: argparse.ArgumentParser) -> None:
    """Add the options of a command that shows first what it would do."""
    parser.add_argument("--preview", action="store_true", help="show what it would do, and do nothing")
    parser.add_argument("--yes", action="store_true", help="do not ask whether to go on")


def goes_on(options: argparse.Namespace, question: str) -> bool:
    """Whether to do what was shown: not in a preview, and on a terminal only after a yes."""
    sys.stdout.flush()
    if options.preview:
        print("This was a preview; nothing was changed.")
        return False
    if options.yes or sys.stdin is None or not sys.stdin.isatty():
        return True
    print(f"{question} [y/N] ", end="", flush=True)
    if sys.stdin.readline().strip().casefold() in ("y", "yes"):
        return True
    print("Nothing was changed.")
    return False


def take_in(options: argparse.Namespace, folder: Path, pack: Pack) -> int:
    """Try a pack, show what it brings and changes, and take it in."""
    from finishing_kg.studio.packs import add_pack, tried

    found = tried(folder, pack)
    _show(pack, found)
    if goes_on(options, "Take it in?"):
        add_pack(folder, pack, found)
        print(f"Taken in. To take it out again: finishing-kg studio remove pack {pack.name}")
    return USED


def _show(pack: Pack, found: Tried) -> None:
    """For people: what a pack is, and what it brings."""
    print(visible(f"Pack {pack.name} {pack.version}, of {pack.studio}, under {pack.licence}, written for version {pack.written_for}."))
    if found.replaces:
        print(f"It takes the place of version {found.replaces.version}.")
    print(f"It brings {contents(found.after, pack)}. All of it is in order, and so is the studio with it.")


def contents(studio: Any, pack: Pack) -> str:
    """How many rules, things and cases of a studio came with a pack, in words."""
    from finishing_kg.studio.sources import in_pack

    brought = {
        "rule": sum(in_pack(rule.file) == pack.name for rule in studio.own_rules),
        "thing": sum(in_pack(file) == pack.name for file, _ in studio.own_things.values()),
        "case": sum(in_pack(case.file) == pack.name for case in studio.cases),
    }
    return ", ".join(f"{count} {what}{'' if count == 1 else 's'}" for what, count in brought.items())


def _pack(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.files import CannotWrite, place_of, write_whole
    from finishing_kg.studio.pack import pack_bytes
    from finishing_kg.studio.packs import make_pack

    file = Path(options.file)
    try:
        place_of(file, overwrite=options.overwrite)
        pack = make_pack(folder, options.name or file.stem, options.version, options.licence)
        write_whole(file, pack_bytes(pack), overwrite=options.overwrite)
    except CannotWrite as error:
        raise Unusable(str(error)) from error
    print(visible(f"Made {file}: {pack.name} {pack.version}, under {pack.licence}. It holds {', '.join(sorted(pack.files))}."))
    print("Your shelf and your bench log are not in it.")
    return USED


def _add(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.studio.pack import MOST_BYTES, read_pack

    file = Path(options.file)
    try:
        with file.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise Unusable(f"This file cannot be read ({why}). Add a pack by its file, or say: rule, thing or shelf.", options.file) from error
    return take_in(options, folder, read_pack(data, file.name))


def _remove(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.studio.packs import remove_pack

    name = options.id.removesuffix(".zip")
    remove_pack(folder, name)
    print(f"Taken out: {visible(name)}.")
    return USED
