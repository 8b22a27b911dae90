"""``finishing-kg studio``: the studio's own rules, things, shelf and bench log, and the options by which other commands take them in."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishing_kg.cli import sharing
from finishing_kg.cli.errors import STOPPED, USED, Unusable
from finishing_kg.cli.options import takes_studio
from finishing_kg.cli.output import print_json, visible
from finishing_kg.studio.place import UNNAMED

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge
    from finishing_kg.routes import Case
    from finishing_kg.studio import Studio
    from finishing_kg.studio.impact import Impact


def options_of(studio: argparse.ArgumentParser) -> None:
    """Add what ``studio`` can do to its parser."""
    studio.set_defaults(parser=studio)
    inner = studio.add_subparsers(title="commands", metavar="COMMAND")

    def command(below: Any, name: str, run: Callable[[argparse.Namespace], int], help_text: str, *, as_json: bool = False) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = below.add_parser(name, help=help_text, description=help_text)
        made.set_defaults(run=run)
        takes_studio(made)
        if as_json:
            made.add_argument("--json", action="store_true", help="print JSON")
        return made

    begun = command(inner, "init", _init, "make a studio's folder")
    begun.add_argument("--name", default=UNNAMED, help="what the studio is called")
    command(inner, "list", _list, "list what the studio has written down", as_json=True)
    command(inner, "check", _check, "check all of the studio's files, the shapes of its things, and ask its cases", as_json=True)
    renaming = command(inner, "rename", _rename, "give one of the studio's own things another identifier, or another label, in all its files")
    renaming.add_argument("old", metavar="OLD", help="its identifier, or its label")
    renaming.add_argument("new", metavar="NEW", help="the identifier, or the label, to be")
    _log_options(command(inner, "log", _log, "write into the bench log what was done and how long it took", as_json=True))
    for name, text in (("add", "add a rule, a thing, or something on the shelf"), ("remove", "remove a rule, a thing, or something from the shelf")):
        group = inner.add_parser(name, help=text, description=text)
        group.set_defaults(run=_help, parser=group)
        below = group.add_subparsers(title="commands", metavar="COMMAND")
        if name == "add":
            _rule_options(command(below, "rule", _add_rule, "add a rule"))
            _thing_options(command(below, "thing", _add_thing, "add a thing, or names of one that there is"))
            shelf = command(below, "shelf", _add_shelf, "add something to the shelf")
            shelf.add_argument("thing", metavar="THING", help="a mineral, hold, carrier or machine, by its id or a name")
            shelf.add_argument("--grade", action="append", default=[], metavar="GRADE", help="a grade that is there; may be given several times")
            shelf.add_argument("--marked-speed", metavar="SPEED", help="the greatest turning speed marked on a wheel, such as '1400 rpm'")
            adding = below
        else:
            removing = {"rule": "remove a rule", "thing": "remove a thing, or the studio's names of one", "shelf": "take something off the shelf"}
            for what, removes in removing.items():
                command(below, what, _remove, removes).add_argument("id", metavar="ID")
                below.choices[what].set_defaults(what=what)
    sharing.options_of(inner, adding, below, lambda below, name, run, help_text: command(below, name, _in_studio(run), help_text))


def _in_studio(run: Callable[[argparse.Namespace, Path], int]) -> Callable[[argparse.Namespace], int]:
    """A command that is told the studio's folder, and whose faults are told like those of all others."""

    def runs(options: argparse.Namespace) -> int:
        with _told():
            return run(options, _folder(options))

    return runs


def _rule_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--id", required=True, help="its identifier: small letters, digits and hyphens")
    parser.add_argument("--if", dest="conditions", action="append", required=True, metavar="SENTENCE", help="must hold; may be given several times")
    parser.add_argument("--unless", action="append", default=[], metavar="SENTENCE", help="blocks the rule; may be given several times")
    parser.add_argument("--then", action="append", required=True, metavar="SENTENCE", help="what follows; may be given several times")
    parser.add_argument("--because", required=True, metavar="TEXT", help="the reason, in a full sentence")
    parser.add_argument("--basis", default="studio", metavar="KIND", help="what it rests on; studio unless given")
    parser.add_argument("--source", metavar="TEXT", help="the source of the basis")
    parser.add_argument("--overrides", action="append", default=[], metavar="ID", help="a rule whose verdict it replaces; may be given several times")
    parser.add_argument("--safety", action="store_true", help="it guards against harm to people: nothing may override it")
    sharing.for_sure(parser)


def _thing_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("id", metavar="ID")
    parser.add_argument("--kind", help="of a new thing, such as carrier or glass")
    parser.add_argument("--label", help="how a new thing is printed")
    parser.add_argument("--also", action="append", default=[], metavar="NAME", help="another name; may be given several times")
    parser.add_argument("--definition", metavar="TEXT", help="one sentence on what it is")
    parser.add_argument("--say", action="append", default=[], metavar="SENTENCE", help="what is held of it; may be given several times")
    parser.add_argument("--text", action="append", default=[], nargs=2, metavar=("ROLE", "TEXT"), help="a sentence by its role, such as: how '...'")
    parser.add_argument("--preview", action="store_true", help="show which answers it would change, and do nothing; takes a minute")


def _log_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("note", metavar="NOTE", nargs="*", help="anything in words")
    for part in ("mineral", "hold", "carrier", "glass", "form"):
        parser.add_argument(f"--{part}", metavar="WORDS", default="", help=f"the {part}, by its id or a name")
    parser.add_argument("--minutes", metavar="TIME", default="", help="how long it took, such as '12 min'")
    parser.add_argument("--area", metavar="AREA", default="", help="of the face that was worked, such as '80 cm²'")
    parser.add_argument("--to", metavar="GRADE", default="", help="the grade that was used")
    parser.add_argument("--from", dest="found", metavar="GRADE", default="", help="the grade that had left the surface before")
    parser.add_argument("--from-hold", metavar="WORDS", default="", help="how the grain of that grade was held")
    parser.add_argument("--show", action="store_true", help="show the log, and minutes before and after it is taken into account")


def _help(options: argparse.Namespace) -> int:
    options.parser.print_help()
    return USED


@contextmanager
def _told() -> Iterator[None]:
    """What is wrong with a studio is told like any unusable input."""
    from finishing_kg.studio import StudioError

    try:
        yield
    except StudioError as error:
        first = error.faults[0]
        if len(error.faults) == 1:
            raise Unusable(first.text, first.where or None) from error
        raise Unusable(str(error), f"{len(error.faults)} faults in the studio") from error


def with_studio(options: argparse.Namespace, shipped: Knowledge) -> Knowledge:
    """The knowledge of the studio that a command is to use, or the shipped knowledge where there is none."""
    studio = _found(options, shipped)
    return studio.knowledge if studio is not None else shipped


def shelf_of(options: argparse.Namespace, knowledge: Knowledge, *, needed: bool = True) -> Case | None:
    """A piece of which only is known what is on the shelf; ``None`` where there is no studio, or nothing on its shelf.

    Raises:
        Unusable: there is nothing, and it was ``needed``.
    """
    studio = _found(options, None)
    if studio is None or not studio.shelf.items:
        if not needed:
            return None
        raise Unusable("--from-shelf keeps to the studio's shelf, and there is nothing on one. See: finishing-kg studio add shelf --help")
    return studio.shelf.case(knowledge.vocabulary)


def studio_of(options: argparse.Namespace, shipped: Knowledge) -> Studio | None:
    """The studio that a command is to use, or ``None`` where there is none."""
    return _found(options, shipped)


def _found(options: argparse.Namespace, shipped: Knowledge | None) -> Studio | None:
    with _told():
        from finishing_kg.studio import find, read_studio

        folder = find(options.studio)
        return read_studio(folder, shipped) if folder is not None else None


def _folder(options: argparse.Namespace) -> Path:
    from finishing_kg.studio import find

    folder = find(options.studio)
    if folder is None:
        raise Unusable("There is no studio yet. Make one with: finishing-kg studio init --studio our-studio")
    return folder


def _init(options: argparse.Namespace) -> int:
    from finishing_kg.studio import init, usual_folder

    with _told():
        folder = Path(options.studio or usual_folder())
        made = init(folder, options.name)
    print(f"Made in {visible(str(folder))}: {', '.join(made)}")
    return USED


def _add_rule(options: argparse.Namespace) -> int:
    from finishing_kg.studio.add import add_rule
    from finishing_kg.studio.advisable import notes

    entry = {"id": options.id, "if": options.conditions, "unless": options.unless, "then": options.then, "because": options.because}
    entry |= {"basis": {"kind": options.basis, "source": options.source}, "overrides": options.overrides, "safety": options.safety}
    with _told():
        folder = _folder(options)
        seen = _looked_at(options, folder, entry)
        if not sharing.goes_on(options, "Save it?"):
            return USED
        studio = add_rule(folder, entry)
        if seen is not None:
            from finishing_kg.studio.library import keep

            keep(seen.library, folder)
    print(f"Added rule {options.id}.")
    for note in notes(studio, only=options.id):
        print(visible(f"To be looked at: {note}", keep="\n"))
    return USED


def _looked_at(options: argparse.Namespace, folder: Path, entry: dict[str, Any]) -> Impact | None:
    """Show what a rule would change to whoever is there to read it; ``None`` where nobody is."""
    from finishing_kg.cli.impact import looks_first

    if not looks_first(options):
        return None
    from finishing_kg.studio.add import try_rule

    return _show_change(folder, try_rule(folder, entry))


def _add_thing(options: argparse.Namespace) -> int:
    from finishing_kg.studio.add import add_thing

    said = {"kind": options.kind, "label": options.label, "also": options.also, "definition": options.definition}
    with _told():
        folder = _folder(options)
        after = add_thing(folder, options.id, **said, says=options.say, texts=options.text, only_try=options.preview)
        if options.preview:
            _show_change(folder, after)
            print("This was a preview; nothing was changed.")
            return USED
    print(f"Added {visible(options.id)}.")
    return USED


def _show_change(folder: Path, after: Studio) -> Impact:
    """Show what a change to a studio would change."""
    from finishing_kg.cli.impact import impact_of, show
    from finishing_kg.studio import read_studio

    found = impact_of(read_studio(folder), after.knowledge)
    show(found)
    return found


def _add_shelf(options: argparse.Namespace) -> int:
    from finishing_kg.studio.add import add_to_shelf

    with _told():
        add_to_shelf(_folder(options), options.thing, options.grade, options.marked_speed)
    print(f"On the shelf: {visible(options.thing)}.")
    return USED


def _remove(options: argparse.Namespace) -> int:
    from finishing_kg.studio import add

    removers = {"rule": add.remove_rule, "thing": add.remove_thing, "shelf": add.remove_from_shelf}
    with _told():
        removers[options.what](_folder(options), options.id)
    print(f"Removed {visible(options.id)}.")
    return USED


def _rename(options: argparse.Namespace) -> int:
    from finishing_kg.studio.rename import rename

    with _told():
        rename(_folder(options), options.old, options.new)
    print(f"Renamed {visible(options.old)} to {visible(options.new)}.")
    return USED


def _list(options: argparse.Namespace) -> int:
    from finishing_kg.cli.studio_shown import listed, render_list
    from finishing_kg.studio import read_studio

    with _told():
        studio = read_studio(_folder(options))
    if options.json:
        print_json(listed(studio))
    else:
        render_list(listed(studio))
    return USED


def _check(options: argparse.Namespace) -> int:
    from finishing_kg.studio import read_studio
    from finishing_kg.studio.advisable import notes
    from finishing_kg.studio.edit import held_against_shapes
    from finishing_kg.studio.standing import short_of

    with _told():
        folder = _folder(options)
        studio = read_studio(folder)
        held_against_shapes(folder)
    short = [f"{each.part} ({each.file}): {each.text}" for each in short_of(studio.knowledge, studio.cases)]
    looked = notes(studio)
    if options.json:
        print_json({"cases": len(studio.cases), "fall_short": short, "notes": looked})
    else:
        for text in (*short, *(f"To be looked at: {note}" for note in looked)):
            print(visible(text, keep="\n"))
        print(f"All files are in order. {len(studio.cases)} cases, {len(short)} faults in them.")
    return STOPPED if short else USED


def _log(options: argparse.Namespace) -> int:
    from finishing_kg.cli.studio_shown import render_log, shown_log
    from finishing_kg.studio import log, read_studio

    with _told():
        folder = _folder(options)
        studio = read_studio(folder)
        if options.show:
            if options.json:
                print_json(shown_log(studio))
            else:
                render_log(shown_log(studio, for_people=True))
            return USED
        if not options.minutes:
            raise Unusable("Say how long it took, such as --minutes '12 min'; --show shows what is written already.")
        record = log.record_of(
            studio.knowledge.vocabulary,
            {part: getattr(options, part) for part in ("mineral", "hold", "carrier", "glass", "form", "minutes", "area", "found")}
            | {"grade": options.to, "found_hold": options.from_hold, "note": " ".join(options.note)},
        )
        log.write(folder, record)
        compared = read_studio(folder).jobs[-1]
    if options.json:
        print_json({"written": True, "why_not_counted": compared.why_not or None})
    else:
        print("Written." + (f" It counts for no pace: {visible(compared.why_not)}" if compared.why_not else ""))
    return USED
