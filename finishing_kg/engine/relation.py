"""All pairs that a phrase is known to hold for, as columns of integers indexed both ways."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, KeysView
from collections.abc import Set as AbstractSet
from typing import Protocol

_NONE: frozenset[int] = frozenset()


class Pairs(Protocol):
    """What a join asks of a relation. The object of a trait is ``NOTHING``."""

    def subjects(self, obj: int) -> AbstractSet[int]:
        """The subjects of an object."""

    def objects(self, subject: int) -> AbstractSet[int]:
        """The objects of a subject."""

    def all_objects(self) -> KeysView[int]:
        """Every object there is."""

    def all_subjects(self) -> KeysView[int]:
        """Every subject there is."""

    def __len__(self) -> int: ...


class Relation:
    """Subject and object pairs of one predicate, of one layer.

    The subjects of each object are kept; the objects of each subject are worked out when somebody first asks for them, since
    most relations are only ever entered by their objects.
    """

    __slots__ = ("_by_subject", "_size", "by_object")

    def __init__(self) -> None:
        self.by_object: dict[int, set[int]] = {}
        self._by_subject: dict[int, set[int]] | None = None
        self._size = 0

    @classmethod
    def of(cls, by_object: dict[int, set[int]]) -> Relation:
        """The relation with the subjects of each object."""
        made = cls()
        made.by_object, made._size = by_object, sum(map(len, by_object.values()))
        return made

    def add_all(self, subjects: Iterable[int], obj: int, *, known: AbstractSet[int] = _NONE) -> set[int]:
        """Add an object's subjects, other than those ``known`` elsewhere; gives those that are new."""
        here = self.by_object.get(obj)
        if here is None:
            here = self.by_object[obj] = set()
        new = set(subjects)
        new -= here
        if known:
            new -= known
        here |= new
        self._size += len(new)
        if self._by_subject is not None:
            for subject in new:
                self._by_subject.setdefault(subject, set()).add(obj)
        return new

    def subjects(self, obj: int) -> AbstractSet[int]:
        """The subjects of an object."""
        return self.by_object.get(obj, _NONE)

    def objects(self, subject: int) -> AbstractSet[int]:
        """The objects of a subject."""
        return self._turned().get(subject, _NONE)

    def all_objects(self) -> KeysView[int]:
        """Every object there is."""
        return self.by_object.keys()

    def all_subjects(self) -> KeysView[int]:
        """Every subject there is."""
        return self._turned().keys()

    def _turned(self) -> dict[int, set[int]]:
        found = self._by_subject
        if found is None:
            found = self._by_subject = {}
            for obj, subjects in self.by_object.items():
                for subject in subjects:
                    found.setdefault(subject, set()).add(obj)
        return found

    def __len__(self) -> int:
        return self._size

    def __iter__(self) -> Iterator[tuple[int, int]]:
        return ((subject, obj) for obj, subjects in self.by_object.items() for subject in subjects)


class Joined:
    """Relations of one predicate, from several layers, looked at as one; no pair is in two of them."""

    __slots__ = ("_parts",)

    def __init__(self, parts: list[Relation]) -> None:
        self._parts = parts

    def subjects(self, obj: int) -> AbstractSet[int]:
        """The subjects of an object."""
        found: AbstractSet[int] = _NONE
        for part in self._parts:
            more = part.by_object.get(obj)
            if more:
                found = found | more if found else more
        return found

    def objects(self, subject: int) -> AbstractSet[int]:
        """The objects of a subject."""
        found: AbstractSet[int] = _NONE
        for part in self._parts:
            more = part.objects(subject)
            if more:
                found = found | more if found else more
        return found

    def all_objects(self) -> KeysView[int]:
        """Every object there is."""
        return dict.fromkeys(obj for part in self._parts for obj in part.all_objects()).keys()

    def all_subjects(self) -> KeysView[int]:
        """Every subject there is."""
        return dict.fromkeys(subject for part in self._parts for subject in part.all_subjects()).keys()

    def __len__(self) -> int:
        return sum(map(len, self._parts))


EMPTY = Relation()
"""The relation without pairs; nobody adds to it."""


def joined(parts: list[Relation]) -> Pairs:
    """Several relations as one."""
    full = [part for part in parts if len(part)]
    return Joined(full) if len(full) > 1 else full[0] if full else EMPTY
