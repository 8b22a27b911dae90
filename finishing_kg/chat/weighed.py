"""How surely a statement is read: what stands on weak evidence is left open, and put to the maker in their own words.

A word may be known and still say little: in a sentence of words that nobody knows it may belong to another story, a tool
beside an unknown word may be half of the name of another thing, and *with* behind an unknown verb may tell of what is
done. It is better to ask than to be wrong, so that each such *sign* leaves its statement open. The signs are told by how a
sentence is built and not by what is asked in it.
"""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import TOOLS, Doubt, Slot
from finishing_kg.chat.roles import Roles, role_score
from finishing_kg.chat.wished import attributive, of_what_is_wished

# A sentence with this many unknown words, that are more than one in so many of its words with content, is mostly not understood.
_UNKNOWN, _ONE_IN = 4, 3
_GAP = 2  # a break this wide ends a clause
_NO_VERB = frozenset({"is", "was", "as", "its", "this"})
_DOES = "shes"
_INTO = "into"
_REACH = 8  # words between a cue and a tool
_TOLD_AT_HAND = frozenset({"has", "only", "own-plan"})


def unsure_tools(line: Line, role: str, matches: list[Match]) -> bool:
    """Whether what is said of the tools of one breath is too little to be taken for it.

    Args:
        line: the turn.
        role: what the cues around them say, see ``chat.governing``.
        matches: the tools.
    """
    if role not in _TOLD_AT_HAND | {"planned", "without"}:
        return False
    signs = [_goes_on_unknown(line, matches[-1]), _is_taken_back(line, matches[-1])]
    if role in _TOLD_AT_HAND:
        fed = [each for match in matches for each in line.ids(match, *TOOLS)]
        signs.append(all(line.lexicon.vocabulary.holds(each, "isFed") for each in fed))  # *loose grit at hand*: which grit?
    elif role == "planned":
        signs += [_with_what_was_done(line, matches[0]), _of_a_way(line, matches[0])]
    else:
        signs += [_of_another_lack(line, matches[0]), _is_a_subject(line, matches[-1])]
    return any(signs)


def doubt_of_tools(line: Line, matches: list[Match]) -> Doubt:
    """The question about tools that are left open."""
    words = line.words(matches[0].first, matches[-1].last)
    names = line.lexicon.vocabulary.names
    ids = tuple(dict.fromkeys(each for match in matches for each in line.ids(match, *TOOLS)))
    listed = " and ".join(dict.fromkeys(names[each].label for each in ids))
    return Doubt("restrictions", f"“{words}”: is {listed} at hand, missing, or what you mean to use? Say it once more, please.", ids)


def unsure_fault(line: Line, first: int, last: int, *, weak: bool, repaired: bool, grieved: bool, surely: bool) -> bool:
    """Whether a complaint is too little to name a fault by: one everyday word, or a slip, where something is wished and nothing surely complained of.

    Args:
        line: the turn.
        first, last: the tokens of the words.
        weak: they are everyday words, which also name other things.
        repaired: a slip was repaired in them.
        grieved: somebody complains in the turn.
        surely: they do so in words that are said of nothing else.
    """
    wished = line.any_cue("cue-wish", "cue-plan", "cue-ask-plan") or line.between(0, len(line.tokens), line.is_goal)
    return wished and ((weak and last - first == 1 and not surely) or (repaired and not grieved))


def doubt_of_fault(line: Line, words: str, fault: str) -> Doubt:
    """The question about a fault that is left open."""
    label = line.lexicon.vocabulary.names[fault].label
    return Doubt("faults", f"“{words}”: do you complain of this ({label}), or of something else? Say what you see, and after which step.", (fault,))


def unsure_words(line: Line, roles: Roles, slots: dict[str, Slot], complained: bool, waiting_for: tuple[str, ...]) -> list[Doubt]:
    """Take out of the slots what is told by too little, with a question for each.

    Args:
        line: the turn.
        roles: the words for the surface.
        slots: what is known of the piece; what is unsure is taken out.
        complained: the turn complains of something.
        waiting_for: the slots that the last answer asked for.
    """
    doubts = []
    for kind in ("glass", "make", "form", "finish"):
        slot = slots.get(kind)
        told = _telling(line, kind, slot) if slot else []
        if slot and told and _is_taken_back(line, told[-1]):
            doubts.append(_asked(line, kind, slots.pop(kind)))
    for kind in ("make", "form"):
        slot = slots.get(kind)
        told = _telling(line, kind, slot) if slot else []
        if slot and told and all(_is_plain(line, kind, match) and _is_of_a_story(line, match) for match in told):
            doubts.append(_asked(line, kind, slots.pop(kind)))
    surface = slots.get("surface")
    shown = [match for match in roles.surfaces if surface and set(line.ids(match, "surface")) & set(surface.ids)]
    alone = not complained and "finish" not in slots and "surface" not in waiting_for
    either = alone and shown and all(_may_be_the_end(line, roles, match) for match in shown)
    if surface and (either or _is_only_wished(line, shown) or (complained and _is_the_flaw(line, shown))):
        doubts.append(_asked(line, "surface", slots.pop("surface")))
    finish = slots.get("finish")
    told = [match for match in roles.goals if finish and set(line.ids(match, "finish")) & set(finish.ids)]
    aside = told and all(_is_said_to_be(line, match) or _is_half_a_word(line, match) or _is_done_by_something(line, match) for match in told)
    if finish and (aside or (complained and _is_only_seen(line, told))):
        doubts.append(_asked(line, "finish", slots.pop("finish")))
    return doubts


def _asked(line: Line, kind: str, slot: Slot) -> Doubt:
    """The question about a part that is left open, which names what was heard."""
    names = line.lexicon.vocabulary.names
    listed = " or ".join(dict.fromkeys(names[each].label for each in slot.ids))
    text = {
        "glass": f"“{slot.words}”: is that the glass ({listed}), or which is it?",
        "make": f"“{slot.words}”: was the piece made so ({listed}), or is that said of something else?",
        "form": f"“{slot.words}”: is that the place to be worked on ({listed}), or which is?",
        "surface": f"“{slot.words}”: is the surface so now ({listed}), or is that how it should end?",
        "finish": f"“{slot.words}”: is that how it should end ({listed}), or how it is now?",
    }[kind]
    return Doubt(kind, text, slot.ids)


def _telling(line: Line, kind: str, slot: Slot) -> list[Match]:
    return [match for match in line.matches if set(line.ids(match, kind)) & set(slot.ids) and not line.negated(match)]


def _is_plain(line: Line, kind: str, match: Match) -> bool:
    """Whether a thing is told by an everyday word and not by its name."""
    return match.is_cue("cue-weak", "cue-shaped") or not line.ids(match, kind, own=True)


def _is_of_a_story(line: Line, match: Match) -> bool:
    """Whether a plain word stands in a sentence that is mostly not understood, or only joins what comes behind it: *spat all over my panel*."""
    article = match.is_cue("cue-extent") and match.last < len(line.tokens) and not line.tokens[match.last].gap
    article = article and line.cue_at(match.last, "cue-article")
    place = article and any((owner := line.owner[at]) and line.ids(owner, "form") for at, _ in line.after(match.last, 3))
    return _is_mostly_unknown(line, match.first) or (article and not place)


def _is_mostly_unknown(line: Line, at: int) -> bool:
    """Whether more of the words with content in a sentence are unknown than one can tell a story from."""
    first, last = line.sentence(at)
    words = [at for at in range(first, last) if line.tokens[at].key.isalpha() and not line.cue_at(at, "cue-stop")]
    unknown = sum(line.owner[at] is None for at in words)
    return unknown >= _UNKNOWN and unknown * _ONE_IN > len(words)


def _is_only_seen(line: Line, told: list[Match]) -> bool:
    """Whether a finish in a complaint is told by nothing that wishes it: *my ground face has rings*; *the wheel's gone glassy*."""
    return not told or all(role_score(line, match) <= 0 and (not line.ids(match, "finish", own=True) or _is_a_doing(line, match)) for match in told)


def _is_a_doing(line: Line, match: Match) -> bool:
    """Whether a finish is told by what somebody is doing: *grinding the end of a rod*."""
    return match.last - match.first == 1 and line.is_doing(match)


def _is_done_by_something(line: Line, match: Match) -> bool:
    """Whether a word for a finish tells what something does, where nothing is asked or wished: *the pad polishes it*."""
    first, last = line.sentence(match.first)
    wished = line.asks(last) or line.cue_between(first, last, "cue-wish", "cue-plan", "cue-ask-plan")
    return line.words(match.first, match.first + 1).casefold().endswith(_DOES) and not wished


def _is_said_to_be(line: Line, match: Match) -> bool:
    """Whether a word for a finish is only said of how something is: *has a dull pre-polish*, *it's narrow and rough in there*."""
    if match.is_cue("cue-wish", "cue-goal", "cue-clear"):
        return False
    for at in range(match.first - 1, line.sentence(match.first)[0] - 1, -1):
        if line.tokens[at + 1].gap or line.is_goal(at) or line.cue_at(at, "cue-wish", "cue-plan", "cue-ask-plan", "cue-only"):
            return False
        if line.cue_at(at, "cue-and") and at + 1 < match.first:
            return False  # "mould marks are on it and a pre-polish is where I'm going"
        after = line.owner[at + 1]
        if line.cue_at(at, "cue-possessive") and after is not None and (after.is_cue("cue-object") or line.ids(after, "form")):
            return False  # "wants its drilled hole polished"
        being = line.owner[at]
        if being is not None and being.is_cue("cue-being"):
            # "What I'm looking for is a blasted frost" wishes it.
            return not line.asks(line.sentence(at)[1]) and not of_what_is_wished(line, being, match)
    return False


def _is_taken_back(line: Line, match: Match) -> bool:
    """Whether something unknown takes the place of a word: *lead crystal, no wait, leadfree stuff*."""
    end = len(line.tokens)
    cue = next((at for at in range(match.last, min(match.last + 3, end)) if line.cue_at(at, "cue-correction")), None)
    if cue is None or line.between(match.last, cue, lambda at: _tells(line, at)):
        return False
    owner = line.owner[cue]
    first = owner.last if owner else cue + 1
    last = next((at for at in range(first + 1, end) if line.tokens[at].gap), end)
    known = line.between(first, last, lambda at: at in line.grades or at in line.measures or at in line.bare or _tells(line, at))
    return first < end and not known and line.between(first, last, line.is_unknown)


def _tells(line: Line, at: int) -> bool:
    owner = line.owner[at]
    return owner is not None and bool(owner.senses.things)


def _is_only_wished(line: Line, told: list[Match]) -> bool:
    """Whether a state is told by weak words alone, and among wishes: *even grey edge wanted*."""
    return bool(told) and all(match.is_cue("cue-weak") and role_score(line, match) > 0 for match in told)


def _may_be_the_end(line: Line, roles: Roles, match: Match) -> bool:
    """Whether a word that stands alone may as well tell how it should end, where nothing else does: *polished, that's how it shall leave me*."""
    return bool(line.ids(match, "finish")) and match.first not in roles.graded and role_score(line, match) == 0 and not attributive(line, match)


def _is_the_flaw(line: Line, told: list[Match]) -> bool:
    """Whether a damaged state in a complaint is told by an everyday word, and so may be what went wrong: *the edge flaked while I ground it*."""
    vocabulary = line.lexicon.vocabulary
    sound = ("isGraded", "isSound")
    return bool(told) and all(
        not line.ids(match, "surface", own=True) and not any(vocabulary.holds(each, trait) for each in line.ids(match, "surface") for trait in sound)
        for match in told
    )


def _is_half_a_word(line: Line, match: Match) -> bool:
    """Whether a word is joined by a hyphen to one that is not known: *that pre-shine look*."""
    if not match.first or line.tokens[match.first].gap or not line.is_unknown(match.first - 1):
        return False
    return line.text[line.tokens[match.first - 1].end : line.tokens[match.first].start] == "-"


def _goes_on_unknown(line: Line, match: Match) -> bool:
    """Whether an unknown word behind a tool ends the clause: *felt bobbs*; *my flat lap's knackered*; not *paper hurts an edge*."""
    after = match.last
    if line.ends_at(after) or not line.is_unknown(after):
        return False
    return line.ends_at(after + 1) or line.cue_at(after + 1, "cue-and", "cue-or")


def _with_what_was_done(line: Line, match: Match) -> bool:
    """Whether a tool is tied by *with* or *on* alone to a word that is not known, or over a break to nothing: *swan with a saw*."""
    means = next((at for at, _ in line.before(match.first, _REACH) if line.cue_at(at, "cue-means", "cue-place", "cue-plan", "cue-ask-plan")), None)
    if means is None or line.cue_at(means, "cue-plan", "cue-ask-plan"):
        return False
    if any(line.tokens[at].gap >= _GAP for at in range(means + 1, match.first + 1)):
        return True
    first, last = line.sentence(match.first)
    if _was_done(line, means):
        return True
    if line.asks(last):
        return False
    unknown, here = False, True
    for at in range(means - 1, first - 1, -1):
        owner = line.owner[at]
        meant = (line.is_goal(at) and line.tokens[at].key != _INTO) or line.cue_at(at, "cue-wish", "cue-plan", "cue-ask-plan", "cue-what-if")
        if meant or (owner is not None and line.ids(owner, "finish", *TOOLS)):
            return False
        unknown = unknown or (here and (line.is_unknown(at) or (owner is not None and owner.senses.cues == {"cue-plain"})))
        here = here and not line.tokens[at].gap
    return unknown


def _of_a_way(line: Line, match: Match) -> bool:
    """Whether a question asks for the way, so that a tool in it may as well be what there is: *how would one carve it with the blaster?*"""
    first, last = line.sentence(match.first)
    if not (line.asks(last) and line.says(first, "cue-way")):
        return False
    return not line.cue_between(first, match.first, "cue-plan", "cue-ask-plan", "cue-what-if", "cue-first-person")


def _was_done(line: Line, means: int) -> bool:
    """Whether an unknown verb before *with* tells what somebody did: *the edge, which I zizzed with 120 on a belt sander*."""
    for at, _ in line.before(means, _REACH):
        if line.tokens[at + 1].gap or line.is_goal(at) or line.cue_at(at, "cue-plan", "cue-ask-plan"):
            return False
        if line.is_unknown(at) and line.is_past(at):
            return at > 0 and line.cue_at(at - 1, "cue-first-person", "cue-others")
    return False


def _is_a_subject(line: Line, match: Match) -> bool:
    """Whether *no* before a tool only says that none of its kind does something: *no brush gets it out*."""
    after = match.last
    if line.ends_at(after):
        return False
    written = line.words(after, after + 1).casefold()
    does = written.endswith("s") and written not in _NO_VERB and (line.is_unknown(after) or line.cue_at(after, "cue-stop"))
    return does or (
        line.cue_at(after, "cue-goal", "cue-made") and not line.cue_at(after, "cue-goal-after", "cue-for", "cue-link", "cue-without-after")
    )


def _of_another_lack(line: Line, match: Match) -> bool:
    """Whether what is lacking is an unknown thing before the tool: *without a week of my life*."""
    for at, _ in line.before(match.first, _REACH):
        if line.cue_at(at, "cue-without", "cue-not"):
            return False
        if line.is_unknown(at) and at + 1 < match.first:
            return True
    return False
