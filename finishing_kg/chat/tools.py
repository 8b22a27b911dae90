"""Which tools and minerals are at hand, missing, planned or asked about."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.aside import of_the_maker
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, Restriction, RestrictionKind
from finishing_kg.chat.words import tokens
from finishing_kg.record import field, record

_REACH = 10
_CLAUSE = 2  # a gap this wide ends a clause
_DEED_WITHIN = 4  # words between a deed and the tool that it was done with
_WORK_WITHIN = 4  # words between a word for work and the place that it is done at
_ROLES = {
    "cue-only": "only",
    "cue-without": "without",
    "cue-not": "without",
    "cue-ask-plan": "planned",
    "cue-plan": "planned",
    "cue-have": "has",
    "cue-header": "has",
    "cue-place": "has",
    "cue-means": "planned",
    "cue-after": "past",
    "cue-made": "past",
    "cue-off": "past",
    "cue-before": "later",
    "cue-then": "later",
}
# What these govern is said in one breath: "no machine, just paper" does not lack the paper.
_ONE_BREATH = frozenset({"without", "past", "later"})
_AFTER = {"cue-only-after": "only", "cue-have-after": "has", "cue-without-after": "without", "cue-gone": "without", "cue-plan-after": "planned", "cue-past-after": "past"}


@record()
class Group:
    """Tools that were named in one breath."""

    role: str
    matches: list[Match] = field(default_factory=list)


@record()
class Tools:
    """What was decided; ``planned``, ``mentioned`` and ``wished`` hold ids in the order said, ``doubts`` what was said of the bench and not read.

    ``passed_over`` are words of tools that are only named beside a piece: what is done with them is not guessed.
    """

    restrictions: list[Restriction] = field(default_factory=list)
    planned: list[str] = field(default_factory=list)
    mentioned: list[str] = field(default_factory=list)
    wished: list[str] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    passed_over: list[str] = field(default_factory=list)


def tool_matches(line: Line, skipped: set[int]) -> list[Match]:
    """Mentions of tools that play a role of their own: not those that tell how the present surface was made."""
    spoken_for = skipped | line.described
    tools = [match for match in line.matches if line.ids(match, *TOOLS) and not match.torn and match.first not in spoken_for]
    tools = [match for match in tools if is_tool_here(line, match) and _of_the_maker(line, match)]
    wrong = {match.first for match, after in pairwise(tools) if _taken_back(line, match, after)}
    return [match for match in tools if match.first not in wrong]


def _of_the_maker(line: Line, match: Match) -> bool:
    """Whether a tool is spoken of for the work at hand: in an aside only what the makers say that they have or lack themselves."""
    return match.first not in line.aside or (of_the_maker(line, match.first) and governing(line, match) in ("only", "has", "without"))


def _taken_back(line: Line, match: Match, after: Match) -> bool:
    """Whether another tool takes the place of one: *a cork wheel, I mean a felt wheel*."""
    return bool(line.kinds(match) & line.kinds(after)) and line.tokens[match.last].gap > 0 and line.corrects(match.last, after.first)


def is_tool_here(line: Line, match: Match) -> bool:
    """A word that is also a glass or a finish (*quartz*, *blasting*) is a tool only where a cue says so; *a cast plate* is a piece."""
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    if before and (line.ids(before, "glass", "make") or (before.is_cue("cue-instead") and not before.is_cue("cue-not"))):
        return False
    if match.last < len(line.tokens) and not line.tokens[match.last].gap and line.cue_at(match.last, "cue-mark"):
        return False  # "fibre wheel marks" are left by it
    return line.kinds(match) <= set(TOOLS) or governing(line, match) in ("only", "has", "without")


def governing(line: Line, match: Match) -> str:
    """The role that the nearest cue gives a tool; empty if there is none."""
    before = _role_before(line, match)
    # "No felt in the workshop", "only tin oxide allowed": what is barred and all that there is says more than what follows.
    after = _role_after(line, match)
    return before if before == "without" or (before == "only" and after == "planned") else after or before


def _role_after(line: Line, match: Match) -> str:
    comma = False
    for index, _ in line.after(match.last, 3, widest_gap=1):
        owner = line.owner[index]
        comma = comma or bool(line.tokens[index].gap)
        for cue, role in _AFTER.items():
            # "Cork only." and "a plate, nothing else" close a list; "cerium only rubs" does not.
            ends = owner is not None and _ends(line, owner.last)
            if owner and owner.is_cue(cue) and (ends if role == "only" else not comma):
                return role
        if owner and line.ids(owner, *TOOLS):
            break
    return ""


def _said_of_another(line: Line, cue: Match) -> bool:
    """Whether what a cue governs is no tool: *cerium I have, felt I don't*; *a lap at 250 rpm*."""
    if cue.last >= len(line.tokens):
        return True
    behind = cue.last + 1
    measured = cue.last in line.measures and (behind == len(line.tokens) or line.tokens[behind].gap > 0)
    return line.tokens[cue.last].gap == 1 or measured


def _heads_a_list(line: Line, cue: Match) -> bool:
    """Whether a word opens a list by a colon: *bench: plate, loose carbide*."""
    return cue.last < len(line.tokens) and line.tokens[cue.last].gap == _CLAUSE and line.sentence(cue.first)[0] == cue.first


def _ends(line: Line, last: int) -> bool:
    """Whether a clause ends here, but for little words: *is all I have here*."""
    while last < len(line.tokens) and not line.tokens[last].gap and line.cue_at(last, "cue-here"):
        last += 1
    return last == len(line.tokens) or line.tokens[last].gap > 0


def _role_before(line: Line, match: Match) -> str:
    comma = False
    for index, _ in line.before(match.first, _REACH):
        owner = line.owner[index]
        comma = comma or bool(line.tokens[index + 1].gap)
        if owner is None:
            continue
        # "Skip the pumice and go straight to cerium": the goal word ends what is skipped.
        comma = comma or owner.is_cue("cue-goal")
        for cue, role in _ROLES.items():
            if (cue == "cue-header" and not _heads_a_list(line, owner)) or (cue in ("cue-have", "cue-place") and _said_of_another(line, owner)):
                continue
            if cue == "cue-have" and owner.last < len(line.tokens) and line.cue_at(owner.last, "cue-others"):
                continue  # "my teacher tells me pumice"
            if owner.is_cue(cue) and not (comma and role in _ONE_BREATH):
                if role == "planned" and owner.is_cue("cue-plan") and _is_refused(line, owner.first):
                    return "without"
                if cue in ("cue-place", "cue-means", "cue-made") or owner.is_cue("cue-own-means"):
                    return _in_its_clause(line, owner, role)
                return role
    return ""


def _is_refused(line: Line, index: int) -> bool:
    """Whether a plan is turned down before it is named: *don't tell me to use cerium*; a question asks, and refuses nothing."""
    _, last = line.sentence(index)
    near = [at for at, _ in line.before(index, 4)]
    return not line.asks(last) and any(line.cue_at(at, "cue-not") and not line.cue_at(at, "cue-but") for at in near)


def _in_its_clause(line: Line, cue: Match, role: str) -> str:
    """What *with*, *on* or *with my* means hangs on what is said before it: a plan, a question, or work that is done."""
    first, _ = line.sentence(cue.first)
    unknown = False
    for index in range(cue.last - 1, first - 1, -1):
        if line.cue_at(index, "cue-plan", "cue-ask-plan") and index < cue.first:
            return "own-plan" if cue.is_cue("cue-own-means") else "planned"
        if line.cue_at(index, "cue-made"):
            return "planned" if wanted_there(line, index) else "past"
        if index in line.planned:
            return "planned"
        if (line.is_goal(index) and not _before_a_grade(line, index)) or line.tokens[index].gap > 1:
            return role
        if index < cue.first and line.cue_at(index, "cue-only"):
            return "only"
        # "So that it sits evenly on the pads" tells of no work: what is done there is not guessed.
        unknown = unknown or (index < cue.first and line.owner[index] is None and not _works_before(line, cue.first))
        if unknown and cue.is_cue("cue-place"):
            break
    return "past" if unknown else role


def _before_a_grade(line: Line, index: int) -> bool:
    """Whether *to* only says how far the work went: *took it to 600 on the lap*."""
    return index + 1 in line.grades or index + 1 in line.bare


def _works_before(line: Line, first: int) -> bool:
    """Whether work is spoken of right before a place: *polish the stopper on*."""
    near = [line.owner[at] for at, _ in line.before(first, _WORK_WITHIN)]
    return any(owner is not None and (line.ids(owner, "surface", "finish") or line.is_goal(owner.first)) for owner in near)


def wanted_there(line: Line, index: int) -> bool:
    """Whether work that a word names is wanted or asked about, and not done: *want to put a facet on*, *should I cut the*."""
    return any(line.cue_at(at, "cue-plan", "cue-ask-plan", "cue-goal", "cue-what-if") for at, _ in line.before(index, 4))


def sort_tools(line: Line, matches: list[Match], beside_a_piece: bool = False) -> Tools:
    """Give each tool its role; things listed in one breath share one.

    Args:
        line: the turn.
        matches: the tools named.
        beside_a_piece: the turn tells a piece as well, so that a tool may be named without being meant for the work.
    """
    groups: list[Group] = []
    for match in matches:
        if groups and _put_in_its_place(line, groups[-1], match):
            groups.append(Group(groups[-2].role if len(groups) > 1 else "", [match]))
        elif groups and _listed(line, groups[-1].matches[-1], match):
            groups[-1].matches.append(match)
        else:
            groups.append(Group(governing(line, match) or _beside_a_plan(line, match), [match]))
    for group in groups:
        # "Pumice and a hand pad is all I have": the cue stands after the last of the list.
        last = governing(line, group.matches[-1])
        group.role = last if last == "only" or not group.role else group.role
    _close_lists(line, groups)
    for one, other in pairwise(groups):
        if one.role == "" and other.role == "planned" and _worked_with(line, one.matches[-1], other.matches[0]):
            one.role = "planned"
    found = Tools(groups=groups)
    for group in groups:
        asked = group.role in ("planned", "own-plan") or (group.role in ("", "has") and _asked_after(line, group.matches[-1]))
        if group.role == "has" and _asked_on(line, group.matches[0]):
            group.role, asked = "planned", True
        if group.role in ("only", "has", "own-plan"):
            found.restrictions.append(_restriction(line, "only" if group.role == "only" else "has", group.matches))
        elif group.role == "without":
            found.restrictions += [_restriction(line, "without", part) for part in _phrases(line, group.matches)]
        if group.role in ("", "planned", "later") and all(match.is_cue("measure-wheelDiameter") and line.kinds(match) == {"hold"} for match in group.matches):
            continue  # a stone by itself is no bond
        if group.role == "" and not asked and beside_a_piece and not _meant_for_the_work(line, group.matches):
            found.passed_over += [line.words(match.first, match.last) for match in group.matches]
            continue
        if asked or group.role in ("", "later"):
            held = found.planned if asked else found.mentioned
            named = dict.fromkeys(each for match in group.matches for each in line.ids(match, *TOOLS))
            held += [each for each in named if each not in held]
        if group.role in ("planned", "own-plan") and not _asks(line, group.matches[0]):
            found.wished += [each for match in group.matches for each in line.ids(match, *TOOLS)]
    return found


def _put_in_its_place(line: Line, group: Group, match: Match) -> bool:
    """Whether *not* bars one tool and another stands in its place: *not cerium, tin oxide*."""
    barred = group.matches[-1]
    said_no = barred.first > 0 and line.tokens[barred.first - 1].key == "not" and barred.last == match.first and line.tokens[match.first].gap == 1
    return said_no and group.role == "without" and bool(line.kinds(barred) & line.kinds(match))


def _meant_for_the_work(line: Line, matches: list[Match]) -> bool:
    """Whether a tool that is only named is what the work is asked about: in a question, with its own measure, or in one clause with the goal."""
    first, last = line.sentence(matches[0].first)
    if line.kinds(matches[0]) == {"hold"} and len(matches) == 1:
        return False
    if line.asks(last) or line.cue_at(first, "cue-question", "cue-what-about") or line.cue_between(first, matches[0].first, "cue-plan"):
        return True
    if any(index in line.measures for index, _ in line.after(matches[-1].last, 2)):
        return True
    beside = [*line.before(matches[0].first, _DEED_WITHIN), *line.after(matches[-1].last, _DEED_WITHIN)]
    near = [at for at, _ in beside if not any(line.tokens[each].gap for each in range(min(at, matches[-1].last) + 1, max(at, matches[0].first) + 1))]
    if any(line.owner[at] is None and line.tokens[at].key.isalpha() for at in near if at < matches[0].first):
        return False
    return any((owner := line.owner[at]) and line.ids(owner, "finish") for at in near)


def _asks(line: Line, match: Match) -> bool:
    """Whether a tool is only asked about, and not wished for."""
    first, last = line.sentence(match.first)
    return line.asks(last) or line.cue_between(first, last, "cue-ask-plan", "cue-what-if", "cue-why", "cue-why-not", "cue-compare")


def _beside_a_plan(line: Line, match: Match) -> str:
    """A tool right beside a grade of the maker's plan is part of that plan: *F400 brush first*."""
    return "planned" if match.first - 1 in line.planned or match.last in line.planned else ""


def _worked_with(line: Line, tool: Match, match: Match) -> bool:
    """Whether two tools are named as one means, joined by *with* or *on* alone: *wood wheel with pumice*."""
    between = range(tool.last, match.first)
    joined = all(line.cue_at(at, "cue-means", "cue-place", "cue-stop") and not line.tokens[at].gap for at in between)
    return bool(between) and joined and not line.tokens[match.first].gap and line.cue_between(tool.last, match.first, "cue-means", "cue-place")


def _close_lists(line: Line, groups: list[Group]) -> None:
    """*An iron plate with loose grain, and nothing else* limits all that was named as at hand in the sentence."""
    for number, group in enumerate(groups):
        if group.role == "only" and _role_after(line, group.matches[-1]) == "only":
            for earlier in groups[:number]:
                if earlier.role in ("has", "") and line.sentence(earlier.matches[0].first) == line.sentence(group.matches[0].first):
                    earlier.role = "only"


def _asked_on(line: Line, match: Match) -> bool:
    """Whether a question is what sets a tool beside the work: *could the face go straight on a plated disc?*"""
    first, last = line.sentence(match.first)
    if not (line.cue_at(first, "cue-question", "cue-ask-plan") or (line.asks(last) and line.cue_between(first, match.first, "cue-ask-plan"))):
        return False
    return any(line.cue_at(at, "cue-place") and not line.cue_at(at, "cue-have") for at, _ in line.before(match.first, 3))


def _asked_after(line: Line, match: Match) -> bool:
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
    if kind == "without" and len(matches) == 1:
        ids = tuple(dict.fromkeys((*ids, *_of_the_word(line, matches[0]))))
    several = len(matches) > 1 or len(line.kinds(matches[0])) > 1  # "no diamond wheel" bars neither diamond nor wheels
    return Restriction(kind, ids, line.words(matches[0].first, matches[-1].last), together=kind == "without" and several)


def _of_the_word(line: Line, match: Match) -> list[str]:
    """The carriers that have the one word of a match in their name: *no felt* is said of felt belts and bobs too."""
    if match.last - match.first > 1 or not line.ids(match, "carrier"):
        return []
    word = line.tokens[match.first].key
    return [name.id for name in line.lexicon.vocabulary.things("carrier") if word in {token.key for token in tokens(name.label)}]
