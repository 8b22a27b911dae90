"""Two pieces told in one message: where one ends and the next begins.

A piece is told by its glass, or, on one body, by the place of the work together with how it should end. Where two of them
disagree, the message is cut at the join before the second; each part must then say enough by itself. What cannot be cut
stays one piece, and the disagreement is asked about as any other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import Doubt, Reading, Slot
from finishing_kg.record import replace

MOST_PIECES = 6
"""Pieces that are told apart in one message; what is told after them stays with the last."""

_BODY = ("glass", "make")
_WORK = ("form", "surface", "finish")
# Words that take back what stands before them, or leave it open: what follows is no second piece.
_SAME_PIECE = ("cue-or", "cue-instead", "cue-what-if", "cue-compare")
# How many words before a thing its article may stand: *a small green float panel*.
_ARTICLE_WITHIN = 4
_HEAD_WITHIN = 6
_WHOSE = frozenset({"my", "our", "the", "a"})
_NUMBER, _ONE = "number-", "one"


def cuts_of(line: Line, bodies: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """The ways that a message could be cut into pieces, as texts, the most telling first; none for most messages.

    Args:
        line: the message.
        bodies: the last of them, as ``bodies_of`` gives it.
    """
    ways = (_cut_by_marks(line), _cut(line, "glass"), _cut(line, "form"), _cut_by_sentences(line), _cut_by_bodies(line), bodies)
    return tuple(dict.fromkeys(way for way in ways if len(way) > 1))


def told_apart(reading: Reading, read: Callable[[str, tuple[str, ...]], Reading]) -> list[tuple[str, Reading]]:
    """The pieces of a message, each with its text and read by itself; none where there is but one.

    Args:
        reading: of the whole message.
        read: reads a part of it, given the slots that it is known to tell.
    """
    if not reading.announced and (reading.intent not in ("tell", "restart") or reading.faults):
        return []
    for number, way in enumerate(reading.cuts):
        parts = [read(text, ()) for text in way]
        if not (reading.announced and number == 0 and all(any(kind in part.slots for kind in _WORK) for part in parts)):
            parts = _enough(parts)
        if len(parts) > 1:
            # "A rim, pre-polished, and an edge, sawn, both to polish": a word that could be either is no goal where the goal is told of all.
            goal = any("finish" in part.of_all for part in parts)
            parts = [read(text, ("surface",)) if goal and "finish" not in part.slots else part for text, part in zip(way, parts, strict=True)]
            return list(zip(way, _sharing(parts, reading), strict=True))
    return []


def first_told(reading: Reading, read: Callable[[str, tuple[str, ...]], Reading]) -> Reading | None:
    """The first piece alone, where a message seems to tell of several that cannot be told apart; ``None`` where it does not seem so.

    Each part then names a body of its own, and too little is known of one of them. Mixed into one piece they would be misread.

    Args:
        reading: of the whole message.
        read: reads a part of it, given the slots that it is known to tell.
    """
    if reading.intent not in ("tell", "restart", "diagnose"):
        return None
    for way in reading.cuts:
        parts = [read(text, ()) for text in way]
        if way == reading.bodies:
            return _alone(parts[0], way, tuple(dict.fromkeys(each for part in parts for each in _ids_of(part))))
        for one, other in pairwise(parts):
            told = all(any(kind in part.slots for kind in kinds) for part in (one, other) for kinds in (_BODY, _WORK))
            if told and not _same_body(one, other):
                return _alone(parts[0], way, tuple(dict.fromkeys((*_ids_of(one), *_ids_of(other)))))
    return None


def _alone(first: Reading, way: tuple[str, ...], choices: tuple[str, ...]) -> Reading:
    """The first piece of several, with the question about the others."""
    text = f"You seem to tell me of more than one piece; this is for “{way[0].strip()}” alone. Tell me of the others one by one, please."
    return replace(first, doubts=(*first.doubts, Doubt("form", text, choices)), cuts=())


def _ids_of(part: Reading) -> Iterator[str]:
    """What a part names as its body, or else as the place of the work."""
    kinds = [kind for kind in _BODY if kind in part.slots] or ["form"]
    return (each for kind in kinds if kind in part.slots for each in part.slots[kind].ids)


def _same_body(one: Reading, other: Reading) -> bool:
    """Whether two parts name a body in the same words."""
    return any(kind in one.slots and kind in other.slots and not _differ(one, other, kind) for kind in _BODY)


def _cut(line: Line, kind: str) -> tuple[str, ...]:
    """The text cut before each thing of a kind that is another than the one before it."""
    places = [0]
    for before, after in pairwise(_told(line, kind)):
        if _are_one(line, before, after, kind):
            continue
        join = _join(line, before.last, after.first)
        if join is not None and len(places) < MOST_PIECES:
            places.append(join)
    return _cut_at(line, places)


def _cut_at(line: Line, places: list[int]) -> tuple[str, ...]:
    """The text cut before some tokens; the first piece begins with the text."""
    starts = [0, *(line.tokens[at].start for at in places[1:]), len(line.text)]
    return tuple(line.text[first:last] for first, last in pairwise(starts))


def _are_one(line: Line, before: Match, after: Match, *kinds: str) -> bool:
    """Whether two things are told of one piece: they are the same, either may be meant, or the second takes the place of the first."""
    same = bool(set(line.ids(before, *kinds)) & set(line.ids(after, *kinds)))
    return same or line.cue_between(before.last, after.first, *_SAME_PIECE) or line.taken_back(before.last, after.first)


def _bodies(line: Line) -> list[Match]:
    """What is named as the glass or the make and nothing else, and not denied."""
    return [match for match in line.matches if line.kinds(match) in ({"glass"}, {"make"}) and not match.torn and not line.negated(match)]


def announced(line: Line) -> bool:
    """Whether the words tell for certain that more than one piece follows, however little is told of each."""
    return len(_cut_by_marks(line)) > 1


def _cut_by_marks(line: Line) -> tuple[str, ...]:
    """The text cut where words say that another piece begins: *Job B is*; *and besides that*; *two things: ... and*."""
    places = [0]
    announced_at = line.places.get("cue-several-pieces", [])
    whose = [at for at in range(len(line.tokens)) if _for_somebody(line, at)]
    for at in range(1, len(line.tokens)):
        owner = line.owner[at]
        marked = owner is not None and owner.first == at and owner.is_cue("cue-next-piece") and bool(line.tokens[at].gap)
        listed = bool(announced_at) and announced_at[-1] + 1 < at and _opens_the_next(line, at, announced_at[-1])
        if (marked or listed or at in whose[1:]) and len(places) < MOST_PIECES and _told_between(line, places[-1], at):
            places.append(at)
    return _cut_at(line, places)


def _for_somebody(line: Line, at: int) -> bool:
    """Whether a sentence begins with whom a piece is for."""
    opens = line.tokens[at].key == "for" and line.tokens[at].gap > 1 and at + 2 < len(line.tokens)
    return opens and line.tokens[at + 1].key in _WHOSE and line.cue_at(at + 2, "cue-others")


def _opens_the_next(line: Line, at: int, announced_at: int) -> bool:
    """Whether *and the*, behind a comma, opens the second of what was announced."""
    follows = line.tokens[at].key == "and" and line.tokens[at].gap > 0 and at + 1 < len(line.tokens)
    return follows and line.cue_at(at + 1, "cue-article") and line.tokens[announced_at + 1].gap > 0


def _told_between(line: Line, first: int, last: int) -> bool:
    """Whether something of a piece is told among the tokens."""
    return any(first <= match.first < last and line.ids(match, *_BODY, *_WORK) for match in line.matches)


def _cut_by_sentences(line: Line) -> tuple[str, ...]:
    """The text cut before each sentence that names another glass or make, and a finish of its own."""
    goals = [match.first for match in line.matches if line.ids(match, "finish") and not line.negated(match)]
    places = [0]
    for before, after in pairwise(_bodies(line)):
        join = _join(line, before.last, after.first)
        if join is None or not (line.tokens[join].gap > 1 or _opens(line, join) or line.cue_at(join, "cue-join")):
            continue
        first, (_, last) = join, line.sentence(after.first)
        wanted = any(places[-1] <= at < first for at in goals) and any(first <= at < last for at in goals)
        if before.first < first and wanted and not _are_one(line, before, after, *_BODY) and len(places) < MOST_PIECES:
            places.append(first)
    return _cut_at(line, places)


def _cut_by_bodies(line: Line) -> tuple[str, ...]:
    """The text cut before each glass or make that comes with an article of its own behind another one: *and besides that a pressed ashtray*."""
    places = [0]
    for before, after in pairwise([match for match in _bodies(line) if match.first not in line.aside]):
        article = next((at for at, _ in line.before(after.first, _ARTICLE_WITHIN) if line.says(at, "cue-indefinite", "cue-one-more")), None)
        if article is None or article < before.last or _are_one(line, before, after, *_BODY) or len(places) == MOST_PIECES:
            continue
        join = _join(line, before.last, article)
        if join is not None and (line.tokens[join].gap > 1 or line.cue_at(join, "cue-join")):
            places.append(join)
    return _cut_at(line, places)


def bodies_of(line: Line) -> tuple[str, ...]:
    """The text cut before each body with an indefinite article that is joined to another one: *a bowl, ..., and a tube with a sawn end*."""
    heads = [(at, head) for at in range(len(line.tokens)) if at not in line.aside and (head := _head_of_a_body(line, at))]
    places = [0]
    for (first, one), (at, other) in pairwise(heads):
        join = at
        while join > first and line.cue_at(join - 1, "cue-join") and not line.tokens[join].gap:
            join -= 1
        joined = line.tokens[at].gap > 1 or (join < at and line.tokens[join].gap > 0)
        if joined and one != other and len(places) < MOST_PIECES and not line.cue_between(first, at, *_SAME_PIECE):
            places.append(join)
    return _cut_at(line, places) if len(places) > 1 else ()


def _head_of_a_body(line: Line, at: int) -> str:
    """The noun of a body that an indefinite article here begins; empty where it begins none, or a part or a trait of one: *with a rim*."""
    if not line.says(at, "cue-indefinite", "cue-one-more") or (at and not line.tokens[at].gap and line.says(at - 1, "cue-of-it")):
        return ""
    head, body = "", False
    for index in range(at + 1, min(at + 1 + _HEAD_WITHIN, len(line.tokens))):
        owner = line.owner[index]
        if line.tokens[index].gap or line.cue_at(index, "cue-article", "cue-of", "cue-means", "cue-present", "cue-goal", "cue-join"):
            break
        if owner is None or line.ids(owner, "surface", "finish", "mineral", "hold", "machine"):
            continue
        noun = owner.is_cue("cue-object") or bool(line.ids(owner, "glass", "make"))
        body = body or noun
        head = line.tokens[index].key if noun or line.ids(owner, "form") else head
    return head if body else ""


def _told(line: Line, kind: str) -> list[Match]:
    """What is named of a kind and of nothing else, not denied and not only to find the place."""
    named = [match for match in line.matches if line.kinds(match) == {kind} and not match.torn and not line.negated(match)]
    named = [match for match in named if match.first not in line.aside and not match.is_cue("cue-shaped")]
    return named if kind == "glass" else [match for match in named if not match.is_cue("cue-extent") and not _on_a_body(line, match)]


def _on_a_body(line: Line, match: Match) -> bool:
    """Whether a form only describes the body that another is on: *the edge of a flat panel*."""
    return match.first > 0 and any(line.cue_at(index, "cue-of", "cue-near") for index, _ in line.before(match.first, 2))


def _join(line: Line, first: int, last: int) -> int | None:
    """The token that the second of two things begins with: after a join before an article, else after a word that joins, else a break."""
    joins = [at for at in range(first, last + 1) if at < len(line.tokens) and (line.tokens[at].gap or line.cue_at(at, "cue-join"))]
    article = [at for at in joins if _opens(line, at) or (line.cue_at(at, "cue-join") and at + 1 < last and _opens(line, at + 1))]
    worded = [at for at in joins if line.tokens[at].gap > 1 or line.cue_at(at, "cue-join")]
    found = article or worded or joins
    return found[-1] if found else None


def _opens(line: Line, at: int) -> bool:
    return line.cue_at(at, "cue-article", "cue-further")


def _enough(parts: list[Reading]) -> list[Reading]:
    """The parts if each tells a piece of its own: something of the work, and another body or another end than the one before."""
    for part in parts:
        if part.outside or not any(kind in part.slots for kind in _WORK):
            return []
    for one, other in pairwise(parts):
        ended = "finish" in one.slots and "finish" in other.slots
        if (_differ(one, other, "glass") and (ended or other.own_body or one.of_all or other.of_all)) or _of_two_makes(one, other):
            continue
        if not ("finish" in one.slots and "finish" in other.slots and _differ(one, other, "form")):
            return []
    return parts


def _of_two_makes(one: Reading, other: Reading) -> bool:
    """Whether two parts tell two pieces by their makes: each with its finish and its surface, and the second with a make of its own."""
    whole = all("finish" in part.slots and "surface" in part.slots for part in (one, other))
    return whole and "make" in other.slots and ("make" not in one.slots or _differ(one, other, "make"))


def _differ(one: Reading, other: Reading, kind: str) -> bool:
    first, second = one.slots.get(kind), other.slots.get(kind)
    return first is not None and second is not None and not set(first.ids) & set(second.ids)


def _sharing(parts: list[Reading], whole: Reading) -> list[Reading]:
    """The parts with what is said of all: the bench, what *both* governs, and the body of a place that names none of its own."""
    common = {kind: part.slots[kind] for part in parts for kind in part.of_all}
    shared = []
    for number, part in enumerate(parts):
        slots = {**{kind: slot for kind, slot in common.items() if kind not in part.slots}, **part.slots}
        doubts = tuple(doubt for doubt in part.doubts if doubt.about in part.slots or doubt.about not in slots)
        made_otherwise = "make" in part.slots and all(each is part or "make" not in each.slots or _differ(part, each, "make") for each in parts)
        if "glass" not in slots and not part.own_body and not made_otherwise:
            slots = {**dict(_body_of(parts, number)), **slots}
        grade = next((each.surface_grade for each in parts if "surface" in each.of_all and each.surface_grade), None)
        takes = part.surface_grade is None and "surface" not in part.slots and "surface" in common
        shared.append(
            replace(
                part,
                slots=slots,
                surface_grade=grade if takes else part.surface_grade,
                restrictions=whole.restrictions,
                doubts=doubts,
                intent="tell",
            )
        )
    return shared


def _body_of(parts: list[Reading], number: int) -> Iterator[tuple[str, Slot]]:
    """The glass and make of the nearest part that tells them, those before first."""
    # Where a part has words that nobody knows, one of them may be its glass: then none is taken from a piece that is told later.
    nearest = [*reversed(parts[:number]), *(parts[number + 1 :] if number or not parts[number].unused else [])]
    source = next((part for part in nearest if "glass" in part.slots), None)
    return ((kind, source.slots[kind]) for kind in _BODY if source and kind in source.slots)


def of_all(line: Line, slots: dict[str, Slot]) -> tuple[str, ...]:
    """The parts that are said of all pieces: *both to polish*; *both faces* is said of one."""
    kinds: dict[str, None] = {}
    for at in line.places.get("cue-of-all", ()):
        after = [line.owner[index] for index, _ in line.after(at + 1, 2)]
        if any(owner and (owner.is_cue("cue-object") or line.ids(owner, "form")) for owner in after):
            continue
        _, end = line.sentence(at)
        said = {line.words(match.first, match.last) for match in line.matches if at < match.first < end}
        kinds.update((kind, None) for kind, slot in slots.items() if slot.words in said)
    return tuple(kinds)


def further(line: Line) -> bool:
    """Whether a turn begins with a piece told beside the one before: *also a float edge*."""
    first = line.owner[0] if line.tokens else None
    if first is None:
        return False
    joins = first.is_cue("cue-join") and first.last < len(line.tokens) and line.cue_at(first.last, "cue-article")
    return first.is_cue("cue-further") or (joins and not first.is_cue("cue-but", "cue-then"))


def other_piece(line: Line) -> int | None:
    """Which other piece is asked for: its number, 0 for the next one; ``None`` where none is."""
    if "cue-other-piece" not in line.places or "cue-one-side" in line.places:
        return None
    for at in line.places["cue-other-piece"]:
        senses = line.lexicon.find(line.words(at, at + 1))
        numbers = [int(cue.removeprefix(_NUMBER)) for cue in (senses.cues if senses else ()) if cue.startswith(_NUMBER)]
        if numbers and line.tokens[at].key != _ONE:
            return min(numbers)
    return 0


def own_body(line: Line) -> bool:
    """Whether a text names a body of its own: *a panel*, *another bowl*."""
    for match in line.matches:
        if match.is_cue("cue-object") or line.ids(match, "form"):
            for index, _ in line.before(match.first, _ARTICLE_WITHIN):
                if line.cue_at(index, "cue-article", "cue-further") and line.tokens[index].key != "the":
                    return True
                if line.tokens[index + 1].gap:
                    break
    return False
