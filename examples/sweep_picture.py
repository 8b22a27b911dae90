"""Draws what a sweep covered: ``python examples/sweep_picture.py sweep.csv coverage.svg``.

A square for each form and finish: how many answers were routes (blue), questions back (grey) or a reasoned no (yellow), by the
share of the square's width, and a red frame where something was wrong. The numbers of cases stand in it.
"""

import csv
import sys
from collections import Counter
from html import escape
from pathlib import Path

COLOURS = {"route": "#3b6ea5", "question": "#9aa0a6", "no_route": "#e0b040", "exception": "#c02020"}
WIDTH, HEIGHT, LEFT, TOP = 92, 26, 120, 60


def drawn(rows: list[dict[str, str]]) -> str:
    """The picture as SVG.

    Args:
        rows: of the table that ``finishing-kg rules sweep`` writes, by its column names.
    """
    forms, finishes = (sorted({row[part] for row in rows}) for part in ("form", "finish"))
    counts = Counter((row["form"], row["finish"], row["kind"]) for row in rows)
    wrong = {(row["form"], row["finish"]) for row in rows if row["faults"]}
    parts = [_text(LEFT + WIDTH * x + 4, TOP - 8, finish or "not said") for x, finish in enumerate(finishes)]
    for y, form in enumerate(forms):
        parts.append(_text(4, TOP + HEIGHT * y + 17, form or "not said"))
        for x, finish in enumerate(finishes):
            parts += _square(
                LEFT + WIDTH * x, TOP + HEIGHT * y, {kind: counts[form, finish, kind] for kind in COLOURS}, marked=(form, finish) in wrong
            )
    for place, (kind, colour) in enumerate(COLOURS.items()):
        parts.append(f'<rect x="{LEFT + 110 * place}" y="10" width="12" height="12" fill="{colour}"/>' + _text(LEFT + 110 * place + 16, 21, kind))
    size = f'width="{LEFT + WIDTH * len(finishes) + 8}" height="{TOP + HEIGHT * len(forms) + 8}"'
    style = '<style>text{font:12px sans-serif;fill:#222}</style><rect width="100%" height="100%" fill="#fff"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{style}{"".join(parts)}</svg>\n'


def _square(x: float, y: float, counts: dict[str, int], *, marked: bool) -> list[str]:
    """One form and finish: a band for each kind of answer, as wide as its share."""
    total, at, parts = sum(counts.values()), x, list[str]()
    for kind, count in counts.items():
        if count:
            wide = (WIDTH - 4) * count / total
            parts.append(f'<rect x="{at:.1f}" y="{y}" width="{wide:.1f}" height="{HEIGHT - 4}" fill="{COLOURS[kind]}" fill-opacity="0.75"/>')
            at += wide
    frame = "#c02020" if marked else "#bbb"
    parts.append(
        f'<rect x="{x}" y="{y}" width="{WIDTH - 4}" height="{HEIGHT - 4}" fill="none" stroke="{frame}" stroke-width="{2 if marked else 1}"/>'
    )
    return [*parts, _text(x + 4, y + 15, str(total))]


def _text(x: float, y: float, words: str) -> str:
    return f'<text x="{x}" y="{y}">{escape(words)}</text>'


if __name__ == "__main__":
    with Path(sys.argv[1]).open(encoding="utf-8", newline="") as table:
        found = list(csv.DictReader(table))
    Path(sys.argv[2]).write_text(drawn(found), encoding="utf-8")
