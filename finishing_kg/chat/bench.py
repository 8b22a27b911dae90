"""What is said of the bench as a whole: no machines, by hand, and things at hand that are not known."""

from __future__ import annotations

from finishing_kg.chat.governing import governing
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, Restriction
from finishing_kg.chat.tools import Tools


def hands_alone(line: Line, found: Tools) -> None:
    """*By hand* leaves the hands alone to drive the work, unless a machine is at hand or planned as well."""
    vocabulary = line.lexicon.vocabulary
    hands = [name.id for name in vocabulary.things("machine") if not vocabulary.holds(name.id, "isPowered")]
    told = [
        match
        for group in found.groups
        if group.role not in ("without", "past")
        for match in group.matches
        if set(line.ids(match, "machine")) & set(hands)
    ]
    named = next((match for match in told if _of_the_work(line, match)), None)
    barred = next(
        (match for match in line.matches if match.is_cue("cue-no-machine") or (match.is_cue("cue-machines") and _barred(line, match))), None
    )
    driven = {
        each
        for group in found.groups
        if group.role in ("has", "only", "planned", "own-plan")
        for match in group.matches
        for each in line.ids(match, "machine")
        if each not in hands
    }
    meant = barred is None and named is not None and _is_of_a_plan(line, found, named)
    where = barred or (named if not driven and not meant else None)
    if meant and not driven:
        found.planned += [each for each in hands if each not in found.planned]
        return
    if not hands or (where is None and (named or not told)):
        return
    # Hands that only tell what is done so far limit nothing, and are nothing to have at hand.
    found.mentioned = [each for each in found.mentioned if each not in hands]
    found.planned = [each for each in found.planned if each not in hands]
    if any(restriction.kind == "only" and set(hands) & set(restriction.ids) for restriction in found.restrictions):
        return
    kept = []
    for restriction in found.restrictions:
        ids = tuple(each for each in restriction.ids if each not in hands)
        if ids:
            kept.append(Restriction(restriction.kind, ids, restriction.words, restriction.together))
    alone = [Restriction("only", tuple(hands), line.words(where.first, where.last))] if where else []
    found.restrictions = [*kept, *alone]


def _is_of_a_plan(line: Line, found: Tools, match: Match) -> bool:
    """Whether the hands are to do what the maker has in mind, which limits nothing: *next: loose F600 on a plate, by hand*."""
    meant = {*found.planned, *found.mentioned}
    planned = [each for group in found.groups for each in group.matches if each is not match and meant & set(line.ids(each, *TOOLS))]
    planned += [each for group in found.groups if group.role == "planned" for each in group.matches]
    return any(line.sentence(each.first) == line.sentence(match.first) for each in planned)


def _of_the_work(line: Line, match: Match) -> bool:
    """Whether a sentence speaks of the work to come, and not only of the hands, or of what is done: *spent hours on it by hand*."""
    first, last = line.sentence(match.first)
    if line.cue_between(first, match.first, "cue-spent") or (match.first - 1 in line.grades and not _is_wished_there(line, first, last)):
        return False
    others = any((owner := line.owner[at]) and owner is not match and owner.senses.things for at in range(first, last))
    return others or all(line.owner[at] is not None for at in range(first, last))


def _is_wished_there(line: Line, first: int, last: int) -> bool:
    """Whether a sentence wishes, plans or asks; else a grade in it that is worked *by hand* is done."""
    return line.asks(last) or line.cue_between(first, last, "cue-wish", "cue-plan", "cue-ask-plan") or line.between(first, last, line.is_goal)


def _barred(line: Line, match: Match) -> bool:
    near = [index for index, _ in line.before(match.first, 2)]
    if any(line.tokens[index].key == "other" for index in near):
        return False
    return any(line.cue_at(index, "cue-without", "cue-not") for index in near) or governing(line, match) == "without"


def unread(line: Line) -> list[Doubt]:
    """What is said of the bench for certain and begins with a word that is not known is asked about."""
    doubts = []
    for match in line.matches:
        if not match.is_cue("cue-bench"):
            continue
        near = [index for index, _ in line.after(match.last, 3) if not line.cue_at(index, "cue-stop")]
        if near and line.owner[near[0]] is None and near[0] not in line.grades and near[0] not in line.measures:
            _, end = line.sentence(near[0])
            if any(line.owner[at] and line.ids(line.owner[at], *TOOLS) for at in range(near[0], min(near[0] + 3, end))):  # type: ignore[arg-type]
                continue
            said = line.words(match.first, near[0] + 1)
            doubts.append(Doubt("restrictions", f"“{said}”: I do not know this thing. What is at hand, or missing, in other words?"))
    return doubts
