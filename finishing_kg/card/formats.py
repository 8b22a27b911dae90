"""The formats that a card is written in."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishing_kg.card.model import Card

FORMATS = {"markdown": (".md", ".markdown"), "html": (".html", ".htm"), "pdf": (".pdf",)}
"""The formats with the endings of their files."""

_ONE_SHEET = 6600
"""How many letters fit one sheet in print that can still be read; see ``card.page``."""


class CannotMake(Exception):
    """A card cannot be written in this format here; the message says what to do."""


def format_of(file: str | None, asked: str | None) -> str:
    """The format that is asked for, else that of the file's ending, else Markdown."""
    ending = PurePath(file).suffix.lower() if file else ""
    return asked or next((name for name, endings in FORMATS.items() if ending in endings), "markdown")


def for_one_sheet(card: Card) -> Card:
    """The card as it is printed: of a long route only how each step is done, and not feed, pressure and costs, so that one sheet holds it."""
    from finishing_kg.card.page import letters
    from finishing_kg.record import replace

    if letters(card) <= _ONE_SHEET:
        return card
    steps = [replace(step, advice=[each for each in step.advice if each.label == "How"]) for step in card.steps]
    return replace(card, steps=steps, left_out="Feed, pressure and costs of the steps are left out here, to keep to one sheet.")


def written(card: Card, name: str) -> str | bytes:
    """A card in one of ``FORMATS``: a text, or for PDF bytes.

    Raises:
        CannotMake: the library for it is not installed.
    """
    if name != "markdown":
        card = for_one_sheet(card)
    if name == "html":
        from finishing_kg.card.page import to_html

        return to_html(card)
    if name == "pdf":
        try:
            from finishing_kg.card.pdf import to_pdf
        except ModuleNotFoundError as error:
            if error.name != "fpdf":
                raise
            raise CannotMake(
                'For PDF one more library is needed: pip install "finishing-kg[pdf]". Without it, --format html prints well from a browser.'
            ) from error
        return to_pdf(card)
    from finishing_kg.card.markdown import to_markdown

    return to_markdown(card)
