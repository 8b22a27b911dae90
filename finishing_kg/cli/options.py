"""The commands by name, each with what it is for and the options that it takes."""

import argparse
from collections.abc import Callable


def _json(parser: argparse.ArgumentParser, help_text: str = "print JSON (see finishing-kg schema)") -> None:
    parser.add_argument("--json", action="store_true", help=help_text)


def _ask(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    parser.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation")


def _why(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    parser.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation, as for ask")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--step", type=int, metavar="N", help="the step of the first route to explain; without it, every step")
    what.add_argument("--not", dest="unused", metavar="WORDS", help="explain why this is not used, such as --not 'felt wheel'")


def _check(parser: argparse.ArgumentParser) -> None:
    _json(parser)
    parser.add_argument("plan", metavar="PLAN.toml")


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
    listed.set_defaults(run=commands.rules_list)
    shown = inner.add_parser("show", help="show one rule in full")
    shown.add_argument("id", metavar="ID")
    _json(shown, "print JSON")
    shown.set_defaults(run=commands.rules_show)
    tested = inner.add_parser("test", help="run the cases, and say which changes to rules none of them would notice")
    tested.add_argument("--mutate", action="store_true", help="take out or turn round each rule in turn and report what no case notices (minutes)")
    tested.add_argument("--rule", metavar="ID", action="append", default=[], help="only this rule; may be given several times")
    tested.add_argument("--cases", metavar="FOLDER", help="a folder of case files, instead of the shipped ones")
    _json(tested, "print JSON")
    tested.set_defaults(run=commands.rules_test)
    audited = inner.add_parser("audit", help="report rules that can never fire, say the same, or contradict each other, and what no case brings up")
    audited.add_argument("--static", action="store_true", help="only what shows without running the cases (seconds instead of minutes)")
    _json(audited, "print JSON")
    audited.set_defaults(run=commands.rules_audit)
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


def _schema(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="NAME", nargs="?", help="ask, check, grade, speed, rules or error; all without it")


COMMANDS: dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]] = {
    "ask": ("Answer a question in plain words; '-' reads a conversation from standard input, one turn a line.", _ask),
    "why": ("Show the whole reasoning behind an answer, or why something is not in it.", _why),
    "check": ("Check a planned setup in a TOML file.", _check),
    "grade": ("Tell the grain size of a grade, such as F220, P600, D126, '120 mesh', '6 µm', 2F, '1/2 pumice'.", _grade),
    "speed": ("Turn the turning speed of a wheel into the speed of its surface, and back.", _speed),
    "rules": ("List the rules, or show one.", _rules),
    "export": ("Write the whole knowledge, rules included, as linked data in open vocabularies.", _export),
    "schema": ("Print the JSON Schemas of what --json prints.", _schema),
}
"""What each command is for, and what adds its options; the function of the same name in ``cli.commands`` runs it."""
