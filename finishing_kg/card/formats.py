"""The formats that a card is written in."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishing_kg.card.model import Card

FORMATS = {"markdown": (".md", ".markdown"), "html": (".html", ".htm"), "pdf": (".pdf",)}
"""The formats with the endings of their files."""


class CannotMake(Exception):
    """A card cannot be written in this format here; the message says what to do."""


def format_of(file: str | None, asked: str | None) -> str:
    """The format that is asked for, else that of the file's ending, else Markdown."""
    ending = PurePath(file).suffix.lower() if file else ""
    return asked or next((name for name, endings in FORMATS.items() if ending in endings), "markdown")


def written(card: Card, name: str) -> str | bytes:
    """A card in one of ``FORMATS``: a text, or for PDF bytes.

    Raises:
        CannotMake: the library for it is not installed.
    """
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
