"""``card``: the route of an answer on a card, to a file or to standard output."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from finishing_kg.cli.errors import USED, Unusable
from finishing_kg.cli.output import print_data, visible

if TYPE_CHECKING:
    from finishing_kg.advice import Answer
    from finishing_kg.vocabulary import Vocabulary


def refuse_early(options: argparse.Namespace) -> None:
    """What cannot be written is told before the question is answered.

    Raises:
        Unusable: the file may not be written, or PDF was to go to a terminal.
    """
    from finishing_kg.card import format_of
    from finishing_kg.files import CannotWrite, place_of

    if options.output is not None:
        try:
            place_of(Path(options.output), overwrite=options.overwrite)
        except CannotWrite as error:
            raise Unusable(str(error)) from error
    elif format_of(None, options.format) == "pdf" and sys.stdout is not None and sys.stdout.isatty():
        raise Unusable("PDF cannot be shown in a terminal. Name a file: --output card.pdf")


def write_card(vocabulary: Vocabulary, answer: Answer, options: argparse.Namespace) -> int:
    """Write the card of an answer that holds a route.

    Raises:
        Unusable: the file cannot be written, or the library for the format is not installed.
    """
    from finishing_kg.card import CannotMake, card_of, format_of, written
    from finishing_kg.files import CannotWrite, write_whole

    card = card_of(answer, vocabulary)
    try:
        made = written(card, format_of(options.output, options.format))
        if options.output is None:
            print_data(made)
        else:
            write_whole(Path(options.output), made, overwrite=options.overwrite)
            print(f"Wrote a card of {len(card.steps)} step{'s' * (len(card.steps) != 1)} to {visible(options.output)}")
    except (CannotMake, CannotWrite) as error:
        raise Unusable(str(error)) from error
    return USED
