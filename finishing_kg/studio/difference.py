"""How two answers to one case differ, in sentences; answers are tables as they stand in JSON."""

from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Any

Answers = Sequence[dict[str, Any]]
"""One for each turn, or the one check of a plan."""

_STEP = ("mineral", "grade", "hold", "carrier")
_LISTS = (("cautions", "caution"), ("hints", "hint"), ("diagnosis", "cause"), ("ruled_out", "thing ruled out"), ("discouraged", "thing discouraged"))


def differences(old: Answers, new: Answers) -> list[str]:
    """What is different, the weightiest first within each turn; empty where the answers are the same."""
    told: list[str] = []
    nothing: dict[str, Any] = {}
    for turn, (one, other) in enumerate(zip_longest(old, new, fillvalue=nothing), 1):
        told += [f"turn {turn}: {line}" if len(old) > 1 else line for line in _of_turn(one, other)]
    return told


def is_advice(old: Answers, new: Answers) -> bool:
    """Whether what a maker would do differs: the kind of answer, the first route's methods and grades, the cautions, the findings."""
    return [_weighty(answer) for answer in old] != [_weighty(answer) for answer in new]


def first_route(answers: Answers) -> list[str]:
    """The last answer's first route, or its findings, a line each; else what it says."""
    last = answers[-1] if answers else {}
    if last.get("kind") == "check":
        return [_finding(finding) for finding in last["findings"]] or ["nothing found"]
    return _steps(last) or [str(last.get("text", ""))]


def methods(old: Answers, new: Answers) -> list[str]:
    """Mineral, hold and carrier of the steps that only one of the first routes has."""
    one, other = ([_method(step) for answer in answers for step in _first(answer)] for answers in (old, new))
    return [each for each in (*one, *other) if each not in one or each not in other]


def _method(step: dict[str, Any]) -> str:
    return f"{step['mineral']} {step['hold']} {step['carrier']}"


def _weighty(answer: dict[str, Any]) -> tuple[object, ...]:
    cautions = [caution["id"] for caution in answer.get("cautions", ())]
    return answer["kind"], _steps(answer), cautions, [_finding(each) for each in answer.get("findings", ())]


def _of_turn(old: dict[str, Any], new: dict[str, Any]) -> Iterator[str]:
    if old == new:
        return
    found = list(_named(old, new))
    rest = sorted(key for key in old.keys() | new.keys() if old.get(key) != new.get(key))
    yield from found or [f"What is told beside the steps is other: {', '.join(rest).replace('_', ' ')}."]


def _named(old: dict[str, Any], new: dict[str, Any]) -> Iterator[str]:
    if old.get("kind") != new.get("kind"):
        yield f"It was a {_kind(old)} and is a {_kind(new)}: {new.get('text', '')}"
    yield from _lines("No longer", _steps(old), "Instead", _steps(new))
    before, after = ([_finding(each) for each in answer.get("findings", ())] for answer in (old, new))
    yield from _lines("No longer found", before, "Found now", after)
    for key, name in _LISTS:
        one, other = ([_name(each) for each in answer.get(key) or ()] for answer in (old, new))
        yield from _lines(f"A {name} less", one, f"A {name} more", other)
        if sorted(one) == sorted(other) and one != other:
            yield f"The order is another: {', '.join(dict.fromkeys(other))}"
    one, other = ([" then ".join(_steps({"routes": [route]})) for route in (answer.get("routes") or ())[1:]] for answer in (old, new))
    yield from _lines("No longer offered as another way", one, "Offered as another way", other)
    if _steps(old) == _steps(new) and old.get("routes") != new.get("routes") and one == other:
        yield "The steps are the same; what is told of them is other, such as the reason, the machine or the minutes."


def _lines(less: str, old: list[str], more: str, new: list[str]) -> Iterator[str]:
    yield from (f"{less}: {line}" for line in dict.fromkeys(old) if line not in new)
    yield from (f"{more}: {line}" for line in dict.fromkeys(new) if line not in old)


def _kind(answer: dict[str, Any]) -> str:
    return str(answer.get("kind", "nothing")).replace("_", " ")


def _steps(answer: dict[str, Any]) -> list[str]:
    return [" ".join(str(step[part]) for part in _STEP if step[part]) for step in _first(answer)]


def _first(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return answer["routes"][0]["steps"] if answer.get("routes") else []


def _finding(finding: dict[str, Any]) -> str:
    return f"{finding['level']} {finding['code']}" + (f" at step {finding['step']}" if finding.get("step") else "")


def _name(entry: dict[str, Any]) -> str:
    named = entry.get("id")
    return str(named) if named else " ".join(str(entry[part]) for part in ("mineral", "hold", "carrier") if entry.get(part)) + f" for {entry['for']}"
