"""What is said to a case, turn by turn, and what each turn hangs on: plain records that can be kept."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

Marks = dict[str, frozenset[str | None]]
"""For each predicate the things of which something holds; quantities are left out, since no rule names one there."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One evaluation on the way to an answer.

    Attributes:
        upon: the name of the facts that many questions share, empty if there are none.
        facts: of the question, as plain data.
        marks: what the question brought about.
        fired: ids of the rules that fired on the question.
    """

    upon: tuple[str, ...]
    facts: tuple[Any, ...]
    marks: Marks
    fired: frozenset[str] = frozenset()

    def instead(self, predicate: str | None, value: str) -> "Asked":
        """The same evaluation with another value in the facts of a predicate; what it would bring about is not known, but for these facts."""
        facts = tuple((*fact[:2], value, *fact[3:]) if fact[0] == predicate else fact for fact in self.facts)
        marks: dict[str, set[str | None]] = {}
        for made, _, told, *_ in facts:
            marks.setdefault(made, set()).update(() if isinstance(told, tuple) else (told,))
        return Asked(self.upon, facts, {made: frozenset(told) for made, told in marks.items()})


@dataclass(frozen=True, slots=True)
class Worked:
    """Work that was done on the way to an answer, and need not be done again as long as its evaluations come out as they did.

    Attributes:
        of: what was worked out, with a digest of what it hangs on beside its evaluations.
        first, end: its evaluations stand from the one place to before the other among those of the turn.
        result: as plain data.
    """

    of: str
    first: int
    end: int
    result: Any

    def among(self, asked: tuple[Asked, ...]) -> tuple[Asked, ...]:
        """The evaluations that were made for it, among those of its turn."""
        return asked[self.first : self.end]


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn of a conversation, or the one check of a plan.

    Attributes:
        answer: as JSON without reasons.
        kind: of the answer.
        short: how it falls short of what the case expects.
        fired: ids of the rules that derived something on the way.
        asked: the evaluations.
        worked: what was worked out on the way and can be given again.
        looks: whether the answer looks at rules that do not fire: those that came nearest, or that could let something in.
        known: the parts of the piece that were told, if the answer looks for further ones that would help to know; else ``None``.
        stood: how the conversation stood after it, for the next turn to go on from; ``None`` after the last, and for a plan.
    """

    answer: str
    kind: str
    short: tuple[str, ...]
    fired: frozenset[str]
    asked: tuple[Asked, ...]
    worked: tuple[Worked, ...] = ()
    looks: bool = False
    known: frozenset[str] | None = None
    stood: Any = None

    @property
    def asks_for(self) -> frozenset[str]:
        """What the answer asks back about."""
        return frozenset(question["about"] for question in json.loads(self.answer).get("ask_back") or ())

    def looks_at(self, conclusions: Iterable[str]) -> bool:
        """Whether the answer looks at rules of some conclusions even where they do not fire."""
        return self.looks or (self.kind == "diagnosis" and "pointsToCause" in conclusions)


@dataclass(frozen=True)
class Told:
    """What the program says to a case.

    Attributes:
        turns: in their order; of a plan there is one.
        reasoned: whether a turn looks at the reasons of an answer.
    """

    turns: tuple[Turn, ...]
    reasoned: bool = False

    @property
    def answers(self) -> tuple[str, ...]:
        """One for each turn, as JSON without reasons."""
        return tuple(turn.answer for turn in self.turns)

    @property
    def short(self) -> tuple[str, ...]:
        """How it falls short of what the case expects."""
        return tuple(fault for turn in self.turns for fault in turn.short)

    @property
    def asked(self) -> tuple[Asked, ...]:
        """The evaluations of all turns."""
        return tuple(asked for turn in self.turns for asked in turn.asked)

    @property
    def fired(self) -> frozenset[str]:
        """Ids of the rules that derived something on the way."""
        return frozenset().union(*(turn.fired for turn in self.turns))

    @cached_property
    def plain(self) -> list[dict[str, Any]]:
        """The answers as tables."""
        return [json.loads(answer) for answer in self.answers]
