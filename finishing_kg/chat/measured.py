"""Which quantity a measure is of: *12 cm across*, *a wall of 4 mm*, *a 300 mm wheel at 400 rpm*."""

from __future__ import annotations

from decimal import Decimal

from finishing_kg.chat.lexicon import Match
from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import Doubt
from finishing_kg.chat.tool_here import is_tool_here
from finishing_kg.measure import Quantity
from finishing_kg.record import field, record

_CUE = "measure-"
_REACH = 4
# A turning speed, a speed or an area tells by its unit alone what it is of; a length or a time does not.
_BY_DIMENSION = {"turning speed": "spindleSpeed", "speed": "surfaceSpeed", "area": "faceArea"}
_OF_THE_TOOL = frozenset({"wheelDiameter", "spindleSpeed", "ratedSpeed", "surfaceSpeed"})
_WIDE, _LONG = frozenset({"wide", "broad", "width"}), frozenset({"long", "length"})
_OURS = frozenset({"i", "we", "ive", "weve"})
# A length that is shorter, in mm, is no breadth of a round body; so far before a length the body may stand, in the costs of ``Line.before``.
_LEAST_ROUND, _ROUND_WITHIN = 8, 7
_WIDEST_BAND = 30  # in mm
# A bare number this large beside *turns* can only be turns a minute.
_LEAST_TURNS = 100


@record()
class Measured:
    """What was measured, by the id of the quantity's phrase.

    Attributes:
        piece: measures of the piece.
        tool: measures of the wheel and the spindle of the maker's own plan.
        unused: measures that could not be placed, as written.
        doubts: measures that could be read in two ways.
        torn: what was told with two values, of which neither is taken.
    """

    piece: dict[str, Quantity] = field(default_factory=dict)
    tool: dict[str, Quantity] = field(default_factory=dict)
    unused: list[str] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    torn: set[str] = field(default_factory=set)


def measures_of(line: Line) -> Measured:
    """Place every measure of a turn."""
    found = Measured()
    units = line.lexicon.vocabulary.units
    placed: tuple[int, str | None, str] | None = None
    for index, mark in line.measures.items():
        if index in line.aside and not _tells_the_glass(line, index):
            found.unused.append(mark.words)
            continue
        if mark.quantity is None and "," not in mark.words:
            found.unused.append(mark.words)
            continue
        if mark.quantity is None:
            found.doubts.append(Doubt("measures", f"In “{mark.words}” the comma can be a decimal or a thousands mark. Write it with a point."))
            continue
        dimension = units.by_symbol[mark.quantity.unit].dimension
        name = _named(line, index, dimension) or _BY_DIMENSION.get(dimension) or _of_wheel(line, index)
        name = (
            name
            or _allowed(line, index, dimension)
            or _of_what_is_round(line, index, mark.quantity)
            or _of_the_one_length(line, index, mark.quantity)
        )
        if name in _OF_THE_TOOL and _is_past(line, index):
            found.unused.append(mark.words)
            continue
        if placed and placed[2] == dimension and line.taken_back(placed[0] + 1, index) and name in (None, placed[1]):
            name = placed[1]  # "3 mm thick, I mean 5 mm"
            found.piece.pop(name or "", None)
            found.tool.pop(name or "", None)
        placed = (index, name, dimension)
        _place(found, name, mark.words, mark.quantity)
    for index, mark in line.bare.items():
        if index not in line.described and _turns(line, index):
            _place(found, "spindleSpeed", mark.words, Quantity(Decimal(mark.words), "rpm"))
            line.described.add(index)
    for name in found.torn:
        found.piece.pop(name, None)
        found.tool.pop(name, None)
    return found


def _is_past(line: Line, index: int) -> bool:
    """Whether a measure tells how the present surface came about: *sawn at 4500 rpm*."""
    before = next((owner for at, _ in line.before(index, 2) if (owner := line.owner[at]) and line.ids(owner, "surface")), None)
    return before is not None and not line.ids(before, "finish")


def _tells_the_glass(line: Line, index: int) -> bool:
    """Whether the sentence of an aside is the only one that tells a glass, so that the piece is told there."""
    told = [match.first for match in line.matches if line.ids(match, "glass")]
    first, last = line.sentence(index)
    return bool(told) and all(first <= at < last for at in told)


def _place(found: Measured, name: str | None, words: str, quantity: Quantity) -> None:
    held = found.tool if name in _OF_THE_TOOL else found.piece
    if name is None:
        found.unused.append(words)
    elif name in held and held[name] != quantity:
        found.unused.append(words)
        text = f"“{words}” is a second value for the same measure; neither it nor {held[name]} is taken. Which is it?"
        found.doubts.append(Doubt("measures", text))
        found.torn.add(name)
    else:
        held[name] = quantity


def _named(line: Line, index: int, dimension: str) -> str | None:
    """The phrase that the nearest measuring word names, if it takes this dimension; words after the number come first."""
    if any(line.cue_at(at, "cue-other-measure") for at, _ in line.after(index + 1, 1)):
        return None
    after = _up_to_another(line, _before_a_place(line, [at for at, _ in line.after(index + 1, _REACH)]), dimension)
    before = _up_to_another(line, [at for at, _ in line.before(index, _REACH)], dimension)
    for at in after + before:
        owner = line.owner[at]
        for cue in sorted(owner.senses.cues) if owner else ():
            phrase = line.lexicon.vocabulary.phrases.get(cue.removeprefix(_CUE)) if cue.startswith(_CUE) else None
            if phrase and phrase.id == "diameter" and line.tokens[at].key in _WIDE and (_is_long(line, index) or _is_of_a_band(line, index)):
                continue  # "45 cm long and 30 cm wide" and "a bevel 1 inch wide" have no diameter
            if phrase and dimension in {line.lexicon.vocabulary.units.by_symbol[symbol].dimension for symbol in phrase.units}:
                return phrase.id
    return None


def _is_long(line: Line, index: int) -> bool:
    """Whether the sentence of a measure tells a length too."""
    first, last = line.sentence(index)
    return any(at in line.measures and at + 1 < last and line.tokens[at + 1].key in _LONG for at in range(first, last))


def _is_of_a_band(line: Line, index: int) -> bool:
    """Whether a small measure behind an edge tells how wide the band is that was worked along it."""
    units, quantity = line.lexicon.vocabulary.units, line.measures[index].quantity
    if quantity is None or units.by_symbol[quantity.unit].dimension != "length" or units.convert(quantity, "mm").mid > _WIDEST_BAND:
        return False
    for at, _ in line.before(index, _REACH):
        owner = line.owner[at]
        if owner is not None and (line.ids(owner, "form") or owner.is_cue("cue-object")):
            return any(line.lexicon.vocabulary.holds(each, "isEdgeLike") for each in line.ids(owner, "form"))
    return False


def _before_a_place(line: Line, places: list[int]) -> list[int]:
    """A measuring word beyond a body or *on a* is of something else: *a 30 mm rod on a wheel*."""
    kept = []
    for at in places:
        owner = line.owner[at]
        if owner and owner.is_cue("cue-object", "cue-place") and not any(cue.startswith(_CUE) for cue in owner.senses.cues):
            break
        kept.append(at)
    return kept


def _up_to_another(line: Line, places: list[int], dimension: str) -> list[int]:
    """A measuring word beyond another measure of the same dimension belongs to that one."""
    kept = []
    for at in places:
        mark = line.measures.get(at)
        if mark and mark.quantity and line.lexicon.vocabulary.units.by_symbol[mark.quantity.unit].dimension == dimension:
            break
        kept.append(at)
    return kept


def _of_wheel(line: Line, index: int) -> str | None:
    """A length right beside something that turns is the size of that: *an 8 inch felt*, *a 200 mm stone*."""
    for at, _ in line.after(index + 1, _REACH):
        owner = line.owner[at]
        if owner is None or not line.ids(owner, "mineral", "hold", "carrier"):
            break
        if _spins(line, owner):
            return "wheelDiameter"
    owner = line.owner[index - 1] if index and not line.tokens[index].gap else None
    return "wheelDiameter" if owner is not None and _spins(line, owner) and is_tool_here(line, owner) else None


def _allowed(line: Line, index: int, dimension: str) -> str | None:
    """A time is what the work may take where it is wished for within it, or where makers say that they have it: *polished in 45 min, please*."""
    if dimension != "time" or not index or line.tokens[index].gap:
        return None
    first, last = line.sentence(index)
    have = line.owner[index - 1]
    if have is not None and have.is_cue("cue-have") and line.tokens[have.first].key in _OURS:
        return "atMostMinutes"
    wished = line.cue_between(first, index, "cue-wish") or line.asks(last) or line.between(first, index - 1, line.is_goal)
    counted = index - 2 >= first and line.tokens[index - 2].key == "piece"  # "10 pieces in 2 h"; "in five minutes a piece"
    counted = counted or any(line.tokens[at].key in ("piece", "each", "apiece") for at, _ in line.after(index + 1, 2))
    return "atMostMinutes" if line.tokens[index - 1].key == "in" and (wished or counted) else None


def _of_what_is_round(line: Line, index: int, quantity: Quantity) -> str | None:
    """A length right beside a ball or a hole is its diameter: *a sphere of crown, 60 mm*; *a 3/8 in bore*; what is as short as that is not."""
    units = line.lexicon.vocabulary.units
    if units.by_symbol[quantity.unit].dimension != "length" or units.convert(quantity, "mm").mid < _LEAST_ROUND:
        return None
    behind = index + 1
    if behind < len(line.tokens) and not line.tokens[behind].gap:
        if line.cue_at(behind, "cue-round"):
            return "diameter"
        if not line.cue_at(behind, "cue-stop", "cue-goal", "cue-present", "cue-past-after"):
            return None
    for at, _ in line.before(index, _ROUND_WITHIN):
        owner = line.owner[at]
        if owner is None or at in line.measures or owner.is_cue("cue-plan", "cue-have"):
            return None
        if owner.is_cue("cue-round"):
            tool = line.owner[owner.first - 1] if owner.first else None
            placed = tool is not None and (tool.is_cue("cue-off") or bool(line.ids(tool, "mineral", "hold", "carrier")))
            return None if placed else "diameter"
    return None


def _of_the_one_length(line: Line, index: int, quantity: Quantity) -> str | None:
    """A length that has its clause to itself is the diameter of the ball or hole spoken of, if no other is told: *etched all over, 102 mm*."""
    units = line.lexicon.vocabulary.units
    lengths = [at for at, mark in line.measures.items() if mark.quantity and units.by_symbol[mark.quantity.unit].dimension == "length"]
    if lengths != [index] or units.convert(quantity, "mm").mid < _LEAST_ROUND:
        return None
    alone = (not index or line.tokens[index].gap > 0) and line.ends_at(index + 1)
    return "diameter" if alone and line.any_cue("cue-round") else None


def _spins(line: Line, match: Match) -> bool:
    return any(line.lexicon.vocabulary.holds(each, "spins") for each in line.ids(match, "carrier"))


def _turns(line: Line, index: int) -> bool:
    """Whether a bare number stands after a word for turning: *the grinder turns 3450*."""
    if int(line.bare[index].words) < _LEAST_TURNS:
        return False
    return any(line.cue_at(at, "measure-spindleSpeed") for at, _ in line.before(index, 2))
