"""The case library with its answers."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from dataclasses import replace as changed

from finishing_kg.casebook.cases import Case
from finishing_kg.casebook.telling import tell
from finishing_kg.casebook.told import Told
from finishing_kg.engine import Knowledge


class Stopped(Exception):
    """Somebody wants no answer any more."""


@dataclass(frozen=True)
class Library:
    """Cases with what is said to them.

    Attributes:
        knowledge: by which it is said.
        cases: in their order.
        told: by the case's id.
    """

    knowledge: Knowledge
    cases: tuple[Case, ...]
    told: dict[str, Told] = field(repr=False)

    @classmethod
    def of(
        cls,
        knowledge: Knowledge,
        cases: Sequence[Case],
        progress: Callable[[int, int], None] = lambda _done, _of: None,
        stop: Callable[[], bool] = lambda: False,
    ) -> "Library":
        """Run all cases once; with the shipped ones that takes about half a minute.

        Raises:
            Stopped: ``stop`` became true.
        """
        told = {}
        for done, case in enumerate(cases):
            if stop():
                raise Stopped
            progress(done, len(cases))
            told[case.id] = tell(knowledge, case)
        progress(len(cases), len(cases))
        return cls(knowledge, tuple(cases), told)

    def with_told(self, knowledge: Knowledge, more: Mapping[str, Told]) -> "Library":
        """The same cases after a change to the knowledge, some of them told anew."""
        return changed(self, knowledge=knowledge, told={**self.told, **more})
