"""A card as one page of HTML that needs nothing beside itself: style and drawing stand in it, and nothing in it runs."""

from __future__ import annotations

import html
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from finishing_kg.card.ladder import HEIGHT, WIDTH, Bar, Diamond, Line, Mark, Word, description, has_sizes, ladder
from finishing_kg.visible import visible

if TYPE_CHECKING:
    from finishing_kg.card.model import Card, CardStep, Labelled

# Up to how many letters a card still fits one printed sheet, A4 or letter, at each size of print in page.css, from cards of two to six steps.
_FILLS = ((5600, "easy"), (7300, "full"), (9000, "packed"), (10000, "tight"))
_FRAME = 400  # letters that would have the room of a step's name, facts and edges
_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'"


def escaped(text: str) -> str:
    """Text from anywhere as HTML that shows just this text, between tags and in attributes."""
    return html.escape(visible(text, keep="\n\t"))


def to_html(card: Card) -> str:
    """The card as a whole page."""
    style = Path(__file__).with_name("page.css").read_text(encoding="utf-8")
    body = "\n".join(_body(card))
    return (
        f'<!DOCTYPE html>\n<html lang="en" data-fill="{_fill(card)}">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escaped(card.title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def letters(card: Card) -> int:
    """How much room a card takes, in letters."""
    notes = [*card.cautions, *card.hints, *card.others, *card.reasons, *card.values, *card.supposed]
    steps = [*(fact for step in card.steps for fact in step.advice), *notes]
    plain = [*card.understood, *card.unused, *card.open, *(check for step in card.steps for check in step.checks)]
    return sum(len(each.text) + len(each.basis) + len(each.label) for each in steps) + sum(map(len, plain)) + _FRAME * len(card.steps)


def _fill(card: Card) -> str:
    return next((name for most, name in _FILLS if letters(card) <= most), "crammed")


def _body(card: Card) -> Iterator[str]:
    yield f"<header>\n<div>\n<h1>{escaped(card.title)}</h1>\n<ul>"
    yield from (f"<li>{escaped(each)}</li>" for each in card.understood)
    yield "</ul>"
    yield from (f"<p><em>{escaped(each.label)}:</em> {escaped(each.text)}</p>" for each in card.supposed)
    yield from (f"<p><em>Still open:</em> {escaped(each)}</p>" for each in card.open)
    if card.unused:
        yield f'<p class="quiet">Not used: {escaped(", ".join(card.unused))}</p>'
    yield "</div>"
    if has_sizes(card.rungs):
        yield _drawing(card)
    yield '</header>\n<ol class="steps">'
    for step in card.steps:
        yield from _step(step)
    yield "</ol>"
    if card.cautions:
        yield '<section class="cautions">\n<h2>▲ Cautions (the usual ones; local codes and licensed practice decide)</h2>'
        yield from _notes(card.cautions)
        yield "</section>"
    if card.others:
        yield "<section>\n<h2>Other choices</h2>"
        yield from (f"<p><em>{escaped(each.label)}:</em> {escaped(each.text)}.</p>" for each in card.others)
        yield "</section>"
    yield f'<section class="small">\n<h2>Why</h2>\n<p>{escaped(card.chosen_because)}</p>'
    yield from _notes([*card.hints, *card.reasons, *card.values])
    if card.left_out:
        yield f"<p>{escaped(card.left_out)}</p>"
    if card.weakest_basis:
        yield f"<p>Weakest basis in the reasons: {escaped(card.weakest_basis)}.</p>"
    yield "</section>"


def _step(step: CardStep) -> Iterator[str]:
    yield f"<li>\n<h3>{step.number}. {escaped(step.name)}</h3>\n<dl>"
    yield from (f"<div><dt>{escaped(fact.label)}</dt><dd>{escaped(fact.text)}</dd></div>" for fact in step.facts)
    yield f"</dl>\n<div>\n<p>{escaped(step.purpose)}</p>"
    yield from (f"<p><b>{escaped(each.label)}:</b> {escaped(each.text)}</p>" for each in step.advice)
    yield '</div>\n<div>\n<p class="quiet">Before moving on:</p>'
    yield from (f'<label><input type="checkbox"><span>{escaped(check)}</span></label>' for check in step.checks)
    yield "</div>\n</li>"


def _notes(notes: Sequence[Labelled]) -> Iterator[str]:
    yield '<ul class="columns">'
    for note in notes:
        basis = f' <span class="quiet">[{escaped(note.basis)}]</span>' if note.basis else ""
        yield f"<li><b>{escaped(note.label)}:</b> {escaped(note.text)}{basis}</li>"
    yield "</ul>"


def _drawing(card: Card) -> str:
    told = escaped(description(card.rungs))
    marks = "\n".join(map(_mark, ladder(card.rungs)))
    return f'<svg role="img" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" aria-label="{told}">\n<title>{told}</title>\n{marks}\n</svg>'


def _mark(mark: Mark) -> str:
    match mark:
        case Line():
            return f'<line class="{mark.kind}" x1="{mark.x1:.1f}" y1="{mark.y1:.1f}" x2="{mark.x2:.1f}" y2="{mark.y2:.1f}"/>'
        case Bar():
            return f'<rect class="grain" x="{mark.x:.1f}" y="{mark.y:.1f}" width="{mark.width:.1f}" height="{mark.height:.1f}"/>'
        case Diamond():
            x, y, far = mark.x, mark.y, mark.radius
            corners = " ".join(f"{a:.1f},{b:.1f}" for a, b in ((x, y - far), (x + far, y), (x, y + far), (x - far, y)))
            return f'<polygon class="left" points="{corners}"/>'
        case Word():
            return f'<text x="{mark.x:.1f}" y="{mark.y:.1f}" font-size="{mark.size:g}" text-anchor="{mark.anchor}">{escaped(mark.text)}</text>'
