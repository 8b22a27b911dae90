"""Grades that stand apart from a surface word: of the present surface, of the goal, or of the maker's plan."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.aside import outside_asides
from finishing_kg.chat.governing import governing, wanted_there
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, GradeWords, Slot
from finishing_kg.chat.roles import Roles
from finishing_kg.chat.standing import stands_at
from finishing_kg.record import field, record

_GRADE_SLOTS = frozenset({"grade", "surface_grade", "surface"})
_REACH = 10
_DEED_WITHIN = 7  # words between a deed and the grade that it was done with
_COMMA = 1  # a gap wider than this ends a clause
_TRIED = frozenset({"tried", "trying", "try"})
_NO_DEED = ("cue-plan", "cue-ask-plan", "cue-goal", "cue-have", "cue-or")
# What the words around a grade say of it.
_PRESENT, _GOAL, _PLAN, _SHELF, _CORRECTED, _OPEN = "present", "goal", "plan", "shelf", "corrected", "open"


@record()
class Grades:
    """What was decided; ``others`` are grades that nothing is made of."""

    surface: GradeWords | None = None
    goal: GradeWords | None = None
    planned: GradeWords | None = None
    others: list[GradeWords] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    latest: str = ""  # where the grade before went, for one that takes its place


@record(frozen=True)
class _State:
    """What is known around the free grades: whether the surface takes one, and whether one is alone, asked for, or beside other news."""

    slots: dict[str, Slot]
    free: dict[int, GradeWords]
    takes: bool
    asked_for: bool
    asks_the_surface: bool
    said: bool

    @property
    def lone(self) -> bool:
        """Whether there is but one free grade."""
        return len(self.free) == 1


def sort_grades(line: Line, roles: Roles, slots: dict[str, Slot], waiting_for: tuple[str, ...]) -> Grades:
    """Give each grade its role.

    Only a surface that is graded takes a grade. Where no surface was said, a lone grade that is no plan is what the
    surface was ground with; a grade that may be either is asked about.

    Args:
        line: the turn; tools and grades that belong together are marked.
        roles: with the grades that stand by a surface or a goal word.
        slots: what is known of the piece; a surface that only a grade tells is added.
        waiting_for: the slots that the last answer asked for.
    """
    found = Grades()
    takes = "surface" not in slots or any(line.lexicon.vocabulary.holds(each, "isGraded") for each in slots["surface"].ids)
    for words in (roles.graded[match.first] for match in reversed(roles.surfaces) if match.first in roles.graded):
        if takes and found.surface is None:
            found.surface = words
        elif not takes:
            found.others.append(words)
    found.goal = next((roles.graded[match.first] for match in reversed(roles.goals) if match.first in roles.graded), None)
    free = dict(roles.free)
    asked_for = not _GRADE_SLOTS.isdisjoint(waiting_for)
    if asked_for and not free and found.surface is None and len(line.bare) == 1:
        free = {index: GradeWords(mark.words, bare=True) for index, mark in line.bare.items() if index not in line.described}
    elsewhere = any(match.first not in line.aside for match in roles.surfaces)
    elsewhere = elsewhere or any(line.cue_at(index, "cue-sound", "cue-untouched") for index in line.aside)
    own = [index for index in sorted(free) if index not in line.aside] if elsewhere else outside_asides(line, sorted(free), int)
    found.others += [free.pop(index) for index in sorted(free.keys() - set(own))]
    state = _State(slots, free, takes, asked_for, "surface" in waiting_for, bool(slots))
    for index in sorted(free):
        told = _told_of(line, index)
        if found.latest and any(line.sentence(at) == line.sentence(index) and line.corrects(at + 1, index) for at in free if at < index):
            told = _CORRECTED
        if told == _GOAL and _went_as_far(line, index):
            told = _PRESENT
        if told in (_OPEN, _GOAL) and found.surface is not None and _is_a_later_step(line, found, state, index):
            told = _PRESENT
        _give(line, found, state, index, _by_the_rest(line, index, state) if told == _OPEN else told)
    return _left_open(line, found)


def _left_open(line: Line, found: Grades) -> Grades:
    """*F220 or F320*: neither is taken for the surface, and both are put to the maker."""
    marks = sorted({**line.grades, **line.bare}.items())
    for (first, one), (second, other) in pairwise(marks):
        joined = line.cue_between(first + 1, second, "cue-or") and all(line.cue_at(at, "cue-or", "cue-stop") for at in range(first + 1, second))
        if joined and found.surface is not None and found.surface.words in (one.words, other.words):
            found.surface = None
            found.others = [words for words in found.others if words.words not in (one.words, other.words)]
            text = f"“{one.words}” or “{other.words}”: which of the two was the surface ground with? If you do not know, say the coarser one."
            found.doubts = [doubt for doubt in found.doubts if doubt.about != "grade"] + [Doubt("surface_grade", text)]
    return found


def _give(line: Line, found: Grades, state: _State, index: int, role: str) -> None:
    """Put a grade in its place, if that is free; one without a place is asked about, unless it is only on the shelf."""
    words = state.free[index]
    if role == _CORRECTED and found.latest:
        setattr(found, found.latest, words)  # "from F320 - typo, F230"
        line.described.add(index)
        return
    if role == _PRESENT and not state.takes and _outlived(line, index, state):
        state.slots.pop("surface", None)
        ground_by(line, index, words, state.slots)
        found.surface, found.latest = words, "surface"
        line.describe_grade(index)
        return
    if role == _PRESENT and (_is_a_later_step(line, found, state, index) or (not state.takes and _went_as_far(line, index))):
        if found.surface is None:
            state.slots.pop("surface", None)
        ground_by(line, index, words, state.slots)
        found.surface, found.latest = words, "surface"
        line.describe_grade(index)
        return
    if role in (_PRESENT, _CORRECTED) and found.surface is None and (state.takes or role == _CORRECTED):
        if role == _PRESENT and "surface" not in state.slots and (state.asks_the_surface or not state.asked_for):
            ground_by(line, index, words, state.slots)
        found.surface, found.latest = words, "surface"
        line.describe_grade(index)
    elif role == _GOAL and found.goal is None:
        found.goal, found.latest = words, "goal"
        line.described.add(index)
    elif role == _PLAN and found.planned is None:
        found.planned, found.latest = words, "planned"
        line.planned.add(index)
    else:
        found.others.append(words)
        if role not in (_SHELF, _PLAN):
            text = f"“{words.words}”: is that what the surface is ground with now, or what you mean to use? Say which."
            found.doubts.append(Doubt("grade", text))


def _is_a_later_step(line: Line, found: Grades, state: _State, index: int) -> bool:
    """Whether a grade tells of work after what is known of the surface: *sawed it off and went over it with 320 carbide*; *P120, after that P400*."""
    first, _ = line.sentence(index)
    if found.surface is not None:
        marks = {**line.grades, **line.bare}
        held = [at for at in sorted(marks) if first <= at < index and marks[at].words == found.surface.words]
        other = bool(held) and line.between(held[-1] + 1, index, lambda at: line.cue_at(at, *_NO_DEED) and not line.cue_at(at, "cue-link"))
        if held and held[-1] + 2 == index and line.cue_at(index - 1, "cue-and") and line.cue_between(first, held[-1], "cue-made"):
            return True  # "went at it with P80 and P150"
        return bool(held) and not other and line.cue_between(held[-1] + 1, index, "cue-then") and line.cue_at(index - 1, "cue-then", "cue-means")
    if state.takes:
        return False
    words = state.slots["surface"].words if "surface" in state.slots else ""
    told = [match.last for match in line.matches if match.first < index and line.words(match.first, match.last) == words]
    if told and told[-1] < first and not line.cue_between(first, index, "cue-made"):
        return False
    deed = bool(told) and line.cue_between(told[-1], index, "cue-made") and not line.cue_between(told[-1], index, *_NO_DEED)
    deed = deed and not line.between(told[-1], index, lambda at: line.cue_at(at, "cue-after") and not line.cue_at(at, "cue-remove-after"))
    return deed and not any(line.tokens[at].gap > _COMMA for at in range(max(told[-1], first) + 1, index)) and not _is_a_trial(line, first, index)


def _outlived(line: Line, index: int, state: _State) -> bool:
    """Whether a sentence before told of a sound surface, which a grade said of a place as it is now took away: *it was polished. It is at F220*."""
    slot, (first, _) = state.slots.get("surface"), line.sentence(index)
    if slot is None or not all(line.lexicon.vocabulary.holds(each, "isSound") for each in slot.ids):
        return False
    told = [match.first for match in line.matches if match.first < first and line.words(match.first, match.last) == slot.words]
    return bool(told) and (stands_at(line, index) or line.cue_at(index - 1, "cue-present"))


def _went_as_far(line: Line, index: int) -> bool:
    """Whether *to* tells how far past work went: *a student took my rim from sawn to F320*."""
    first, _ = line.sentence(index)
    reached = index > first and line.cue_at(index - 1, "cue-link") and line.is_goal(index - 1)
    return reached and line.cue_between(first, index, "cue-made") and not line.cue_between(first, index, "cue-wish", "cue-plan", "cue-ask-plan")


def _is_a_trial(line: Line, first: int, index: int) -> bool:
    """Whether a deed is told as a trial: what *tried some 80 grit on it* left is not guessed."""
    return any(line.tokens[at].key in _TRIED for at in range(first, index))


def _by_the_rest(line: Line, index: int, state: _State) -> str:
    """What a grade is of that no cue governs."""
    if any(line.cue_at(at, "cue-first") for at, _ in line.after(index + 1, 4)):
        return _PLAN
    if state.asked_for:
        return _PRESENT
    first, _ = line.sentence(index)
    if line.cue_between(first, index, "cue-bench", "cue-only"):
        return _SHELF
    if _of_an_unknown_deed(line, index):
        return _OPEN
    return _by_the_surface(line, index, state)


def _by_the_surface(line: Line, index: int, state: _State) -> str:
    """What a grade is of where only the surface and the tools beside it can tell."""
    if not state.takes:
        return _PLAN if _work_is_spoken_of(line, index) else _OPEN
    beside = bool(line.tools_beside(index))
    if not state.lone or ("surface" in state.slots and beside):
        return _OPEN
    if beside and line.cue_at(index - 1, "cue-means") and line.cue_between(*line.sentence(index), "cue-would") and _work_is_spoken_of(line, index):
        return _PLAN  # "I'd blast them with 80 grit carbide"
    if "surface" in state.slots or state.said:
        return _PRESENT
    return _PLAN if beside else _OPEN


def _work_is_spoken_of(line: Line, index: int) -> bool:
    """Whether the sentence of a grade asks, or says how it should end; else it may only tell what lies about."""
    first, last = line.sentence(index)
    told = any((owner := line.owner[at]) and line.ids(owner, "finish") for at in range(first, last))
    return told or line.asks(last) or line.cue_at(first, "cue-question")


def _of_an_unknown_deed(line: Line, index: int) -> bool:
    """Whether *with* alone ties a grade to a word that is not known: what *doozled with 80 grit* left is not guessed."""
    if not any(line.cue_at(at, "cue-means") for at, _ in line.before(index, 2)):
        return False
    near = [line.owner[at] for at, _ in line.before(index, _DEED_WITHIN)]
    return None in near and not any(owner and (line.ids(owner, "surface", "finish") or owner.is_cue("cue-made", "cue-plan")) for owner in near)


def _told_of(line: Line, index: int) -> str:
    if stands_at(line, index):
        return _PRESENT
    for at, _ in line.before(index, _REACH):
        owner = line.owner[at]
        role = _told_by(line, owner, index) if owner else ""
        if role:
            return role
    return _OPEN


def _told_by(line: Line, cue: Match, index: int) -> str:
    """What one cue before a grade says of it; empty if nothing."""
    planned = cue.is_cue("cue-plan", "cue-ask-plan") or (cue.is_cue("cue-own-means") and _planned_before(line, cue.first))
    present = cue.is_cue("cue-present", "cue-after") and not cue.is_cue("cue-means")
    first, last = line.sentence(index)
    roles = (
        (_SHELF, cue.is_cue("cue-not", "cue-instead") and cue.last == index and not line.taken_back(cue.first, index)),
        (_CORRECTED, line.taken_back(cue.first, index) and cue.last == index),
        (_PLAN, planned),
        (_SHELF, cue.is_cue("cue-bench", "cue-have", "cue-only", "cue-without") and not cue.is_cue("cue-present-after")),
        (_PLAN, cue.is_cue("cue-made", "cue-off") and wanted_there(line, cue.first)),
        (_PRESENT, cue.is_cue("cue-made", "cue-off")),
        # "Is F400 fine enough?" asks; "it is F400" tells.
        (_PLAN, present and cue.first == first and (line.asks(last) or cue.is_cue("cue-question"))),
        (_PRESENT, present),
        (_PLAN, cue.is_cue("cue-goal") and not cue.is_cue("cue-means") and bool(line.tools_beside(index))),
        (_PLAN, cue.is_cue("cue-goal") and _from_a_grade(line, cue.first) and _planned_before(line, cue.first)),
        (_GOAL, cue.is_cue("cue-goal") and not cue.is_cue("cue-means")),
    )
    return next((role for role, holds in roles if holds), "")


def _from_a_grade(line: Line, index: int) -> bool:
    """Whether a grade stands right before: *from F220 straight to F600* are two steps that follow each other."""
    return any(at in line.grades or at in line.bare for at, _ in line.before(index, 2))


def _planned_before(line: Line, index: int) -> bool:
    first, _ = line.sentence(index)
    return line.cue_between(first, index, "cue-plan", "cue-ask-plan")


def ground_by(line: Line, index: int, grade: GradeWords, slots: dict[str, Slot]) -> None:
    """A surface left by a grade is a ground one; the tool beside the grade may tell more: *off the P400 belt*."""
    if "surface" in slots:
        return
    beside = line.tools_beside(index)
    told = [ids for match in beside if (ids := left_by(line, match))]
    graded = [ids for ids in told if all(line.lexicon.vocabulary.holds(each, "isGraded") for each in ids)]
    if graded:
        slots["surface"] = Slot(graded[0], grade.words)
        return
    open_still = (grade.words[:1] in "pP" and not beside) or (not beside and _off_an_unknown(line, index))
    words = ("ground", "belt ground") if open_still else ("ground",)
    senses = [found for each in words if (found := line.lexicon.find(each))]
    ids = tuple(dict.fromkeys(each for found in senses for each in found.things if _is_surface(line, each)))
    if ids:
        slots["surface"] = Slot(ids, grade.words)


def _off_an_unknown(line: Line, index: int) -> bool:
    """Whether a grade stands in one breath with a tool that is not known: *off the linishing thing, 120*; *off the 120 zizzer*."""
    before = [at for at, _ in line.before(index, 4)]
    near = [*before, *(at for at, _ in line.after(index + 1, 1))]
    unknown = any(line.is_unknown(at) for at in near)
    return unknown and any(line.cue_at(at, "cue-off") for at in before)


def left_by(line: Line, match: Match) -> tuple[str, ...]:
    """The surface that a tool leaves, where the ontology has words for it: *off the saw*, *off the belt*."""
    names = line.lexicon.vocabulary.names
    keys = [token.key for token in line.tokens[match.first : match.last]]
    if match.corrected:
        keys = [word for each in match.senses.own for word in names[each].label.split()]
    for key in reversed(keys):
        senses = line.lexicon.find(f"off the {key}")
        ids = tuple(each for each in senses.things if _is_surface(line, each)) if senses else ()
        if ids:
            return ids
    return ()


def left_by_tools(line: Line, skipped: set[int]) -> Slot | None:
    """The present surface that only the tool tells which left it: *it comes off the diamond saw*."""
    for match in line.matches:
        if match.first in skipped or match.torn or not line.ids(match, *TOOLS) or governing(line, match) != "past":
            continue
        near = [line.owner[index] for index, _ in line.before(match.first, 5)]
        if not any(owner and line.ids(owner, "form") for owner in near):
            near = near[:4]
        ids = left_by(line, match)
        if ids and any(owner is not None and owner.is_cue("cue-off", "cue-made") for owner in near):
            line.described.update(range(match.first, match.last))
            return Slot(ids, line.words(match.first, match.last))
    return None


def made_on(line: Line, slot: Slot, surfaces: list[Match]) -> Slot:
    """*Ground on the belt* is belt-ground where the ontology knows that word: the tool's word goes before the surface's."""
    for match in surfaces:
        if set(line.ids(match, "surface")) != set(slot.ids):
            continue
        for tool in line.matches:
            if tool.first not in line.described or not line.ids(tool, "carrier", "machine"):
                continue
            for token in line.tokens[tool.first : tool.last]:
                senses = line.lexicon.find(f"{token.key} {line.words(match.first, match.last)}")
                ids = tuple(each for each in senses.things if _is_surface(line, each)) if senses else ()
                if not ids and line.cue_between(match.last, tool.first, "cue-off"):
                    ids = left_by(line, tool)
                if ids:
                    return Slot(ids, line.words(min(match.first, tool.first), max(match.last, tool.last)), slot.corrected)
    return slot


def _is_surface(line: Line, thing: str) -> bool:
    return line.lexicon.vocabulary.names[thing].kind == "surface"
