"""Turns that put right what was understood of the piece, in the one grammar, so that nothing about them has to be guessed.

    correction: the piece has form rim
    take back: belt is unwanted

A correction stands in the place of what was said of the same thing before. What is taken back counts as never said.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from finishing_kg.measure import Quantity
from finishing_kg.record import replace
from finishing_kg.routes import BENCH, PARTS, PIECE, Case
from finishing_kg.statements import Statement, StatementError

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge

CORRECTION, TAKE_BACK = "correction:", "take back:"
_LIMITS = {"isLimitedInMinerals": "mineral", "isLimitedInCarriers": "carrier"}


class CannotPutRight(Exception):
    """What was to be put right was not understood, or was never said; the message says which, and what to write."""


def put_right(knowledge: Knowledge, case: Case, text: str) -> Case | None:
    """The case with one thing put right; ``None`` for a turn of any other kind.

    Raises:
        CannotPutRight: the sentence cannot be read, or is nothing that a maker says of the piece.
    """
    written = text.strip()
    head = next((each for each in (CORRECTION, TAKE_BACK) if written.casefold().startswith(each)), None)
    if head is None:
        return None
    sentence = written[len(head) :].strip().rstrip(".")
    if head == TAKE_BACK:
        return _without(knowledge, case, sentence)
    try:
        said = knowledge.language.parse(sentence)
    except StatementError as error:
        raise CannotPutRight(str(error)) from error
    return _with(case, said, sentence)


def _with(case: Case, said: Statement, sentence: str) -> Case:
    part = next((name for name, predicate in PARTS.items() if predicate == said.predicate), None)
    value, subject = said.object, str(said.subject)
    if part is not None and subject == PIECE and isinstance(value, str):
        return _replacing(case, part, value)
    if said.predicate == "isAtHand":
        unwanted = tuple(each for each in case.unwanted if each != subject)
        return replace(case, at_hand=tuple(dict.fromkeys((*case.at_hand, subject))), unwanted=unwanted)
    if said.predicate == "isUnwanted":
        at_hand = tuple(each for each in case.at_hand if each != subject)
        return replace(case, unwanted=tuple(dict.fromkeys((*case.unwanted, subject))), at_hand=at_hand)
    if subject == PIECE and isinstance(value, Quantity) and said.comparison == "is":
        return replace(case, measures={**case.measures, said.predicate: value})
    raise CannotPutRight(f"{sentence!r} is nothing that a maker says of the piece. Write such as: {CORRECTION} the piece has form rim.")


def _replacing(case: Case, part: str, value: str) -> Case:
    before = case.part(part)
    kept = _forgetting(case, part) if before != value else case
    grade = kept.surface_grade if part != "surface" or before == value else None
    return replace(kept, **{"surface_grade": grade, part: value})


def _forgetting(case: Case, part: str) -> Case:
    """The case without a part, the words for it, and a remark that it was there."""
    gone = {part, "surface_grade"} if part == "surface" else {part}
    remarks = tuple(each for each in case.remarks if part != "form" or each != ("alsoHasForm", case.form))
    words, assumed = ({name: said for name, said in held.items() if name not in gone} for held in (case.words, case.assumed))
    return replace(case, words=words, assumed=assumed, remarks=remarks, **dict.fromkeys(gone))


def _without(knowledge: Knowledge, case: Case, sentence: str) -> Case:
    printed = {knowledge.language.print(each): each for each in case.facts()}
    said = next((each for words, each in printed.items() if words.casefold() == sentence.casefold()), None)
    if said is None:
        known = "; ".join(printed) or "nothing yet"
        raise CannotPutRight(f"{sentence!r} was not said of this piece, so it cannot be taken back. What was said: {known}.")
    part = next((name for name, predicate in PARTS.items() if predicate == said.predicate), None)
    subject = str(said.subject)
    if part is not None:
        return _forgetting(case, part)
    if said.predicate in ("isAtHand", "isUnwanted"):
        at_hand = tuple(each for each in case.at_hand if each != subject)
        unwanted = tuple(each for each in case.unwanted if each != subject)
        # A bench that is limited to nothing would be limited from everything.
        return replace(case, at_hand=at_hand, unwanted=unwanted, limited_in=case.limited_in if at_hand else frozenset())
    if subject == BENCH and said.predicate in _LIMITS:
        return replace(case, limited_in=case.limited_in - {_LIMITS[said.predicate]})
    measures = {name: value for name, value in case.measures.items() if name != said.predicate}
    remarks = tuple(each for each in case.remarks if each != (said.predicate, said.object))
    return replace(case, measures=measures, remarks=remarks)
