"""Whether a word for a finish tells of work that is done, or of what is there already, and wishes nothing."""

from __future__ import annotations

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line

_INTO = "into"
_THERE = frozenset({"already", "done", "finished"})


def is_done(line: Line, match: Match) -> bool:
    """Whether a word for a finish tells of work that is done, where nothing in its sentence is wished: *is trued*, *has been levelled*."""
    first, _ = line.sentence(match.first)
    return line.is_past(match.first) and not line.cue_between(first, match.first, "cue-goal", "cue-wish")


def is_there(line: Line, match: Match) -> bool:
    """Whether a finish is said to be there already: *it has a dull pre-polish already*; *pre-polish done*; *to follow a pre-polish*."""
    if any(line.cue_at(at, "cue-after") and not line.cue_at(at, "cue-link") for at, _ in line.before(match.first, 2)):
        return True
    if line.is_doing(match) and any(line.tokens[at].key == "from" for at, _ in line.before(match.first, 2)):
        return True  # "rings from earlier grinding"
    return match.last < len(line.tokens) and not line.tokens[match.last].gap and line.tokens[match.last].key in _THERE


def is_told_as_done(line: Line, match: Match) -> bool:
    """Whether a word for a finish is what somebody did: *I cracked the moils off, flattened the rims*."""
    written, after = line.words(match.first, match.first + 1).casefold(), match.last
    first, _ = line.sentence(match.first)
    names = line.lexicon.vocabulary.names
    past = line.is_past(match.first) or written in {
        names[each].label for each in line.ids(match, "surface") if line.lexicon.vocabulary.holds(each, "isGraded")
    }  # "ground the logo away"
    done = past and after < len(line.tokens) and not line.tokens[after].gap
    done = done and (line.cue_at(after, "cue-article") or line.tokens[after].key == "the")
    wished = line.between(first, match.first, lambda at: line.is_goal(at) and line.tokens[at].key != _INTO) or line.cue_between(
        first, match.first, "cue-wish", "cue-plan", "cue-ask-plan"
    )
    return done and not wished
