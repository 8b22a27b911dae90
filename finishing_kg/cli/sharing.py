"""``finishing-kg studio``: what one studio knows goes to another, in a pack or through a store."""

from __future__ import annotations

import argparse
import os
import re
import shlex
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishing_kg.cli.errors import USED, Unusable
from finishing_kg.cli.output import visible
from finishing_kg.studio.place import UNNAMED

if TYPE_CHECKING:
    from finishing_kg.studio import Studio
    from finishing_kg.studio.pack import Pack
    from finishing_kg.studio.packs import Tried
    from finishing_kg.studio.store import Store

InStudio = Callable[[argparse.Namespace, Path], int]
Commands = Callable[[Any, str, InStudio, str], argparse.ArgumentParser]


def options_of(inner: Any, adding: Any, removing: Any, command: Commands) -> None:
    """Add the commands that share.

    Args:
        inner: takes the commands of ``studio``.
        adding: takes those of ``studio add``.
        removing: takes those of ``studio remove``.
        command: makes one that runs in the studio's folder.
    """
    pack = command(inner, "pack", _pack, "put the studio's own rules, things and cases into one file, for others")
    pack.add_argument("file", metavar="FILE", nargs="?", help="the file to make, such as canal-rules.zip; its name and version unless given")
    pack.add_argument("--name", help="what it is called; the name of the file, or of the studio, unless given")
    _described(pack)
    pack.add_argument("--overwrite", action="store_true", help="replace a file that is there")
    added = command(adding, "pack", _add, "take a pack in, after showing what it changes")
    added.add_argument("file", metavar="PACK", help="a file that 'studio pack' made")
    for_sure(added)
    _at_a_store(command(inner, "publish", _publish, "publish the studio's own rules, things and cases in a SPARQL store"), publishing=True)
    back = command(inner, "unpublish", _unpublish, "take back what the studio has published in a SPARQL store")
    _at_a_store(back, publishing=True, described=False)
    _at_a_store(command(inner, "read", _read, "read what a studio has published in a SPARQL store, and take it in like a pack"), publishing=False)
    command(removing, "pack", _remove, "take a pack out; the folder is then as it was before").add_argument("id", metavar="NAME")


def _at_a_store(parser: argparse.ArgumentParser, *, publishing: bool, described: bool = True) -> None:
    parser.add_argument("url", metavar="URL", help="where the store is asked, such as https://store.example/query")
    parser.add_argument("--graph", required=True, metavar="IRI", help="the graph in it")
    parser.add_argument("--user", metavar="NAME", help="who asks; the password is asked for, or stands in FINISHING_KG_STORE_PASSWORD")
    if publishing:
        parser.add_argument("--update", metavar="URL", help="where the store takes changes; /update beside an address that ends with /query")
        parser.add_argument("--name", help="what it is called there; the studio's name unless given")
        if described:
            _described(parser)
    else:
        parser.add_argument("--from", dest="published", metavar="NAME", help="whose, where several studios have published")
    for_sure(parser)


def _described(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--version", default="1.0", help="its version, numbers with dots")
    parser.add_argument("--licence", default="not stated", metavar="TEXT", help="under which others may use it, such as 'CC BY 4.0'")


def _called(options: argparse.Namespace, folder: Path) -> str:
    """What a pack is called: as the maker says, else like the studio.

    Raises:
        Unusable: the studio has no name of its own, and others would be called the same.
    """
    from finishing_kg.studio.folder import settings

    called = settings(folder).name
    if options.name is None and called == UNNAMED:
        raise Unusable(f"Many studios are called {UNNAMED!r}. Give what you share a name, such as: --name canal-rules")
    return str(options.name or re.sub("[^a-z0-9]+", "-", called.casefold()).strip("-"))


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
    """Try a pack, show what it brings and which answers it changes, and take it in."""
    from finishing_kg.cli.impact import impact_of, show
    from finishing_kg.studio.packs import add_pack, tried

    found = tried(folder, pack)
    _show(pack, found)
    if not options.yes:
        sys.stdout.flush()
        show(impact_of(found.before, found.after.knowledge))
    if goes_on(options, "Take it in?"):
        add_pack(folder, pack, found)
        print(f"Taken in. To take it out again: finishing-kg studio remove pack {pack.name}")
    return USED


def _show(pack: Pack, found: Tried) -> None:
    """For people: what a pack is, and what it brings."""
    print(visible(f"Pack {pack.name} {pack.version}, of {pack.studio}, licence: {pack.licence}, written for version {pack.written_for}."))
    if found.replaces:
        print(f"It takes the place of version {found.replaces.version}.")
    print(f"It brings {contents(found.after, pack)}. All of it is in order, and so is the studio with it.")


def contents(studio: Studio, pack: Pack) -> str:
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

    name = Path(options.file).stem if options.file and not options.name else _called(options, folder)
    file = Path(options.file or f"{name}-{options.version}.zip")
    try:
        place_of(file, overwrite=options.overwrite)
        pack, _ = make_pack(folder, name, options.version, options.licence)
        write_whole(file, pack_bytes(pack), overwrite=options.overwrite)
    except CannotWrite as error:
        raise Unusable(str(error)) from error
    print(visible(f"Made {file}: {pack.name} {pack.version}, licence: {pack.licence}. It holds {', '.join(sorted(pack.files))}."))
    print("Your shelf and your bench log are not in it.")
    return USED


def _add(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.studio.archive import MOST_BYTES
    from finishing_kg.studio.pack import read_pack

    file = Path(options.file)
    try:
        with file.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise Unusable(f"This file cannot be read ({why}). Add a pack by its file, or say: rule, thing or shelf.", options.file) from error
    return take_in(options, folder, read_pack(data, file.name))


def _store(options: argparse.Namespace, update: str | None = None) -> Store:
    """The store that the options name, with what it is told of who asks: from the environment or asked for, never from the command line."""
    from finishing_kg.studio.store import basic, store_at

    secret = None
    if options.user:
        password = os.environ.get("FINISHING_KG_STORE_PASSWORD")
        if password is None:
            store_at(options.url, options.graph, update, "asked for")  # nobody types a password for nothing
            from getpass import getpass

            try:
                password = getpass(f"Password of {visible(options.user)}: ")
            except (EOFError, OSError) as error:
                raise Unusable("There is nobody to ask for the password. Put it into FINISHING_KG_STORE_PASSWORD.") from error
        secret = basic(options.user, password)
    elif token := os.environ.get("FINISHING_KG_STORE_TOKEN"):
        secret = f"Bearer {token}"
    return store_at(options.url, options.graph, update, secret)


def _publish(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.studio.packs import make_pack
    from finishing_kg.studio.published import publish

    store = _store(options, options.update)
    pack, alone = make_pack(folder, _called(options, folder), options.version, options.licence)
    print(visible(f"To {store.update}, into the graph {store.graph}, as {pack.name} {pack.version}, licence: {pack.licence}."))
    print(f"It sends {contents(alone, pack)}: their words, reasons and sources, and the studio's name.")
    print(visible(f"It replaces what was published there as {pack.name}; what others published stays. Your shelf and bench log are not sent."))
    if goes_on(options, "Send it?"):
        publish(store, pack, alone)
        print(f"Published, and read back to see that it is all there. To take it back: {_command_back(options)}")
    return USED


def _command_back(options: argparse.Namespace) -> str:
    """The command that takes back what was published with these options."""
    given = {key: getattr(options, key) for key in ("graph", "update", "user", "name", "studio")}
    told = [options.url, *(word for key, value in given.items() if value for word in (f"--{key}", value))]
    return visible(f"finishing-kg studio unpublish {shlex.join(told)}")


def _unpublish(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.studio.folder import settings
    from finishing_kg.studio.published import held_by, withdraw

    store, name, studio = _store(options, options.update), _called(options, folder), settings(folder).name
    count = held_by(store, name, studio)
    print(visible(f"From {store.update}, out of the graph {store.graph}: all {count} statements that are published there as {name}."))
    print("What others published stays, and so does all that is in your studio. Who has read it in already keeps it.")
    if goes_on(options, "Take it back?"):
        withdraw(store, name, studio)
        print("Taken back, and asked for again to see that nothing of it is left.")
    return USED


def _read(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.engine import Knowledge
    from finishing_kg.studio.published import read_published

    return take_in(options, folder, read_published(_store(options), options.published, Knowledge.shipped()))


def _remove(options: argparse.Namespace, folder: Path) -> int:
    from finishing_kg.studio.packs import remove_pack

    name = options.id.removesuffix(".zip")
    remove_pack(folder, name)
    print(f"Taken out: {visible(name)}.")
    return USED
