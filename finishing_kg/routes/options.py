"""The options that are put up for judging: every method that can be bought or mixed, for each stage in question."""

from collections.abc import Iterable, Iterator

from finishing_kg.engine import Ground
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Column, Fact, Facts
from finishing_kg.routes.stages import stages_to
from finishing_kg.statements import Statement, option_id
from finishing_kg.vocabulary import Basis, Vocabulary

# The parts of an option's id, by the phrase that says each.
_PLACES = {"usesMineral": 0, "hasHold": 1, "usesCarrier": 2, "worksToward": 3}
_CONSIDERED = Fact(Basis("computed", None, "an option put up for judging"))


def methods(vocabulary: Vocabulary) -> list[tuple[str, str, str]]:
    """Every mineral in a hold that it comes in, on a carrier that takes that hold."""
    carriers_of: dict[str, list[str]] = {}
    for carrier in vocabulary.things("carrier"):
        for hold in vocabulary.related(carrier.id, "takesHold"):
            carriers_of.setdefault(hold, []).append(carrier.id)
    return sorted(
        (mineral.id, hold, carrier)
        for mineral in vocabulary.things("mineral")
        for hold in vocabulary.related(mineral.id, "comesAs")
        for carrier in carriers_of.get(hold, ())
    )


class Options(Facts):
    """The facts that make up an option for each method and stage; they follow from the options' ids, so that none needs to be kept."""

    def __init__(self, vocabulary: Vocabulary, stages: Iterable[str]) -> None:
        super().__init__({})
        self._methods, self._stages = methods(vocabulary), tuple(stages)
        self._known = frozenset(self._methods)

    def _parts(self, option: object) -> tuple[str, str, str, str] | None:
        """What an option is made of, if it is one of these."""
        parts = option.split("/") if isinstance(option, str) else []
        if len(parts) != 5 or parts[0] != "option" or parts[4] not in self._stages or tuple(parts[1:4]) not in self._known:
            return None
        return parts[1], parts[2], parts[3], parts[4]

    def own(self, statement: Statement) -> Fact | None:
        """What a statement of this table alone rests on."""
        parts = self._parts(statement.subject) if statement.predicate in _PLACES else None
        return _CONSIDERED if parts and parts[_PLACES[statement.predicate]] == statement.object and statement.comparison == "is" else None

    def own_of(self, predicate: str) -> Iterable[Statement]:
        """The statements of this table alone with a predicate."""
        if predicate not in _PLACES:
            return ()
        ways = ((*method, stage) for method in self._methods for stage in self._stages)
        return (Statement(predicate, option_id(*way), way[_PLACES[predicate]]) for way in ways)

    def own_about(self, predicate: str, subject: str) -> Iterable[Statement]:
        """The statements of this table alone with a predicate about a subject."""
        parts = self._parts(subject) if predicate in _PLACES else None
        return (Statement(predicate, subject, parts[_PLACES[predicate]]),) if parts else ()

    def own_to(self, predicate: str, object_: str | Quantity) -> Iterable[Statement]:
        """The statements of this table alone with a predicate and an object."""
        return (statement for statement in self.own_of(predicate) if statement.object == object_)

    def own_all(self) -> Iterable[Statement]:
        """All statements of this table alone."""
        return (statement for predicate in _PLACES for statement in self.own_of(predicate))

    def predicates(self) -> Iterable[str]:
        """The predicates of the statements of this table alone."""
        return _PLACES

    def columns(self) -> Iterator[Column]:
        """The statements of this table alone, by predicate and object."""
        found: dict[tuple[str, str], list[str]] = {}
        for method in self._methods:
            lists = [found.setdefault((predicate, part), []) for predicate, part in zip(_PLACES, method, strict=False)]
            for stage in self._stages:
                option = option_id(*method, stage)
                for each in lists:
                    each.append(option)
                found.setdefault(("worksToward", stage), []).append(option)
        return ((predicate, part, options) for (predicate, part), options in found.items())


def options_for(vocabulary: Vocabulary, finish: str | None) -> Ground:
    """All options for the stages that lead to a finish, none without one: facts that every question about this finish shares."""
    stages = tuple(stages_to(vocabulary, finish)) if finish else ()
    return Ground(("options", *stages), lambda: Options(vocabulary, stages))
