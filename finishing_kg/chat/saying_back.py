"""A long story is said back before anything of it counts.

Of a story only half of the sentences are about the work, and which half is told by words that nobody can list: who owned the
piece, what a friend would do, what the cat did. So what was heard in it is put to the maker as a whole, once. So is a longer
message that names a tool in words that are not followed: where one thing is not followed, another is often misheard.
"""

from __future__ import annotations

from collections.abc import Sequence

from finishing_kg.advice.contract import Answer, AskBack, Understood
from finishing_kg.chat.lexicon import lexicon_of
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import CUT_SHORT
from finishing_kg.chat.words import clean
from finishing_kg.vocabulary import Vocabulary

TELL_IN_SHORT = "Tell me in a line or two: which glass, which place on it, how it is now, and how it should end."
HEARD = "heard"
"""What the question is about that says a story back."""

_BARE = frozenset({"cue-agree", "cue-not", "cue-without", "cue-stop", "cue-plain"})
_LONG = 45  # words of a message that hardly anybody writes without a story
_STRANGE, _STRANGE_IN = 5, 24  # so many words that nobody knows, in a message of at least so many words
_UNPLACED_IN = 20  # words of a message of which more is misheard, where it is not clear what is said of a tool


def is_a_story(line: Line, unplaced: Sequence[str]) -> bool:
    """Whether more of a message may be misheard than can be asked about word by word.

    Args:
        line: the message.
        unplaced: words of tools in it of which it is not clear what is said.
    """
    count = len(line.tokens)
    strange = sum(line.is_unknown(at) for at in range(count))
    return count >= _LONG or (count >= _STRANGE_IN and strange >= _STRANGE) or (count >= _UNPLACED_IN and bool(unplaced))


def agrees(vocabulary: Vocabulary, text: str) -> bool | None:
    """Whether a turn says *yes*, or *no*, and nothing else; ``None`` for any other turn."""
    line = Line.of(clean(text)[0], lexicon_of(vocabulary))
    if any(owner is None or owner.senses.things or owner.senses.cues - _BARE for owner in line.owner):
        return None
    return False if line.any_cue("cue-not") else True if line.any_cue("cue-agree") else None


def said_back(vocabulary: Vocabulary, told: Answer, before: Understood, unplaced: Sequence[str]) -> Answer:
    """The question whether what was heard is so.

    Args:
        vocabulary: for the labels.
        told: the answer that it would have, if it counted.
        before: what counts so far.
        unplaced: words of tools of which it is not clear what is said.
    """
    pieces = [told.understood, *told.other_pieces]
    lines = [_in_words(vocabulary, piece) for piece in pieces]
    if not any(lines):
        text = "That is a long story, and I found nothing in it that I could work with."
        question = TELL_IN_SHORT
    else:
        text = "That is a long story, so I say back what I heard before I advise."
        if unplaced:
            text = f"I do not follow what you say of {' and '.join(f'“{words}”' for words in unplaced)}, so I say back what I heard before I advise."
        heard = " ".join(f"{number}. {line}." for number, line in enumerate(lines, 1)) if len(lines) > 1 else f"{lines[0]}."
        question = f"I heard: {heard} Is that right, and all of it? Say yes, or say what is otherwise."
    asked = [AskBack(about=HEARD, text=question), *(each for each in told.ask_back if each.about == CUT_SHORT)]
    return Answer(
        kind="question", text=f"{text} {question}", understood=before, heard=pieces, ask_back=asked, cautions=told.cautions, reasons=told.reasons
    )


def _in_words(vocabulary: Vocabulary, heard: Understood) -> str:
    """What was heard of a piece, each part with the maker's own words for it."""
    labels = {name.notation: name.label for name in vocabulary.names.values()}
    told = [f"{statement}{_quoted(heard.words.get(statement))}" for statement in heard.statements]
    if heard.planned:
        told.append(f"you have in mind {', '.join(f'{kind} {labels.get(thing, thing)}' for kind, thing in heard.planned.items())}")
    if heard.faults:
        told.append(f"you complain of {', '.join(labels.get(fault, fault) for fault in heard.faults)}")
    return "; ".join(told)


def _quoted(words: str | None) -> str:
    return f" (“{words}”)" if words else ""
