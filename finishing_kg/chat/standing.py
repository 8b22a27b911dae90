"""Whether a grade is said of a place as it is now: *bevel at F800*, *F220 now*, *the F600 face*, *what comes after 220?*"""

from __future__ import annotations

from finishing_kg.chat.line import Line

# A number by itself is a grade from here on, and up to here.
COARSEST, FINEST = 36, 5000
_LEAST = 100  # a smaller one by itself may as well be a size
_AT, _FROM = "at", frozenset({"off", "from"})
_PLANS = ("cue-plan", "cue-ask-plan", "cue-first", "cue-made")


def stands_at(line: Line, index: int) -> bool:
    """Whether a grade, or a number that may be one, tells how a place is now."""
    if index in line.bare and not COARSEST <= int(line.bare[index].words) <= FINEST:
        return False
    if index in line.bare and not _is_alone(line, index):
        return _before_its_tool(line, index) and _off_it(line, index)
    if line.tokens[index].gap == 0 and index and line.cue_at(index - 1, "cue-not", "cue-instead"):
        return False
    return any(
        told(line, index) for told in (_at_a_place, _until_now, _before_its_place, _in_brackets, _what_next, _from_there, _off_it, _behind_its_place)
    )


def _is_alone(line: Line, index: int) -> bool:
    """Whether a number counts nothing: no word that it could belong to stands right behind it."""
    after = line.owner[index + 1] if index + 1 < len(line.tokens) and not line.tokens[index + 1].gap else None
    return line.ends_at(index + 1) or (after is not None and after.is_cue("cue-and", "cue-goal", "cue-present-after", "cue-but", "cue-then"))


def _before_its_tool(line: Line, index: int) -> bool:
    """Whether a number stands before what it grades: *the 600 disc*."""
    after = line.owner[index + 1] if not line.tokens[index + 1].gap else None
    return after is not None and (after.is_cue("cue-round", "measure-wheelDiameter") or bool(line.ids(after, "carrier", "hold")))


def _at_a_place(line: Line, index: int) -> bool:
    """*Bevel at F800*, *the rim is at 400*, *I have it at 400*; not where something is planned."""
    first, last = line.sentence(index)
    at = index - 1
    if at <= first or line.tokens[at].key != _AT or line.tokens[index].gap:
        return False
    before = line.owner[at - 1]
    if before is None:
        return False
    if before.is_cue("cue-plain", "cue-side") and at - 2 >= first and not line.tokens[at - 1].gap:
        before = line.owner[at - 2] or before  # "convex fronts at 600"
    place = before.is_cue("cue-object") or bool(line.ids(before, "form"))
    planned = line.cue_between(first, index, *_PLANS) or line.cue_between(index, last, "cue-first")
    if place and planned:
        # "Use tripoli on an opal dome at F800?"
        return any(line.cue_at(each, "cue-of") for each, _ in line.before(before.first, 3)) and not line.tools_beside(index)
    if place:
        return True
    return not line.asks(last) and (before.is_cue("cue-present") or line.says(at - 1, "cue-held")) and not line.tokens[at].gap


def _until_now(line: Line, index: int) -> bool:
    """*F220 now*, *400 grit so far*; a question may ask for it."""
    after = index + 1
    if line.ends_at(after) or not line.cue_at(after, "cue-present-after") or line.cue_at(after, "cue-before"):
        return False
    owner, (_, last) = line.owner[after], line.sentence(index)
    closes = owner is not None and line.ends_at(owner.last)
    return closes and not (line.asks(last) and owner is not None and owner.last == last)


def _before_its_place(line: Line, index: int) -> bool:
    """*The F600 face of a block*; what is wished for has no article of this kind: *an F600 face*."""
    if index not in line.grades or not index or line.ends_at(index + 1) or line.tokens[index].gap:
        return False
    after = line.owner[index + 1]
    return line.says(index - 1, "cue-definite") and after is not None and bool(line.ids(after, "form"))


def _in_brackets(line: Line, index: int) -> bool:
    """*The concave side of this lens (F500)*."""
    mark = line.grades.get(index)
    if mark is None or not index or not line.text[: mark.start].endswith("("):
        return False
    before = line.owner[index - 1]
    return before is not None and (before.is_cue("cue-object") or bool(line.ids(before, "form", "glass")))


def _what_next(line: Line, index: int) -> bool:
    """*What grit after 220?*: what stands behind *after* is there already."""
    first, last = line.sentence(index)
    asked = line.says(first, "cue-which") or line.between(index + 1, last, lambda at: line.says(at, "cue-which"))
    return asked and index > first and not line.tokens[index].gap and line.cue_at(index - 1, "cue-after") and not line.tools_beside(index)


def _from_there(line: Line, index: int) -> bool:
    """*From 400 to a polish*; *from 120 to 400* is past or planned as a whole."""
    after = index + 1
    if not index or line.tokens[index - 1].key != "from" or after >= len(line.tokens) or line.tokens[after].gap:
        return False
    if not line.cue_at(after, "cue-goal"):
        return False
    owner = line.owner[after]
    behind = line.owner[owner.last] if owner is not None and owner.last < len(line.tokens) else None
    return behind is not None and bool(line.ids(behind, "finish"))


def _off_it(line: Line, index: int) -> bool:
    """*Comes from the 800 disc*, *off the 600*; what the work came off left the surface."""
    first, _ = line.sentence(index)
    at = index - 1
    if at <= first or line.tokens[index].gap or not line.cue_at(at, "cue-article", "cue-off", "cue-after"):
        return False
    if not any(line.tokens[each].key in _FROM for each in (at, at - 1)):
        return False
    return not line.cue_between(first, index, "cue-plan", "cue-ask-plan", "cue-wish")


def _behind_its_place(line: Line, index: int) -> bool:
    """*Float edge, 400, polish*: a number with its clause to itself, right behind a place that nobody measures by one number."""
    alone = line.tokens[index].gap == 1 and line.ends_at(index + 1)
    before = line.owner[index - 1] if index and alone else None
    return before is not None and bool(line.ids(before, "form")) and not before.is_cue("cue-round") and _number(line, index) >= _LEAST


def _number(line: Line, index: int) -> int:
    """A bare number; of a grade with its scale written, one that is large enough."""
    return int(line.bare[index].words) if index in line.bare else _LEAST
