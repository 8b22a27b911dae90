"""Present surface or goal? Words such as *polished* and *ground* are both; their neighbours decide."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.aside import outside_asides
from finishing_kg.chat.deeds import is_done, is_there, is_told_as_done
from finishing_kg.chat.graded import GRADE_AFTER, attach_grades
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, GradeWords
from finishing_kg.chat.wished import (
    attributive,
    bounds_a_refusal,
    follows_its_noun,
    is_to_be_clear,
    is_to_look_otherwise,
    is_wished,
    of_another_time,
    of_something_else,
    of_what_is_wished,
    opens_with_only,
)
from finishing_kg.record import field, record

# How far a cue reaches to the right, in the costs of ``Line.before``; to the left it reaches three words.
_REACH = 12
_REACH_AFTER = 3
# A surface or a goal that stands between a cue and a word has mostly used the cue up.
_SPENT = 4
# A cue this near tells more than the word's own form.
_STRONG = 6
_INTO = "into"
_THE = frozenset({"the", "my", "our", "this", "these"})
# *Can it be polished?* asks for what stands behind.
_BE, _CAN = frozenset({"be", "get"}), frozenset({"can", "could", "should", "may", "might", "will", "would"})
_MINE = frozenset({"my", "our"})
# How many words before and after a state the side that it is on may be named.
_SIDE_BEFORE, _SIDE_AFTER = 3, 3


@record()
class Roles:
    """What was decided.

    Attributes:
        surfaces, goals: matches by role, in order.
        undecided: matches that could be either; the caller fills what is empty.
        graded: for a surface or goal match the grade that belongs to it.
        free: grades that belong to none, by token index.
        wanted: surfaces that are asked for and that no finish goes by, such as *a fire-polished look*.
        now: goals that are only said to be there now, such as *it has a satin finish now*.
    """

    surfaces: list[Match] = field(default_factory=list)
    goals: list[Match] = field(default_factory=list)
    undecided: list[Match] = field(default_factory=list)
    graded: dict[int, GradeWords] = field(default_factory=dict)
    free: dict[int, GradeWords] = field(default_factory=dict)
    now: list[Match] = field(default_factory=list)
    wanted: list[Match] = field(default_factory=list)


def decide(line: Line, skipped: set[int], waiting_for: tuple[str, ...]) -> Roles:
    """Give each surface or finish word its role.

    Args:
        line: the turn.
        skipped: tokens whose things are spoken of otherwise, such as those of a why question.
        waiting_for: the slots that the last answer asked for.
    """
    roles = Roles()
    states = [match for match in line.matches if not match.torn and line.ids(match, "surface", "finish")]
    states = [match for match in states if skipped.isdisjoint(range(match.first, match.last))]
    states = [match for match in states if not (match.is_cue("cue-without-after") and _of_a_tool(line, match))]
    states = [match for match in states if not (_says_how_a_tool_is(line, match) or _is_to_go(line, match))]
    states = [match for match in states if not (of_something_else(line, match) or of_another_time(line, match))]
    states = [match for match in states if not match.is_cue("cue-clear") or is_to_be_clear(line, match, waiting_for)]
    roles.graded, roles.free = attach_grades(line, states)
    scores: dict[int, int] = {}
    for match in states:
        if line.negated(match):
            continue
        present, goal = line.ids(match, "surface"), line.ids(match, "finish")
        score = scores[match.first] = role_score(line, match, match.first in roles.graded)
        if not goal:
            roles.surfaces += [] if _is_asked_for(line, match) else [match]  # "should it be smoothed?"
        elif not present:
            (roles.now if score <= -_STRONG and (is_done(line, match) or is_there(line, match)) else roles.goals).append(match)
        elif score or (score := _by_form(line, match)):
            (roles.goals if score > 0 else roles.surfaces).append(match)
        else:
            roles.undecided.append(match)
    _of_my_piece(line, roles)
    _drop_what_is_refused(line, states, roles)
    _one_phrase(line, states, roles)
    _share_roles(line, states, roles)
    _settle_goals(line, roles, scores)
    _turned_into(line, roles, scores)
    _not_yet(line, roles, scores)
    _sides(line, states, roles)
    _fill(line, states, roles, waiting_for)
    _drop_what_the_goal_leaves(line, roles, scores)
    for held in (roles.surfaces, roles.goals, roles.undecided):
        held[:] = outside_asides(line, held, _place)
    if line.aside and any(index not in line.aside for index in roles.free):
        roles.surfaces = [match for match in roles.surfaces if match.first not in line.aside]  # the maker's own grade tells the surface
    for match in roles.surfaces:
        _describe(line, match)
    return roles


def _says_how_a_tool_is(line: Line, match: Match) -> bool:
    """Whether a state is that of the tool right behind it: *worn diamond discs*."""
    after = line.owner[match.last] if match.last < len(line.tokens) and not line.tokens[match.last].gap else None
    tool = after is not None and line.kinds(after) <= {"mineral", "hold", "carrier"} and bool(line.kinds(after))
    return tool and not line.ids(match, "finish") and not line.is_graded(match)


def _is_to_go(line: Line, match: Match) -> bool:
    """Whether a frost is named that is to be taken off."""
    frost = [each for each in line.ids(match, "finish") if line.lexicon.vocabulary.holds(each, "isABlast")]
    return bool(frost) and match.last < len(line.tokens) and not line.tokens[match.last].gap and line.cue_at(match.last, "cue-remove-after")


def role_score(line: Line, match: Match, graded: bool = False) -> int:
    """Above zero for a goal, below for a present state; the size tells how near the cue stands."""
    worked_into = any(line.tokens[at].key == _INTO for at, _ in line.before(match.first, 2))  # "a deep carving, into a polished face"
    worked_into = worked_into or (bool(line.ids(match, "surface")) and is_told_as_done(line, match)) or _was_left_so(line, match)
    if worked_into:
        return -_STRONG
    return _STRONG if _is_asked_for(line, match) else _by_its_cues(line, match, graded)


def _is_asked_for(line: Line, match: Match) -> bool:
    """Whether a question asks whether something can be so: *can a bored hole be polished?*"""
    first, last = line.sentence(match.first)
    asked = line.tokens[first].key in _CAN and line.asks(last)
    return asked and match.first > first and not line.tokens[match.first].gap and line.tokens[match.first - 1].key in _BE


def _was_left_so(line: Line, match: Match) -> bool:
    """Whether a finish is what a deed left: *after it was cut matt*; *follow a pre-polish*."""
    if line.ids(match, "surface") or not line.ids(match, "finish"):
        return False
    first, _ = line.sentence(match.first)
    before = match.first - 1
    if before >= first and not line.tokens[match.first].gap and line.cue_at(before, "cue-made") and not line.between(first, before, line.is_goal):
        return True
    return is_there(line, match)


def _by_its_cues(line: Line, match: Match, graded: bool) -> int:
    score = spent = 0
    for index, cost in line.before(match.first, _REACH):
        owner = line.owner[index]
        if owner is None:
            continue
        goal = line.is_goal(index) and not (owner.is_cue("cue-for") and _describes_a_body(line, owner.last, match))
        goal = goal and not is_to_look_otherwise(line, owner, match) and not _is_the_to_of_a_clause_before(line, owner, match)
        behind = line.tokens[owner.last].gap
        closes = not line.tokens[owner.first].gap and (behind == 1 or (behind > 0 and owner.is_cue("cue-present-after")))  # "F240 done, satin"
        if owner.is_cue("cue-only", "cue-but") and bounds_a_refusal(line, owner):
            goal, closes = goal or is_wished(line, owner), closes or goal or owner.is_cue("cue-only") or is_wished(line, owner)
        if opens_with_only(line, owner, match) or (line.says(index, "cue-just") and owner.last == match.first and is_wished(line, owner)):
            goal = True
        present = owner.is_cue("cue-present") and not goal and not closes and not _possessive(line, owner) and not _before_a_tool(line, owner)
        if present and of_what_is_wished(line, owner, match):
            goal, present = True, False
        if present and _is_out_of_reach(line, owner.last, match.first):
            break
        if goal or present:
            score = max(_REACH + 1 - cost - spent, 0) * (1 if goal else -1)
            break
        if line.ids(owner, "surface", "finish") and not line.cue_between(index + 1, match.first, "cue-or", "cue-and"):
            spent += _SPENT
    score += _by_what_follows(line, match, score)
    if graded:
        score += _REACH if _ends_there(line, match) else -_STRONG
    return score


def _by_what_follows(line: Line, match: Match, before: int) -> int:
    """What the cues behind a word add to the score of those before it."""
    for index, distance in line.after(match.last, _REACH_AFTER, widest_gap=1):
        if line.tokens[index].gap and not _closes(line, index):
            break
        if line.cue_at(index, "cue-goal-after"):
            return 9 - distance
        if line.cue_at(index, "cue-present-after") and not (before > 0 and line.cue_at(index, "cue-then")):  # "changed her mind: polished now"
            return distance - 10
    return 0


def _closes(line: Line, index: int) -> bool:
    """Whether what stands behind a comma ends the sentence: *clear, please*."""
    owner = line.owner[index]
    return owner is not None and owner.is_cue("cue-goal-after") and owner.last == line.sentence(index)[1]


def _is_out_of_reach(line: Line, first: int, last: int) -> bool:
    """Whether a cue belongs to a grade or a word that is not known, with a break behind it: *now P120, satin*; *my client just rang, polish*."""
    unknown = line.between(first, last, lambda at: at in line.grades or line.is_unknown(at))
    return unknown and line.between(first + 1, last + 1, lambda at: line.tokens[at].gap > 0)


def _is_the_to_of_a_clause_before(line: Line, cue: Match, match: Match) -> bool:
    """Whether *to* belongs to the clause before the one in which a word describes a body: *half an hour to each ball, pre-polished crystal*."""
    if line.tokens[cue.first].key != "to" or cue.last - cue.first > 1 or not line.ids(match, "surface"):
        return False
    return attributive(line, match) and line.between(cue.last, match.first + 1, lambda at: line.tokens[at].gap > 0)


def _describes_a_body(line: Line, first: int, match: Match) -> bool:
    """Whether a word behind *for* describes a body: *for a sphere ground F600*; *for the pre-polished rim of a goblet*."""
    last = match.first
    past = bool(line.ids(match, "surface")) and line.is_past(match.last - 1)
    if past and last - first <= 1 and line.tokens[last - 1].key in _THE and attributive(line, match):
        return True
    return line.between(first, last, lambda at: bool((owner := line.owner[at]) and (owner.is_cue("cue-object") or line.ids(owner, "form"))))


def _ends_there(line: Line, match: Match) -> bool:
    """Whether the grade beside a word is the last that is wanted: *ground to F400 and no further*."""
    for index, _ in line.after(match.last, _REACH_AFTER, widest_gap=1):
        if index in line.grades or index in line.bare:
            return any(_bounds_it(line, at) for at, _ in line.after(index + 1, _REACH_AFTER, widest_gap=1))
    return False


def _bounds_it(line: Line, at: int) -> bool:
    """Whether *no further* or the like stands here, and not *at most* before a time or a size of its own."""
    cue = line.owner[at]
    return line.cue_at(at, "cue-no-further") and cue is not None and cue.last not in line.measures


def _of_a_tool(line: Line, match: Match) -> bool:
    """Whether *is broken* is said of a tool and not of the piece."""
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    return before is not None and bool(line.ids(before, *TOOLS)) and not before.is_cue("cue-flat-body")


def _possessive(line: Line, cue: Match) -> bool:
    """Whether *its* belongs to a noun (*its rim*) and is no *it is*."""
    after = line.owner[cue.last] if cue.last < len(line.tokens) else None
    return cue.is_cue("cue-possessive") and after is not None and (after.is_cue("cue-object") or bool(line.ids(after, "form")))


def _before_a_tool(line: Line, cue: Match) -> bool:
    """Whether *with a* names the means (*with a diamond file*) and not a part or a flaw of the piece."""
    after = line.owner[cue.last] if cue.last < len(line.tokens) else None
    return cue.is_cue("cue-means") and after is not None and bool(line.ids(after, *TOOLS))


def _by_form(line: Line, match: Match) -> int:
    """Without a cue the word's own form decides: *polished* names a surface, *polish* a goal."""
    return bool(line.ids(match, "finish", own=True)) - bool(line.ids(match, "surface", own=True))


def _of_my_piece(line: Line, roles: Roles) -> None:
    """What describes the maker's own piece is how it is now, where nothing is wished in its sentence: *my ground face has rings in it*."""
    for match in list(roles.undecided):
        first, last = line.sentence(match.first)
        wished = line.cue_between(first, last, "cue-wish") or line.between(first, match.first, line.is_goal)
        mine = match.first > first and not line.tokens[match.first].gap and line.tokens[match.first - 1].key in _MINE
        if mine and attributive(line, match) and not wished:
            roles.undecided.remove(match)
            roles.surfaces.append(match)
    roles.surfaces.sort(key=_place)


def _drop_what_is_refused(line: Line, states: list[Match], roles: Roles) -> None:
    """A goal that is refused further on is none: *I said satin. Forget satin, polish*."""
    refused = [match for match in states if line.ids(match, "finish") and line.negated(match)]
    for held in (roles.goals, roles.undecided, roles.surfaces):
        held[:] = [match for match in held if not any(_same_word(line, match, other) and match.first < other.first for other in refused)]


def _same_word(line: Line, match: Match, other: Match) -> bool:
    return line.words(match.first, match.last).casefold() == line.words(other.first, other.last).casefold()


def _one_phrase(line: Line, states: list[Match], roles: Roles) -> None:
    """Two words side by side that agree on a finish are one: *silky matt* does not say that it is silky now."""
    for before, after in pairwise(states):
        agree = set(line.ids(before, "finish")) & set(line.ids(after, "finish"))
        if before.last != after.first or line.tokens[after.first].gap or not agree or after not in roles.goals:
            continue
        for held in (roles.surfaces, roles.undecided):
            if before in held:
                held.remove(before)
                roles.goals.append(before)
    roles.goals.sort(key=_place)


def _share_roles(line: Line, states: list[Match], roles: Roles) -> None:
    """Two words joined by *or*, or the second taken for the first, play one role: *satin or polish*; *polish, no wait, satin*."""
    for before, after in pairwise(states):
        corrected = line.corrects(before.last, after.first)
        if not (line.cue_between(before.last, after.first, "cue-or") or corrected):
            continue
        for match, other in ((before, after), (after, before)):
            for role, kind, against in ((roles.goals, "finish", roles.surfaces), (roles.surfaces, "surface", roles.goals)):
                opposite = "surface" if kind == "finish" else "finish"
                # What takes the place of a word takes its role: "I want it polished, or rather just pre-polished".
                instead = corrected and match is after
                only_way = match in against and line.ids(match, kind) and (instead or not line.ids(other, opposite))
                if other in role and (match in roles.undecided or only_way):
                    (roles.undecided if match in roles.undecided else against).remove(match)
                    role.append(match)
                    role.sort(key=_place)


def _drop_what_the_goal_leaves(line: Line, roles: Roles, scores: dict[int, int]) -> None:
    """*A frost, sandblasted in the cabinet* says one thing twice: the state that the goal leaves is not there yet."""
    vocabulary = line.lexicon.vocabulary
    asked_for = [match for match in roles.goals if scores[match.first] > 0] or roles.goals
    left = {surface for match in asked_for for goal in line.ids(match, "finish") for surface in vocabulary.related(goal, "leavesSurface")}
    roles.surfaces = [match for match in roles.surfaces if scores[match.first] < 0 or not left.issuperset(line.ids(match, "surface"))]


def _sides(line: Line, states: list[Match], roles: Roles) -> None:
    """*Polished on one side, sawn on the other*: what stands on a side is there now, where the goal is told by another word."""
    for match in states:
        beside = line.cue_between(
            max(match.first - _SIDE_BEFORE, 0), min(match.last + _SIDE_AFTER, len(line.tokens)), "cue-one-side", "cue-other-side"
        )
        others = [goal for goal in roles.goals if goal is not match]
        if not (beside and others and line.ids(match, "surface") and any(state in roles.surfaces for state in states)):
            continue
        for held in (roles.goals, roles.undecided):
            if match in held:
                held.remove(match)
                roles.surfaces.append(match)
    roles.surfaces.sort(key=_place)


def _place(match: Match) -> int:
    return match.first


def _settle_goals(line: Line, roles: Roles, scores: dict[int, int]) -> None:
    """*Want the ground face polished* has one goal; what describes a noun beside another goal is its state."""
    ends = {match.first: line.ids(match, "finish") for match in roles.goals}
    for match in list(roles.goals):
        if is_told_as_done(line, match) and not line.ids(match, "surface"):
            roles.goals.remove(match)
            continue
        others = [other for other in roles.goals if ends[other.first] != ends[match.first]]
        if not others:
            continue
        if line.ids(match, "surface") and attributive(line, match) and any(_leaves_it_behind(line, match, other) for other in others):
            roles.goals.remove(match)
            roles.surfaces.append(match)
        elif not line.ids(match, "surface") and scores[match.first] <= -_STRONG and not _only(line, match):
            roles.goals.remove(match)
            roles.now.append(match)
    roles.surfaces.sort(key=_place)


def _turned_into(line: Line, roles: Roles, scores: dict[int, int]) -> None:
    """*Turn a polished vase satin*: what describes the body is how it is now, and the state behind it how it should end."""
    for goal in [match for match in roles.goals if line.ids(match, "surface") and attributive(line, match)]:
        _, last = line.sentence(goal.first)
        behind = (match for match in roles.surfaces if goal.last < match.first < last and line.ids(match, "finish") and not attributive(line, match))
        end = next((match for match in behind if scores[match.first] >= 0 and match.first not in roles.graded), None)
        if end is not None and roles.goals == [goal]:
            roles.goals[:] = [end]
            roles.surfaces = sorted([*(match for match in roles.surfaces if match is not end), goal], key=_place)


def _only(line: Line, match: Match) -> bool:
    """Whether *only* stands right before a word for a finish, which bounds what is wanted: *no, only a fine grind*."""
    return any(line.cue_at(at, "cue-only") for at, _ in line.before(match.first, 2))


def _not_yet(line: Line, roles: Roles, scores: dict[int, int]) -> None:
    """Without any goal, *ground F60; now satin* asks for satin, and *want a fire-polished look* tells no present surface."""
    if roles.goals:
        return
    vocabulary = line.lexicon.vocabulary
    for match in list(roles.surfaces):
        ids = line.ids(match, "surface")
        before = line.owner[match.first - 1] if match.first else None
        opens = before is not None and before.is_cue("cue-then") and line.tokens[before.first].gap > 0
        if line.ids(match, "finish") and opens and match.first not in roles.graded and any(other.first < match.first for other in roles.surfaces):
            roles.surfaces.remove(match)
            roles.undecided.append(match)
            continue
        asked = not line.ids(match, "finish") and scores[match.first] >= _STRONG
        if asked and (all(vocabulary.holds(each, "isSound") for each in ids) or follows_its_noun(line, match)):
            roles.surfaces.remove(match)
            roles.wanted.append(match)


def _leaves_it_behind(line: Line, match: Match, goal: Match) -> bool:
    """Whether what describes a noun is only worked on: *want the ground face polished*, *to polish a pre-polished face*."""
    if goal.first > match.first:
        return True
    return bool(line.ids(match, "surface", own=True)) and not line.between(
        goal.last, match.first, lambda at: line.cue_at(at, "cue-goal") or line.tokens[at].gap > 1
    )


def _fill(line: Line, states: list[Match], roles: Roles, waiting_for: tuple[str, ...]) -> None:
    """What could be either goes where something is missing, if only one is."""
    for match in list(roles.undecided):
        if match not in roles.undecided:
            continue
        goal_open, surface_open = not roles.goals, not roles.surfaces
        if goal_open and surface_open:
            goal_open, surface_open = "finish" in waiting_for, "surface" in waiting_for
        if goal_open != surface_open:
            (roles.goals if goal_open else roles.surfaces).append(match)
            roles.undecided.remove(match)
            _share_roles(line, states, roles)
        elif not goal_open and roles.surfaces and roles.goals:
            roles.undecided.remove(match)
            if roles.goals[-1].first < match.first and line.cue_between(roles.goals[-1].last, match.first, "cue-then"):
                roles.goals.append(match)  # "grind, then satin"


def _describe(line: Line, match: Match) -> None:
    """Mark the tools that made a surface: *corundum-belt ground*, *ground with F400 by hand*."""
    for index, _ in line.before(match.first, 2):
        owner = line.owner[index]
        if line.tokens[index + 1].gap or owner is None or not line.ids(owner, *TOOLS):
            break
        line.described.update(range(owner.first, owner.last))
    for index, _ in line.after(match.last, GRADE_AFTER):
        owner = line.owner[index]
        if owner is None and index not in line.grades and index not in line.bare:
            break
        if owner and not owner.is_cue("cue-link", "cue-stop", "cue-object") and not line.ids(owner, "form", *TOOLS):
            break
        if owner and owner.is_cue("cue-have", "cue-only", "cue-plan", "cue-ask-plan", "cue-without"):
            break
        if owner and line.ids(owner, *TOOLS):
            line.described.update(range(owner.first, owner.last))
