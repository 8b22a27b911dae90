"""The shipped cases as plain tables, for the tests."""

from functools import cache
from pathlib import Path
from typing import Any

from finishing_kg.casebook import Case, load_cases
from finishing_kg.casebook.expect import question_faults, setup_faults

__all__ = ["FOLDER", "load", "question_faults", "setup_faults"]

FOLDER = Path(__file__).parent.parent / "rules" / "cases"


@cache
def _cases() -> list[Case]:
    return load_cases(sorted(FOLDER.glob("*.toml")))


def load(sort: str) -> list[dict[str, Any]]:
    """All cases of a sort (``question``, ``dialogue``, ``setup``) from all case files."""
    return [{**case.table, "file": case.file} for case in _cases() if case.sort == sort]
