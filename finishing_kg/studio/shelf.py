"""What is on the studio's shelf: ``shelf.toml``."""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finishing_kg.measure import Quantity, QuantityError, read_quantity
from finishing_kg.quantities import read_grade
from finishing_kg.routes import Case, on_the_shelf
from finishing_kg.studio.errors import StudioFault
from finishing_kg.texts import MOST_TABLES, NotReadable, text_of
from finishing_kg.vocabulary import Name, Vocabulary

FILE = "shelf.toml"
KINDS = ("mineral", "hold", "carrier", "machine")
"""The kinds of thing that can lie on a shelf."""

_KEYS = ("thing", "grades", "marked_speed")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing on the shelf.

    Attributes:
        thing: its id.
        grades: ids of the grades that are there; empty where none are named.
        marked_speed: the greatest turning speed that is marked on it, or ``None``.
        line: where it stands in the file.
    """

    thing: str
    grades: tuple[str, ...] = ()
    marked_speed: Quantity | None = None
    line: int = 0


@dataclass(frozen=True)
class Shelf:
    """All that is there."""

    items: tuple[Item, ...] = ()

    def case(self, vocabulary: Vocabulary) -> Case:
        """A piece of which nothing is known yet but what is at hand for it; of a kind of which nothing is on the shelf all may be used."""
        return on_the_shelf(vocabulary, ((item.thing, item.grades, item.marked_speed) for item in self.items))


def read_shelf(folder: Path, vocabulary: Vocabulary, faults: list[StudioFault]) -> Shelf:
    """Read ``shelf.toml``; what is wrong is added to ``faults``. Without the file the shelf is empty."""
    file = folder / FILE
    if not file.exists():
        return Shelf()
    try:
        text = text_of(file)
        tables = tomllib.loads(text)
    except OSError as error:
        faults.append(StudioFault(FILE, 0, "", f"It cannot be read ({error.strerror})."))
        return Shelf()
    except NotReadable as error:
        faults.append(StudioFault(FILE, error.line, "", str(error)))
        return Shelf()
    except (ValueError, RecursionError) as error:
        faults.append(StudioFault(FILE, 1, "", f"This is not TOML: {error}."))
        return Shelf()
    entries = tables.get("shelf", [])
    wrong = ""
    if set(tables) - {"shelf"} or not isinstance(entries, list) or not all(isinstance(entry, dict) for entry in entries):
        wrong = "A shelf holds [[shelf]] tables only, each with a thing."
    elif len(entries) > MOST_TABLES:
        wrong = f"A shelf holds at most {MOST_TABLES} things; this one has {len(entries)}."
    if wrong:
        faults.append(StudioFault(FILE, 1, "", wrong))
        return Shelf()
    lines = [number for number, line in enumerate(text.split("\n"), 1) if line.replace(" ", "").startswith("[[shelf]]")]
    items = [_item(vocabulary, entry, line, faults) for entry, line in zip(entries, lines + [1] * len(entries), strict=False)]
    return Shelf(tuple(item for item in items if item is not None))


def find_thing(vocabulary: Vocabulary, words: str, kinds: tuple[str, ...] = KINDS) -> Name | None:
    """The one thing of some kinds that goes by an id or a name; ``None`` if there is none or more than one."""
    wanted = words.strip().casefold()
    found = [
        name
        for kind in kinds
        for name in vocabulary.things(kind)
        if wanted in {name.id, name.notation, name.label.casefold(), *(other.casefold() for other in name.alternatives)}
    ]
    exact = [name for name in found if wanted in (name.id, name.notation)]
    return next(iter(exact or found), None) if len(exact) == 1 or len(found) == 1 else None


def _item(vocabulary: Vocabulary, entry: dict[str, Any], line: int, faults: list[StudioFault]) -> Item | None:
    before = len(faults)

    def wrong(part: str, text: str) -> None:
        faults.append(StudioFault(FILE, line, part, text))

    for key in sorted(set(entry) - set(_KEYS)):
        wrong(key, f"I know no key {key!r} here. The keys are: {', '.join(_KEYS)}.")
    thing, grades, marked = entry.get("thing"), entry.get("grades", []), entry.get("marked_speed")
    name = find_thing(vocabulary, thing) if isinstance(thing, str) else None
    if name is None:
        what = f"{str(thing)[:60]!r} is no mineral, hold, carrier or machine that I know."
        wrong("thing", f'{what} Write its id or its name, such as: thing = "felt-wheel"')
        return None
    read: list[str] = []
    if not isinstance(grades, list) or not all(isinstance(grade, str) for grade in grades):
        wrong("grades", 'The grades are a list of texts, such as: grades = ["F220", "F400"]')
        grades = []
    for grade in grades:
        mineral = name.id if name.kind == "mineral" else None
        ways = read_grade(vocabulary, grade, mineral)
        if ways:
            read.append(ways[0].grade)
        else:
            wrong("grades", f"I know no grade {grade!r}. See: finishing-kg grade --list")
    speed = None
    if marked is not None:
        try:
            speed = vocabulary.units.settle(read_quantity(str(marked)), ("rpm",))
        except QuantityError as error:
            wrong("marked_speed", str(error))
        if name.kind != "carrier":
            wrong("marked_speed", f"A speed is marked on a carrier, and {name.label} is a {name.kind}. Take it out.")
    return Item(name.id, tuple(read), speed, line) if len(faults) == before else None
