"""Which tools and minerals are at hand, missing, planned or asked about."""

from __future__ import annotations

from dataclasses import dataclass, field

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Restriction, RestrictionKind

_REACH = 10
_ROLES = {
    "cue-only": "only",
    "cue-without": "without",
    "cue-not": "without",
    "cue-ask-plan": "planned",
    "cue-plan": "planned",
    "cue-have": "has",
    "cue-place": "has",
    "cue-means": "planned",
    "cue-after": "past",
}
_AFTER = {"cue-only-after": "only", "cue-have-after": "has", "cue-without-after": "without", "cue-plan-after": "planned"}


@dataclass
class _Group:
    """Tools that were named in one breath."""

    role: str
    matches: list[Match] = field(default_factory=list)


@dataclass
class Tools:
    """What was decided; ``planned`` and ``mentioned`` hold ids in the order said."""

    restrictions: list[Restriction] = field(default_factory=list)
    planned: list[str] = field(default_factory=list)
    mentioned: list[str] = field(default_factory=list)


def tool_matches(line: Line, skipped: set[int]) -> list[Match]:
    """Mentions of tools that play a role of their own: not those that tell how the present surface was made."""
    spoken_for = skipped | line.described
    tools = [match for match in line.matches if line.ids(match, *TOOLS) and not match.torn and match.first not in spoken_for]
    return [match for match in tools if _is_tool_here(line, match)]


def _is_tool_here(line: Line, match: Match) -> bool:
    """A word that is also a glass or a finish (*quartz*, *blasting*) is a tool only where a cue says so; *a cast plate* is a piece."""
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    if before and line.ids(before, "glass", "make"):
        return False
    return line.kinds(match) <= set(TOOLS) or governing(line, match) in ("only", "has", "without")


def governing(line: Line, match: Match) -> str:
    """The role that the nearest cue gives a tool; empty if there is none."""
    before = _role_before(line, match)
    # "No felt in the workshop": the no says more than the place that follows.
    return before if before == "without" else _role_after(line, match) or before


def _role_after(line: Line, match: Match) -> str:
    for index, _ in line.after(match.last, 3):
        owner = line.owner[index]
        for cue, role in _AFTER.items():
            # "Cork only." closes a list; "cerium only rubs" does not.
            ends = owner is not None and (owner.last == len(line.tokens) or line.tokens[owner.last].gap > 0)
            if owner and owner.is_cue(cue) and (role != "only" or ends):
                return role
        if owner and line.ids(owner, *TOOLS):
            break
    return ""


def _role_before(line: Line, match: Match) -> str:
    comma = False
    for index, _ in line.before(match.first, _REACH):
        owner = line.owner[index]
        comma = comma or bool(line.tokens[index + 1].gap)
        for cue, role in _ROLES.items():
            # What is missing is said in one breath: "no machine, just paper" does not lack the paper.
            if owner and owner.is_cue(cue) and not (comma and role == "without"):
                if cue in ("cue-place", "cue-means") and _planned_earlier(line, index):
                    return "planned"
                return role
    return ""


def _planned_earlier(line: Line, index: int) -> bool:
    first, _ = line.sentence(index)
    return line.cue_between(first, index, "cue-plan", "cue-ask-plan")


def sort_tools(line: Line, matches: list[Match]) -> Tools:
    """Give each tool its role; things listed in one breath share one."""
    groups: list[_Group] = []
    for match in matches:
        if groups and _listed(line, groups[-1].matches[-1], match):
            groups[-1].matches.append(match)
        else:
            groups.append(_Group(governing(line, match), [match]))
    for group in groups:
        # "Pumice and a hand pad is all I have": the cue stands after the last of the list.
        last = governing(line, group.matches[-1])
        group.role = last if last == "only" or not group.role else group.role
    found = Tools()
    for group in groups:
        if group.role in ("only", "has"):
            found.restrictions.append(_restriction(line, "only" if group.role == "only" else "has", group.matches))
        elif group.role == "without":
            found.restrictions += [_restriction(line, "without", part) for part in _phrases(line, group.matches)]
        elif group.role != "past":
            held = found.planned if group.role == "planned" else found.mentioned
            held += [each for match in group.matches for each in line.ids(match, *TOOLS) if each not in held]
    return found


def _listed(line: Line, before: Match, match: Match) -> bool:
    """Whether only articles, commas, *and* and *or* stand between two tools, and no cue of its own before the second."""
    for index in range(before.last, match.first):
        owner = line.owner[index]
        if index in line.grades:
            continue
        if owner is None or not owner.is_cue("cue-stop", "cue-and", "cue-or", "cue-link") or owner.is_cue("cue-but", *_ROLES):
            return False
    return all(line.tokens[index].gap < 2 for index in range(before.last, match.first + 1))


def _phrases(line: Line, matches: list[Match]) -> list[list[Match]]:
    """Tools that stand side by side are one tool: *diamond belt*."""
    parts: list[list[Match]] = []
    for match in matches:
        if parts and parts[-1][-1].last == match.first and not line.tokens[match.first].gap:
            parts[-1].append(match)
        else:
            parts.append([match])
    return parts


def _restriction(line: Line, kind: RestrictionKind, matches: list[Match]) -> Restriction:
    ids = tuple(dict.fromkeys(each for match in matches for each in line.ids(match, *TOOLS)))
    return Restriction(kind, ids, line.words(matches[0].first, matches[-1].last), together=kind == "without" and len(matches) > 1)
