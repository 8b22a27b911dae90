"""Whether a word for a surface tells what is wished for, what is refused, or how something else is."""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line

_DEFINITE = frozenset({"the", "my", "our", "this", "these", "his", "her"})
_RELATIVE, _IT = frozenset({"that", "which", "if"}), frozenset({"it", "them", "this"})
_BROKE = frozenset({"broke", "cracked", "snapped", "burst"})
MAKE, _LOOK = frozenset({"make", "makes", "making"}), frozenset({"look", "feel"})
_ALIKE = frozenset({"like", "look", "seem"})
_WHOSE = frozenset({"his", "her", "my", "our", "their"})
_WISH_WITHIN = 5  # words between a wish and the state that it is for
_NEAR = 3
# An answer that is no longer than this says nothing else.
_BARE_ANSWER = 3


def attributive(line: Line, match: Match) -> bool:
    """Whether the word describes the thing that follows it: *the ground face*."""
    for index, _ in line.after(match.last, 2):
        owner = line.owner[index]
        if owner and (owner.is_cue("cue-object") or line.ids(owner, "form", "glass")):
            return True
    return False


def is_to_look_otherwise(line: Line, cue: Match, match: Match) -> bool:
    """Whether *make* is followed by what it is to look like, so that what describes it before is how it is now: *make a shiny ball look frosted*."""
    _, last = line.sentence(match.first)
    looks = line.between(match.last, last, lambda at: line.tokens[at].key in _LOOK and not line.tokens[at].gap)
    other = line.owner[last - 1]
    definite = match.first > 0 and line.tokens[match.first - 1].key in _DEFINITE and other is not None and other.first > match.last
    looks = looks or (definite and other is not None and bool(line.ids(other, "finish")))
    return any(line.tokens[at].key in MAKE for at in range(cue.first, cue.last)) and attributive(line, match) and looks


def of_what_is_wished(line: Line, cue: Match, match: Match) -> bool:
    """Whether *that is* describes what somebody wishes for: *they want a rim that is shiny*; *all I want is a ground rim*."""
    first, _ = line.sentence(cue.first)
    wishes = [at for at in range(first, cue.first) if line.cue_at(at, "cue-wish")]
    told = bool(wishes) and (cue.first - wishes[-1] == 1 or line.between(wishes[-1], cue.first + 1, lambda at: line.tokens[at].key in _RELATIVE))
    if not told:
        return False
    others = any(wishes[-1] < other.first < cue.first and line.ids(other, "finish") for other in line.matches)
    behind = line.owner[match.last] if match.last < len(line.tokens) and not line.tokens[match.last].gap else None
    ends = bool(line.ids(match, "finish")) or (behind is not None and bool(line.ids(behind, "finish")))  # "is a blasted frost"
    return not others and cue.first - wishes[-1] <= _WISH_WITHIN and ends


def is_wished(line: Line, cue: Match) -> bool:
    """Whether the sentence that a word stands in has spoken of a wish: *he does not want a shine, just a plain ground edge*."""
    first, _ = line.sentence(cue.first)
    return cue.is_cue("cue-but") and line.cue_between(first, cue.first, "cue-wish")


def bounds_a_refusal(line: Line, cue: Match) -> bool:
    """Whether *only* says what is wanted in place of what is refused: *I don't want it polished, only pre-polished*."""
    first, _ = line.sentence(cue.first)
    return any(first <= match.first < cue.first and line.ids(match, "finish") and line.negated(match) for match in line.matches)


def opens_with_only(line: Line, cue: Match, match: Match) -> bool:
    """Whether *just* opens what is wanted, where the surface is told by a plainer word: *edge sawn, polish. Second thoughts: just satin*."""
    near = all(line.cue_at(at, "cue-article", "cue-fine") and not line.tokens[at].gap for at in range(cue.last, match.first))
    only = cue.is_cue("cue-only", "cue-just") and line.tokens[cue.first].gap > 0 and near and not line.tokens[match.first].gap
    if not (only and line.ids(match, "finish")):
        return False
    told = (other for other in line.matches if line.ids(other, "surface") and not line.ids(other, "finish"))
    return any(other.first < cue.first and not line.negated(other) for other in told)


def follows_its_noun(line: Line, match: Match) -> bool:
    """Whether a deed is said of something that is wished for: *want a rose sandcarved*, and not *want the scratches out*."""
    before = line.owner[match.first - 1] if match.first and not line.tokens[match.first].gap else None
    noun = match.first > 0 and not line.tokens[match.first].gap and (before is None or before.is_cue("cue-object"))
    noun = noun or (before is not None and line.tokens[before.first].key in _IT and line.is_past(match.last - 1))
    return noun and any(line.cue_at(at, "cue-wish") for at, _ in line.before(match.first, _NEAR)) and not attributive(line, match)


def of_another_time(line: Line, match: Match) -> bool:
    """Whether a word tells how something was or would have been: *it used to be polished*; *he would have polished it*; *looks like satin, but*."""
    first, last = line.sentence(match.first)
    if match.first > first and not line.tokens[match.first].gap and line.cue_at(match.first - 1, "cue-sound"):
        return True  # "the front stays glossy"
    for index in range(match.first - 1, first - 1, -1):
        if line.cue_at(index, "cue-elsewhere"):
            return True
        if line.tokens[index + 1].gap > 0 or line.cue_at(index, "cue-but"):
            break
    alike = match.first > first and not line.tokens[match.first].gap and line.tokens[match.first - 1].key in _ALIKE
    return alike and line.between(match.last, last, lambda at: line.cue_at(at, "cue-but"))


def of_something_else(line: Line, match: Match) -> bool:
    """Whether something broke that is no piece: *the kettle broke*, where the subject is a plain word and nothing of the piece."""
    if match.first < 2 or line.tokens[match.first].gap or line.words(match.first, match.last).casefold() not in _BROKE:
        return False
    whose = line.tokens[match.last].key if match.last < len(line.tokens) and not line.tokens[match.last].gap else ""
    if whose in _WHOSE and match.last + 1 < len(line.tokens):
        other = line.owner[match.last + 1]
        return other is None or not (other.is_cue("cue-object") or line.ids(other, "form", "glass"))  # "he broke his arm"
    subject = line.owner[match.first - 1]
    plain = subject is None or subject.senses.cues <= {"cue-plain", "cue-others"}
    return plain and line.cue_at(match.first - 2, "cue-article", "cue-link")


def is_to_be_clear(line: Line, match: Match, waiting_for: tuple[str, ...]) -> bool:
    """Whether *clear* is how it should end, and no colour or verb: *I want it clear*; by itself it answers how it should end."""
    after = line.owner[match.last] if match.last < len(line.tokens) and not line.tokens[match.last].gap else None
    first, last = line.sentence(match.first)
    if after is not None and line.ids(after, "form") and line.cue_at(first, "cue-article") and line.cue_between(after.last, last, "cue-goal-after"):
        return match.first == first + 1  # "A clear rim, please."
    if match.last < len(line.tokens) and not line.tokens[match.last].gap and not (after and after.is_cue("cue-stop", "cue-goal-after", "cue-not")):
        return False
    # "Clear, please."; "Clear, of course."
    alone = match.last < last and all(line.cue_at(at, "cue-goal-after", "cue-stop") for at in range(match.last, last))
    if alone and (match.first == first or line.tokens[match.first].gap > 0):
        return True
    if ("finish" in waiting_for and len(line.tokens) <= _BARE_ANSWER) or (match.last == last and line.tokens[first].key in MAKE):
        return True
    if any(line.cue_at(at, "cue-goal", "cue-wish") for at, _ in line.before(match.first, _NEAR)):
        return True
    ends = match.last == last or line.tokens[match.last].gap > 0 or line.cue_at(match.last, "cue-goal-after")
    wishes = [at for at in range(first, match.first) if line.is_goal(at) or line.cue_at(at, "cue-wish") or line.tokens[at].key in MAKE]
    # "He would like that flat face clear"; "so it is to be seen, clear float" is a colour again.
    return ends and bool(wishes) and not line.between(wishes[-1], match.first, lambda at: at > wishes[-1] and _ends_a_wish(line, at))


def _ends_a_wish(line: Line, at: int) -> bool:
    """Whether a wish does not reach over a word: a break, or something else that is wished for."""
    owner = line.owner[at]
    return line.tokens[at].gap > 0 or (owner is not None and bool(line.ids(owner, "finish")) and not owner.is_cue("cue-clear"))
