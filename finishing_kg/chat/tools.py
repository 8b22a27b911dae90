"""Which tools and minerals are at hand, missing, planned or asked about."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.aside import of_the_maker
from finishing_kg.chat.governing import NOT_BETWEEN, governing, role_after
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.meant import asked_after, asked_on, meant_for_the_work, run_at
from finishing_kg.chat.reading import TOOLS, Doubt, Restriction, RestrictionKind
from finishing_kg.chat.tool_here import is_tool_here
from finishing_kg.chat.weighed import doubt_of_tools, unsure_tools
from finishing_kg.chat.words import tokens
from finishing_kg.record import field, record

_OPEN = "open"  # the role of tools of which it is asked what was said


@record()
class Group:
    """Tools that were named in one breath."""

    role: str
    matches: list[Match] = field(default_factory=list)


@record()
class Tools:
    """What was decided; ``planned``, ``mentioned`` and ``wished`` hold ids in the order said.

    ``doubts`` tell what was said of the bench and not read.
    ``passed_over`` are words of tools that are only named beside a piece: what is done with them is not guessed. ``of_the_past`` are those
    of tools that seem to have done what is done.
    """

    restrictions: list[Restriction] = field(default_factory=list)
    planned: list[str] = field(default_factory=list)
    mentioned: list[str] = field(default_factory=list)
    wished: list[str] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    passed_over: list[str] = field(default_factory=list)
    of_the_past: list[str] = field(default_factory=list)


def tool_matches(line: Line, skipped: set[int]) -> list[Match]:
    """Mentions of tools that play a role of their own: not those that tell how the present surface was made."""
    spoken_for = skipped | line.described
    tools = [match for match in line.matches if line.ids(match, *TOOLS) and not match.torn and match.first not in spoken_for]
    tools = [match for match in tools if is_tool_here(line, match) and _of_the_maker(line, match)]
    wrong = [match for match, after in pairwise(tools) if _taken_back(line, match, after)]
    wrong += [match for after in tools if (match := _put_right_by(line, tools, after)) is not None]
    named = {each for match in wrong for each in match.senses.things}
    return [match for match in tools if match not in wrong and not (_is_denied_again(line, match) and named.issuperset(match.senses.things))]


def _put_right_by(line: Line, tools: list[Match], after: Match) -> Match | None:
    """The tool that another takes the place of, right behind a word that corrects: *pumice on the brush wheel, or rather cerium*."""
    at = after.first
    while (
        at and line.tokens[at].gap < 2 and line.cue_at(at - 1, "cue-article", "cue-stop", "cue-plain") and not line.cue_at(at - 1, "cue-correction")
    ):
        at -= 1
    if not at or not line.cue_at(at - 1, "cue-correction"):
        return None
    return next((match for match in reversed(tools) if match.last < at and line.kinds(match) & line.kinds(after)), None)


def _is_denied_again(line: Line, match: Match) -> bool:
    """Whether a tool is only named to say that it was not meant: *oops, I meant cork, not felt*."""
    return match.first > 0 and line.cue_at(match.first - 1, "cue-not") and not line.cue_at(match.first - 1, "cue-without")


def _of_the_maker(line: Line, match: Match) -> bool:
    """Whether a tool is spoken of for the work at hand: in an aside only what the makers say that they have or lack themselves."""
    return match.first not in line.aside or (of_the_maker(line, match.first) and governing(line, match) in ("only", "has", "without"))


def _taken_back(line: Line, match: Match, after: Match) -> bool:
    """Whether another tool takes the place of one: *a cork wheel, I mean a felt wheel*."""
    return bool(line.kinds(match) & line.kinds(after)) and line.tokens[match.last].gap > 0 and line.corrects(match.last, after.first)


def sort_tools(line: Line, matches: list[Match], beside_a_piece: bool = False) -> Tools:
    """Give each tool its role; things listed in one breath share one.

    Args:
        line: the turn.
        matches: the tools named.
        beside_a_piece: the turn tells a piece as well, so that a tool may be named without being meant for the work.
    """
    groups = _groups(line, matches)
    found = Tools(groups=groups)
    for group in groups:
        if group.role == "has" and (asked_on(line, group.matches[0]) or run_at(line, group.matches[-1])):
            group.role = "planned"
        if unsure_tools(line, group.role, group.matches):
            group.role = _OPEN
            found.passed_over += [line.words(match.first, match.last) for match in group.matches]
            found.doubts.append(doubt_of_tools(line, group.matches))
        if group.role == "past":
            found.of_the_past += [line.words(match.first, match.last) for match in group.matches]
        _place(line, found, group, beside_a_piece)
    return found


def _place(line: Line, found: Tools, group: Group, beside_a_piece: bool) -> None:
    """Put the tools of one breath where their role says."""
    asked = group.role in ("planned", "own-plan") or (group.role in ("", "has") and asked_after(line, group.matches[-1]))
    if group.role in ("only", "has", "own-plan"):
        found.restrictions.append(_restriction(line, "only" if group.role == "only" else "has", group.matches))
    elif group.role == "without":
        found.restrictions += [_restriction(line, "without", part) for part in _phrases(line, group.matches)]
    bare_stone = all(match.is_cue("measure-wheelDiameter") and line.kinds(match) == {"hold"} for match in group.matches)
    if group.role in ("", "planned", "later") and bare_stone:
        return  # a stone by itself is no bond
    if group.role == "" and not asked and beside_a_piece and not meant_for_the_work(line, group.matches):
        found.passed_over += [line.words(match.first, match.last) for match in group.matches]
        return
    if asked or group.role in ("", "later"):
        held = found.planned if asked else found.mentioned
        named = dict.fromkeys(each for match in group.matches for each in line.ids(match, *TOOLS))
        held += [each for each in named if each not in held]
    if group.role in ("planned", "own-plan") and not _asks(line, group.matches[0]):
        found.wished += [each for match in group.matches for each in line.ids(match, *TOOLS)]


def _groups(line: Line, matches: list[Match]) -> list[Group]:
    """The tools by breath, each breath with its role."""
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
        # So it does in "diamond pads in the drawer".
        group.role = last if last == "only" or not group.role or role_after(line, group.matches[-1]) == last == "has" else group.role
    _close_lists(line, groups)
    for one, other in pairwise(groups):
        if one.role == "" and other.role == "planned" and _worked_with(line, one.matches[-1], other.matches[0]):
            one.role = "planned"
        elif one.role in ("has", "only") and other.role == "planned" and _owned_with(line, one.matches[-1], other.matches[0]):
            other.role = one.role
    return groups


def _put_in_its_place(line: Line, group: Group, match: Match) -> bool:
    """Whether *not* bars one tool and another stands in its place: *not cerium, tin oxide*."""
    barred = group.matches[-1]
    said_no = barred.first > 0 and line.tokens[barred.first - 1].key == "not" and barred.last == match.first and line.tokens[match.first].gap == 1
    return said_no and group.role == "without" and bool(line.kinds(barred) & line.kinds(match))


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


def _owned_with(line: Line, tool: Match, match: Match) -> bool:
    """Whether *with* only tells what a tool that is owned carries, and no work: *I own a hand pad with diamond*."""
    first, _ = line.sentence(tool.first)
    return _worked_with(line, tool, match) and not line.cue_between(first, tool.first, "cue-plan", "cue-ask-plan", "cue-goal", "cue-own-means")


def _close_lists(line: Line, groups: list[Group]) -> None:
    """*An iron plate with loose grain, and nothing else* limits all that was named as at hand in the sentence."""
    for number, group in enumerate(groups):
        if group.role == "only" and role_after(line, group.matches[-1]) == "only":
            for earlier in groups[:number]:
                if earlier.role in ("has", "") and line.sentence(earlier.matches[0].first) == line.sentence(group.matches[0].first):
                    earlier.role = "only"


def _listed(line: Line, before: Match, match: Match) -> bool:
    """Whether only articles, commas, *and* and *or* stand between two tools, and no cue of its own before the second."""
    for index in range(before.last, match.first):
        owner = line.owner[index]
        if index in line.grades:
            continue
        if owner is None or not owner.is_cue("cue-stop", "cue-and", "cue-or", "cue-link") or owner.is_cue("cue-but", "cue-possessive", *NOT_BETWEEN):
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
