"""A card as Markdown: a table of the steps, lists of boxes to tick, and nothing that a page would read as more than text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from finishing_kg.visible import visible

if TYPE_CHECKING:
    from finishing_kg.card.model import Card, CardStep, Labelled

# Letters that can begin something in Markdown, in a table or in HTML; the last three where addresses are made links.
_SPECIAL = re.compile(r"[\\`*_{}\[\]<>()#|&~$!^=@]|(?<=\w):(?=//)|(?<=www)\.")


def escaped(text: str) -> str:
    """Text from anywhere, in a line of its own or in a cell, as Markdown that shows just this text."""
    return _SPECIAL.sub(r"\\\g<0>", " ".join(visible(text, keep="\n\t").split()))


def to_markdown(card: Card) -> str:
    """The card as Markdown with the tables and task lists of its common extension."""
    return "\n".join(_lines(card)) + "\n"


def _lines(card: Card) -> Iterator[str]:
    yield f"# {escaped(card.title)}"
    yield ""
    yield from (f"- {escaped(each)}" for each in card.understood)
    yield from (f"- *{escaped(each.label)}:* {escaped(each.text)}" for each in card.supposed)
    if card.unused:
        yield f"- *Not used:* {escaped(', '.join(card.unused))}"
    yield from (f"- *Still open:* {escaped(each)}" for each in card.open)
    yield from ["", "## Steps", ""]
    yield from _table(card.steps)
    for step in card.steps:
        yield from ["", f"### {step.number}. {escaped(step.name)}", "", escaped(step.purpose), ""]
        yield from (f"- *{escaped(each.label)}:* {escaped(each.text)}" for each in step.advice)
        yield from ["", "Before moving on:", ""]
        yield from (f"- [ ] {escaped(check)}" for check in step.checks)
    if card.cautions:
        yield from ["", "---", "", "## Cautions", "", "The usual ones; local codes and licensed practice decide.", ""]
        yield from _notes(card.cautions)
        yield from ["", "---"]
    if card.hints:
        yield from ["", "## Worth knowing", ""]
        yield from _notes(card.hints)
    if card.others:
        yield from ["", "## Other choices", ""]
        yield from (f"- *{escaped(each.label)}:* {escaped(each.text)}. {escaped(each.basis)}" for each in card.others)
    yield from ["", "## Reasons", "", escaped(card.chosen_because), ""]
    yield from _notes([*card.reasons, *card.values])
    if card.weakest_basis:
        yield from ["", f"Weakest basis in the reasons: {escaped(card.weakest_basis)}."]


def _table(steps: Sequence[CardStep]) -> Iterator[str]:
    """The facts of all steps; a column for each that any step has."""
    labels = list(dict.fromkeys(fact.label for step in steps for fact in step.facts))
    yield "| Step | " + " | ".join(map(escaped, labels)) + " |"
    yield "|---:|" + "---|" * len(labels)
    for step in steps:
        known = {fact.label: escaped(fact.text) for fact in step.facts}
        yield f"| {step.number} | " + " | ".join(known.get(label, "") for label in labels) + " |"


def _notes(notes: Sequence[Labelled]) -> Iterator[str]:
    for note in notes:
        basis = f" \\[{escaped(note.basis)}\\]" if note.basis else ""
        yield f"- **{escaped(note.label)}:** {escaped(note.text)}{basis}"
