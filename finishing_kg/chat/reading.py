"""What one turn of a maker's text was taken to say, as plain data."""

from typing import Literal, NamedTuple

from finishing_kg.measure import Quantity
from finishing_kg.record import field, record
from finishing_kg.vocabulary import Name

Level = Literal["line", "short", "whole"]
Intent = Literal["tell", "why", "why_not", "what_if", "compare", "diagnose", "restart", "out_of_scope", "not_understood"]
RestrictionKind = Literal["only", "has", "without"]

SLOTS = ("glass", "make", "form", "surface", "finish")
"""The kinds that describe a piece and its goal, in the order in which they are asked for."""

CUT_SHORT = "text"
"""What the doubt is about that not all of a text was read."""

TOOLS = ("mineral", "hold", "carrier", "machine")
"""The kinds that a bench has or lacks."""


class Slot(NamedTuple):
    """What was said of one part of the piece.

    Attributes:
        ids: the things it can be; more than one if the words fit several.
        words: as written.
        corrected: a typing slip was repaired.
    """

    ids: tuple[str, ...]
    words: str
    corrected: bool = False


class GradeWords(NamedTuple):
    """A grade as written; which grade it is, is left to the grading scales. ``bare``: a number without a system."""

    words: str
    bare: bool = False


class Restriction(NamedTuple):
    """What is at hand or is not.

    Attributes:
        kind: ``only`` these, ``has`` these among others, ``without`` these.
        ids: the things; of an unclear word all that it can be.
        words: as written.
        together: the ids describe one tool (a diamond belt); each alone is not meant.
    """

    kind: RestrictionKind
    ids: tuple[str, ...]
    words: str
    together: bool = False


class Doubt(NamedTuple):
    """What could not be taken for certain.

    Attributes:
        about: the slot or subject.
        text: a sentence.
        choices: the things it could be.
        tentative: the likeliest was taken all the same, so that it is asked only if another would change the advice.
    """

    about: str
    text: str
    choices: tuple[str, ...] = ()
    tentative: bool = False


@record(frozen=True, slots=True)
class Reading:
    """One turn, read by itself; merging turns is the dialogue's part.

    Attributes:
        intent: what kind of turn it is.
        slots: by ``SLOTS``; a slot that nothing was said of is absent.
        surface_grade: the grade that left the present surface.
        goal_grade: a grade that the maker wants to end at.
        grades: other grades that were named.
        restrictions: tools at hand or missing, in the order said.
        about: what a why, why-not, what-if or comparing question names.
        planned: what the maker has in mind to use.
        mentioned: tools named without any of these roles.
        faults: what is complained of.
        after: of a complaint, what the piece was last worked with.
        measures: of the piece, by the id of the quantity's phrase, e.g. ``diameter``.
        planned_grade: the grade of what the maker has in mind to use.
        planned_wet: whether the maker means to work with water; ``None`` if nothing was said, or both.
        planned_measures: of the maker's own wheel and spindle, e.g. ``spindleSpeed``.
        again: the maker asks for more of the answer that was given, such as how long it takes.
        outside: the id of the cue that puts the turn out of scope; empty if none does.
        step: the step asked about, from 1; -1 for the last.
        level: how much of the reasoning a why question asks for; ``None`` if it does not say.
        dont_know: the maker says that they do not know.
        same: parts of the piece before that a new piece keeps: slots, ``bench``, or ``all``.
        wished: of what is planned, what the work is to be done with, asked or not.
        unused: content words that nothing was made of.
        doubts: what was not taken for certain.
        unplaced: words of tools of which it is not clear what is said.
        is_story: more of it may be misheard than can be asked about word by word, see ``chat.saying_back``.
        cuts: the ways that the text could be cut into pieces, for ``chat.several``.
        announced: the first of the cuts is told by words such as *job B*, so that it holds however little is told of each piece.
        bodies: the cut that two bodies with articles of their own tell of, which may not be mixed even where little else is known of them.
        of_all: the slots that are said of every piece that was told.
        own_body: a body is named with an article of its own, such as *a panel*.
        other_piece: another piece is asked for: its number in the order told, 0 for the next one; ``None`` if none is.
        corrects: something said before is taken back.
        goes_on: the turn begins with *now* or the like.
        further: the turn begins with a piece beside the one before.
    """

    intent: Intent
    slots: dict[str, Slot] = field(default_factory=dict)
    surface_grade: GradeWords | None = None
    goal_grade: GradeWords | None = None
    grades: tuple[GradeWords, ...] = ()
    restrictions: tuple[Restriction, ...] = ()
    about: tuple[Name, ...] = ()
    planned: tuple[Name, ...] = ()
    mentioned: tuple[Name, ...] = ()
    faults: tuple[Name, ...] = ()
    after: tuple[Name, ...] = ()
    measures: dict[str, Quantity] = field(default_factory=dict)
    planned_grade: GradeWords | None = None
    planned_wet: bool | None = None
    planned_measures: dict[str, Quantity] = field(default_factory=dict)
    outside: str = ""
    again: bool = False
    step: int | None = None
    level: Level | None = None
    dont_know: bool = False
    same: tuple[str, ...] = ()
    wished: tuple[str, ...] = ()
    unused: tuple[str, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    unplaced: tuple[str, ...] = ()
    is_story: bool = False
    cuts: tuple[tuple[str, ...], ...] = ()
    announced: bool = False
    bodies: tuple[str, ...] = ()
    of_all: tuple[str, ...] = ()
    own_body: bool = False
    other_piece: int | None = None
    corrects: bool = False
    goes_on: bool = False
    further: bool = False
