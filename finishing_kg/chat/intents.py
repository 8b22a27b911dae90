"""What kind of turn it is, and what a question asks about."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import SLOTS, TOOLS, Intent, Level, Slot
from finishing_kg.chat.tools import Tools
from finishing_kg.record import field, record

_NUMBER = "number-"
_SAME = "same-"
_LAST = "cue-last"


@record()
class Asked:
    """A why, why-not, what-if or comparing question in the turn.

    Attributes:
        intent: which of them, or ``None``.
        tokens: the words that belong to a why or why-not question: they name what it is about and fill no slot.
        about: ids of what it names.
    """

    intent: Intent | None = None
    tokens: set[int] = field(default_factory=set)
    about: list[str] = field(default_factory=list)


def ask_of(line: Line, begins: bool = False) -> Asked:
    """Find the question, if there is one. *What about* a tool asks why not; *what about* a form asks what if.

    Args:
        line: the turn.
        begins: nothing was answered yet, so that the words of the question also tell what the piece is.
    """
    asked = _asked(line)
    if begins and asked.tokens:
        names = line.lexicon.vocabulary.names
        asked.tokens = set()
        asked.about = [each for each in asked.about if names[each].kind in TOOLS]
    return asked


def _asked(line: Line) -> Asked:
    asked = Asked()
    cue = next((match for match in line.matches if match.is_cue("cue-why-not", "cue-why", "cue-what-if", "cue-what-about", "cue-compare")), None)
    if cue is None:
        return asked
    start, end = line.sentence(cue.first)
    named = [match for match in line.matches if cue.last <= match.first < end and not match.torn and match.senses.things]
    tools = [match for match in named if line.kinds(match) <= set(TOOLS)]
    if cue.is_cue("cue-what-if") or (cue.is_cue("cue-what-about") and not tools):
        asked.intent = "what_if" if cue.is_cue("cue-what-if") or named else None
        asked.about = _ids(line, named)
        return asked
    asked.intent = "compare" if cue.is_cue("cue-compare") else "why" if cue.is_cue("cue-why") else "why_not"
    if cue.is_cue("cue-why") and line.cue_between(cue.last, min(cue.last + 5, end), "cue-not"):
        asked.intent = "why_not"
    if cue.is_cue("cue-why") and any(line.cue_between(one.last, other.first, "cue-not", "cue-instead") for one, other in pairwise(tools)):
        asked.intent = "compare"  # why pumice and not cerium
    if cue.is_cue("cue-why-not") and any(line.cue_between(one.last, other.first, "cue-instead") for one, other in pairwise(tools)):
        asked.intent = "compare"  # why not tin oxide instead of cerium
    if asked.intent == "compare":
        named = [match for match in line.matches if start <= match.first < end and not match.torn and match.senses.things]
    asked.tokens = set(range(start if asked.intent == "compare" else cue.first, end))
    asked.about = _ids(line, named)
    return asked


def _ids(line: Line, named: list[Match]) -> list[str]:
    return list(dict.fromkeys(each for match in named for each in line.ids(match, *TOOLS, *SLOTS)))


def intent_of(line: Line, asked: Asked, slots: dict[str, Slot], tools: Tools, outside: str) -> Intent:
    """The kind of turn. *Can I use a belt?* alone asks whether anything speaks against the belt."""
    if line.any_cue("cue-restart"):
        return "restart"
    if outside:
        return "out_of_scope"
    if asked.intent:
        return asked.intent
    if tools.planned and not slots and not tools.restrictions and line.any_cue("cue-ask-plan", "cue-plan-after", "cue-tag"):
        return "why_not"
    said = slots or tools.restrictions or tools.planned or tools.mentioned or line.grades or line.measures or line.described
    return "tell" if said or line.any_cue("cue-unsure") else "not_understood"


def level_of(line: Line) -> Level | None:
    """How much of the reasoning is asked for: *why, in short*."""
    levels: dict[str, Level] = {"cue-one-line": "line", "cue-in-short": "short", "cue-in-full": "whole"}
    return next((level for cue, level in levels.items() if line.any_cue(cue)), None)


def same_of(line: Line) -> tuple[str, ...]:
    """The parts of the piece before that a turn keeps: *next one: same glass but a rim*."""
    kept = (
        cue.removeprefix(_SAME) for match in line.matches if not line.negated(match) for cue in sorted(match.senses.cues) if cue.startswith(_SAME)
    )
    return tuple(dict.fromkeys(kept))


def step_of(line: Line) -> int | None:
    """The number of the step that is spoken of: *step 2*, *the second step*, *the last step*."""
    for index in range(len(line.tokens)):
        if not line.cue_at(index, "cue-step"):
            continue
        for near in (index + 1, index - 1):
            if 0 <= near < len(line.tokens):
                number = _number(line, near)
                if number is not None:
                    line.described.add(near)
                    return number
    return None


def _number(line: Line, index: int) -> int | None:
    key = line.tokens[index].key
    if key.isascii() and key.isdecimal() and len(key) <= 2:
        return int(key) or None
    owner = line.owner[index]
    if owner is None:
        return None
    if owner.is_cue(_LAST):
        return -1
    numbers = [int(cue.removeprefix(_NUMBER)) for cue in owner.senses.cues if cue.startswith(_NUMBER) and cue.removeprefix(_NUMBER).isdecimal()]
    return min(numbers, default=None)
