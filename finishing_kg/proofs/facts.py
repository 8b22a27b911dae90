"""What was given, looked up by what it is about: all that the proof checker knows beside the rules."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain

from finishing_kg.proofs.model import Fact
from finishing_kg.statements import Statement


class Facts(Mapping[Statement, Fact]):
    """Statements that no rule derives, with what each rests on.

    Args:
        given: the statements of this table.
        below: a table that it adds to; what both have, the upper one decides. It is indexed once, however many add to it.
    """

    def __init__(self, given: Mapping[Statement, Fact], below: Facts | None = None) -> None:
        self.given, self.below = given, below
        self._of: dict[str, list[Statement]] | None = None
        self._about: dict[tuple[str, object], list[Statement]] = {}

    def __getitem__(self, statement: Statement) -> Fact:
        table: Facts | None = self
        while table is not None:
            if (found := table.given.get(statement)) is not None:
                return found
            table = table.below
        raise KeyError(statement)

    def get(self, statement: object, default: object = None) -> Fact | None:  # type: ignore[override]
        """As of any mapping; written out, since a lookup that fails is the usual one."""
        table: Facts | None = self
        while table is not None:
            if (found := table.given.get(statement)) is not None:  # type: ignore[call-overload]
                assert isinstance(found, Fact)
                return found
            table = table.below
        return default  # type: ignore[return-value]

    def __contains__(self, statement: object) -> bool:
        return self.get(statement) is not None

    def __iter__(self) -> Iterator[Statement]:
        lower = (statement for statement in (self.below if self.below is not None else ()) if statement not in self.given)
        return chain(lower, self.given)

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _index(self) -> dict[str, list[Statement]]:
        if self._of is None:
            self._of = {}
            for statement in self.given:
                self._of.setdefault(statement.predicate, []).append(statement)
                self._about.setdefault((statement.predicate, statement.subject), []).append(statement)
        return self._of

    def of(self, predicate: str) -> Iterator[Statement]:
        """The statements with a predicate."""
        lower = self.below.of(predicate) if self.below is not None else ()
        return chain(lower, self._index().get(predicate, ()))

    def about(self, predicate: str, subject: str) -> Iterator[Statement]:
        """The statements with a predicate about a subject."""
        lower = self.below.about(predicate, subject) if self.below is not None else ()
        self._index()
        return chain(lower, self._about.get((predicate, subject), ()))
