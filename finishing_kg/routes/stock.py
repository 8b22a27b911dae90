"""What is on a shelf: as a case of which nothing else is known yet, and which grades it leaves to choose from."""

from collections.abc import Iterable

from finishing_kg.measure import Quantity
from finishing_kg.quantities import grades_on, scales_for, stocked
from finishing_kg.record import replace
from finishing_kg.routes.case import Case
from finishing_kg.vocabulary import Vocabulary

Item = tuple[str, tuple[str, ...], Quantity | None]
"""A thing on a shelf: its id, the ids of its grades that are there, empty where none are named, and the turning speed marked on it."""


def on_the_shelf(vocabulary: Vocabulary, items: Iterable[Item]) -> Case:
    """A piece of which nothing is known yet but what is at hand for it.

    Of a kind of which nothing is on the shelf all may be used, and of a thing without grades all of its grades. Of two wheels of one
    kind the lower mark counts, since nobody says which of them is put on.
    """
    items = list(items)
    things = tuple(dict.fromkeys(thing for thing, _, _ in items))
    marks: dict[str, Quantity] = {}
    for thing, _, mark in items:
        if mark is not None and (thing not in marks or mark.lowest < marks[thing].lowest):
            marks[thing] = mark
    return Case(
        at_hand=things,
        limited_in=frozenset({vocabulary.names[thing].kind for thing in things} & {"mineral", "carrier"}),
        stock=tuple(dict.fromkeys((thing, grade) for thing, grades, _ in items for grade in grades)),
        marks=marks,
    )


def with_shelf(case: Case, shelf: Case) -> Case:
    """A case with what is on a shelf."""
    at_hand = tuple(dict.fromkeys((*case.at_hand, *shelf.at_hand)))
    return replace(case, at_hand=at_hand, limited_in=case.limited_in | shelf.limited_in, stock=shelf.stock, marks=shelf.marks)


def grades_for(vocabulary: Vocabulary, case: Case, mineral: str, hold: str, carrier: str | None) -> list[str]:
    """The grades of a mineral in a hold on a carrier that can be had, coarse to fine on each scale.

    Those on the shelf, where it lists grades of the mineral, the hold or the carrier; else those that a studio usually stocks.
    """
    scales = scales_for(vocabulary, mineral, hold)
    listed = {grade for thing, grade in case.stock if thing in (mineral, hold, carrier)}
    if listed:
        return [grade for scale in scales for grade in grades_on(vocabulary, scale) if grade in listed]
    return [grade for scale in scales for grade in stocked(vocabulary, scale)]
