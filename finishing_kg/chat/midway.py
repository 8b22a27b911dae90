"""A conversation as it stands between two turns, as plain data: from there it goes on without its earlier answers being made again.

What is kept is what later turns build on: the piece, the last answer and what was judged, but nothing that was worked out of these.
Reasons are not kept; whoever looks at those of an answer that was taken up from plain data is refused (``advice.reasons.Unreasoned``).
"""

from __future__ import annotations

from finishing_kg.advice import contract
from finishing_kg.advice.ask import Advice
from finishing_kg.advice.diagnose import Diagnosis
from finishing_kg.advice.planned import Intention
from finishing_kg.advice.reasons import ReasonBook
from finishing_kg.chat.dialogue import Dialogue
from finishing_kg.chat.held import Held
from finishing_kg.chat.plainly import Plain, Plainly
from finishing_kg.chat.reading import Doubt
from finishing_kg.measure import Quantity
from finishing_kg.record import replace
from finishing_kg.routes import Case

_PARTS = Plainly([Case, Quantity, Doubt, Held, Intention, *(kind for kind in vars(contract).values() if hasattr(kind, "__record_fields__"))])
_PIECE = ("case", "answer", "held", "heard", "_number", "_wished", "_meant")


def standing(dialogue: Dialogue) -> Plain:
    """How a conversation stands; the same for two from which whatever is said next is answered alike, *why* aside."""
    held = [getattr(dialogue, name) for name in _PIECE]
    held[1] = None if dialogue.answer is None else replace(dialogue.answer, reasons={})
    advice, fault = dialogue.advice, dialogue.diagnosis
    judged = None if advice is None else (advice.case, advice.whole, advice.wished, advice.asking)
    diagnosed = None if fault is None else (fault.case, fault.faults, fault.last_worked_with, fault.asking)
    return _PARTS.as_plain((*held, judged, diagnosed))


def resumed(dialogue: Dialogue, stood: Plain) -> Dialogue:
    """A conversation that nothing was said in yet, taken up where another stood; gives it back.

    Raises:
        TypeError, ValueError, ArithmeticError, LookupError: what is given is not how a conversation stands.
    """
    *held, judged, diagnosed = _PARTS.from_plain(dialogue.knowledge.vocabulary, stood)
    for name, value in zip(_PIECE, held, strict=True):
        setattr(dialogue, name, value)
    dialogue.advice = None if judged is None else Advice(dialogue.knowledge, *judged)
    dialogue.diagnosis = None if diagnosed is None else Diagnosis(dialogue.knowledge, *diagnosed)
    if dialogue.advice is not None:
        dialogue.advice.book.left_out()
    return dialogue


def forget_what_follows(dialogue: Dialogue) -> None:
    """Drop what was worked out of the piece, so that the next turn shows by itself what it hangs on; the reasons for *why* stay."""
    if dialogue.advice is not None:
        book: ReasonBook = dialogue.advice.book
        dialogue.advice = replace(dialogue.advice)
        dialogue.advice.__dict__["book"] = book
    if dialogue.diagnosis is not None:
        dialogue.diagnosis = replace(dialogue.diagnosis)
