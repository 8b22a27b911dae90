"""Pieces of a conversation that wait for their turn: told beside another one, or left for it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from finishing_kg.advice.planned import Intention
from finishing_kg.chat.merge import merge
from finishing_kg.chat.pieces import noted, remarks_of
from finishing_kg.chat.reading import SLOTS, Doubt, Reading
from finishing_kg.record import replace
from finishing_kg.routes import PARTS, Case
from finishing_kg.vocabulary import Vocabulary

_ENOUGH = 2  # parts that a turn must tell to begin a piece of its own, or to be of one that waits


class Held(NamedTuple):
    """One piece that is not on the bench at present.

    Attributes:
        number: its place in the order in which the pieces were told, from 1.
        case: what was said of it.
        doubts: what was not taken for certain when it was told.
        intention: what the maker has in mind for it.
        wished: things that the maker wishes to work it with.
    """

    number: int
    case: Case
    doubts: tuple[Doubt, ...] = ()
    intention: Intention = Intention()
    wished: tuple[str, ...] = ()


def intention_of(reading: Reading) -> Intention:
    """What a turn says of a step that the maker has in mind."""
    grade = reading.planned_grade.words if reading.planned_grade else None
    return Intention(reading.planned or reading.mentioned, grade, reading.planned_wet, reading.planned_measures)


def held_of(vocabulary: Vocabulary, number: int, text: str, reading: Reading, *, before: Case | None = None, of: int | None = None) -> Held:
    """A piece as one part of a message tells it.

    Args:
        vocabulary: the ontology.
        number: its place in the order told.
        text: the part of the message.
        reading: of that part.
        before: what was known of it.
        of: how many pieces the message tells of.
    """
    case, doubts = merge(vocabulary, before or Case(), reading)
    remarks = remarks_of(vocabulary, text)
    if of is not None and remarks.count == of:
        remarks = replace(remarks, count=None)  # "two pieces" counts these, not copies of one
    return Held(number, noted(case, remarks), tuple(doubts), intention_of(reading), reading.wished)


def meant_by(reading: Reading, held: Sequence[Held], now: Case) -> Held | None:
    """The waiting piece that a turn speaks of: the one asked for, or the only one whose glass or place it names, other than that on the bench."""
    if not held:
        return None
    if reading.other_piece is not None or (reading.intent == "restart" and not reading.slots):
        return next((each for each in held if each.number == reading.other_piece), held[0])
    named = {kind: slot.ids for kind, slot in reading.slots.items() if kind in ("glass", "form") and len(slot.ids) == 1}
    if len(reading.slots) < _ENOUGH and not reading.goes_on:
        return None  # "the glass is float" may as well put right what was said of the piece on the bench
    if reading.intent != "tell" or reading.corrects or not named or all(now.part(kind) in (None, *ids) for kind, ids in named.items()):
        return None
    fitting = [each for each in held if all(each.case.part(kind) in (None, *ids) for kind, ids in named.items())]
    sure = [each for each in fitting if any(each.case.part(kind) in ids for kind, ids in named.items())]
    return sure[0] if len(sure) == 1 else None


def begins_another(reading: Reading, now: Case) -> bool:
    """Whether a turn tells a piece beside the one on the bench: *also a float edge, sawn, to satin*."""
    if not reading.further or reading.intent != "tell" or len(reading.slots) < _ENOUGH:
        return False
    said = {kind: reading.slots[kind].ids for kind in SLOTS if kind in reading.slots}
    return any(now.part(kind) not in (None, *said[kind]) for kind in ("glass", "form") if kind in said)


def told_of(parts: int, number: int, others: Sequence[str]) -> str:
    """That more than one piece was told, which one the answer is for, and how to take up the others.

    Args:
        parts: how many pieces there are.
        number: of the one on the bench.
        others: the waiting ones in words, in the order in which they come up.
    """
    kept = "; ".join(f"“{words}”" for words in others)
    return f"You told me of {parts} pieces. This is number {number}. Kept for later: {kept}. Say “now the other one” to go on with it."


def kept_of(case: Case, same: Sequence[str]) -> Case:
    """What a new piece keeps of the one before."""
    if "all" in same:
        return case
    parts = [part for part in PARTS if part in same or (part == "surface_grade" and "surface" in same)]
    held = {part: case.part(part) for part in parts}
    words = {part: case.words[part] for part in parts if part in case.words}
    assumed = {part: case.assumed[part] for part in parts if part in case.assumed}
    bench = {part: getattr(case, part) for part in ("at_hand", "unwanted", "limited_in", "stock", "marks")} if "bench" in same else {}
    return replace(Case(), words=words, assumed=assumed, **held, **bench)
