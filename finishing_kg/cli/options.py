"""The commands by name, each with what it is for and the options that it takes."""

import argparse
from collections.abc import Callable


def _json(parser: argparse.ArgumentParser, help_text: str = "print JSON (see finishing-kg schema)") -> None:
    parser.add_argument("--json", action="store_true", help=help_text)


def takes_studio(parser: argparse.ArgumentParser) -> None:
    """Let a command take a studio's knowledge in."""
    where = "the studio's folder; else FINISHING_KG_STUDIO, the current folder, or the usual place for data"
    parser.add_argument("--studio", metavar="DIR", help=where)


def _keeps_to_shelf(parser: argparse.ArgumentParser) -> None:
    takes_studio(parser)
    parser.add_argument("--from-shelf", action="store_true", help="keep to what is on the studio's shelf")


def written_out(words: list[str]) -> list[str]:
    """A command line with what may be left out: ``studio add canal.zip`` adds a pack, and ``studio remove canal`` takes one out."""
    named = words[0:1] == ["studio"] and words[1:2] in (["add"], ["remove"]) and words[2:3] and not words[2].startswith("-")
    return [*words[:2], "pack", *words[2:]] if named and words[2] not in ("rule", "thing", "shelf", "pack") else words


def _studio(parser: argparse.ArgumentParser) -> None:
    from finishing_kg.cli.studio import options_of

    options_of(parser)


def _ask(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    _keeps_to_shelf(parser)
    parser.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation")
    parser.add_argument("--open", dest="opened", metavar="FILE", help="go on with a conversation that was saved")
    parser.add_argument("--save", metavar="FILE", help="save the conversation after every turn")
    parser.add_argument("--plan", metavar="FILE", help="write the first choice to this file, as a plan that can be changed and checked")
    _overwrite(parser)


def _overwrite(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--overwrite", action="store_true", help="write the file even if there is one of that name")


def _why(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    _keeps_to_shelf(parser)
    parser.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation, as for ask")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--step", type=int, metavar="N", help="the step of the first route to explain; without it, every step")
    what.add_argument("--not", dest="unused", metavar="WORDS", help="explain why this is not used, such as --not 'felt wheel'")
    what.add_argument(
        "--without-rule", metavar="ID", action="append", default=[], help="what would differ without this rule; may be given several times"
    )
    length = parser.add_mutually_exclusive_group()
    length.add_argument("--line", dest="level", action="store_const", const="line", help="each step's reason in one line")
    length.add_argument("--short", dest="level", action="store_const", const="short", help="each step's reasons in at most seven lines")
    length.add_argument("--whole", dest="level", action="store_const", const="whole", help="the whole proof; so it is without any of these")
    parser.add_argument("--proof", metavar="FILE", help="write the proofs to a file, as linked data that can be checked again")
    parser.add_argument("--format", choices=("turtle", "json-ld"), default="turtle", help="of that file; turtle unless given")


def _check(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    _keeps_to_shelf(parser)
    parser.add_argument("plan", metavar="PLAN", help="a plan in TOML, or in CSV if its name ends in .csv or .tsv")
    parser.add_argument("--corrected", metavar="FILE", help="write the corrected plan to this file, in TOML")
    _overwrite(parser)


def _grade(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    parser.add_argument("name", metavar="GRADE", nargs="*", help="the grade, or a question such as: which P belt is nearest to F400 loose?")
    parser.add_argument("--nearest", metavar="SCALE", help="the nearest grades on another scale, such as P, F, D, JIS, mesh")
    parser.add_argument("--list", dest="listed", metavar="SCALE", nargs="?", const="", help="list the grades of a scale; without SCALE the scales")


def _speed(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    parser.add_argument("--diameter", metavar="LENGTH", help="of the wheel, lap or drum, such as '12 in' or '300 mm'")
    parser.add_argument("--turning", metavar="SPEED", help="the turning speed, such as '400 rpm'")
    parser.add_argument("--surface", metavar="SPEED", help="the speed of the surface, such as '10 m/s' or '2000 sfpm'; turns are never rounded up")
    parser.add_argument("--carrier", metavar="WORDS", help="what is driven, such as 'felt wheel': tells whether the speed suits it")


def _rules(parser: argparse.ArgumentParser) -> None:
    from finishing_kg.cli import commands

    parser.set_defaults(parser=parser)
    inner = parser.add_subparsers(title="commands", metavar="COMMAND")
    listed = inner.add_parser("list", help="list all rules")
    _json(listed, "print JSON")
    takes_studio(listed)
    listed.set_defaults(run=commands.rules_list)
    shown = inner.add_parser("show", help="show one rule in full")
    shown.add_argument("id", metavar="ID")
    _json(shown, "print JSON")
    takes_studio(shown)
    shown.set_defaults(run=commands.rules_show)
    tested = inner.add_parser("test", help="run the cases, and say which changes to rules none of them would notice")
    tested.add_argument("--mutate", action="store_true", help="take out or turn round each rule in turn and report what no case notices (minutes)")
    tested.add_argument("--rule", metavar="ID", action="append", default=[], help="only this rule; may be given several times")
    tested.add_argument("--cases", metavar="FOLDER", help="a folder of case files, instead of the shipped ones")
    _json(tested, "print JSON")
    takes_studio(tested)
    tested.set_defaults(run=commands.rules_test)
    audited = inner.add_parser("audit", help="report rules that can never fire, say the same, or contradict each other, and what no case brings up")
    audited.add_argument("--static", action="store_true", help="only what shows without running the cases (seconds instead of minutes)")
    _json(audited, "print JSON")
    takes_studio(audited)
    audited.set_defaults(run=commands.rules_audit)
    changing = inner.add_parser("impact", help="say which answers of the case library rules would change, and how, before they are added")
    changing.add_argument("file", metavar="FILE", nargs="?", help="a file of rules, as it would be added")
    changing.add_argument("--without", metavar="ID", action="append", default=[], help="a rule that would be taken out; may be given several times")
    _json(changing, "print JSON")
    takes_studio(changing)
    changing.set_defaults(run=commands.rules_impact)
    swept = inner.add_parser(
        "sweep", help="ask about combinations of glass, make, form, surface and finish, and report answers that cannot be right (minutes)"
    )
    swept.add_argument(
        "--all", dest="every", action="store_true", help="every combination that makes sense, an hour or more; without it some 11,600, spread"
    )
    swept.add_argument("--sample", type=int, metavar="N", help="only about N of them, evenly spread")
    swept.add_argument("--table", metavar="FILE", default="sweep.csv", help="the table to write, or to go on with (sweep.csv)")
    swept.add_argument("--processes", type=int, metavar="N", help="how many to run at once; as many as there are cores unless given")
    _json(swept, "print JSON")
    swept.set_defaults(run=commands.rules_sweep)


def _export(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--format", choices=("turtle", "json-ld"), default="turtle", help="turtle unless given")
    parser.add_argument("--output", metavar="FILE", help="the file to write; without it, standard output")


def _card(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation, as for ask")
    parser.add_argument("--format", choices=("markdown", "html", "pdf"), help="without it that of FILE's ending, else markdown")
    parser.add_argument("--output", metavar="FILE", help="the file to write; without it, standard output")
    parser.add_argument("--overwrite", action="store_true", help="replace FILE if it is there already")


def _schema(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", nargs="?", help="ask, check, grade, speed, rules or error; all without it")


def _serve(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", type=int, default=8000, metavar="N", help="8000 unless given")
    parser.add_argument(
        "--address",
        default="127.0.0.1",
        metavar="ADDRESS",
        help="listen here instead of on this machine alone: others who have the printed token can then use it",
    )


COMMANDS: dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]] = {
    "ask": ("Answer a question in plain words; '-' reads a conversation from standard input, one turn a line.", _ask),
    "why": ("Show the whole reasoning behind an answer, or why something is not in it.", _why),
    "check": ("Check a planned setup in a TOML or CSV file, and say how to correct it.", _check),
    "grade": ("Tell the grain size of a grade, such as F220, P600, D126, '120 mesh', '6 µm', 2F, '1/2 pumice'.", _grade),
    "speed": ("Turn the turning speed of a wheel into the speed of its surface, and back.", _speed),
    "rules": ("List the rules, or show one.", _rules),
    "studio": ("Write down what the studio knows: its own rules, things, shelf and bench log.", _studio),
    "export": ("Write the whole knowledge, rules included, as linked data in open vocabularies.", _export),
    "card": ("Write the route of an answer as a card for the bench, with boxes to tick.", _card),
    "serve": ("Open the interface to a browser on this machine.", _serve),
    "schema": ("Print the JSON Schemas of what --json prints.", _schema),
}
"""What each command is for, and what adds its options; the function of the same name in ``cli.commands`` runs it."""
