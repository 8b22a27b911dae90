"""What the nearest cue says of a tool: at hand, missing, planned, or used before."""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.meant import asked_after
from finishing_kg.chat.reading import TOOLS

_REACH = 10
_CLAUSE = 2  # a gap this wide ends a clause
_LACK = frozenset({"don't", "dont", "haven't", "havent", "do", "have"})
_HEAD_WITHIN = 3  # words that may stand before the head of a list: "loaded with gear:"
_REFUSED_WITHIN = 4
_HERE, _OUT = "here", "out"
_NAMED = ""  # *on the lathe*, *on my plate*: where no work is spoken of, they may as well tell what was done, or what the piece is
_GROUND = "ground"  # the past of the deed that is told most
_TAG_WITHIN = 6  # words of a question that only asks what is thought of a plan
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
NOT_BETWEEN = tuple(_ROLES)
"""Cues that begin a breath of their own between two tools."""
# What these govern is said in one breath: "no machine, just paper" does not lack the paper.
_ONE_BREATH = frozenset({"without", "past", "later"})
# These are also said of other things than tools.
_OFTEN_IDLE = frozenset({"cue-header", "cue-have", "cue-place"})
_AFTER = {
    "cue-only-after": "only",
    "cue-have-after": "has",
    "cue-without-after": "without",
    "cue-gone": "without",
    "cue-plan-after": "planned",
    "cue-past-after": "past",
}


def governing(line: Line, match: Match) -> str:
    """The role that the nearest cue gives a tool; empty if there is none."""
    before = "only" if _is_what_is_left(line, match) else _role_before(line, match)
    # "No felt in the workshop", "only tin oxide allowed": what is barred and all that there is says more than what follows.
    after = role_after(line, match)
    if after == "has" and asked_after(line, match):
        return before  # "old garnet in the drawer, any use?"
    if after == "has" and before in ("planned", "past") and (line.asks(line.sentence(match.first)[1]) or before == "past"):
        return before  # "can I use felt here?"; "polished with cerium here"
    return before if before == "without" or (before == "only" and after in ("planned", "has")) else after or before


def role_after(line: Line, match: Match) -> str:
    comma = False
    for index, _ in line.after(match.last, 3, widest_gap=1):
        owner = line.owner[index]
        comma = comma or bool(line.tokens[index].gap)
        for cue, role in _AFTER.items():
            # "Cork only." and "a plate, nothing else" close a list; "cerium only rubs" does not.
            if cue == "cue-gone" and not line.closes(index):
                continue  # "the disc's gone shiny"
            ends = owner is not None and _ends(line, owner.last)
            if owner and owner.is_cue(cue) and (ends if role == "only" else not comma):
                # "I blast awards in my garage": the place is that of another thing.
                if role == "has" and line.tokens[index].key == _HERE and index > match.last:
                    continue  # "sand costs nothing here"
                if role == "has" and line.negated(match):
                    continue  # "not with pumice here"
                if role == "has" and line.between(match.last, owner.first, lambda at: _names_another(line, at)):
                    continue
                return "only" if role == "has" and _is_all_there_is(line, owner.last) else role
        if owner and not comma and owner.first == index and _ends(line, owner.last):
            if owner.is_cue("cue-have") and not owner.is_cue("cue-own-means"):
                return "has"  # "beads I have, garnet I don't"
            if owner.is_cue("cue-not") and line.tokens[index].key in _LACK and line.cue_at(index - 1, "cue-first-person"):
                return "without"
        if owner and line.ids(owner, *TOOLS):
            break
    return ""


def _is_all_there_is(line: Line, last: int) -> bool:
    """Whether *nothing else* ends the sentence right behind: *garnet here, nothing else*."""
    cue = line.owner[last] if last < len(line.tokens) else None
    return cue is not None and cue.is_cue("cue-only-after") and not cue.is_cue("cue-only") and _ends(line, cue.last)


def _names_another(line: Line, at: int) -> bool:
    """Whether a word behind a tool is that of another thing, of which goes what follows: *I blast awards in my garage*."""
    owner = line.owner[at]
    return owner.is_cue("cue-object") if owner is not None else at not in line.grades and at not in line.bare


def _is_idle(line: Line, match: Match, cue: str) -> bool:
    """Whether a cue governs no tool: *cerium I have, felt I don't*; *a lap at 250 rpm*; *my teacher tells me pumice*."""
    if cue == "cue-header":
        return not _heads_a_list(line, match)
    if match.last >= len(line.tokens) or (cue == "cue-have" and line.cue_at(match.last, "cue-others")):
        return True
    behind = match.last + 1
    measured = match.last in line.measures and line.ends_at(behind)
    return line.tokens[match.last].gap == 1 or measured


def _heads_what_lacks(line: Line, cue: Match) -> bool:
    """Whether a word opens a list of what is not there: *haven't: cerium, tripoli*."""
    return line.tokens[cue.last].gap == _CLAUSE and cue.first == line.sentence(cue.first)[0]


def _heads_a_list(line: Line, cue: Match) -> bool:
    """Whether a word opens a list by a colon: *bench: plate, loose carbide*."""
    return cue.last < len(line.tokens) and line.tokens[cue.last].gap == _CLAUSE and cue.first - line.sentence(cue.first)[0] <= _HEAD_WITHIN


def _ends(line: Line, last: int) -> bool:
    """Whether a clause ends here, but for little words: *is all I have here*."""
    before = line.owner[last - 1]
    if before and before.last - before.first > _WORK_WITHIN and last < len(line.tokens) and line.cue_at(last, "cue-for"):
        return True  # "is the one grain I have for the cabinet"
    while last < len(line.tokens) and not line.tokens[last].gap and line.cue_at(last, "cue-here"):
        last += 1
    return line.ends_at(last)


def _role_before(line: Line, match: Match) -> str:
    comma = False
    for index, _ in line.before(match.first, _REACH):
        owner = line.owner[index]
        comma = comma or bool(line.tokens[index + 1].gap)
        if owner is None:
            continue
        if owner.is_cue("cue-without") and line.tokens[owner.first].key == _OUT and not _has_run_out(line, owner):
            continue  # "with grit out of a nozzle"
        # "Skip the pumice and go straight to cerium": the goal word ends what is skipped.
        comma = comma or owner.is_cue("cue-goal")
        for cue, role in _ROLES.items():
            if cue in _OFTEN_IDLE and _is_idle(line, owner, cue):
                continue
            if owner.is_cue(cue) and not (comma and role in _ONE_BREATH and not (role == "without" and _heads_what_lacks(line, owner))):
                if role == "planned" and owner.is_cue("cue-plan", "cue-means") and _is_refused(line, owner.first):
                    return "without"
                if role == "without" and _is_excepted(line, owner.last, match.first):
                    return "only"
                if cue in ("cue-place", "cue-means", "cue-made") or owner.is_cue("cue-own-means"):
                    return _by_its_clause(line, owner, cue, role)
                return role
    return ""


def _has_run_out(line: Line, cue: Match) -> bool:
    """Whether *out of* tells what is used up: *out of cerium*; *we are out of felt*."""
    first, _ = line.sentence(cue.first)
    return cue.first == first or line.cue_at(cue.first - 1, "cue-being", "cue-first-person", "cue-and")


def _by_its_clause(line: Line, owner: Match, cue: str, role: str) -> str:
    """What a word that only sets a tool beside something says of it, which hangs on the clause that it stands in."""
    planned = _planned_beside(line, owner) if cue == "cue-place" else None
    told = planned if planned is not None else _in_its_clause(line, owner, role)
    if told != "has":
        return told
    if cue == "cue-place" and _is_a_place_of_a_plan(line, owner):
        return "planned"
    return told if _works_before(line, owner.first) else _NAMED


def _is_what_is_left(line: Line, match: Match) -> bool:
    """Whether a tool is what is left where the clause before tells of a lack: *no fancy kit, just paper*."""
    for index, _ in line.before(match.first, _REACH):
        if line.says(index, "cue-just"):
            first, _ = line.sentence(index)
            begins = next((at for at in range(index - 1, first, -1) if line.tokens[at].gap), first)
            return begins < index and line.tokens[index].gap > 0 and line.cue_at(begins, "cue-without", "cue-not")
        if line.tokens[index].gap or ((owner := line.owner[index]) and line.ids(owner, *TOOLS)):
            return False
    return False


def _is_excepted(line: Line, first: int, last: int) -> bool:
    """Whether a tool is what is left of a lack: *nothing but pumice*; *with no other tools than a lathe*; not *no felt but cork*."""
    for at in range(last - 1, first - 1, -1):
        owner = line.owner[at]
        if line.tokens[at + 1].gap or (owner is not None and line.ids(owner, *TOOLS)):
            return False
        if line.cue_at(at, "cue-save"):
            between = (line.owner[each] for each in range(first, at))
            return not any(each is not None and line.ids(each, *TOOLS) for each in between)
    return False


def _is_refused(line: Line, index: int) -> bool:
    """Whether a plan is turned down before it is named: *don't tell me to use cerium*; a question asks, and refuses nothing."""
    _, last = line.sentence(index)
    near = [at for at, _ in line.before(index, _REFUSED_WITHIN)]
    return not line.asks(last) and any(line.cue_at(at, "cue-not") and not line.cue_at(at, "cue-but") for at in near)


def _in_its_clause(line: Line, cue: Match, role: str) -> str:
    """What *with*, *on* or *with my* means hangs on what is said before it: a plan, a question, or work that is done."""
    first, _ = line.sentence(cue.first)
    unknown = False
    for index in range(cue.last - 1, first - 1, -1):
        if line.cue_at(index, "cue-plan", "cue-ask-plan") and index < cue.first:
            return "own-plan" if cue.is_cue("cue-own-means") else "planned"
        if line.cue_at(index, "cue-made") or (index == first and _begins_with_a_deed(line, first)) or _did_it(line, index):
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


def _planned_beside(line: Line, cue: Match) -> str | None:
    """That a tool is planned because the grain that it carries is: *with cerium on a felt wheel*; ``None`` where no such grain stands before it."""
    before = line.owner[cue.first - 1] if cue.first and not line.tokens[cue.first].gap else None
    if before is None or not line.ids(before, "mineral"):
        return None
    return "planned" if governing(line, before) in ("planned", "own-plan", "") else None


def _is_a_place_of_a_plan(line: Line, cue: Match) -> bool:
    """Whether *on a* names what somebody has in mind and not what stands there: *with cerium on a felt wheel*; *on a plate, would you?*"""
    first, last = line.sentence(cue.first)
    wished = (
        line.says(cue.last - 1, "cue-indefinite")
        and line.cue_between(first, cue.first, "cue-first-person")
        and line.cue_between(first, cue.first, "cue-wish")
    )
    return wished or line.asks(last) or line.cue_between(first, cue.first, "cue-plan", "cue-ask-plan") or _is_put_to_us(line, last)


def _begins_with_a_deed(line: Line, first: int) -> bool:
    """Whether a sentence begins with what somebody did, in the way of notes: *frosted the outside with a blaster*."""
    opens = first + 1 < len(line.tokens) and not line.tokens[first + 1].gap and line.cue_at(first + 1, "cue-article")
    return opens and line.is_past(first)


def _did_it(line: Line, index: int) -> bool:
    """Whether a word tells what the makers themselves have done: *I polished the front with cerium on felt*."""
    owner = line.owner[index]
    past = line.is_past(index) or line.words(index, index + 1).casefold().endswith(_GROUND)
    told = owner is not None and bool(line.ids(owner, "surface", "finish")) and past
    return told and index > 0 and not line.tokens[index].gap and line.says(index - 1, "cue-speaker")


def _is_put_to_us(line: Line, first: int) -> bool:
    """Whether the sentence that begins here only asks what is thought of the one before: *Sensible?*, *Would you?*"""
    if first == len(line.tokens):
        return False
    _, last = line.sentence(first)
    return (
        line.asks(last)
        and last - first <= _TAG_WITHIN
        and not line.between(first, last, lambda at: bool((owner := line.owner[at]) and owner.senses.things))
    )


def _before_a_grade(line: Line, index: int) -> bool:
    """Whether *to* only says how far the work went: *took it to 600 on the lap*."""
    return index + 1 in line.grades or index + 1 in line.bare


def _works_before(line: Line, first: int) -> bool:
    """Whether work is spoken of right before a place: *polish the stopper on*."""
    near = [line.owner[at] for at, _ in line.before(first, _WORK_WITHIN)]
    return any(owner is not None and (line.ids(owner, "surface", "finish") or line.is_goal(owner.first)) for owner in near)


def wanted_there(line: Line, index: int) -> bool:
    """Whether work that a word names is wanted or asked about, and not done: *want to put a facet on*, *should I cut the*."""
    supposed = any(line.says(at, "cue-would") for at, _ in line.before(index, 2))
    return supposed or any(line.cue_at(at, "cue-plan", "cue-ask-plan", "cue-goal", "cue-what-if") for at, _ in line.before(index, 4))
