"""Runs a case and writes down what is said, and what each turn hangs on; a case that was told before goes on from its first turn that can change.

An answer hangs on nothing but the ontology, the rules that fire and what follows. So if a new rule fires in none of the
evaluations that a turn needed, the turn is answered as before: it need not be run again to know that.
"""

import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Any

from finishing_kg.advice import Answer, PlanCheck, as_json
from finishing_kg.advice.reasons import Unreasoned
from finishing_kg.casebook.cases import Case, advice_in, check_setup
from finishing_kg.casebook.expect import asks, dialogue_of, faults_of_turn, setup_faults, turns_of
from finishing_kg.casebook.recorder import Recorder
from finishing_kg.casebook.told import Asked, Told, Turn
from finishing_kg.chat import Dialogue
from finishing_kg.chat.midway import forget_what_follows, resumed, standing
from finishing_kg.engine import Knowledge, Model
from finishing_kg.record import replace as changed

# Kinds of answer that look at rules which do not fire: those that came nearest, or that could let something in.
_LOOK_AT_RULES = frozenset({"why_not", "comparison"})


def tell(
    knowledge: Knowledge,
    case: Case,
    hear: Callable[[Model], None] = lambda _model: None,
    before: Told | None = None,
    changing: Iterable[bool] = (),
    *,
    is_as_before: Callable[[Asked], bool] = lambda _asked: False,
) -> Told:
    """Run a case and write down what is said and what it hangs on.

    The reasons are not kept, so none are made unless a turn looks at them, and the proof checker is not asked about these.

    Args:
        knowledge, case: what is asked, and what knows the answer.
        hear: is told of each evaluation on the way.
        before: what was said to the case before a change to the knowledge.
        changing: then for each turn whether it can change, if all turns before leave the conversation as it was; else each one can.
        is_as_before: whether an evaluation of then comes out as it did; what hangs on such evaluations alone is not worked out again.
    """
    try:
        return _told(Recorder(knowledge, hear, is_as_before, reasoning=before is not None and before.reasoned), case, before, changing)
    except Unreasoned:
        return _told(Recorder(knowledge, hear, is_as_before, reasoning=True), case, before, changing)


def _told(recorder: Recorder, case: Case, before: Told | None, changing: Iterable[bool]) -> Told:
    if case.sort == "setup":
        recorder.remember(before.turns[0] if before is not None else None)
        checked = check_setup(recorder, case)
        turn = Turn(without_reasons(checked), checked.kind, tuple(setup_faults(case.table, checked)), *recorder.written())
        return Told((turn,), recorder.reasoning)
    return Told(tuple(_turns(recorder, case, list(changing), before.turns if before is not None else ())), recorder.reasoning)


def _turns(recorder: Recorder, case: Case, changing: list[bool], before: tuple[Turn, ...]) -> Iterator[Turn]:
    texts, stood = turns_of(case), None
    dialogue: Dialogue | None = dialogue_of(recorder, case)
    # Whether the conversation stands as it stood then; it is taken up there only once something is to be said. Where a turn looks at the
    # reasons of an earlier answer, which are not kept, that must be made again.
    as_before = bool(before) and not recorder.reasoning
    for place, text in enumerate(texts):
        old = before[place] if before else None
        if old is not None and as_before and not changing[place]:
            yield old
            stood, dialogue = old.stood, None
            continue
        if dialogue is None:
            dialogue = resumed(dialogue_of(recorder, case), stood)
        recorder.remember(old)
        answer = dialogue.say(text)
        forget_what_follows(dialogue)
        stood = standing(dialogue) if place + 1 < len(texts) else None
        as_before = old is not None and old.stood == stood and not recorder.reasoning
        yield replace(_turn(recorder, case, place, answer), stood=stood)
        if as_before:
            dialogue = None


def _turn(recorder: Recorder, case: Case, place: int, answer: Answer) -> Turn:
    text, short = turns_of(case)[place], tuple(faults_of_turn(case, place, answer))
    looks = answer.kind in _LOOK_AT_RULES or bool(answer.absences or answer.left_out or answer.proposed_rules) or " rule" in text
    known = _known(answer) if asks(case) else None
    return Turn(without_reasons(answer), answer.kind, short, *recorder.written(), looks, known)


def _known(answer: Answer) -> frozenset[str]:
    """The parts of the piece that were told, as an answer lists them."""
    taken = answer.understood
    surface, grade = (taken.surface.state, taken.surface.grade) if taken.surface else (None, None)
    told = {"surface": surface, "surface_grade": grade, **{part: getattr(taken, part) for part in ("glass", "make", "form", "finish")}}
    return frozenset(part for part, value in told.items() if value is not None)


def without_reasons(answer: Answer | PlanCheck) -> str:
    """An answer as text, without reasons; what two rules rule out alike stands there once."""
    found: dict[str, Any] = advice_in(as_json(changed(answer, reasons={})))
    for key in ("ruled_out", "discouraged"):
        if key in found:
            found[key] = list({tuple(sorted(entry.items(), key=str)): entry for entry in found[key]}.values())
    return json.dumps(found, sort_keys=True, ensure_ascii=False)
