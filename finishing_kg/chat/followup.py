"""Questions about an answer: which of the ways to explain it a turn asks for, and the explanation."""

import re
from collections.abc import Container, Sequence

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.blockers import blocker_of
from finishing_kg.advice.change import smallest_change
from finishing_kg.advice.compare import contrast
from finishing_kg.advice.contract import Answer
from finishing_kg.advice.levels import compared_words, explained
from finishing_kg.advice.other_grade import GradeMeant, why_not_grade
from finishing_kg.advice.reasons import ReasonBook
from finishing_kg.advice.why import why, why_not
from finishing_kg.chat.reading import TOOLS, Reading
from finishing_kg.record import replace
from finishing_kg.vocabulary import Name

_RULE = re.compile(r"\brules?\s+([a-z0-9]+(?:-[a-z0-9]+)*)", re.IGNORECASE)
_LEFT_OUT = re.compile(r"\b(without|left out|leave out|did not hold|didn't hold|dropped|ignored?)\b", re.IGNORECASE)


def about_the_last(advice: Advice, answer: Answer, reading: Reading) -> tuple[Answer, ReasonBook]:
    """The answer to why, why not, or why one and not another; with the book of the reasons that it shows."""
    about = [name for name in reading.about if name.kind in TOOLS] or list(reading.about)
    if reading.intent == "why":
        told = why(advice, answer, about, reading.step)
        if told.kind == "why":
            return explained(told, advice.book, reading.level or "short"), advice.book
        return _why_not(advice, answer, about)
    sides = _sides(about) if reading.intent == "compare" else None
    book = ReasonBook()
    if sides is not None:
        return contrast(advice, answer, *sides, book), book
    if reading.planned_grade is not None and answer.routes:
        return why_not_grade(advice, answer, about, GradeMeant(reading.planned_grade.words, reading.step), book), book
    return _why_not(advice, answer, about)


def _why_not(advice: Advice, answer: Answer, about: Sequence[Name]) -> tuple[Answer, ReasonBook]:
    book = ReasonBook()
    told = why_not(advice, answer, about, book)
    if told.verdict in ("in the route", "unknown", "no such method"):
        return told, advice.book
    blocked, change = blocker_of(advice, about), smallest_change(advice, about)
    told_more = f"{compared_words(blocked.comparison)}." if blocked and blocked.comparison else ""
    parts = [told.text, told_more[:1].upper() + told_more[1:], change.text if change else ""]
    return replace(told, text=" ".join(filter(None, parts)), blocked_by=blocked, smallest_change=change), book


def _sides(about: Sequence[Name]) -> tuple[list[Name], list[Name]] | None:
    """What is named on either side: the second begins where a kind comes again, or with the second of two names."""
    kinds: set[str] = set()
    for place, name in enumerate(about):
        if name.kind in kinds:
            return list(about[:place]), list(about[place:])
        kinds.add(name.kind)
    return ([about[0]], [about[1]]) if len(about) == 2 else None


def rules_left_out(text: str, known: Container[str]) -> list[str]:
    """Ids of the rules that a turn wants left out: *what if rule no-stiff-face-on-relief were left out?*"""
    if not _LEFT_OUT.search(text):
        return []
    return list(dict.fromkeys(match[1].lower() for match in _RULE.finditer(text) if match[1].lower() in known))
