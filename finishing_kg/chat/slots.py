"""One value for each slot out of all that was said of it, and a doubt where more than one is left."""

from __future__ import annotations

from itertools import pairwise

from finishing_kg.chat.aside import said_by_two
from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, Slot
from finishing_kg.chat.words import fold, tokens

# How many words before a finish may tell which kind of it is meant.
_ADJECTIVES = 4
# How many words may stand between a state and the side that it is on.
_SIDE = 4
DEGREES = frozenset({"coarse", "fine"})
"""Words of a finish's label that tell it from its neighbour."""


def resolve(line: Line, kind: str, matches: list[Match]) -> tuple[Slot | None, list[Doubt]]:
    """The slot that several mentions of one kind make together.

    Agreeing mentions narrow each other; a correction or a later step replaces; *or* leaves both with a doubt.

    Args:
        line: the turn.
        kind: glass, make, form, surface or finish.
        matches: the mentions in order, none of them negated.
    """
    kept = _strongest(line, kind, matches)
    if not kept:
        return None, []
    held = kept[0]
    ids, words, corrected = line.ids(held, kind), line.words(held.first, held.last), held.corrected
    doubts: list[Doubt] = []
    for match in kept[1:]:
        new = line.ids(match, kind)
        common = tuple(each for each in ids if each in new)
        chosen = common or _replaced(line, kind, (held, ids), (match, new))
        if chosen is None:
            chosen = ids + new
            doubts.append(_either(line, kind, chosen))
        if chosen == new or len(chosen) < len(ids) or chosen == ids + new:
            corrected = match.corrected or (corrected and chosen != new)
            words = line.words(match.first, match.last) if chosen == new else f"{words}, {line.words(match.first, match.last)}"
        ids, held = chosen, (match if chosen == new else held)
    if len(ids) > 1 and not doubts:
        ids = _narrowed(line, kind, ids, kept, matches)
    if kind == "finish":
        ids = _as_told(line, ids, held)
        ids, doubts = _degree_left(line, ids, doubts)
    return Slot(ids, words, corrected), doubts


def _degree_left(line: Line, ids: tuple[str, ...], doubts: list[Doubt]) -> tuple[tuple[str, ...], list[Doubt]]:
    """A *coarse* that stands by itself in the line may be said of the finish: *frosted, coarse?* leaves both, and asks."""
    vocabulary = line.lexicon.vocabulary
    alone = [match for match in line.matches if match.is_cue("cue-coarse") and _stands_alone(line, match)]
    if len(ids) != 1 or not alone or not _label_words(vocabulary.names[ids[0]].label) & {"fine"}:
        return ids, doubts
    wanted = (_label_words(vocabulary.names[ids[0]].label) - {"fine"}) | {"coarse"}
    both = (*ids, *(name.id for name in vocabulary.things("finish") if _label_words(name.label) == wanted))
    adverbs = [line.words(match.first, match.last).casefold().endswith("ly") or _is_right_behind(line, match) for match in alone]
    if len(both) > 1 and all(adverbs):
        return both[1:], doubts
    return (both, [*doubts, _either(line, "finish", both)]) if len(both) > 1 else (ids, doubts)


def _stands_alone(line: Line, match: Match) -> bool:
    """Whether a word has its clause to itself, or is an adverb that ends it: *frost it coarsely*."""
    closes = line.ends_at(match.last)
    closing = line.words(match.first, match.last).casefold().endswith("ly")
    return closes and (line.tokens[match.first].gap > 0 or _is_right_behind(line, match) or closing)


def _is_right_behind(line: Line, match: Match) -> bool:
    """Whether the word stands right behind a finish: *to be frosted coarse*."""
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    return before is not None and bool(line.ids(before, "finish"))


def end_of_a_body(line: Line) -> Slot | None:
    """The form of a body's end that is told apart from it: *boro rod, 25 mm, end sawn*; which form it is, *rod cut end* tells."""
    end = next((match for match in line.matches if match.is_cue("cue-end") and match.first not in line.aside), None)
    for token in line.tokens if end else ():
        ids = _forms_of(line, f"{token.key} end")
        cut = _forms_of(line, f"{token.key} cut end")
        said = {each.key for at, each in enumerate(line.tokens) if not ((owner := line.owner[at]) and line.ids(owner, *TOOLS))}
        flat = tuple(each for each in cut if said & _label_words(line.lexicon.vocabulary.names[each].label))  # "to be ground flat"
        if len(flat) == 1:
            ids = flat if len(ids) != 1 or ids == flat else (*ids, *flat)  # the end of a tube is a rim; one that is to be flat may be either
        ids = ids or cut
        if ids and end:
            return Slot(ids, line.words(end.first, end.last))
    return None


def _forms_of(line: Line, words: str) -> tuple[str, ...]:
    senses = line.lexicon.find(words)
    return tuple(each for each in senses.things if line.lexicon.vocabulary.names[each].kind == "form") if senses else ()


def _narrowed(line: Line, kind: str, ids: tuple[str, ...], kept: list[Match], matches: list[Match]) -> tuple[str, ...]:
    """Everyday words, or *coarse* and *fine* before a finish, pick from what the plain words leave open."""
    for match in matches:
        common = tuple(each for each in ids if each in line.ids(match, kind))
        if match not in kept and common:
            ids = common
    if kept[0].is_cue("cue-by-the-body"):  # the edge at the top of a sheet is no rim
        return line.ids(kept[0], kind, own=True) if not line.any_cue("cue-flat-body") else ids[-1:]
    names = line.lexicon.vocabulary.names
    for match in kept if kind == "finish" else ():
        said = {cue.removeprefix("cue-") for index in range(max(match.first - _ADJECTIVES, 0), match.first) for cue in _cues(line, index)}
        picked = tuple(each for each in ids if said & _label_words(names[each].label))
        ids = picked if len(picked) == 1 else ids
    return ids


def _as_told(line: Line, ids: tuple[str, ...], match: Match) -> tuple[str, ...]:
    """The finish that *coarse* or *fine* right before its word asks for, where the word alone means the other: *a coarse blasted frost*."""
    vocabulary = line.lexicon.vocabulary
    told = _degrees_before(line, match)
    if len(ids) != 1 or len(told) != 1:
        return ids
    label = _label_words(vocabulary.names[ids[0]].label)
    against = (label & DEGREES) - told
    wanted = (label - against) | told
    fitting = tuple(name.id for name in vocabulary.things("finish") if _label_words(name.label) == wanted)
    return fitting if against and len(fitting) == 1 else ids


def _degrees_before(line: Line, match: Match) -> set[str]:
    """What *coarse* and *fine* say of a word, with nothing but states and ways of working between."""
    said: set[str] = set()
    for index, _ in line.before(match.first, _ADJECTIVES):
        owner = line.owner[index]
        if line.tokens[index + 1].gap or owner is None or line.ids(owner, "form", "glass") or owner.is_cue("cue-object", "cue-link"):
            break
        said |= {cue.removeprefix("cue-") for cue in owner.senses.cues} & DEGREES
    return said


def _cues(line: Line, index: int) -> frozenset[str]:
    owner = line.owner[index]
    return owner.senses.cues if owner and line.tokens[index + 1].gap < 2 else frozenset()


def _strongest(line: Line, kind: str, matches: list[Match]) -> list[Match]:
    """Mentions by the things' own labels, if there are any; else those by everyday words."""
    if kind in ("surface", "finish"):
        return matches
    own = [match for match in matches if line.ids(match, kind, own=True) and not match.is_cue("cue-weak", "cue-shaped")]
    # What is offered as an alternative, or put in the place of what was said, counts however weak its word is.
    for before, after in pairwise(matches):
        joined = line.cue_between(before.last, after.first, "cue-or") or line.corrects(before.last, after.first)
        own += [match for match in (before, after) if own and joined and match not in own]
    own.sort(key=lambda match: match.first)
    if kind == "make":
        own = [match for match in own if "glass" not in line.kinds(match)] or own
    for giving_way in (("cue-weak", "cue-shaped"), ("cue-shaped",)):
        own = own or [match for match in matches if not match.is_cue(*giving_way)]
    return own or matches


def _replaced(line: Line, kind: str, old: tuple[Match, tuple[str, ...]], new: tuple[Match, tuple[str, ...]]) -> tuple[str, ...] | None:
    """Which of two disagreeing mentions holds; ``None`` if nothing tells."""
    (first, first_ids), (second, second_ids) = old, new
    two_sides = kind == "surface" and on_two_sides(line, first, second)
    corrected = line.taken_back(first.last, second.first)
    if two_sides or (not corrected and line.cue_between(first.last, second.first, "cue-or")):
        return None
    if kind == "finish" and not corrected and said_by_two(line, first, second):
        return None
    if corrected or kind == "finish":
        return second_ids
    narrower = _narrower(line, first_ids, second) or _narrower(line, second_ids, first)
    if narrower:
        return narrower
    if kind == "surface":
        return _later_state(line, old, new)
    return _place_on_a_body(line, old, new) if kind == "form" else None


def on_two_sides(line: Line, first: Match, second: Match) -> bool:
    """Whether two states are told of two sides: *polished on one side, sawn on the other*; *the front is sawn, the back ground*."""
    _, end = line.sentence(second.first)
    one = max(first.first - _SIDE, 0), second.first
    other = first.last, min(second.last + _SIDE, end)
    return line.cue_between(*one, "cue-one-side") and line.cue_between(*other, "cue-other-side")


def _place_on_a_body(line: Line, old: tuple[Match, tuple[str, ...]], new: tuple[Match, tuple[str, ...]]) -> tuple[str, ...] | None:
    """Of two forms the place of the work and not the body: *the edge of a flat panel*; *a flat panel, its edge sawn*."""
    (first, first_ids), (second, second_ids) = old, new
    if _names_a_body(line, first) != _names_a_body(line, second):
        return second_ids if _names_a_body(line, first) else first_ids
    joined = not line.between(first.last + 1, second.first + 1, lambda at: line.tokens[at].gap > 0)
    return first_ids if joined and line.cue_between(first.last, second.first, "cue-of") else None


def _names_a_body(line: Line, match: Match) -> bool:
    """Whether a form is told by the body that has it: *a flat panel, its edge sawn* is about the edge."""
    last = line.tokens[match.last - 1]
    senses = line.lexicon.find(line.text[last.start : last.end])
    ends_in_body = match.last - match.first > 1 and senses is not None and "cue-object" in senses.cues
    after = line.owner[match.last] if match.last < len(line.tokens) and not line.tokens[match.last].gap else None
    return ends_in_body or (after is not None and after.is_cue("cue-object"))


def _later_state(line: Line, old: tuple[Match, tuple[str, ...]], new: tuple[Match, tuple[str, ...]]) -> tuple[str, ...] | None:
    """Of two present states the later one holds: *sawn, then ground*; *polished, with scratches*; *ground after sawing*."""
    (first, first_ids), (second, second_ids) = old, new
    if line.cue_between(first.last, second.first, "cue-after"):
        return first_ids
    before_first = [index for index, _ in line.before(first.first, 3)]
    if any(line.cue_at(index, "cue-after") for index in before_first) or line.cue_between(first.last, second.first, "cue-then", "cue-with"):
        return second_ids
    return None


def _narrower(line: Line, wide: tuple[str, ...], match: Match) -> tuple[str, ...]:
    """Those of ``wide`` whose label has all words of the other mention and more: frit-cast against *cast*."""
    said = {line.lexicon.key(token) for token in line.tokens[match.first : match.last]}
    names = line.lexicon.vocabulary.names
    return tuple(each for each in wide if said < _label_words(names[each].label) | {fold(part) for part in names[each].notation.split("-")})


def _label_words(label: str) -> set[str]:
    return {token.key for token in tokens(label)}


def _either(line: Line, kind: str, ids: tuple[str, ...]) -> Doubt:
    names = line.lexicon.vocabulary.names
    listed = " or ".join(dict.fromkeys(names[each].label for each in ids))
    return Doubt(kind, f"More than one {kind} was named: {listed}. Say which one is meant.", ids)
