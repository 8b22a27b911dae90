"""Whether a tool is meant for the work: asked about, or only named beside it."""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line

_OF_WORK = ("cue-plan", "cue-ask-plan", "cue-plan-after", "cue-tag", "cue-object", "cue-goal", "cue-what-about", "cue-first-person")
_DEED_WITHIN = 4  # words between a deed and the tool that it was done with


def meant_for_the_work(line: Line, matches: list[Match]) -> bool:
    """Whether a tool that is only named is what the work is asked about: in a question, at its head, with its own measure, or beside the goal."""
    first, last = line.sentence(matches[0].first)
    if (line.kinds(matches[0]) == {"hold"} and len(matches) == 1) or _is_about_tools(line, first, last):
        return False
    if line.asks(last) or line.cue_at(first, "cue-question", "cue-what-about") or line.cue_between(first, matches[0].first, "cue-plan"):
        return True
    if any(index in line.measures for index, _ in line.after(matches[-1].last, 2)):
        return True
    if matches[0].first == first and _heads_the_work(line, matches[-1].last):
        return True
    beside = [*line.before(matches[0].first, _DEED_WITHIN), *line.after(matches[-1].last, _DEED_WITHIN)]
    near = [at for at, _ in beside if not any(line.tokens[each].gap for each in range(min(at, matches[-1].last) + 1, max(at, matches[0].first) + 1))]
    if any(line.is_unknown(at) for at in near if at < matches[0].first):
        return False
    return any((owner := line.owner[at]) and line.ids(owner, "finish") for at in near)


def _is_about_tools(line: Line, first: int, last: int) -> bool:
    """Whether a question is about tools as such, and no piece or work is spoken of in it: *do felt wheels come in small sizes?*"""
    if not line.asks(last) or not line.says(first, "cue-as-such"):
        return False
    work = (line.owner[at] for at in range(first + 1, last))
    told = any(owner and (line.ids(owner, "finish", "form", "glass", "surface") or owner.is_cue(*_OF_WORK)) for owner in work)
    return not told and not any(line.says(at, "cue-pointed") for at in range(first + 1, last))


def _heads_the_work(line: Line, after: int) -> bool:
    """Whether what follows a tool at the head of a sentence is its work: *sandblast a name on a jar*, *tin oxide on a felt wheel for a face*."""
    if line.ends_at(after) or line.cue_at(after, "cue-first-person"):
        return False
    if line.cue_at(after, "cue-article"):
        return True
    # "Cerium and a felt wheel here" heads no work.
    ends = any(line.ids(match, "finish") for match in line.matches if after <= match.first < line.sentence(after)[1])
    return ends and all(line.owner[at] is not None or at in line.grades for at, _ in line.after(after, 2))


def asked_on(line: Line, match: Match) -> bool:
    """Whether a question is what sets a tool beside the work: *could the face go straight on a plated disc?*"""
    first, last = line.sentence(match.first)
    if not (line.cue_at(first, "cue-question", "cue-ask-plan") or (line.asks(last) and line.cue_between(first, match.first, "cue-ask-plan"))):
        return False
    return any(line.cue_at(at, "cue-place") and not line.cue_at(at, "cue-have") for at, _ in line.before(match.first, 3))


def run_at(line: Line, match: Match) -> bool:
    """Whether a tool that work is to be done on is told with its measure, and so is run: *to be polished on cork at 600 rpm*."""
    opens = line.owner[line.sentence(match.first)[0]]
    if opens is not None and line.ids(opens, "finish"):
        return False  # "polish it on a 12 in felt" may as well tell what there is
    if not any(index in line.measures for index, _ in line.after(match.last, 2)):
        return False
    before = next((at for at, _ in line.before(match.first, 3) if line.cue_at(at, "cue-place", "cue-have")), None)
    return before is not None and not line.cue_at(before, "cue-have")


def asked_after(line: Line, match: Match) -> bool:
    """Whether a tag asks about the tool: *beach sand is free here, ok?*; *a leftover wheel, any good for roughing?*"""
    _, last = line.sentence(match.first)
    for index in range(match.last, last):
        owner = line.owner[index]
        if owner and owner.first == index and line.tokens[index].gap == 1:
            closes = owner.last == last and line.asks(last)
            if (owner.is_cue("cue-tag") and closes) or (owner.is_cue("cue-plan-after") and not owner.is_cue("cue-goal-after", "cue-but", "cue-tag")):
                return True
            if owner.is_cue("cue-plan-after") and owner.is_cue("cue-ask-plan"):
                return True
    return False
