"""A turn that rejects an advice, such as *we never use felt for that*: the answer without it, and rules that would make it so for good."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.contract import ProposedRule
from finishing_kg.advice.proposing import Candidate, candidates
from finishing_kg.chat.reading import Reading
from finishing_kg.statements import option_parts

MOST = 3
"""Rules that are proposed at once."""

Rank = Callable[[Iterator[Candidate]], Sequence[ProposedRule]]
"""Puts rules that would bring it about into order, those first that change fewest other cases."""

_KINDS = ("mineral", "hold", "carrier")
_DENIED = r"(?:never|do(?:es)?\s*n[o']t|don['’]?t|would\s*n[o']t|wouldn['’]?t|would\s+never|won['’]?t|will\s+not|must\s+not)"
_DONE = r"(?:do|use|work|put|take|polish|grind|smooth|blast|touch)"
_WHO = rf"\b(?:we|i|one|nobody|you)\b\s+(?:\w+\s+)?{_DENIED}\s+(?:\w+\s+)?{_DONE}\b"
_REJECTS = re.compile(rf"{_WHO}|^\W*(?:no\W+)?(?:never|not)\s+(?:with|on|like|that|by|this)\b", re.IGNORECASE)


def rejects(text: str) -> bool:
    """Whether a turn rejects how something is done; a question rejects nothing."""
    return "?" not in text and _REJECTS.search(text.replace("’", "'")) is not None


def things_rejected(advice: Advice, reading: Reading) -> list[str] | None:
    """Ids of what a turn rejects of an advice's routes, none where it rejects the whole; ``None`` if it names only what they do not use."""
    options = [place.option for found in advice.found for place in found.places if place.option]
    used = {part for option in options for part in option_parts(option)[:3]}
    named = [name.id for name in (*reading.planned, *reading.mentioned, *reading.about) if name.kind in _KINDS]
    named += [each for restriction in reading.restrictions if restriction.kind == "without" for each in restriction.ids]
    things = [thing for thing in dict.fromkeys(named) if thing in used]
    return None if named and not things else things


def proposed_rules(advice: Advice, things: Sequence[str], text: str, rank: Rank | None) -> list[ProposedRule]:
    """Up to three rules that would bring about what the maker wants.

    Args:
        advice: the judged case behind the answer that is rejected.
        things: as ``things_rejected`` gives them.
        text: the turn.
        rank: puts the rules into order; without it the narrowest comes first.
    """
    found = candidates(advice, things, text)
    return list(rank(found) if rank else (each.proposed for each in found))[:MOST]


def told(proposed: Sequence[ProposedRule]) -> str:
    """What is said where a whole step is rejected and nothing else is named."""
    if not proposed:
        return "I find no rule that would bring that about. Say what you would use, or what you never use."
    return "If that is never done here, one of these rules would bring it about."
