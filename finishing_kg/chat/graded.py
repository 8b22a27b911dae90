"""Which surface a grade belongs to: *ground with F220*, *belt ground ... P400*, *F400 ground*."""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import GradeWords
from finishing_kg.chat.standing import stands_at

# How many words a grade may stand after its surface word, or before it.
GRADE_AFTER, _GRADE_BEFORE = 9, 2
# In "F120, F220 and finally F400" the last one left the surface.
_NEXT_GRADE = 4
# Below this a number before several tools counts them.
_LEAST_GRADE = 50
_DONE_WITHIN = 7  # words between a deed and how far it went


def attach_grades(line: Line, states: list[Match]) -> tuple[dict[int, GradeWords], dict[int, GradeWords]]:
    """Give each grade to the surface word that it belongs to.

    Args:
        line: the turn; grades that were given away are marked as describing the surface.
        states: the surface and finish words, in order.

    Returns:
        By the first token of a surface word its grade; by token index the grades that belong to none.
    """
    given: dict[int, GradeWords] = {}
    free: dict[int, GradeWords] = {}
    graded = [match for match in states if line.is_graded(match)]
    latest: tuple[int, Match] | None = None
    alone = -1  # the free grade before
    for index in sorted(line.grades.keys() | line.bare.keys()):
        owner = _graded_by(line, graded, index)
        if _is_denied(line, index):
            owner = None
        elif owner is not None and index in line.bare and _counts_something(line, index):
            continue
        elif owner is None and latest and (_goes_on(line, latest[0], index) or _put_right(line, latest[0], index)):
            owner = latest[1]
        mark = line.grades.get(index) or line.bare[index]
        words = GradeWords(mark.words, bare=index in line.bare)
        if owner is not None:
            given[owner.first] = words
            line.describe_grade(index)
            latest = (index, owner)
        elif (
            index in line.grades
            or _before_a_tool(line, index)
            or _how_far_it_went(line, index)
            or _next_step(line, alone, index)
            or stands_at(line, index)
            or _rights_a_number(line, alone, index)
        ):
            if index in line.grades and alone in free and line.sentence(alone) != line.sentence(index) and _rights_a_grade(line, alone, index):
                del free[alone]  # "it is at 220. Wait, it was F320"
            free[index] = words
            alone = index
    return given, free


def _is_denied(line: Line, index: int) -> bool:
    """Whether a *not* governs a grade: *ground P150 (not P120)*; after *no,* that stands by itself comes the right one."""
    return index > 0 and not line.tokens[index].gap and line.cue_at(index - 1, "cue-not", "cue-instead")


def _counts_something(line: Line, index: int) -> bool:
    """Whether a bare number stands before a word that is not known, which it counts or measures: *20 micorn*, *12 strokes*."""
    after = index + 1
    return after < len(line.tokens) and not line.tokens[after].gap and line.is_unknown(after)


def _goes_on(line: Line, before: int, index: int) -> bool:
    """Whether a grade goes on a list of grades: *F120, F220 and finally F400*."""
    if line.cue_between(before + 1, index, "cue-after"):
        return False  # "9 µm after F600"
    return index - before <= _NEXT_GRADE and all(_passes(line, at) for at in range(before, index + 1))


def _next_step(line: Line, before: int, index: int) -> bool:
    """Whether a bare number is the next of several steps told in order: *took a 60 belt to it, then 120, then 400*."""
    if before < 0 or int(line.bare[index].words) < _LEAST_GRADE or line.sentence(before) != line.sentence(index):
        return False
    wanted = line.between(before + 1, index - 1, lambda at: line.cue_at(at, "cue-goal") and not line.cue_at(at, "cue-link"))
    return line.cue_at(index - 1, "cue-then") and not wanted


def _put_right(line: Line, before: int, index: int) -> bool:
    """Whether a grade that stands by itself takes the place of one before it: *F220, wait, I've looked at the jar: F320*."""
    return line.tokens[index].gap > 0 and _follows_up(line, before, index)


def _rights_a_number(line: Line, before: int, index: int) -> bool:
    """Whether a bare number takes the place of a grade before it: *edge at 220, wait, it's 320*."""
    return (
        before >= 0
        and int(line.bare[index].words) >= _LEAST_GRADE
        and line.cue_at(index - 1, "cue-present", "cue-correction")
        and _follows_up(line, before, index)
    )


def _rights_a_grade(line: Line, before: int, index: int) -> bool:
    """Whether a grade takes the place of one before it: *at 220. Wait, I checked the tin, it was F320*."""
    return line.cue_at(index - 1, "cue-present", "cue-correction") and _follows_up(line, before, index)


def _follows_up(line: Line, before: int, index: int) -> bool:
    """Whether what is taken back before a grade is the grade before it, in the same sentence or the one that it begins anew: *F120. Oops: F220*."""
    first, _ = line.sentence(index)
    near = line.sentence(before) == line.sentence(index) or (
        first > 0 and line.cue_at(first, "cue-correction") and line.sentence(before) == line.sentence(first - 1)
    )
    return near and line.corrects(before + 1, index)


def _before_a_tool(line: Line, index: int) -> bool:
    """Whether a bare number stands right before what it grades: *a 120 stone*, *a 600 plated disc*; *24 felt pads* are counted."""
    after = line.owner[index + 1] if index + 1 < len(line.tokens) and not line.tokens[index + 1].gap else None
    if after is None or not (line.ids(after, "mineral", "hold", "carrier") or after.is_cue("measure-wheelDiameter")):
        return False
    last = after.last
    while last < len(line.tokens) and not line.tokens[last].gap and line.owner[last] and line.ids(line.owner[last], "mineral", "hold", "carrier"):  # type: ignore[arg-type]
        last += 1
    return not (line.tokens[last - 1].plural and int(line.bare[index].words) < _LEAST_GRADE)


def _how_far_it_went(line: Line, index: int) -> bool:
    """Whether a bare number ends work that was done: *took it to 600*, *has been brought down to 320*."""
    if int(line.bare[index].words) < _LEAST_GRADE or not index or line.tokens[index].gap or not line.cue_at(index - 1, "cue-link"):
        return False
    return any(line.cue_at(at, "cue-made") for at, _ in line.before(index, _DONE_WITHIN))


def _graded_by(line: Line, graded: list[Match], index: int) -> Match | None:
    for match in reversed(graded):
        if (
            match.last <= index <= match.last + GRADE_AFTER
            and line.tokens[index].gap < 2
            and all(_passes(line, at) for at in range(match.last, index))
        ):
            return match
        if index < match.first <= index + _GRADE_BEFORE and not line.between(index + 1, match.first + 1, lambda at: bool(line.tokens[at].gap)):
            return match
    return None


def _passes(line: Line, index: int) -> bool:
    """Whether a grade further on still belongs to the surface word before this token."""
    if line.tokens[index].gap >= 2:
        return False
    if index in line.grades or index in line.bare:
        return True
    owner = line.owner[index]
    if owner is None or owner.is_cue("cue-link"):
        return True
    if owner.is_cue("cue-goal", "cue-have", "cue-only", "cue-plan", "cue-ask-plan", "cue-without"):
        return False
    return not line.ids(owner, "surface", "finish")
