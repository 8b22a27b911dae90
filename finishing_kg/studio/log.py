"""The bench log: what was done and how long it took, a record a line in ``log.jsonl``; lines are only ever added."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from datetime import datetime
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from finishing_kg.measure import Quantity, QuantityError, read_quantity
from finishing_kg.quantities import read_grade
from finishing_kg.studio.errors import StudioError, StudioFault
from finishing_kg.studio.folder import settings
from finishing_kg.studio.shelf import find_thing
from finishing_kg.studio.write import append_line, locked, torn
from finishing_kg.vocabulary import Vocabulary

FILE = "log.jsonl"
_MOST_FAULTS = 50  # that are told at once; a file with more of them is none of ours
_LARGEST, _LONGEST_LINE = 20_000_000, 100_000  # bytes; a job takes some three hundred


@dataclass(frozen=True, slots=True)
class Record:
    """One job, as texts; what was not said is empty.

    Attributes:
        at: when it was written, by the clock of this machine, as ISO 8601 with the offset; order in the file, not this, tells what came first.
        minutes: the time it took, with its unit.
        mineral, hold, carrier, glass: ids.
        grade: that was used.
        found: grade that had left the surface which the job found.
        found_hold: id of the hold of that grade.
        form: id.
        area: of the face, with its unit.
        note: anything in words.
    """

    at: str
    minutes: str = ""
    mineral: str = ""
    hold: str = ""
    carrier: str = ""
    glass: str = ""
    grade: str = ""
    found: str = ""
    found_hold: str = ""
    form: str = ""
    area: str = ""
    note: str = ""


_KEYS = tuple(field.name for field in fields(Record))


@dataclass(frozen=True)
class Log:
    """What ``log.jsonl`` holds: the records in their order, and a half-written last line that counts for nothing, empty if there is none."""

    records: tuple[Record, ...] = ()
    torn: str = ""


def now() -> str:
    """The time by the clock of this machine, to the second."""
    return datetime.now().astimezone().isoformat(timespec="seconds")


def write(folder: Path, record: Record) -> None:
    """Add a record; it is on the disk when this returns.

    Raises:
        StudioError: the system refuses; the log is then as it was.
    """
    line = json.dumps({key: value for key, value in asdict(record).items() if value}, ensure_ascii=False, separators=(", ", ": "))
    settings(folder)  # a folder of a newer format is not touched
    with locked(folder):
        append_line(folder / FILE, line.encode("utf-8"), _is_whole)


def _is_whole(line: bytes) -> bool:
    """Whether a line is all of a record; no beginning of one is."""
    try:
        return isinstance(json.loads(line.decode("utf-8")), dict)
    except (ValueError, RecursionError):
        return False


def read(folder: Path, vocabulary: Vocabulary, faults: list[StudioFault]) -> Log:
    """Read the log; what is wrong is added to ``faults``. A last line that was cut off is no fault: its writer was never told that it is kept."""
    file = folder / FILE
    if not file.exists():
        return Log()
    try:
        with file.open("rb") as stream:
            raw = stream.read(_LARGEST + 1)
    except OSError as error:
        faults.append(StudioFault(FILE, 0, "", f"It cannot be read ({error.strerror})."))
        return Log()
    if len(raw) > _LARGEST:
        faults.append(StudioFault(FILE, 0, "", f"The log is larger than {_LARGEST // 1_000_000} MB. Move its older lines into a file elsewhere."))
        return Log()
    rest = torn(raw)
    if _is_whole(rest):
        raw, rest = raw + b"\n", b""
    records, known = [], len(faults)
    for number, line in enumerate(raw[: len(raw) - len(rest)].split(b"\n")[:-1], 1):
        if len(faults) - known == _MOST_FAULTS:
            faults.append(StudioFault(FILE, number, "", "There may be more like these; mend them first."))
            break
        if line.strip():
            record = _record(line, number, vocabulary, faults)
            records += [record] if record else []
    return Log(tuple(records), rest.decode("utf-8", "replace"))


def minutes_of(record: Record, vocabulary: Vocabulary) -> Quantity:
    """The minutes that a job took.

    Raises:
        QuantityError: no time above nought.
    """
    return _above_nought(record.minutes, "min", "12 min", vocabulary)


def area_of(record: Record, vocabulary: Vocabulary) -> Quantity | None:
    """The area that was worked, ``None`` where nobody said it.

    Raises:
        QuantityError: no area above nought.
    """
    return _above_nought(record.area, "cm²", "80 cm²", vocabulary) if record.area else None


def record_of(vocabulary: Vocabulary, said: Mapping[str, str]) -> Record:
    """A record of now, its things by their ids and its measures and grades such as can be read.

    Args:
        vocabulary: with the names of things.
        said: by the names of a record's parts, as somebody put it.

    Raises:
        StudioError: with everything that is not understood.
    """
    faults: list[StudioFault] = []
    known = dict(said)
    for part in ("mineral", "hold", "carrier", "glass", "form", "found_hold"):
        kind = part.removeprefix("found_")
        if said[part] and (name := find_thing(vocabulary, said[part], (kind,))):
            known[part] = name.id
        elif said[part]:
            near = get_close_matches(said[part], [name.label for name in vocabulary.things(kind)], 3, 0.4)
            faults.append(StudioFault("", 0, part, f"I know no {kind} {said[part]!r}." + (f" Nearest: {', '.join(near)}." if near else "")))
    for part, mineral, hold in (("grade", known["mineral"], known["hold"]), ("found", "", known["found_hold"])):
        if said[part] and not read_grade(vocabulary, said[part], mineral or None, hold or None):
            faults.append(StudioFault("", 0, part, f"I know no grade {said[part]!r}. See: finishing-kg grade --list"))
    record = Record(at=now(), **known)
    for measure in (minutes_of, area_of):
        try:
            measure(record, vocabulary)
        except QuantityError as error:
            faults.append(StudioFault("", 0, "", str(error)))
    if faults:
        raise StudioError(faults)
    return record


def _above_nought(text: str, unit: str, example: str, vocabulary: Vocabulary) -> Quantity:
    units = vocabulary.units
    quantity = units.convert(units.settle(read_quantity(text), (unit,)), unit)
    if quantity.lowest <= 0:
        raise QuantityError(text, "this is nothing.", example)
    return quantity


def _record(line: bytes, number: int, vocabulary: Vocabulary, faults: list[StudioFault]) -> Record | None:
    def wrong(text: str) -> None:
        faults.append(StudioFault(FILE, number, "", text))

    if len(line) > _LONGEST_LINE:
        wrong(f"This line is longer than {_LONGEST_LINE} bytes; no record is.")
        return None
    try:
        table: Any = json.loads(line.decode("utf-8"))
    except (ValueError, RecursionError):
        wrong('This line is no record. A record is one line, such as: {"at": "2026-01-31T10:00:00+00:00", "minutes": "12 min"}')
        return None
    if not isinstance(table, dict) or not all(isinstance(value, str) for value in table.values()) or "at" not in table:
        wrong("A record holds texts by their names, and when it was written under 'at'.")
        return None
    if extra := sorted(set(table) - set(_KEYS)):
        wrong(f"I know no {extra[0]!r} in a record. It can hold: {', '.join(_KEYS)}. If a newer version wrote it, install that version.")
        return None
    record = Record(**table)
    try:
        datetime.fromisoformat(record.at)
        minutes_of(record, vocabulary)
        area_of(record, vocabulary)
    except ValueError as error:  # a quantity's error is one too
        wrong(str(error))
        return None
    return record
