"""The held-out questions from the second set on: more is judged of each than of the first, and of every piece that is told."""

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pint
import pytest

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case

_ORDER = "second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth thirteenth fourteenth fifteenth sixteenth seventeenth"
SETS = {name: Path(__file__).parent / "data" / f"held_out_{name}.toml" for name in _ORDER.split()}
"""The files by their names, in the order in which they were written."""

UNITS: pint.UnitRegistry[float] = pint.UnitRegistry()
_HANDS = {"by-hand"}  # everybody has them, whether told or not
PARTS = ("glass", "make", "form", "surface", "finish")
FULL, PARTLY, MISREAD = "fully", "partly", "misread"


def judged(knowledge: Knowledge, question: dict[str, Any], agreed: bool = False) -> tuple[str, list[str]]:
    """One of ``FULL``, ``PARTLY`` (something is left open) and ``MISREAD`` (something is read as what it is not), and what was not right.

    A story that is said back is read in part, for nothing of it counts yet; if ``agreed``, what was heard in it is judged instead.
    """
    dialogue = Dialogue(knowledge, whole=False)
    answer = dialogue.say(question["ask"])
    if answer.heard and not agreed:
        return PARTLY, ["said back"]
    if answer.heard:
        answer = dialogue.say("yes")
    found = list(faults(as_json(answer.understood), dialogue.case, question["understood"], "", answer.ask_back))
    others = question.get("other", [])
    if len(answer.other_pieces) != len(others):
        found.append(
            (MISREAD if answer.other_pieces else _unless_open(answer.ask_back), f"{len(answer.other_pieces)} other pieces for {len(others)}")
        )
    for wanted, other, held in zip(others, answer.other_pieces, dialogue.held, strict=False):
        found += faults(as_json(other), held.case, wanted, "other ", [*answer.ask_back, *held.doubts])
    worst = MISREAD if any(kind == MISREAD for kind, _ in found) else PARTLY if found else FULL
    return worst, [what for _, what in found]


def _unless_open(asked: list[Any]) -> str:
    """Two pieces that were not told apart are read in part where the difference is asked about, else misread."""
    return PARTLY if any(question.about in PARTS and len(question.choices) > 1 for question in asked) else MISREAD


def faults(read: dict[str, Any], case: Case, wanted: dict[str, Any], which: str, asked: list[Any]) -> Iterator[tuple[str, str]]:
    """What is left open or misread of one piece."""
    surface = read["surface"] or {}
    for part, value in [
        *((part, read[part]) for part in PARTS if part != "surface"),
        ("surface", surface.get("state")),
        ("grade", surface.get("grade")),
    ]:
        allowed = wanted.get(part)
        fitting = allowed if isinstance(allowed, list) else [allowed or ""]
        if (value or "").casefold() not in {each.casefold() for each in fitting}:
            # A fine grade tells that a surface is ground; a grade that is itself asked about is open, not misread.
            open_still = value is None or (part == "grade" and allowed is None and any(question.about == "surface_grade" for question in asked))
            yield PARTLY if open_still else MISREAD, f"{which}{part}: {value!r}, not {allowed!r}"
    yield from _lists(case, wanted, which)
    yield from _tables(read, wanted, which)
    allowed = _listed(wanted.get("faults", []))
    if "" in allowed and not read["faults"]:
        return
    if "faults" in wanted and not set(read["faults"]) & set(allowed):
        yield MISREAD if read["faults"] else PARTLY, f"{which}faults: {read['faults']}, not {wanted['faults']}"
    elif read["faults"] and "faults" not in wanted:
        yield MISREAD, f"{which}faults: {read['faults']}"


def _lists(case: Case, wanted: dict[str, Any], which: str) -> Iterator[tuple[str, str]]:
    """The bench: what is at hand and what is done without."""
    for name, value in (("at_hand", set(case.at_hand) - _HANDS), ("without", set(case.unwanted))):
        right = set(wanted.get(name, ()))
        # What a tool is made of may be named with it.
        if value - right and name in wanted:
            yield MISREAD, f"{which}{name}: also {sorted(value - right)}"
        elif value and name not in wanted:
            yield MISREAD, f"{which}{name}: {sorted(value)}, nothing said"
        if right - value - _HANDS:
            yield PARTLY, f"{which}{name}: lacks {sorted(right - value)}"
    if bool(case.limited_in) != bool(wanted.get("limited")):
        yield MISREAD if case.limited_in else PARTLY, f"{which}limited: {sorted(case.limited_in)}"


def _tables(read: dict[str, Any], wanted: dict[str, Any], which: str) -> Iterator[tuple[str, str]]:
    """Measures and the step that the maker has in mind."""
    for name in ("measures", "planned"):
        value, right = read[name] or {}, wanted.get(name, {})
        for key in value.keys() | right.keys():
            allowed = right.get(key)
            fitting = _listed(allowed)
            if (
                key in value
                and not any(_same(value[key], each) for each in fitting)
                and (key in right or name == "measures" or "planned" not in wanted)
            ):
                yield MISREAD, f"{which}{name}: {key} {value[key]!r}, not {allowed!r}"
            elif key not in value and "" not in fitting:
                yield PARTLY, f"{which}{name}: lacks {key} {allowed!r}"


def _listed(allowed: Any) -> list[Any]:
    """What fits, where one value may stand by itself."""
    return allowed if isinstance(allowed, list) else [allowed]


def _same(read: str, allowed: str | None) -> bool:
    """Whether two values are written alike, or are the same amount: *0.25 h* and *15 min*."""
    if read == allowed or allowed is None:
        return read == allowed
    try:
        return bool(UNITS(read).to(UNITS(allowed)).m == pytest.approx(UNITS(allowed).m))
    except (pint.PintError, TypeError, AttributeError, ValueError):
        return False


def questions(file: Path) -> list[dict[str, Any]]:
    """All questions, as they stand in the file."""
    held: list[dict[str, Any]] = tomllib.loads(file.read_text(encoding="utf-8"))["question"]
    return held


def figures(knowledge: Knowledge, file: Path) -> dict[str, dict[str, int]]:
    """By recipe how many questions came to each."""
    told: dict[str, dict[str, int]] = {}
    for question in questions(file):
        counts = told.setdefault(question["recipe"], {FULL: 0, PARTLY: 0, MISREAD: 0})
        counts[judged(knowledge, question)[0]] += 1
    return told
