"""Tables that reading makes of a vocabulary's words, made once and kept: with the vocabulary, and in its compiled form."""

from collections.abc import Callable
from typing import Any, TypeVar

from finishing_kg.vocabulary import Vocabulary

_Table = TypeVar("_Table")


def kept(
    vocabulary: Vocabulary, name: str, build: Callable[[], _Table], as_plain: Callable[[_Table], Any], from_plain: Callable[[Any], _Table]
) -> _Table:
    """A table of a vocabulary, built at the first need.

    It is kept with the vocabulary itself, as its own cached tables are, so that it lives no longer than that.

    Args:
        vocabulary: whose words the table holds.
        name: of the table, unique in this room.
        build: makes it.
        as_plain, from_plain: make plain data of it and take it back, as for ``Sections.made``.
    """
    held, key = vars(vocabulary), f"_finishing_kg_chat_{name}"
    if key not in held:
        held[key] = vocabulary.sections.made(f"chat {name}", build, as_plain, from_plain)
    table: _Table = held[key]
    return table
