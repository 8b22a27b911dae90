"""A card as PDF, on one sheet of A4 where it fits at a size that can be read; this module alone needs fpdf2."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from fpdf import FPDF

from finishing_kg.card.ladder import HEIGHT, WIDTH, Bar, Diamond, Line, Mark, Word, has_sizes, ladder
from finishing_kg.visible import visible

if TYPE_CHECKING:
    from finishing_kg.card.model import Card, CardStep, Labelled

_FONT = "Helvetica"  # one that every reader has, so that none is shipped
_SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
"""Sizes of the letters in points that are tried in turn until the card fits one sheet; nothing smaller is read at a bench."""
_MARGIN = 9.0
_DRAWING = 70.0
_MM_PER_POINT = 25.4 / 72


def escaped(text: str) -> str:
    """Text from anywhere in the letters of the font; others are written out by their numbers, such as ``\\u03b1``."""
    shown = " ".join(visible(text, keep="\n\t").split())
    return shown.encode("cp1252", "backslashreplace").decode("cp1252")


def to_pdf(card: Card) -> bytes:
    """The card as a PDF file; several sheets if it does not fit one in the smallest letters."""
    for size in _SIZES:
        sheet = _Sheet(size)
        sheet.put(card)
        if sheet.pages == 1:
            break
    return bytes(sheet.pdf.output())


class _Sheet:
    """A card being set in letters of one size."""

    def __init__(self, size: float) -> None:
        self.pdf = FPDF(format="A4")
        self.pdf.core_fonts_encoding = "cp1252"
        self.pdf.set_margin(_MARGIN)
        self.pdf.set_auto_page_break(True, _MARGIN)
        self.pdf.c_margin = 0.5
        self.pdf.add_page()
        self.size, self.line = size, size * _MM_PER_POINT * 1.18
        self.width = self.pdf.epw

    @property
    def pages(self) -> int:
        return self.pdf.pages_count

    def put(self, card: Card) -> None:
        """Everything, from top to bottom."""
        self.pdf.set_title(escaped(card.title))
        self.pdf.set_lang("en")
        top = self.pdf.get_y()
        drawn = has_sizes(card.rungs)
        room = self.width - (_DRAWING + 3 if drawn else 0)
        self._text(card.title, style="B", scale=1.5, width=room)
        for text in card.understood:
            self._text(f"- {text}", width=room)
        for each in card.supposed:
            self._text(f"{each.label}: {each.text}", style="I", width=room)
        for text in card.open:
            self._text(f"Still open: {text}", style="I", width=room)
        if card.unused:
            self._text(f"Not used: {', '.join(card.unused)}", style="I", width=room)
        if drawn:
            scale = _DRAWING / WIDTH
            for mark in ladder(card.rungs):
                self._mark(mark, self.pdf.w - _MARGIN - _DRAWING, top, scale)
            self.pdf.set_xy(_MARGIN, max(self.pdf.get_y(), top + HEIGHT * scale))
        for step in card.steps:
            self._step(step)
        if card.cautions:
            self._cautions(card.cautions)
        if card.others:
            self._heading("Other choices")
            for each in card.others:
                self._text(f"{each.label}: {each.text}.")
        self._heading("Why")
        self._text(card.chosen_because, scale=0.85)
        self._notes([*card.hints, *card.reasons, *card.values], scale=0.85)
        if card.left_out:
            self._text(card.left_out, scale=0.85)
        if card.weakest_basis:
            self._text(f"Weakest basis in the reasons: {card.weakest_basis}.", scale=0.85)

    def _text(self, text: str, *, style: str = "", scale: float = 1.0, width: float | None = None, at: float | None = None) -> None:
        """A paragraph; below it the next one begins."""
        self.pdf.set_font(_FONT, style, self.size * scale)
        self.pdf.set_x(_MARGIN if at is None else at)
        self.pdf.multi_cell(width or self.width, self.line * scale, escaped(text), align="L", new_x="LMARGIN", new_y="NEXT")

    def _heading(self, text: str) -> None:
        self.pdf.ln(self.line * 0.3)
        self._text(text, style="B", scale=1.1)

    def _step(self, step: CardStep) -> None:
        self.pdf.ln(self.line * 0.25)
        y = self.pdf.get_y()
        self.pdf.set_line_width(0.1)
        self.pdf.line(_MARGIN, y, _MARGIN + self.width, y)
        self._text(f"{step.number}. {step.name}", style="B", scale=1.1)
        self._text("; ".join(f"{fact.label}: {fact.text}" for fact in step.facts))
        self._text(step.purpose, style="I")
        for each in step.advice:
            self._text(f"{each.label}: {each.text}")
        if step.checks:
            self._text("Before moving on:", style="I")
        box = self.line * 0.75
        for check in step.checks:
            # The box goes with the first line of its text, on the next sheet too.
            if self.pdf.will_page_break(self.line):
                self.pdf.add_page()
            self.pdf.set_line_width(0.25)
            self.pdf.rect(_MARGIN + 0.5, self.pdf.get_y() + self.line * 0.1, box, box)
            self._text(check, at=_MARGIN + box + 2, width=self.width - box - 2)

    def _cautions(self, cautions: Sequence[Labelled]) -> None:
        """Set apart: between two thick lines."""
        self.pdf.ln(self.line * 0.4)
        self._rule()
        self._text("CAUTIONS (the usual ones; local codes and licensed practice decide)", style="B")
        self._notes(cautions)
        self._rule()

    def _rule(self) -> None:
        self.pdf.set_line_width(0.8)
        y = self.pdf.get_y()
        self.pdf.line(_MARGIN, y, _MARGIN + self.width, y)
        self.pdf.ln(self.line * 0.2)

    def _notes(self, notes: Sequence[Labelled], scale: float = 1.0) -> None:
        for note in notes:
            self._text(f"{note.label}: {note.text}" + (f" [{note.basis}]" if note.basis else ""), scale=scale)

    def _mark(self, mark: Mark, left: float, top: float, scale: float) -> None:
        """One mark of the ladder, whose drawing begins at ``left`` and ``top`` and is shrunk by ``scale``."""

        def across(x: float) -> float:
            return left + x * scale

        def down(y: float) -> float:
            return top + y * scale

        pdf = self.pdf
        match mark:
            case Line():
                pdf.set_line_width(0.1 if mark.kind == "grid" else 0.3)
                pdf.set_dash_pattern(*((0.6, 0.4) if mark.kind == "cracks" else ()))
                pdf.line(across(mark.x1), down(mark.y1), across(mark.x2), down(mark.y2))
                pdf.set_dash_pattern()
            case Bar():
                pdf.set_fill_color(90)
                pdf.rect(across(mark.x), down(mark.y), mark.width * scale, mark.height * scale, style="F")
            case Diamond():
                x, y, far = across(mark.x), down(mark.y), mark.radius * scale
                pdf.set_fill_color(255)
                pdf.set_line_width(0.25)
                pdf.polygon([(x, y - far), (x + far, y), (x, y + far), (x - far, y)], style="DF")
            case Word():
                pdf.set_font(_FONT, "", mark.size * scale / _MM_PER_POINT)
                text = escaped(mark.text)
                wide = pdf.get_string_width(text)
                pdf.text(across(mark.x) - {"start": 0.0, "middle": wide / 2, "end": wide}[mark.anchor], down(mark.y), text)
