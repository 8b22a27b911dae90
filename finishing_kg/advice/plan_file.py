"""Plan files: TOML, or CSV with a line for each step."""

import tomllib
from pathlib import Path
from typing import Any

from finishing_kg.advice.plan import MOST_STEPS, Plan, PlanError, plan_from_tables
from finishing_kg.advice.plan_csv import csv_tables
from finishing_kg.engine import Knowledge

_MOST_BYTES = 200_000
_LONGEST_LINE = 2_000
_CSV = (".csv", ".tsv")


def read_plan(knowledge: Knowledge, file: Path) -> Plan:
    """Read a plan file; one whose name ends in ``.csv`` or ``.tsv`` as CSV, any other as TOML.

    Raises:
        PlanError: the file cannot be read, is not TOML or CSV, has a wrong key or type, or a quantity without a unit.
    """
    tables, places = read_tables(file)
    return plan_from_tables(knowledge, tables, str(file), places)


def read_tables(file: Path) -> tuple[dict[str, Any], list[str]]:
    """The tables of a plan file, their keys and values not yet looked at.

    Returns:
        The tables, and for each step where it stands, if its number does not tell.

    Raises:
        PlanError: the file cannot be read, or is not TOML or CSV.
    """
    text = _text(file)
    return csv_tables(text, str(file)) if is_csv(file) else (_toml_tables(text, str(file)), [])


def is_csv(file: Path) -> bool:
    """Whether a plan file of this name is CSV; any other is TOML."""
    return file.suffix.lower() in _CSV


def _text(file: Path) -> str:
    try:
        with file.open("rb") as opened:
            held = opened.read(_MOST_BYTES + 1)
        if len(held) > _MOST_BYTES:
            raise PlanError(str(file), f"A plan has at most {MOST_STEPS} steps; this file is larger than {_MOST_BYTES // 1000} kB.")
        text = held.decode("utf-8-sig")
    except OSError as error:
        raise PlanError(str(file), f"The file cannot be read ({error.strerror}).") from error
    except UnicodeDecodeError as error:
        raise PlanError(str(file), f"The file is not text in UTF-8 (byte {error.start}).") from error
    except ValueError as error:
        raise PlanError(str(file)[:200], "This is not the name of a file.") from error
    long = next((number for number, line in enumerate(text.split("\n"), 1) if len(line) > _LONGEST_LINE), None)
    if long is not None:
        # The time to read a key grows with the square of its parts.
        raise PlanError(str(file), f"Line {long} is longer than {_LONGEST_LINE} characters; no line of a plan is.")
    return text


def _toml_tables(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PlanError(file, f"This is not TOML: {error}.") from error
    except RecursionError as error:
        raise PlanError(file, "This is no plan: it nests lists in lists too deeply.") from error
    except ValueError as error:  # a date that no calendar has
        raise PlanError(file, f"This is not TOML: {error}.") from error
