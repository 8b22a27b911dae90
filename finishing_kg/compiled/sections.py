"""Named sections of plain data that rooms compile and find again at the next start."""

import marshal
from collections.abc import Callable, Iterable
from typing import Any, Self, TypeVar

from finishing_kg.compiled.digest import blake2b
from finishing_kg.compiled.file import note_use, read_file, write_file
from finishing_kg.compiled.folder import cache_folder

_Made = TypeVar("_Made")


class Sections:
    """What is compiled under one key. One without a folder forgets nothing while it lives, and is kept nowhere.

    Each room gives and takes sections of its own, named after it: tuples, lists, tables, sets, texts, numbers, bytes and
    ``None``, nothing else. What a room takes it must be ready not to find, and find in another shape than it gave.
    """

    def __init__(self, key: bytes = b"", packed: dict[str, bytes] | None = None, folder: str | None = None) -> None:
        self._key, self._folder = key, folder
        self._packed = dict(packed or {})

    def get(self, name: str) -> object:
        """The plain data of a section, made anew at each call; ``None`` if there is no such section."""
        held = self._packed.get(name)
        if held is None:
            return None
        try:
            found: object = marshal.loads(held)
        except (EOFError, ValueError, TypeError):
            return None
        return found

    def give(self, name: str, data: Any) -> None:
        """Keep the plain data of a section, if there is a place for it.

        Raises:
            ValueError: the data is not plain.
        """
        self._packed[name] = marshal.dumps(data)
        if self._folder is not None:
            write_file(self._folder, self._key, {**(read_file(self._folder, self._key) or {}), **self._packed})

    def upon(self, more: Iterable[tuple[str, bytes]]) -> Self:
        """What is compiled of all that these sections are of together with something more; kept nowhere if these are kept nowhere.

        Args:
            more: names and contents, as they were read: not as they may stand in a file by now.
        """
        if self._folder is None:
            return type(self)()
        digest = blake2b(self._key, digest_size=32)
        for name, held in more:
            said = name.encode("utf-8", "surrogateescape")
            digest.update(f"{len(said)} {len(held)}\n".encode() + said + held)
        note_use(self._folder, self._key)
        return type(self)(digest.digest(), read_file(self._folder, digest.digest()), self._folder)

    def made(self, name: str, make: Callable[[], _Made], as_plain: Callable[[_Made], Any], from_plain: Callable[[Any], _Made]) -> _Made:
        """What a section holds; where it is missing or in another shape, what is made anew, which it then holds.

        Args:
            name: of the section.
            make: makes it.
            as_plain, from_plain: make plain data of it and take it back; ``from_plain`` may raise ``TypeError``, ``ValueError``,
                ``ArithmeticError`` or ``LookupError`` over data in another shape.
        """
        plain = self.get(name)
        if plain is not None:
            try:
                return from_plain(plain)
            except (TypeError, ValueError, ArithmeticError, LookupError):
                pass  # in another shape than this program gives it
        made = make()
        self.give(name, as_plain(made))
        return made


def shaped(plain: Any, *kinds: type) -> Any:
    """A tuple out of a section, if its parts are of the kinds that were given.

    Raises:
        TypeError: it is in another shape.
    """
    if plain.__class__ is not tuple or tuple(part.__class__ for part in plain) != kinds:
        raise TypeError(f"A section of {', '.join(kind.__name__ for kind in kinds)} is in another shape.")
    return plain


def load_sections(key: bytes) -> Sections:
    """The sections that are kept under a key, none if nothing is kept or what is kept cannot be trusted."""
    folder = cache_folder()
    return Sections(key, read_file(folder, key) if folder else None, folder)
