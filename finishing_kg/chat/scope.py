"""What lies outside: acid, the kiln, prices, glue, drilling and parting, and things that are no glass."""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, Slot

ACID, HOT_WORK, OTHER_MATERIAL = "cue-out-of-scope", "cue-hot-work", "cue-other-material"
TRADING, JOINING, PARTING = "cue-trading", "cue-joining", "cue-parting"
OUTSIDE = {
    TRADING: "Prices and shops are outside what I know: I know how glass is ground, smoothed, polished and blasted.",
    JOINING: "Gluing and joining are outside cold working as I know it: I know how glass is ground, smoothed, polished and blasted.",
    PARTING: "Drilling holes and parting glass come before what I know: I know how a bore or a cut face is then ground, smoothed and polished.",
    ACID: "That is outside cold working: acid belongs to people licensed and trained for it.",
    HOT_WORK: "That is outside cold working: the kiln and the flame follow schedules of their own, and none is given here.",
    OTHER_MATERIAL: "This is about glass, and what you name is none: other materials want other grain, speeds and care. If it is glass, say which.",
}
"""By cue what is said of a turn that is outside."""

REMARKED = {ACID: "isToMeetAcid"}
"""What the rules are told of a turn that is outside, so that its cautions come from them as any others do."""

_GLASS = "glass"
# A turn that tells this many parts of a piece is about the piece, whatever else it speaks of.
_A_PIECE = 2


def outside_of(line: Line, slots: dict[str, Slot]) -> tuple[str, list[Doubt]]:
    """The id of the cue that puts a turn out of scope, empty if none does, and what must be asked about.

    *Without acid* and *acid is not possible* stay inside. Another material is the piece only where no glass is named and
    the word does not belong to a tool (*steel plate*); behind *on a* it may be either, and that is asked.
    """
    doubts: list[Doubt] = []
    for subject in (TRADING, JOINING):
        if len(slots) < _A_PIECE and any(match.is_cue(subject) and not match.corrected for match in line.matches):
            return subject, []  # a slip that could be mended to such a word (chipping, shipping) is no sign of it
    if PARTING in line.places and not {"surface", "finish"} & slots.keys():
        return PARTING, []
    for match in line.matches:
        if match.is_cue(ACID, HOT_WORK) and not line.negated(match):
            return (ACID if match.is_cue(ACID) else HOT_WORK), []
        if not match.is_cue(OTHER_MATERIAL) or line.negated(match) or _named_glass(line, slots) or _is_a_tool(line, match):
            continue
        if not _behind_a_place(line, match):
            return OTHER_MATERIAL, []
        words = line.words(match.first, match.last)
        doubts.append(Doubt("glass", f"“{words}”: this is about glass. If the piece itself is of {words}, none of it holds; which glass is it?"))
    return "", doubts


def _named_glass(line: Line, slots: dict[str, Slot]) -> bool:
    return "glass" in slots or any(token.key == _GLASS for token in line.tokens)


def _is_a_tool(line: Line, match: Match) -> bool:
    """Whether the word belongs to a tool or its grain, such as *steel plate*, *resin pad*, *metal wheel*, or is one itself."""
    if line.ids(match, *TOOLS):
        return True
    for index, _ in line.after(match.last, 2):
        owner = line.owner[index]
        if owner and (line.ids(owner, *TOOLS) or owner.is_cue("measure-wheelDiameter")):
            return True
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    return before is not None and bool(line.ids(before, *TOOLS))


def _behind_a_place(line: Line, match: Match) -> bool:
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    return before is not None and before.last - before.first > 1 and before.is_cue("cue-place", "cue-means", "cue-own-means", "cue-off")
