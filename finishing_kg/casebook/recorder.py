"""Knowledge that writes down what an answer hangs on, and remembers what was worked out on the way to an earlier one."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import TypeVar, cast

from finishing_kg.advice.deciding import Stands
from finishing_kg.casebook.told import Asked, Turn, Worked
from finishing_kg.chat.plainly import Plainly
from finishing_kg.compiled.digest import blake2b
from finishing_kg.engine import Ground, Knowledge, Model
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact
from finishing_kg.routes import Case, Choice, Found, Place
from finishing_kg.routes.cost import Cost
from finishing_kg.statements import Statement
from finishing_kg.statements.plain import statement_as_plain

_Result = TypeVar("_Result")

_PARTS = Plainly([Case, Quantity, Place, Cost, Found, Choice, Stands])


class Recorder(Knowledge):
    """Some knowledge that writes down each evaluation, those that are only tried out too, and each piece of work with its result.

    Args:
        knowledge: to be used through this.
        hear: is told of each evaluation.
        is_as_before: whether an evaluation of an earlier answer comes out as it did then.
        reasoning: whether reasons are made, though nobody is shown them.
    """

    def __init__(self, knowledge: Knowledge, hear: Callable[[Model], None], is_as_before: Callable[[Asked], bool], *, reasoning: bool) -> None:
        super().__init__(knowledge.vocabulary, knowledge.language, knowledge.base, None, knowledge.compiled, checking=False, reasoning=reasoning)
        knowledge.share_with(self)
        self.__dict__.update(fired=set(), asked=[], worked={}, hear=hear, is_as_before=is_as_before, before=None, known={})

    fired: set[str]
    asked: list[Asked]
    worked: dict[str, Worked]
    hear: Callable[[Model], None]
    is_as_before: Callable[[Asked], bool]
    before: Turn | None
    known: dict[str, Worked]

    def remember(self, before: Turn | None) -> None:
        """Have at hand what was worked out for an earlier answer."""
        self.__dict__.update(before=before, known={each.of: each for each in before.worked} if before else {})

    def evaluate(self, facts: Mapping[Statement, Fact], upon: Ground | None = None) -> Model:
        """As of any knowledge."""
        model = super().evaluate(facts, upon)
        self.fired.update(model.fired())
        value, rules = model.layer.names.value, model.base.rules
        marks = {
            predicate: frozenset(obj for obj in map(value, relation.by_object) if not isinstance(obj, Quantity))
            for predicate, relation in model.layer.own.items()
        }
        fired = frozenset(rules[index].id for index, groups in model.layer.log.items() if groups)
        self.asked.append(Asked(upon.name if upon else (), tuple(map(statement_as_plain, facts)), marks, fired))
        self.hear(model)
        return model

    def worked_out(self, what: str, hangs_on: Callable[[], tuple[object, ...]], work: Callable[[], _Result], /) -> _Result:
        """As of any knowledge; what was worked out before is given again where it hangs on the same and its evaluations come out as they did."""
        of = f"{what} {blake2b(repr(_PARTS.as_plain(hangs_on())).encode(), digest_size=16).hexdigest()}"
        before, first = self.known.get(of), len(self.asked)
        if before is not None and self.before is not None and all(map(self.is_as_before, before.among(self.before.asked))):
            self._copy(self.before, before)
            return cast(_Result, _PARTS.from_plain(self.vocabulary, before.result))
        result = work()
        self.worked[of] = Worked(of, first, len(self.asked), _PARTS.as_plain(result))
        return result

    def _copy(self, before: Turn, done: Worked) -> None:
        """Write down once more what was done for an earlier answer, and what was done for that."""
        further = len(self.asked) - done.first
        for each in before.worked:
            if done.first <= each.first and each.end <= done.end:
                self.worked[each.of] = replace(each, first=each.first + further, end=each.end + further)
        self.asked.extend(done.among(before.asked))
        self.fired.update(before.fired)  # more than the rules that fired in these evaluations; that only has more looked at than need be

    def written(self) -> tuple[frozenset[str], tuple[Asked, ...], tuple[Worked, ...]]:
        """The rules that fired, the evaluations and the work, since this was asked last."""
        found = frozenset(self.fired), tuple(self.asked), tuple(self.worked.values())
        self.__dict__.update(fired=set(), asked=[], worked={})
        return found
