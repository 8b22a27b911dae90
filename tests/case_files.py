"""Cases in TOML: questions, conversations and planned setups, with what a good answer must show.

The cases say what must be understood, what the first, last, every, some or no step may be, what must be ruled out,
and which findings a check must or must not report. They play at an invented bench; their trade content is common practice.
"""

import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from finishing_kg.advice.contract import Answer, PlanCheck

FOLDER = Path(__file__).parent / "data" / "cases"
QUESTION_KEYS = {"understood", "surface_grade", "kind", "first_step", "last_step", "every_step", "some_step", "no_step", "ruled_out", "cautions", "ask_back", "text_has"}
SETUP_KEYS = {"must_find", "must_not_find", "clean"}


def load(sort: str) -> list[dict[str, Any]]:
    """All cases of a sort (``question``, ``dialogue``, ``setup``) from all case files."""
    found: list[dict[str, Any]] = []
    for file in sorted(FOLDER.glob("*.toml")):
        for case in tomllib.loads(file.read_text(encoding="utf-8")).get(sort, []):
            found.append({**case, "file": file.name})
    return found


def fits(pattern: Mapping[str, list[str]], thing: Mapping[str, Any]) -> bool:
    """Whether each field of a pattern has one of its accepted values."""
    return all(thing.get(field) in accepted for field, accepted in pattern.items())


def question_faults(expected: Mapping[str, Any], answer: Answer) -> Iterator[str]:
    """How an answer falls short of what is expected."""
    unknown = set(expected) - QUESTION_KEYS - {"id", "ask", "file"}
    assert not unknown, f"the case has unknown keys {unknown}"
    data = answer.model_dump(by_alias=True)
    if answer.kind not in expected.get("kind", [answer.kind]):
        yield f"kind is {answer.kind}, expected {expected['kind']}: {answer.text}"
    for part, wanted in expected.get("understood", {}).items():
        got = data["understood"][part]
        got = got["state"] if part == "surface" and got else got
        if got != wanted:
            yield f"understood {part} as {got}, expected {wanted}"
    if "surface_grade" in expected and (data["understood"]["surface"] or {}).get("grade") != expected["surface_grade"]:
        yield f"understood the surface as {data['understood']['surface']}, expected grade {expected['surface_grade']}"
    steps = data["routes"][0]["steps"] if data["routes"] else []
    for key, chosen in (("first_step", steps[:1]), ("last_step", steps[-1:]), ("every_step", steps)):
        if key in expected and (not chosen or not all(fits(expected[key], step) for step in chosen)):
            yield f"{key} is {[_brief(step) for step in chosen]}, expected {expected[key]}"
    for pattern in expected.get("some_step", []):
        if not any(fits(pattern, step) for step in steps):
            yield f"no step like {pattern}"
    every = [step for route in data["routes"] for step in route["steps"]]
    yield from (f"offers {_brief(step)}, which it must not" for pattern in expected.get("no_step", []) for step in every if fits(pattern, step))
    yield from (f"does not rule out {pattern}" for pattern in expected.get("ruled_out", []) if not any(fits(pattern, entry) for entry in data["ruled_out"]))
    shown = {caution.id for caution in answer.cautions}
    yield from (f"the caution {caution} is missing" for caution in expected.get("cautions", []) if caution not in shown)
    asked = {question.about for question in answer.ask_back}
    if "ask_back" in expected and not asked & set(expected["ask_back"]):
        yield f"asks about {sorted(asked)}, expected one of {expected['ask_back']}"
    yield from (f"the text does not say {words!r}: {answer.text}" for words in expected.get("text_has", []) if words.casefold() not in answer.text.casefold())


def setup_faults(expected: Mapping[str, Any], checked: PlanCheck) -> Iterator[str]:
    """How a check falls short of what is expected."""
    unknown = set(expected) - SETUP_KEYS - {"id", "plan", "file"}
    assert not unknown, f"the case has unknown keys {unknown}"
    findings = [finding.model_dump() for finding in checked.findings]
    shown = [(finding["level"], finding["code"], finding["step"]) for finding in findings]
    for wanted in expected.get("must_find", []):
        if not any(all(finding.get(key) == value for key, value in wanted.items()) for finding in findings):
            yield f"not found: {wanted}; found {shown}"
    yield from (f"false alarm: {code}" for code in expected.get("must_not_find", []) if any(finding["code"] == code for finding in findings))
    if expected.get("clean"):
        yield from (f"false alarm: {finding}" for finding in shown if finding[0] != "note")


def _brief(step: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(step[field] for field in ("mineral", "grade", "hold", "carrier"))
