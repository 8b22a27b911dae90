"""Where two things told compete for one part of the piece and nothing tells which is meant, the part is left open and asked about."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import Doubt, Slot
from finishing_kg.chat.roles import Roles, role_score
from finishing_kg.chat.sort_grades import Grades
from finishing_kg.chat.standing import COARSEST, FINEST, stands_at

_WISH_WITHIN = 6  # words between a wish and what is wished for
_POINTED, _NO_LOOK = frozenset({"it", "them", "this", "these", "be"}), frozenset({"by", "for", "before", "in", "at", "on", "with"})
_NOT = "not"  # *isn't a ball any more* still tells of a ball


def leave_open(line: Line, roles: Roles, slots: dict[str, Slot], grades: Grades, forms: Sequence[Match]) -> list[Doubt]:
    """Take back what another word of the turn speaks against.

    Args:
        line: the turn.
        roles: the words for the surface.
        slots: what is known of the piece; what is in doubt is taken out.
        grades: what was decided of the grades; a grade that another one competes with is taken out.
        forms: the places that are told of the piece, whichever was chosen.
    """
    unknown = _of_an_unknown_wish(line, roles, slots)
    unknown += [*_of_a_correction(line, roles, slots), *_of_two_ends(line, roles, slots)]
    return [*unknown, *_of_two_places(line, roles, slots, forms), *_of_a_grade_there(line, slots, grades), *_of_two_grades(line, grades)]


def _of_a_correction(line: Line, roles: Roles, slots: dict[str, Slot]) -> list[Doubt]:
    """A part taken from before a correction, where another of its kind stands behind it, is open: *the outside, oh no, I mean the inside*."""
    doubts = []
    for kind, slot in list(slots.items()):
        every = roles.surfaces if kind == "surface" else roles.goals if kind == "finish" else line.matches
        named = [match for match in every if line.ids(match, kind) and not match.torn and not line.negated(match)]
        taken = [match for match in named if set(line.ids(match, kind)) & set(slot.ids)]
        others = (match for match in named if taken and match.first >= taken[-1].last and line.taken_back(taken[-1].last, match.first))
        other = next(others, None)
        if other is not None:
            del slots[kind]
            words = line.words(other.first, other.last)
            text = f"“{slot.words}” or “{words}”: you corrected yourself, and I am not sure which of the two is meant. Which is it?"
            doubts.append(Doubt(kind, text, tuple(dict.fromkeys((*slot.ids, *line.ids(other, kind))))))
    return doubts


def _of_two_ends(line: Line, roles: Roles, slots: dict[str, Slot]) -> list[Doubt]:
    """Two finishes side by side that are not the same leave it open: *to a fine grey matt*."""
    for before, after in pairwise(match for match in roles.goals if not match.is_cue("cue-weak")):
        one, other = line.ids(before, "finish"), line.ids(after, "finish")
        if "finish" in slots and before.last == after.first and not line.tokens[after.first].gap and not set(one) & set(other):
            del slots["finish"]
            words = line.words(before.first, after.last)
            return [Doubt("finish", f"“{words}” names two finishes. Which of them should it end as?", (*one, *other))]
    return []


def _of_an_unknown_wish(line: Line, roles: Roles, slots: dict[str, Slot]) -> list[Doubt]:
    """Where what is wished for is told in a word that is not known, no weaker word elsewhere is taken for it: *I want it glimmery*."""
    finish = slots.get("finish")
    if finish is None:
        return []
    told = [match for match in roles.goals if set(line.ids(match, "finish")) & set(finish.ids)]
    if any(role_score(line, match) > 0 for match in told):
        return []
    for at in line.places.get("cue-wish", ()):
        first, last = line.sentence(at)
        if not line.between(first, last, lambda each: bool((owner := line.owner[each]) and line.ids(owner, "finish"))):
            word = _wished_for(line, at, last)
            if word is not None:
                del slots["finish"]
                words = line.words(word, word + 1)
                return [Doubt("finish", f"“{words}” sounds like what is wanted, and no finish that I know goes by that word. How should it end?")]
    return []


def _wished_for(line: Line, wish: int, last: int) -> int | None:
    """The unknown word that ends the clause of a wish, with only *it*, little words or the place between: *wants the rim glimmery*."""
    pointed = False
    for at in range(wish + 1, min(wish + 1 + _WISH_WITHIN, last)):
        if line.tokens[at].gap or line.tokens[at].key in _NO_LOOK:
            return None
        owner = line.owner[at]
        if line.is_unknown(at):
            closes = at + 1 == last or line.tokens[at + 1].gap > 0
            return at if closes and pointed else None
        pointed = pointed or line.tokens[at].key in _POINTED or (owner is not None and (owner.is_cue("cue-object") or bool(line.ids(owner, "form"))))
    return None


def _of_two_places(line: Line, roles: Roles, slots: dict[str, Slot], forms: Sequence[Match]) -> list[Doubt]:
    """The state that was taken is told of another place than the one that was taken: *edges belt ground, faces sawn*."""
    forms = [match for match in forms if not (match.is_cue("cue-extent") or _is_near(line, match))]
    form, surface = slots.get("form"), slots.get("surface")
    if form is None or surface is None or len(forms) < 2:
        return []
    if any(set(form.ids) & set(line.ids(match, "form")) and _is_to_come(roles, match) for match in forms):
        return []
    told = [match for match in roles.surfaces if set(line.ids(match, "surface")) & set(surface.ids)]
    beside = [near for match in told if (near := _in_its_clause(line, match, forms))]
    if not beside or len(beside) < len(told) or any(set(form.ids) & set(line.ids(each, "form")) for near in beside for each in near):
        return []
    choices = tuple(dict.fromkeys((*form.ids, *(each for near in beside for match in near for each in line.ids(match, "form")))))
    names = line.lexicon.vocabulary.names
    del slots["form"], slots["surface"]
    listed = " or ".join(dict.fromkeys(names[each].label for each in choices))
    return [Doubt("form", f"More than one place was named: {listed}. Which is to be worked, and how is it now?", choices)]


def _is_to_come(roles: Roles, match: Match) -> bool:
    """Whether a place is only made by the work: *chipped edge, chamfer it to a fine ground bevel*."""
    return any(goal.last == match.first for goal in roles.goals)


def refused_later(line: Line, match: Match) -> bool:
    """Whether the same words are refused further on: *edge of a pane. I mean the face, not the edge*."""
    words = line.words(match.first, match.last).casefold()
    again = (other for other in line.matches if other.first > match.last and other.senses.things == match.senses.things)
    refused = (other for other in again if any(line.tokens[at].key == _NOT for at, _ in line.before(other.first, 2)))
    return any(line.words(other.first, other.last).casefold() == words for other in refused)


def _is_near(line: Line, match: Match) -> bool:
    """Whether a place only helps to find the work: *scratches near the foot*."""
    return any(line.cue_at(index, "cue-near") for index, _ in line.before(match.first, 2))


def _in_its_clause(line: Line, match: Match, forms: Sequence[Match]) -> list[Match]:
    """The places in the clause of a state."""
    first, last = match.first, match.last
    while first > 0 and not line.tokens[first].gap:
        first -= 1
    while last < len(line.tokens) and not line.tokens[last].gap:
        last += 1
    return [each for each in forms if first <= each.first < last]


def _of_a_grade_there(line: Line, slots: dict[str, Slot], grades: Grades) -> list[Doubt]:
    """A grade said of a place as it is now speaks against a state that has no grade: *a chip out of it; the top is still at F400*."""
    surface = slots.get("surface")
    if surface is None or grades.surface is not None or any(line.lexicon.vocabulary.holds(each, "isGraded") for each in surface.ids):
        return []
    open_still = {words.words for words in grades.others}
    told = [match for match in line.matches if set(line.ids(match, "surface")) & set(surface.ids)]
    beside = all(match.first in line.aside for match in told)  # the museum's bowl was polished; ours is at F320
    marks = sorted(line.grades.items())
    there = [mark.words for at, mark in marks if mark.words in open_still and (beside or at not in line.aside) and stands_at(line, at)]
    if not there:
        return []
    del slots["surface"]
    return [Doubt("surface", f"“{surface.words}” or at {there[-1]}: how is the surface now?", surface.ids)]


def _of_two_grades(line: Line, grades: Grades) -> list[Doubt]:
    """Another number stands behind the grade that was taken, by itself or after a correction, and nothing tells its part: *at 320, I looked, 220*."""
    taken = grades.surface
    if taken is None:
        return []
    marks = sorted({**line.grades, **line.bare}.items())
    held = [at for at, mark in marks if mark.words == taken.words]
    placed = {words.words for words in (grades.goal, grades.planned, taken) if words is not None}
    behind = [(at, mark.words) for at, mark in marks if held and at > held[0] and mark.words not in placed and _may_be_a_grade(line, at)]
    others = [words for at, words in behind if (at > held[-1] and _stands_by_itself(line, at)) or line.taken_back(held[0] + 1, at)]
    if not others:
        return []
    grades.surface = None
    return [Doubt("surface_grade", f"“{taken.words}” or “{others[-1]}”: which of the two was the surface ground with?")]


def _stands_by_itself(line: Line, at: int) -> bool:
    """Whether a number has its clause to itself."""
    return line.tokens[at].gap > 0 and line.ends_at(at + 1)


def _may_be_a_grade(line: Line, at: int) -> bool:
    """Whether a number is as large as grades are, and nothing else."""
    fits = at in line.grades or COARSEST <= int(line.bare[at].words) <= FINEST
    return fits and at not in line.described | line.planned | line.measures.keys() | line.aside
