"""Plans in CSV: lines ``# key = value`` for the piece, then a line of column names, then a line for each step."""

import csv
import io
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from finishing_kg.advice.plan import PIECE_KEYS, STEP_KEYS, PlanError

_COLUMNS = STEP_KEYS
_PIECE = (*PIECE_KEYS, "surface_grade")
_SEPARATORS = ",;\t"
_WET = {"wet": True, "yes": True, "true": True, "dry": False, "no": False, "false": False}
_Row = tuple[int, list[str]]


def csv_tables(text: str, file: str) -> tuple[dict[str, Any], list[str]]:
    """The tables of a plan in CSV.

    Cells are separated by commas, semicolons or tabs, whichever the line of column names has; an empty cell is a part that
    is not said. Spreadsheets may quote lines of the piece and fill them up with separators.

    Args:
        text: the whole file.
        file: its name, for what is said of faults.

    Returns:
        The tables as a plan in TOML would give them, and for each step the words that say where it stands.

    Raises:
        PlanError: no line of column names, a column or key that is not known or stands twice, a line with too many cells,
            a cell that wet does not take, or quotes that are not closed.
    """
    piece: dict[str, Any] = {}
    columns: list[str] | None = None
    steps, places = [], []
    for line, cells in _rows(text, file):
        where = f"{file}, line {line}"
        if columns is None and cells[0].startswith("#"):
            _say(piece, cells, where)
        elif columns is None:
            columns = _named(cells, where)
        elif any(cells):
            if any(cells[len(columns) :]):
                raise PlanError(
                    where, f"This line has {len(cells)} cells, and there are {len(columns)} columns. Put a cell that holds a separator in quotes."
                )
            steps.append(_step(dict(zip(columns, cells, strict=False)), where))
            places.append(f"step {len(steps)} (line {line})")
    if columns is None:
        raise PlanError(file, f"There is no line of column names. Write one below the lines of the piece, such as: {','.join(_COLUMNS[:6])}")
    if not piece:
        raise PlanError(file, "Nothing says what is on the bench. Begin with lines such as: # glass = lead-crystal")
    return {"piece": _joined(piece, file), "step": steps}, places


def _rows(text: str, file: str) -> Iterator[_Row]:
    """The lines that hold something, each with its number and its cells without spaces around them."""
    header = next((line for line in text.splitlines() if line.strip(' "\t,;') and not line.lstrip('" ').startswith("#")), "")
    separator = max(_SEPARATORS, key=header.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True, skipinitialspace=True)
    before = 0
    try:
        for cells in reader:
            found = [cell.strip() for cell in cells]
            if any(found):
                yield before + 1, found
            before = reader.line_num
    except csv.Error as error:
        raise PlanError(
            f"{file}, line {before + 1}", f"This is not CSV ({error}). Close every quote, and write a quote inside quotes twice."
        ) from error


def _say(piece: dict[str, Any], cells: list[str], where: str) -> None:
    """Take a line of the piece; one without an equals sign is only a remark."""
    said = ", ".join(filter(None, cells)).lstrip("#").strip()
    key, equals, value = (part.strip() for part in said.partition("="))
    if not equals:
        return
    if key not in _PIECE:
        raise PlanError(where, f"I know no key {key[:60]!r} of the piece. {_instead(key, _PIECE, 'keys')}")
    if key in piece:
        raise PlanError(where, f"{key} is said twice. Keep one of the two lines.")
    piece[key] = value.strip('"').strip()


def _joined(piece: dict[str, Any], file: str) -> dict[str, Any]:
    """The piece with the grade of its surface where TOML has it."""
    grade = piece.pop("surface_grade", None)
    if grade is None:
        return piece
    if "surface" not in piece:
        raise PlanError(file, "surface_grade stands alone. Say the surface too, such as: # surface = ground")
    return {**piece, "surface": {"state": piece["surface"], "grade": grade}}


def _named(cells: list[str], where: str) -> list[str]:
    columns = [cell.casefold().replace(" ", "_") for cell in cells]
    while columns and not columns[-1]:
        columns.pop()
    for column in columns:
        if column not in _COLUMNS:
            raise PlanError(where, f"I know no column {column[:60]!r}. {_instead(column, _COLUMNS, 'columns')}")
        if columns.count(column) > 1:
            raise PlanError(where, f"There are two columns {column}. Keep one of them.")
    return columns


def _instead(written: str, known: tuple[str, ...], what: str) -> str:
    near = get_close_matches(written, known, 1)
    return f"Write {near[0]}." if near else f"The {what} are: {', '.join(known)}."


def _step(cells: dict[str, str], where: str) -> dict[str, Any]:
    step: dict[str, Any] = {column: cell for column, cell in cells.items() if cell}
    if "wet" in step:
        wet = _WET.get(step["wet"].casefold())
        if wet is None:
            raise PlanError(where, f"wet is yes or no; I found {step['wet'][:40]!r}.")
        step["wet"] = wet
    return step
