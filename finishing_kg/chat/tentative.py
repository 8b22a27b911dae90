"""A reading that was taken for the likeliest: whether another would change the advice, and so must be put to the maker."""

from __future__ import annotations

from collections.abc import Iterable

from finishing_kg.advice.ask import Advice
from finishing_kg.chat.reading import Doubt
from finishing_kg.record import replace


def deciding(advice: Advice, doubts: Iterable[Doubt]) -> list[Doubt]:
    """The doubts that are to be put to the maker: all that left something open, and of the tentative those that change the first way."""
    return [doubt for doubt in doubts if not doubt.tentative or _matters(advice, doubt)]


def _matters(advice: Advice, doubt: Doubt) -> bool:
    """Whether one of the choices of a doubt leads to another first way than the one that was taken."""
    if advice.case.finish is None or advice.case.surface is None:
        return False
    taken = advice.case.part(doubt.about)
    others = (replace(advice, case=replace(advice.case, **{doubt.about: choice})) for choice in doubt.choices if choice != taken)
    way = _way(advice)
    return any(_way(other) != way for other in others)


def _way(advice: Advice) -> list[tuple[str | None, str | None]]:
    """The methods and grades of the first way."""
    found = advice.search.best()
    return [(place.option, place.grade) for place in found.places] if found else []
