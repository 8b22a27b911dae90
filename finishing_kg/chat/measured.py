"""Which quantity a measure is of: *12 cm across*, *a wall of 4 mm*, *a 300 mm wheel at 400 rpm*."""

from __future__ import annotations

from dataclasses import dataclass, field

from finishing_kg.chat.line import Line
from finishing_kg.chat.reading import Doubt
from finishing_kg.measure import Quantity

_CUE = "measure-"
_REACH = 4
# A turning speed or a speed tells by its unit alone what it is of; a length does not.
_BY_DIMENSION = {"turning speed": "spindleSpeed", "speed": "surfaceSpeed"}


@dataclass
class Measured:
    """What was measured, by the id of the quantity's phrase, and what could not be placed."""

    quantities: dict[str, Quantity] = field(default_factory=dict)
    unused: list[str] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def measures_of(line: Line) -> Measured:
    """Place every measure of a turn."""
    found = Measured()
    units = line.lexicon.vocabulary.units
    for index, mark in line.measures.items():
        if mark.quantity is None and "," not in mark.words:
            found.unused.append(mark.words)
            continue
        if mark.quantity is None:
            found.doubts.append(Doubt("measures", f"In “{mark.words}” the comma can be a decimal or a thousands mark. Write it with a point."))
            continue
        dimension = units.by_symbol[mark.quantity.unit].dimension
        name = _named(line, index, dimension) or _BY_DIMENSION.get(dimension)
        if name is None:
            found.unused.append(mark.words)
        elif name in found.quantities and found.quantities[name] != mark.quantity:
            found.doubts.append(Doubt("measures", f"“{mark.words}” is a second value for the same measure; the first was kept."))
        else:
            found.quantities[name] = mark.quantity
    return found


def _named(line: Line, index: int, dimension: str) -> str | None:
    """The phrase that the nearest measuring word names, if it takes this dimension; words after the number come first."""
    places = [at for at, _ in line.after(index + 1, _REACH)] + [at for at, _ in line.before(index, _REACH)]
    for at in places:
        owner = line.owner[at]
        for cue in sorted(owner.senses.cues) if owner else ():
            phrase = line.lexicon.vocabulary.phrases.get(cue.removeprefix(_CUE)) if cue.startswith(_CUE) else None
            if phrase and dimension in {line.lexicon.vocabulary.units.by_symbol[symbol].dimension for symbol in phrase.units}:
                return phrase.id
    return None
