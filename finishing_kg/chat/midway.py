"""A conversation as it stands between two turns, as plain data: from there it goes on without its earlier answers being made again.

What is kept is what later turns build on: the piece, the last answer and what was judged, but nothing that was worked out of these.
Reasons are not kept, so *why* after an answer that was taken up from plain data has nothing to show.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from finishing_kg.advice import contract
from finishing_kg.advice.ask import Advice
from finishing_kg.advice.diagnose import Diagnosis
from finishing_kg.advice.planned import Intention
from finishing_kg.advice.reasons import ReasonBook
from finishing_kg.chat.dialogue import Dialogue
from finishing_kg.chat.held import Held
from finishing_kg.chat.reading import Doubt
from finishing_kg.measure import Quantity
from finishing_kg.record import replace
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Name, Vocabulary

Plain = Any
"""Texts, numbers, truths, ``None``, and tuples that begin with what they stand for."""

_PARTS: dict[str, Any] = {kind.__name__: kind for kind in (Case, Quantity, Doubt, Held, Intention)}
_PARTS |= {name: kind for name, kind in vars(contract).items() if hasattr(kind, "__record_fields__")}
_ROWS: dict[str, Any] = {"tuple": tuple, "list": list, "frozenset": frozenset}
_AS_IT_IS = (str, int, float, bool, type(None))
_PIECE = ("case", "answer", "held", "heard", "_number", "_wished", "_meant")


def standing(dialogue: Dialogue) -> Plain:
    """How a conversation stands; the same for two from which whatever is said next is answered alike, *why* aside."""
    held = [getattr(dialogue, name) for name in _PIECE]
    held[1] = None if dialogue.answer is None else replace(dialogue.answer, reasons={})
    advice, fault = dialogue.advice, dialogue.diagnosis
    judged = None if advice is None else (advice.case, advice.whole, advice.wished, advice.asking)
    diagnosed = None if fault is None else (fault.case, fault.faults, fault.last_worked_with, fault.asking)
    return _as_plain((*held, judged, diagnosed))


def resumed(dialogue: Dialogue, stood: Plain) -> Dialogue:
    """A conversation that nothing was said in yet, taken up where another stood; gives it back.

    Raises:
        TypeError, ValueError, ArithmeticError, LookupError: what is given is not how a conversation stands.
    """
    *held, judged, diagnosed = _from_plain(dialogue.knowledge.vocabulary, stood)
    for name, value in zip(_PIECE, held, strict=True):
        setattr(dialogue, name, value)
    dialogue.advice = None if judged is None else Advice(dialogue.knowledge, *judged)
    dialogue.diagnosis = None if diagnosed is None else Diagnosis(dialogue.knowledge, *diagnosed)
    return dialogue


def forget_what_follows(dialogue: Dialogue) -> None:
    """Drop what was worked out of the piece, so that the next turn shows by itself what it hangs on; the reasons for *why* stay."""
    if dialogue.advice is not None:
        book: ReasonBook = dialogue.advice.book
        dialogue.advice = replace(dialogue.advice)
        dialogue.advice.__dict__["book"] = book
    if dialogue.diagnosis is not None:
        dialogue.diagnosis = replace(dialogue.diagnosis)


def _as_plain(value: Any) -> Plain:
    kind = value.__class__
    if kind in _AS_IT_IS:
        return value
    if kind is dict:
        return ("dict", *((key, _as_plain(part)) for key, part in value.items()))
    if kind is Decimal:
        return "Decimal", str(value)
    if kind is Name:
        return "Name", value.id
    parts = (getattr(value, name) for name in _fields(kind)) if kind.__name__ in _PARTS else value
    if kind.__name__ not in _PARTS and _ROWS.get(kind.__name__) is not kind:
        raise TypeError(f"A {kind.__name__} is no part of how a conversation stands.")
    made = map(_as_plain, parts)
    return (kind.__name__, *(sorted(made, key=repr) if kind is frozenset else made))


def _from_plain(vocabulary: Vocabulary, plain: Plain) -> Any:
    if plain.__class__ is not tuple:
        return plain
    kind, *parts = plain
    if kind == "dict":
        return {key: _from_plain(vocabulary, part) for key, part in parts}
    if kind == "Decimal":
        return Decimal(*parts)
    if kind == "Name":
        return vocabulary.names[parts[0]]
    made = (_from_plain(vocabulary, part) for part in parts)
    if kind in _ROWS:
        return _ROWS[kind](made)
    return _PARTS[kind](**dict(zip(_fields(_PARTS[kind]), made, strict=True)))


def _fields(kind: Any) -> tuple[str, ...]:
    return tuple(getattr(kind, "__record_fields__", None) or kind._fields)
