"""``finishing-kg``: the commands, their options and exit statuses."""

import argparse
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, NoReturn

from finishing_kg import __version__
from finishing_kg.cli.errors import UNUSABLE, USED, Unusable


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and give its exit status; without a command the terminal interface opens."""
    from finishing_kg.cli.output import never_fail_on_a_letter, silence

    asked = list(sys.argv[1:] if arguments is None else arguments)
    never_fail_on_a_letter()
    try:
        options = _parser().parse_args(asked)
        run: Callable[[argparse.Namespace], int] = options.run
        status = run(options)
        if sys.stdout is not None:
            sys.stdout.flush()
        return status
    except Unusable as error:
        return _refuse(error.text, error.where, as_json="--json" in asked)
    except BrokenPipeError:
        # The reader of our output went away, which is its right; nothing more can be said to it.
        silence()
        return USED
    except OSError as error:
        silence()
        return _refuse(f"The output cannot be written ({error.strerror}).", None, as_json=False)
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130


def _refuse(text: str, where: str | None, *, as_json: bool) -> int:
    """Say what could not be used: to people on standard error, and to a program that asked for JSON on standard output too."""
    from finishing_kg.cli.output import print_json, visible

    with suppress(OSError):
        if as_json:
            print_json({"kind": "error", "text": text, "where": where})
    # A text of several lines may point at a column of its first.
    between = "\n" if "\n" in text else " "
    if sys.stderr is not None:  # it was closed before we started; print would take standard output instead
        print(visible(f"{where}:{between}{text}" if where else text, keep="\n"), file=sys.stderr)
    return UNUSABLE


class _Parser(argparse.ArgumentParser):
    """Tells a wrong option like any unusable input, and guesses no option from its first letters."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{**options, "allow_abbrev": False})

    def error(self, message: str) -> NoReturn:
        raise Unusable(f"{message[0].upper()}{message[1:]}. See: {self.prog} --help")


def _parser() -> argparse.ArgumentParser:
    from finishing_kg.cli import commands, studio

    parser = _Parser(
        prog="finishing-kg",
        description="Advice for cold-working glass: which abrasive, grade, hold and carrier, in which order, and why. "
        "Without a command the terminal interface opens.",
        epilog="Exit status: 0 answered, 1 a check found a stop, 2 input that cannot be used, 3 something is missing or was not understood.",
    )
    parser.add_argument("--version", action="version", version=f"finishing-kg {__version__}")
    parser.set_defaults(run=commands.interface)
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND")

    def command(name: str, run: Callable[[argparse.Namespace], int], help_text: str, *, as_json: bool = True) -> argparse.ArgumentParser:
        made = subparsers.add_parser(name, help=help_text, description=help_text)
        made.set_defaults(run=run)
        if as_json:
            made.add_argument("--json", action="store_true", help="print JSON (see finishing-kg schema)")
        return made

    ask = command("ask", commands.ask, "Answer a question in plain words; '-' reads a conversation from standard input, one turn a line.")
    ask.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation")
    why = command("why", commands.why, "Show the whole reasoning behind an answer, or why something is not in it.")
    why.add_argument("text", metavar="TEXT", nargs="+", help="the question, or - for a conversation, as for ask")
    what = why.add_mutually_exclusive_group()
    what.add_argument("--step", type=int, metavar="N", help="the step of the first route to explain; without it, every step")
    what.add_argument("--not", dest="unused", metavar="WORDS", help="explain why this is not used, such as --not 'felt wheel'")
    check = command("check", commands.check, "Check a planned setup in a TOML file.")
    check.add_argument("plan", metavar="PLAN.toml")
    grade = command("grade", commands.grade, "Tell the grain size of a grade, such as F220, P600, D126, '120 mesh', '6 µm', 2F, '1/2 pumice'.")
    grade.add_argument("name", metavar="GRADE", nargs="*", help="the grade, or a question such as: which P belt is nearest to F400 loose?")
    grade.add_argument("--nearest", metavar="SCALE", help="the nearest grades on another scale, such as P, F, D, JIS, mesh")
    grade.add_argument("--list", dest="listed", metavar="SCALE", nargs="?", const="", help="list the grades of a scale; without SCALE the scales")
    _speed_options(command("speed", commands.speed, "Turn the turning speed of a wheel into the speed of its surface, and back."))
    rules = subparsers.add_parser("rules", help="List the rules, or show one.", description="List the rules, or show one.")
    rules.set_defaults(run=commands.rules_help, parser=rules)
    inner = rules.add_subparsers(title="commands", metavar="COMMAND")
    listed = inner.add_parser("list", help="list all rules")
    listed.add_argument("--json", action="store_true", help="print JSON")
    listed.set_defaults(run=commands.rules_list)
    shown = inner.add_parser("show", help="show one rule in full")
    shown.add_argument("id", metavar="ID")
    shown.add_argument("--json", action="store_true", help="print JSON")
    shown.set_defaults(run=commands.rules_show)
    export = command("export", commands.export, "Write the whole knowledge, rules included, as linked data in open vocabularies.", as_json=False)
    export.add_argument("--format", choices=("turtle", "json-ld"), default="turtle", help="turtle unless given")
    export.add_argument("--output", metavar="FILE", help="the file to write; without it, standard output")
    tested = inner.add_parser("test", help="run the cases, and say which changes to rules none of them would notice")
    tested.add_argument("--mutate", action="store_true", help="take out or turn round each rule in turn and report what no case notices (minutes)")
    tested.add_argument("--rule", metavar="ID", action="append", default=[], help="only this rule; may be given several times")
    tested.add_argument("--cases", metavar="FOLDER", help="a folder of case files, instead of the shipped ones")
    tested.add_argument("--json", action="store_true", help="print JSON")
    tested.set_defaults(run=commands.rules_test)
    audited = inner.add_parser("audit", help="report rules that can never fire, say the same, or contradict each other, and what no case brings up")
    audited.add_argument("--static", action="store_true", help="only what shows without running the cases (seconds instead of minutes)")
    audited.add_argument("--json", action="store_true", help="print JSON")
    audited.set_defaults(run=commands.rules_audit)
    studio.commands_below(subparsers, taking=(ask, why, check, listed, shown), asking=(ask, why))
    schema = command("schema", commands.schema, "Print the JSON Schemas of what --json prints.", as_json=False)
    schema.add_argument("name", metavar="NAME", nargs="?", help="ask, check, grade, speed, rules or error; all without it")
    return parser


def _speed_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--diameter", metavar="LENGTH", help="of the wheel, lap or drum, such as '12 in' or '300 mm'")
    parser.add_argument("--turning", metavar="SPEED", help="the turning speed, such as '400 rpm'")
    parser.add_argument("--surface", metavar="SPEED", help="the speed of the surface, such as '10 m/s' or '2000 sfpm'; turns are never rounded up")
    parser.add_argument("--carrier", metavar="WORDS", help="what is driven, such as 'felt wheel': tells whether the speed suits it")
