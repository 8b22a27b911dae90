"""``finishing-kg``: the commands, their options and exit statuses."""

import argparse
import gc
import os
import sys
from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import Any, NoReturn

from finishing_kg import __version__
from finishing_kg.cli.errors import UNUSABLE, USED, Unusable
from finishing_kg.cli.options import COMMANDS, written_out
from finishing_kg.cli.paper import terminal_columns


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and give its exit status; without a command the terminal interface opens."""
    from finishing_kg.cli.output import never_fail_on_a_letter, silence

    asked = written_out(list(sys.argv[1:] if arguments is None else arguments))
    never_fail_on_a_letter()
    # Most of what a command makes is knowledge that stays; looking through it for circles all the time takes a tenth of the whole.
    usual = gc.get_threshold()
    gc.set_threshold(100_000, *usual[1:])
    try:
        options = _parser(asked).parse_args(asked)
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
    finally:
        gc.set_threshold(*usual)


def run() -> NoReturn:
    """``main`` as a process of its own, which is left at once: taking apart what was built would hold up whoever waits for its end."""
    status = main()
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError, AttributeError):  # AttributeError: it was closed before we started
            stream.flush()
    os._exit(status)


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


class _Help(argparse.HelpFormatter):
    """As wide as everything else that is printed; argparse would ask a library that takes long to load, at every option."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=terminal_columns() - 2)


class _Parser(argparse.ArgumentParser):
    """Tells a wrong option like any unusable input, and guesses no option from its first letters."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**{**options, "allow_abbrev": False, "formatter_class": _Help})

    def error(self, message: str) -> NoReturn:
        raise Unusable(f"{message[0].upper()}{message[1:]}. See: {self.prog} --help")


def _parser(asked: Sequence[str]) -> argparse.ArgumentParser:
    """The parser for a command line; of the commands it knows the one that is asked for, or all where none is.

    Args:
        asked: the words of the command line; making the parsers of all commands takes longer than reading them.
    """
    from finishing_kg.cli import commands

    parser = _Parser(
        prog="finishing-kg",
        description="Advice for cold-working glass: which abrasive, grade, hold and carrier, in which order, and why. "
        "Without a command the terminal interface opens.",
        epilog="Exit status: 0 answered, 1 a check found a stop, 2 input that cannot be used, 3 something is missing or was not understood.",
    )
    parser.add_argument("--version", action="version", version=f"finishing-kg {__version__}")
    parser.set_defaults(run=commands.interface)
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND")
    wanted = asked[0] if asked and asked[0] in COMMANDS else None
    for name, (help_text, options) in COMMANDS.items():
        if wanted in (None, name):
            made = subparsers.add_parser(name, help=help_text, description=help_text)
            made.set_defaults(run=getattr(commands, name))
            options(made)
    return parser
