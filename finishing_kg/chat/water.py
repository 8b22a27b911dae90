"""Wet or dry: what the maker says of the water at the work."""

from __future__ import annotations

from finishing_kg.chat.governing import governing
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import Doubt

# After these a word tells what was or is, not how the work is to run.
_PAST = ("cue-present", "cue-past-after", "cue-gone")


def water_of(line: Line) -> tuple[bool | None, list[Doubt]]:
    """Whether the maker means to work with water, and a doubt where both were said.

    *Wet* in the name of a tool (*wet belt sander*) belongs to the tool; beside a surface word it tells how that was made.
    """
    said: dict[bool, int] = {}
    for match in line.matches:
        if match.is_cue("cue-water"):
            lacking = any(line.cue_at(index, "cue-without", "cue-not") for index, _ in line.before(match.first, 3))
            if lacking or line.cue_at(match.last - 1, "cue-wet"):
                said.setdefault(not lacking, match.first)
        elif match.is_cue("cue-wet", "cue-dry") and not _told_of_the_past(line, match.first) and not _kind_of_tool(line, match):
            said.setdefault(match.is_cue("cue-wet") != line.negated(match), match.first)
    if len(said) < 2:
        return next(iter(said), None), []
    first, last = sorted(said.values())
    words = f"“{line.words(first, first + 1)}” and “{line.words(last, last + 1)}”"
    return None, [Doubt("water", f"{words} were both said. Is the work to run with water or without?")]


def _kind_of_tool(line: Line, match: Match) -> bool:
    """Whether *wet* only says which tool is at hand: *wet paper is all I have*."""
    tool = line.owner[match.last] if match.last < len(line.tokens) and not line.tokens[match.last].gap else None
    return tool is not None and bool(line.ids(tool, "carrier", "machine")) and governing(line, tool) in ("only", "has", "without")


def _told_of_the_past(line: Line, index: int) -> bool:
    before = line.owner[index - 1] if index and not line.tokens[index].gap else None
    if before is None:
        return index - 1 in line.described
    if before.is_cue("cue-stop") and before.is_cue(*_PAST):
        return True
    if not line.is_graded(before):
        return False
    # "Ground wet at F320" was done; "to be ground wet" is to come.
    return not line.ids(before, "finish") or any(at in line.described for at, _ in line.after(index + 1, 3))
