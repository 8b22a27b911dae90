"""The mutants that are known to survive, with the reason: ``survivors.toml``."""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

KINDS = {"equivalent": "does the same", "types": "refused by mypy alone", "unheard": "not noticed, and left"}
FILE = Path(__file__).with_name("survivors.toml")


class Survivor(NamedTuple):
    """A mutant that survives.

    Attributes:
        place, was, now: as of a ``Mutant``.
        kind: ``equivalent`` where nobody could tell the difference, ``types`` where only mypy can, ``unheard`` where somebody could and no test does.
        reason: why that is so.
    """

    place: str
    was: str
    now: str
    kind: str
    reason: str


def known(file: Path = FILE) -> Mapping[tuple[str, str, str], Survivor]:
    """The survivors of a file, by what they are.

    Raises:
        ValueError: an entry lacks a part, or its kind is not known.
    """
    found: dict[tuple[str, str, str], Survivor] = {}
    for number, entry in enumerate(tomllib.loads(file.read_text(encoding="utf-8")).get("survivor", []), start=1):
        if set(entry) != set(Survivor._fields) or entry["kind"] not in KINDS or not entry["reason"].strip():
            raise ValueError(f"{file.name}, entry {number}: write {', '.join(Survivor._fields)}; kind is one of {', '.join(KINDS)}.")
        one = Survivor(**entry)
        found[one.place, one.was, one.now] = one
    return found
