"""The formats that a card is written in."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import PurePath
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishing_kg.card.model import Card, CardStep

FORMATS = {"markdown": (".md", ".markdown"), "html": (".html", ".htm"), "pdf": (".pdf",)}
"""The formats with the endings of their files."""

_ONE_SHEET = 10900
"""How many letters fit one sheet in print that can still be read; see ``card.page``."""


class CannotMake(Exception):
    """A card cannot be written in this format here; the message says what to do."""


def format_of(file: str | None, asked: str | None) -> str:
    """The format that is asked for, else that of the file's ending, else Markdown."""
    ending = PurePath(file).suffix.lower() if file else ""
    return asked or next((name for name, endings in FORMATS.items() if ending in endings), "markdown")


def for_one_sheet(card: Card) -> Card:
    """The card as it is printed, so that one sheet holds it.

    Of a long route first what an earlier step has said already is not said again; then goes what is least needed at the bench, a part
    after the other: the sources of values, the other choices, the hints, and only at last what the steps cost, how hard to press and
    how to feed. How each step is done, what to see before the next, cautions and reasons stay. What is left out is told.
    """
    from finishing_kg.card.page import letters
    from finishing_kg.record import replace

    if letters(card) <= _ONE_SHEET:
        return card
    card = replace(card, steps=list(_said_once(card.steps)))
    gone: list[str] = []
    for words, without in _LEAST_NEEDED.items():
        if letters(card) <= _ONE_SHEET:
            break
        lighter = without(card)
        if lighter != card:
            card = lighter
            gone.append(words)
    if not gone:
        return card
    listed = " and ".join(filter(None, [", ".join(gone[:-1]), gone[-1]]))
    return replace(card, left_out=f"Left out here, to keep to one sheet: {listed}. The card in Markdown has all.")


def _said_once(steps: Sequence[CardStep]) -> Iterator[CardStep]:
    """The steps, each with a word in the place of advice that an earlier one gives letter for letter."""
    from finishing_kg.card.model import Labelled
    from finishing_kg.record import replace

    first: dict[tuple[str, str], int] = {}
    for step in steps:
        known = {each.label: first.setdefault((each.label, each.text), step.number) for each in step.advice}
        again: dict[int, list[str]] = {}
        for label, number in known.items():
            if number != step.number:
                again.setdefault(number, []).append(label if not again.get(number) else label.lower())
        referred = [Labelled(label=", ".join(labels), text=f"as in step {number}.") for number, labels in again.items()]
        yield replace(step, advice=[*(each for each in step.advice if known[each.label] == step.number), *referred])


def _without(*labels: str) -> Callable[[Card], Card]:
    """Takes some advice out of all steps; where a step refers to an earlier one for it, the word on it too."""
    from finishing_kg.card.model import Labelled
    from finishing_kg.record import replace

    def shorter(each: Labelled) -> Labelled | None:
        kept = [part for part in each.label.split(", ") if part.capitalize() not in labels]
        return replace(each, label=", ".join([kept[0].capitalize(), *kept[1:]])) if kept else None

    def lighter(card: Card) -> Card:
        steps = [replace(step, advice=[kept for each in step.advice if (kept := shorter(each)) is not None]) for step in card.steps]
        return replace(card, steps=steps)

    return lighter


def _empty(part: str) -> Callable[[Card], Card]:
    """Takes a whole part out."""

    def lighter(card: Card) -> Card:
        from finishing_kg.record import replace

        return replace(card, **{part: []})

    return lighter


_LEAST_NEEDED: dict[str, Callable[[Card], Card]] = {
    "where the values come from": _empty("values"),
    "the other choices": _empty("others"),
    "the hints": _empty("hints"),
    "what the steps cost": _without("Costs"),
    "how hard to press": _without("Pressure"),
    "how to feed": _without("Feed"),
}


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
