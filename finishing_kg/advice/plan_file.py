"""Plan files: TOML, or CSV with a line for each step."""

import tomllib
from pathlib import Path
from typing import Any

from finishing_kg.advice.plan import Plan, PlanError, plan_from_tables
from finishing_kg.advice.plan_csv import csv_tables
from finishing_kg.engine import Knowledge
from finishing_kg.texts import NotReadable, text_of

_MOST_BYTES = 200_000
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
        return text_of(file, _MOST_BYTES)
    except OSError as error:
        raise PlanError(str(file), f"The file cannot be read ({error.strerror}).") from error
    except NotReadable as error:
        raise PlanError(f"{file}, line {error.line}" if error.line > 1 else str(file), str(error)) from error
    except ValueError as error:
        raise PlanError(str(file)[:200], "This is not the name of a file.") from error


def _toml_tables(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise PlanError(file, f"This is not TOML: {error}.") from error
    except RecursionError as error:
        raise PlanError(file, "This is no plan: it nests lists in lists too deeply.") from error
    except ValueError as error:  # a date that no calendar has
        raise PlanError(file, f"This is not TOML: {error}.") from error
