"""What a case expects, and how an answer or a check falls short of it.

The cases say what must be understood, what the first, last, every, some or no step may be, what must be ruled out,
and which findings a check must or must not report. They play at an invented bench; their trade content is common practice.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from finishing_kg.advice.contract import Answer, PlanCheck
from finishing_kg.advice.wire import as_json
from finishing_kg.casebook.cases import Case, check_setup
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge

QUESTION_KEYS = {
    "understood",
    "surface_grade",
    "kind",
    "first_step",
    "last_step",
    "every_step",
    "some_step",
    "no_step",
    "ruled_out",
    "cautions",
    "ask_back",
    "text_has",
}
QUESTION_KEYS |= {"hints", "no_hints", "no_cautions", "missing"}
QUESTION_KEYS |= {"faults", "after", "causes", "first_cause", "not_likely"}
SETUP_KEYS = {"must_find", "must_not_find", "clean"}


def faults_of(knowledge: Knowledge, case: Case) -> list[str]:
    """How the program falls short of what a case expects; empty where it does not."""
    if case.sort == "setup":
        return list(setup_faults(case.table, check_setup(knowledge, case)))
    return conversation_faults(case, answers_to(knowledge, case))


def answers_to(knowledge: Knowledge, case: Case) -> list[Answer]:
    """What is said to a question, or to the turns of a conversation."""
    dialogue = dialogue_of(knowledge, case)
    return [dialogue.say(turn) for turn in turns_of(case)]


def dialogue_of(knowledge: Knowledge, case: Case) -> Dialogue:
    """The conversation that a question or the turns of a conversation are said in, at its beginning.

    What rules object to of any piece of glass is left out, as in a conversation, unless the case says something of it.
    """
    return Dialogue(knowledge, whole=any("ruled_out" in each for each in _expected(case)), asking=asks(case))


def asks(case: Case) -> bool:
    """Whether the answers to a case look for what would help to know; where a single question is answered it is left out unless expected."""
    return case.sort != "question" or "ask_back" in case.table


def turns_of(case: Case) -> list[str]:
    """What is said in a question or a conversation."""
    return [case.table["ask"]] if case.sort == "question" else list(case.table["turns"])


def conversation_faults(case: Case, answers: list[Answer]) -> list[str]:
    """How what is said to a question or a conversation falls short of what the case expects."""
    pairs = zip(_expected(case), answers, strict=True)
    return [fault for place, (_, answer) in enumerate(pairs) for fault in faults_of_turn(case, place, answer)]


def faults_of_turn(case: Case, place: int, answer: Answer) -> Iterator[str]:
    """How the answer to one turn, counted from 0, falls short of what the case expects."""
    turn = "" if case.sort == "question" else f"turn {place + 1}: "
    return (f"{turn}{fault}" for fault in question_faults(_expected(case)[place], answer))


def _expected(case: Case) -> list[dict[str, Any]]:
    """What is expected of each turn."""
    return [case.table] if case.sort == "question" else case.table["expect"]


def fits(pattern: Mapping[str, list[str]], thing: Mapping[str, Any]) -> bool:
    """Whether each field of a pattern has one of its accepted values."""
    return all(thing.get(field) in accepted for field, accepted in pattern.items())


def question_faults(expected: Mapping[str, Any], answer: Answer) -> Iterator[str]:
    """How an answer falls short of what is expected."""
    unknown = set(expected) - QUESTION_KEYS - {"id", "ask", "file"}
    if unknown:
        yield f"the case has unknown keys: {', '.join(sorted(unknown))}"
    data = as_json(answer)
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
    yield from (
        f"does not rule out {pattern}" for pattern in expected.get("ruled_out", []) if not any(fits(pattern, entry) for entry in data["ruled_out"])
    )
    yield from diagnosis_faults(expected, answer)
    shown = {caution.id for caution in answer.cautions}
    yield from (f"the caution {caution} is missing" for caution in expected.get("cautions", []) if caution not in shown)
    yield from (f"the caution {caution} is out of place" for caution in expected.get("no_cautions", []) if caution in shown)
    noted = {hint.id for hint in answer.hints}
    yield from (f"the hint {hint} is missing" for hint in expected.get("hints", []) if hint not in noted)
    yield from (f"the hint {hint} is out of place" for hint in expected.get("no_hints", []) if hint in noted)
    if "missing" in expected and answer.missing != expected["missing"]:
        yield f"says that {answer.missing} is missing, expected {expected['missing']}"
    asked = {question.about for question in answer.ask_back}
    if "ask_back" in expected and not asked & set(expected["ask_back"]):
        yield f"asks about {sorted(asked)}, expected one of {expected['ask_back']}"
    yield from (
        f"the text does not say {words!r}: {answer.text}" for words in expected.get("text_has", []) if words.casefold() not in answer.text.casefold()
    )


def diagnosis_faults(expected: Mapping[str, Any], answer: Answer) -> Iterator[str]:
    """How a diagnosis falls short: ``causes`` must be among the first two, ``not_likely`` may be listed but not as likely."""
    for key, got in (("faults", answer.understood.faults), ("after", answer.understood.last_worked_with)):
        if key in expected and got != expected[key]:
            yield f"understood {key} as {got}, expected {expected[key]}"
    order = [(cause.id, cause.standing) for cause in answer.diagnosis]
    first_two = [cause for cause, _ in order[:2]]
    yield from (f"{cause} is not among the first two: {order}" for cause in expected.get("causes", []) if cause not in first_two)
    if "first_cause" in expected and order[:1] != [(expected["first_cause"], "likely")]:
        yield f"the first cause is {order[:1]}, expected {expected['first_cause']}"
    yield from (f"{cause} is said to be likely: {order}" for cause in expected.get("not_likely", []) if (cause, "likely") in order)


def setup_faults(expected: Mapping[str, Any], checked: PlanCheck) -> Iterator[str]:
    """How a check falls short of what is expected."""
    unknown = set(expected) - SETUP_KEYS - {"id", "plan", "shelf", "file"}
    if unknown:
        yield f"the case has unknown keys: {', '.join(sorted(unknown))}"
    findings = as_json(checked.findings)
    shown = [(finding["level"], finding["code"], finding["step"]) for finding in findings]
    for wanted in expected.get("must_find", []):
        if not any(all(finding.get(key) == value for key, value in wanted.items()) for finding in findings):
            yield f"not found: {wanted}; found {shown}"
    yield from (f"false alarm: {code}" for code in expected.get("must_not_find", []) if any(finding["code"] == code for finding in findings))
    if expected.get("clean"):
        yield from (f"false alarm: {finding}" for finding in shown if finding[0] != "note")


def _brief(step: Mapping[str, Any]) -> tuple[Any, ...]:
    return tuple(step[field] for field in ("mineral", "grade", "hold", "carrier"))
