"""The page that shows each kind of finding: a plan of the case files that brings it about, and what the check says of it."""

import tomllib
from pathlib import Path
from typing import Any

import case_files

from finishing_kg.advice import PlanCheck
from finishing_kg.casebook.cases import Case, check_setup
from finishing_kg.engine import Knowledge

PAGE = Path(__file__).parent.parent / "examples" / "findings.md"
CODES: list[str] = tomllib.loads((Path(__file__).parent / "data" / "identifiers.toml").read_text(encoding="utf-8"))["finding"]
_BEFORE = """# Each kind of finding

For each code that `finishing-kg check` reports: a plan from the project's case files that brings it about, what the check says of it,
and the changes of the corrected plan. `tests/refresh_docs.py` writes this page. *Stop* is for what hurts people or breaks the piece,
*caution* for what costs the piece or a day, *note* for what is worth a look.
"""


def setups_by_code() -> dict[str, dict[str, str]]:
    """For each code the setup that shows it: the one that expects nothing else and has the shortest plan."""
    found: dict[str, dict[str, str]] = {}
    for case in sorted(case_files.load("setup"), key=lambda case: (len(case.get("must_find", [])), len(case["plan"]))):
        for wanted in case.get("must_find", []):
            found.setdefault(wanted["code"], case)
    return found


def findings_page(knowledge: Knowledge) -> str:
    """The page as it must be."""
    setups = setups_by_code()
    parts = [_BEFORE]
    for code in CODES:
        table = setups[code]
        checked = check_setup(knowledge, Case(table["id"], "setup", "", {key: table[key] for key in ("plan", "shelf") if key in table}))
        shelf = f"On the shelf: {'; '.join(map(_item, table['shelf']))}.\n\n" if "shelf" in table else ""
        parts.append(f"## {code}\n\n{shelf}```toml\n{table['plan'].strip()}\n```\n\n{_said(checked, code)}\n")
    return "\n".join(parts)


def _item(item: dict[str, Any]) -> str:
    """A thing on the shelf with what is told of it."""
    grades = f" in {', '.join(item['grades'])}" if "grades" in item else ""
    return item["thing"] + grades + (f", marked {item['marked_speed']}" if "marked_speed" in item else "")


def _said(checked: PlanCheck, code: str) -> str:
    lines = []
    for finding in checked.findings:
        if finding.code == code:
            where = f", step {finding.step}" if finding.step else ""
            lines.append(f"- **{finding.level}{where}**: {finding.text} *Instead:* {finding.remedy}")
    if checked.changes:
        lines += ["", f"{'Corrected' if checked.corrected else 'Not corrected'}: {' '.join(checked.changes)}"]
    return "\n".join(lines)
