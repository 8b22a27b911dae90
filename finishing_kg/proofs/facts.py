"""What was given, looked up by what it is about: all that the proof checker knows beside the rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import chain

from finishing_kg.measure import Quantity
from finishing_kg.proofs.model import Fact
from finishing_kg.statements import Statement, Variable

Column = tuple[str, str | Quantity | None, Iterable[str]]
"""A predicate, an object, and subjects of which it is given."""


class Facts(Mapping[Statement, Fact]):
    """Statements that no rule derives, with what each rests on.

    A table whose statements follow a pattern can give them without keeping them: it has its own ``own``, ``own_of``, ``own_about``,
    ``own_to`` and ``columns``.

    Args:
        given: the statements of this table.
        below: a table that it adds to; what both have, the upper one decides. It is indexed once, however many add to it.
    """

    def __init__(self, given: Mapping[Statement, Fact], below: Facts | None = None) -> None:
        self.given, self.below = given, below
        self._of: dict[str, list[Statement]] | None = None
        self._about: dict[tuple[str, object], list[Statement]] = {}
        self._to: dict[tuple[str, object], list[Statement]] = {}

    def own(self, statement: Statement) -> Fact | None:
        """What a statement of this table alone rests on."""
        return self.given.get(statement)

    def own_of(self, predicate: str) -> Iterable[Statement]:
        """The statements of this table alone with a predicate."""
        return self._index().get(predicate, ())

    def own_about(self, predicate: str, subject: str) -> Iterable[Statement]:
        """The statements of this table alone with a predicate about a subject."""
        self._index()
        return self._about.get((predicate, subject), ())

    def own_to(self, predicate: str, object_: str | Quantity) -> Iterable[Statement]:
        """The statements of this table alone with a predicate and an object."""
        self._index()
        return self._to.get((predicate, object_), ())

    def own_all(self) -> Iterable[Statement]:
        """All statements of this table alone."""
        return self.given

    def predicates(self) -> Iterable[str]:
        """The predicates of the statements of this table alone."""
        return self._index()

    def columns(self) -> Iterator[Column]:
        """The statements of this table alone, by predicate and object."""
        for statement in self.own_all():
            assert not isinstance(statement.subject, Variable) and not isinstance(statement.object, Variable)
            yield statement.predicate, statement.object, (statement.subject,)

    def _tables(self) -> Iterator[Facts]:
        table: Facts | None = self
        while table is not None:
            yield table
            table = table.below

    def _index(self) -> dict[str, list[Statement]]:
        if self._of is None:
            self._of = {}
            for statement in self.given:
                self._of.setdefault(statement.predicate, []).append(statement)
                self._about.setdefault((statement.predicate, statement.subject), []).append(statement)
                self._to.setdefault((statement.predicate, statement.object), []).append(statement)
        return self._of

    def get(self, statement: object, default: object = None) -> Fact | None:  # type: ignore[override]
        """As of any mapping."""
        assert isinstance(statement, Statement)
        table: Facts | None = self
        while table is not None:
            if (found := table.own(statement)) is not None:
                return found
            table = table.below
        return default  # type: ignore[return-value]

    def __getitem__(self, statement: Statement) -> Fact:
        found = self.get(statement)
        if found is None:
            raise KeyError(statement)
        return found

    def __contains__(self, statement: object) -> bool:
        return self.get(statement) is not None

    def __iter__(self) -> Iterator[Statement]:
        lower = self.below if self.below is not None else ()
        return chain((statement for statement in lower if self.own(statement) is None), self.own_all())

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def of(self, predicate: str) -> Iterator[Statement]:
        """The statements with a predicate."""
        return chain.from_iterable(table.own_of(predicate) for table in self._tables())

    def about(self, predicate: str, subject: str) -> list[Statement]:
        """The statements with a predicate about a subject."""
        return [statement for table in self._tables() for statement in table.own_about(predicate, subject)]

    def near(self, goal: Statement) -> Iterable[Statement]:
        """Statements among which are all that a goal is, or becomes when its variables are filled; ``matched`` tells which."""
        if not isinstance(goal.subject, Variable):
            if isinstance(goal.object, Variable):
                return self.about(goal.predicate, goal.subject)
            return (goal,) if goal in self else ()
        if isinstance(goal.object, Variable) or goal.object is None:
            return self.of(goal.predicate)
        object_ = goal.object
        return [statement for table in self._tables() for statement in table.own_to(goal.predicate, object_)]


def matched(goal: Statement, held: Statement) -> dict[str, str | Quantity] | None:
    """What the goal's variables stand for if it is the statement held."""
    if goal.predicate != held.predicate or held.comparison != "is":
        return None
    found: dict[str, str | Quantity] = {}
    for wanted, value in ((goal.subject, held.subject), (goal.object, held.object)):
        if isinstance(wanted, Variable):
            if value is None or isinstance(value, Variable) or found.setdefault(wanted.name, value) != value:
                return None
        elif wanted != value:
            return None
    return found
