"""Whether a word for a tool is one here, or a piece, a deed or the stuff of a piece: *a cast plate*, *60 beads*, *quartz*, *nothing coated*."""

from __future__ import annotations

from finishing_kg.chat.governing import governing
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS
from finishing_kg.vocabulary import Vocabulary


def is_tool_here(line: Line, match: Match) -> bool:
    """A word that is also a glass or a finish (*quartz*, *blasting*) is a tool only where a cue says so; *a cast plate* is a piece."""
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    if before and (line.ids(before, "glass", "make") or (before.is_cue("cue-instead") and not before.is_cue("cue-not"))):
        return False
    if match.last < len(line.tokens) and not line.tokens[match.last].gap and line.cue_at(match.last, "cue-mark"):
        return False  # "fibre wheel marks" are left by it
    if before and line.tokens[before.first].key == "nothing" and line.kinds(match) == {"hold"}:
        return False  # "nothing coated" tells of the glass
    if (
        _is_a_bead(line, match)
        or _is_the_whole(line, match)
        or _is_a_body(line, match)
        or (match.is_cue("cue-flat-body") and _is_of_an_unknown(line, match))
    ):
        return False
    if before and before.is_cue("cue-for") and line.is_doing(match):
        return False  # "garnet for blasting" is no nozzle
    return line.kinds(match) <= set(TOOLS) or governing(line, match) in ("only", "has", "without")


def _has_grain(line: Line, match: Match) -> bool:
    """Whether grain is spoken of beside a flat body, so that it may be what that is rubbed on; or the body is said to be of another material."""
    first, last = line.sentence(match.first)
    if match.last - match.first > 1 or any(at in line.grades for at in range(first, last)):
        return True
    others = (line.owner[at] for at in range(first, last))
    return any(owner is not None and owner is not match and line.ids(owner, "mineral", "hold", "machine") for owner in others)


def _is_the_whole(line: Line, match: Match) -> bool:
    """Whether a flat body is what a place belongs to: *the bevel on my plate*."""
    if not match.is_cue("cue-flat-body"):
        return False
    placed = any(line.cue_at(at, "cue-place", "cue-means", "cue-after") for at, _ in line.before(match.first, 2))
    if not placed and not _has_grain(line, match) and governing(line, match) not in ("only", "has", "without"):
        return True  # "into a plate of float"; "where the two plates are glued"
    beside = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    if beside is not None and (beside.is_cue("cue-flat-body") or line.ids(beside, "surface")):
        return True  # "mirror plate"; "my polished plate"
    at = match.first
    while at and not line.tokens[at].gap and line.cue_at(at - 1, "cue-article", "cue-own-means", "cue-place", "cue-of"):
        at -= 1
    before = line.owner[at - 1] if 0 < at < match.first and not line.tokens[at].gap else None
    return before is not None and bool(line.ids(before, "form"))


def _is_a_bead(line: Line, match: Match) -> bool:
    """Whether a word for round bodies is no grain, since nothing is spoken of that a jet of grain does: *60 beads, all lampworked*."""
    if not match.is_cue("cue-round") or not line.ids(match, "mineral"):
        return False
    of_a_jet = _of_a_jet(line.lexicon.vocabulary)
    return not any(of_a_jet.intersection(other.senses.things) for other in line.matches)


def _of_a_jet(vocabulary: Vocabulary) -> set[str]:
    """What blasts and what is blasted: the nozzle, the cabinet that it stands in, the frosts and the surface that they leave."""
    jets = [name.id for name in vocabulary.things("carrier") if vocabulary.related(name.id, "takesHold") == ["air-borne"]]
    blasts = [name.id for name in vocabulary.things("finish") if vocabulary.holds(name.id, "isABlast")]
    machines = [each for jet in jets for each in vocabulary.related(jet, "isDrivenBy")]
    return {*jets, *machines, *blasts, *(each for blast in blasts for each in vocabulary.related(blast, "leavesSurface"))}


def _is_of_an_unknown(line: Line, match: Match) -> bool:
    """Whether an unknown word stands right beside a word that also names bodies: *a boral plate*; *plate stuff, sawn*."""
    before, after = match.first - 1, match.last
    behind = after < len(line.tokens) and not line.tokens[after].gap and line.is_unknown(after)
    ahead = before >= 0 and not line.tokens[match.first].gap and line.is_unknown(before)
    return ahead or (behind and match.last - match.first == 1)


def _is_a_body(line: Line, match: Match) -> bool:
    """Whether a word for a carrier heads a sentence as the piece, with its measures: *plate 300 x 200 x 10 mm, float*."""
    if match.last == len(line.tokens) or line.kinds(match) != {"carrier"} or match.first != line.sentence(match.first)[0]:
        return False
    mark = line.measures.get(match.last)
    return mark is not None and any(sign in mark.words for sign in ("x", "×", "by"))
