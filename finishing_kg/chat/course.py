"""What was done to a piece one step after the other, told as a story: the last grade that was worked with left the surface.

*We sawed it, ground the stump with 120, after that 320, and on Thursday we went over it with 600*: only what is told as done
counts, by whomever it was done, and nothing that is asked, wished, lacked, or told of another piece or another time.
"""

from __future__ import annotations

from bisect import bisect_left

from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, GradeWords, Slot
from finishing_kg.chat.roles import Roles
from finishing_kg.chat.sort_grades import Grades, ground_by
from finishing_kg.chat.standing import FINEST

_COARSEST = 16  # a number by itself that something was done with is a grade from here on
_NO_DEED = ("cue-plan", "cue-ask-plan", "cue-wish", "cue-have", "cue-without", "cue-not", "cue-or", "cue-instead", "cue-question")
_LEADS = ("cue-means", "cue-place", "cue-then", "cue-link", "cue-and")


def follow_the_course(line: Line, roles: Roles, slots: dict[str, Slot], grades: Grades) -> None:
    """Where a later grade is told as worked with than the one that was taken, it left the surface, whatever was there before.

    Args:
        line: the turn; the tools that the steps were done with are marked as describing the surface.
        roles: the words for the surface.
        slots: what is known of the piece.
        grades: what was decided of the grades.
    """
    done = _done(line)
    if not done or not _is_later(line, roles, slots, grades, done):
        return
    latest = done[-1]
    told = {words.words for words in (_words(line, at) for at in done)}
    grades.others = [words for words in grades.others if words.words not in told]
    grades.doubts = [doubt for doubt in grades.doubts if not any(f"“{words}”" in doubt.text for words in told)]
    for part in ("goal", "planned"):
        words = getattr(grades, part)
        if words is not None and words.words in told:
            setattr(grades, part, None)
    for at in done:
        line.planned.discard(at)
        line.describe_grade(at)
        first, _ = line.sentence(at)
        line.described.update(
            index for match in line.matches if first <= match.first < at and line.ids(match, *TOOLS) for index in range(match.first, match.last)
        )
    slots.pop("surface", None)
    grades.surface = _words(line, latest)
    ground_by(line, latest, grades.surface, slots)


def _words(line: Line, index: int) -> GradeWords:
    mark = line.grades.get(index) or line.bare[index]
    return GradeWords(mark.words, bare=index in line.bare)


def _done(line: Line) -> list[int]:
    """The grades that are told as worked with, in order."""
    told = [at for at in sorted({*line.grades, *line.bare}) if at not in line.measures and _may_be_a_step(line, at)]
    deeds = [at for at in range(told[-1]) if _is_a_deed(line, at, line.sentence(at)[0])] if told else []
    return [at for at in told if _is_done(line, at, deeds)]


def _may_be_a_step(line: Line, index: int) -> bool:
    """Whether a grade stands where one step of a story would: not in a question, of another time, or behind *after*."""
    first, last = line.sentence(index)
    if line.asks(last) or line.cue_between(first, last, "cue-elsewhere"):
        return False
    if line.cue_at(index - 1, "cue-after") and not line.cue_at(index - 1, "cue-then"):
        return False  # "F600 after F320"; "from 120 to 400"
    return index in line.grades or (_COARSEST <= int(line.bare[index].words) <= FINEST and _leads_to(line, index))


def _is_done(line: Line, index: int, deeds: list[int]) -> bool:
    """Whether the nearest deed before a grade in its sentence was done with it."""
    first, _ = line.sentence(index)
    before = bisect_left(deeds, index)
    deed = deeds[before - 1] if before and deeds[before - 1] >= first else None
    if deed is None or line.cue_between(deed, index, *_NO_DEED) or line.cue_between(first, deed, "cue-plan", "cue-ask-plan", "cue-wish"):
        return False
    return not line.between(deed + 1, index, lambda at: line.is_goal(at) and not line.cue_at(at, "cue-link"))


def _leads_to(line: Line, index: int) -> bool:
    """Whether a number by itself stands where a grade would: behind *with* or *then*, before a tool, or with its place in the order."""
    after = line.owner[index + 1] if index + 1 < len(line.tokens) and not line.tokens[index + 1].gap else None
    if after is not None and (after.is_cue("cue-first", "cue-then") or line.ids(after, "mineral", "hold", "carrier")):
        return True
    counts = index + 1 < len(line.tokens) and not line.tokens[index + 1].gap and (after is None or after.is_cue("cue-object"))
    return not counts and line.cue_at(index - 1, *_LEADS)


def _is_a_deed(line: Line, at: int, first: int) -> bool:
    """Whether a word tells of work that is done: *went over*, *lapped*, *dressed*; not *to be lapped*."""
    owner = line.owner[at]
    if owner is not None and owner.is_cue("cue-made"):
        return True
    past = line.is_past(at) and (owner is None or bool(line.ids(owner, "surface", "finish")))
    if not past and not (owner is not None and line.is_graded(owner)):
        return False
    return not (at > first and line.between(max(at - 2, first), at, lambda each: line.is_goal(each) or line.cue_at(each, "cue-not")))


def _is_later(line: Line, roles: Roles, slots: dict[str, Slot], grades: Grades, done: list[int]) -> bool:
    """Whether the last step comes after all that was taken for the surface."""
    latest = done[-1]
    if grades.surface is not None:
        held = [at for at, mark in {**line.grades, **line.bare}.items() if mark.words == grades.surface.words]
        return bool(held) and max(held) < latest
    if any(match.first > latest for match in roles.surfaces):
        return False
    return "surface" not in slots or len(done) > 1 or any(match.first < line.sentence(latest)[0] for match in roles.surfaces)
