"""Everything that holds, as statements: the face of the engine."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from finishing_kg.engine.join import Join
from finishing_kg.engine.layer import Key, Layer, term
from finishing_kg.engine.links import Found
from finishing_kg.engine.names import Value, in_order
from finishing_kg.engine.program import Program
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact, Facts
from finishing_kg.rules import RuleBase
from finishing_kg.statements import Statement, Variable
from finishing_kg.vocabulary import Vocabulary

Firing = tuple[int, tuple[Value, ...]]
"""One way in which something was derived: index of the rule, and what the slots of its join stood for."""


class Model:
    """Everything that holds, with every way in which it was derived.

    Attributes:
        layer: what holds, in numbers.
        facts: what was given, in all layers.
    """

    def __init__(self, layer: Layer, facts: Facts) -> None:
        self.layer, self.facts = layer, facts

    @property
    def vocabulary(self) -> Vocabulary:
        """What the rules speak of."""
        return self.layer.program.vocabulary

    @property
    def base(self) -> RuleBase:
        """The rules."""
        return self.layer.program.base

    def holds(self, predicate: str, subject: str, value: Value = None) -> bool:
        """Whether a statement holds."""
        key = self._key(predicate, subject, value)
        return key is not None and key[1] in self.layer.pairs(predicate).subjects(key[2])

    def objects(self, predicate: str, subject: str) -> list[Value]:
        """The objects that a subject is related to, in a fixed order."""
        number = self.layer.names.find(subject)
        return [] if number is None else self._values(self.layer.pairs(predicate).objects(number))

    def count(self, predicate: str, subject: str) -> int:
        """To how many objects a subject is related."""
        number = self.layer.names.find(subject)
        return 0 if number is None else len(self.layer.pairs(predicate).objects(number))

    def quantity(self, predicate: str, subject: str) -> Quantity | None:
        """The first quantity that a subject is related to, or ``None``."""
        return next((value for value in self.objects(predicate, subject) if isinstance(value, Quantity)), None)

    def subjects(self, predicate: str, value: Value = None) -> list[str]:
        """The subjects that hold a trait, or are related to an object, in a fixed order."""
        number = self.layer.names.find(value)
        return [] if number is None else [str(each) for each in self._values(self.layer.pairs(predicate).subjects(number))]

    def new_subjects(self, predicate: str, value: Value = None) -> list[str]:
        """As ``subjects``, but only those that the question brings about: what holds whatever is asked is left out."""
        number, own = self.layer.names.find(value), self.layer.own.get(predicate)
        return [] if number is None or own is None else [str(each) for each in self._values(own.subjects(number))]

    def every_subject(self, predicate: str) -> list[str]:
        """All subjects of a predicate, in a fixed order."""
        return [str(each) for each in self._values(self.layer.pairs(predicate).all_subjects())]

    def every_object(self, predicate: str) -> list[Value]:
        """All objects of a predicate, in a fixed order."""
        return self._values(self.layer.pairs(predicate).all_objects())

    def _values(self, numbers: Collection[int]) -> list[Value]:
        value = self.layer.names.value
        return in_order([value(number) for number in numbers])

    def statements(self) -> set[Statement]:
        """All statements that hold, given and derived."""
        value = self.layer.names.value
        return {
            Statement(predicate, str(value(subject)), value(obj))
            for layer in self.layer.layers()
            for predicate, relation in layer.own.items()
            for subject, obj in relation
        }

    def fired(self) -> set[str]:
        """Ids of the rules that derived something."""
        return {self.base.rules[index].id for layer in self.layer.layers() for index, groups in layer.log.items() if groups}

    def things_used(self) -> set[str]:
        """Ids of all things that stand in anything derived, or in what it was derived from."""
        numbers: set[int] = set()
        for layer in self.layer.layers():
            for index, groups in layer.log.items():
                numbers.update(self.layer.program.join(index).start)
                for slots, group in groups:
                    numbers.update(slots, group or ())
        return {value for value in map(self.layer.names.value, numbers) if isinstance(value, str)}

    def firings(self, statement: Statement) -> list[Firing]:
        """Every way in which a statement was derived, in a fixed order; a statement that was only given has none."""
        key = self._key(statement.predicate, str(statement.subject), statement.object)
        if key is None:
            return []
        found: dict[Firing, None] = {}
        for index, slots in self._derivations(key):
            found[index, tuple(map(self.layer.names.value, slots))] = None
        return sorted(found, key=lambda firing: (firing[0], [str(value) for value in firing[1]]))

    def _derivations(self, key: Key) -> Iterator[tuple[int, list[int]]]:
        predicate, subject, obj = key
        for layer in self.layer.layers():
            for index, head, found in layer.entries(predicate, obj):
                for slots in _meeting(found, self.layer.program.join(index), (head.subject, subject), (head.object, obj)):
                    yield index, slots

    def rank(self, statement: Statement) -> tuple[int, int, int]:
        """Where a statement stands in the order of deriving: place of its stratum, layer, round. What was given stands first.

        A firing whose premises all rank lower than what it concludes does not rest on its own conclusion.
        """
        key = self._key(statement.predicate, str(statement.subject), statement.object)
        if key is None or statement in self.facts:
            return -1, 0, 0
        place = self.layer.program.place.get(statement.predicate, -1)
        for layer in self.layer.layers():
            if (turn := layer.rounds.get(key)) is not None:
                return place, layer.depth, turn
        return place, 0, 0

    def _key(self, predicate: str, subject: str, value: Value | Variable) -> Key | None:
        assert not isinstance(value, Variable)
        names = self.layer.names
        first, second = names.find(subject), names.find(value)
        return None if first is None or second is None else (predicate, first, second)


def _meeting(found: Found, join: Join, subject: tuple[int, int], obj: tuple[int, int]) -> list[list[int]]:
    """The fillings of a firing group that conclude a subject and an object, each given as slot and number."""
    slots, members = found
    wanted: int | None = None
    for slot, number in (subject, obj):
        if slot == join.group and members is not None:
            if number not in members or (wanted is not None and wanted != number):
                return []
            wanted = number
        elif term(join, slots, slot) != number:
            return []
    if members is None:
        return [list(slots)]
    return [[*slots[: join.group], member, *slots[join.group + 1 :]] for member in (members if wanted is None else (wanted,))]


def evaluate(vocabulary: Vocabulary, base: RuleBase, facts: Mapping[Statement, Fact]) -> Model:
    """Derive all that follows from facts by the rules of a base, in one layer.

    The result does not depend on the order of rules or facts.
    """
    given = Facts({**{statement: Fact(basis) for statement, basis in base.facts.items()}, **facts})
    return Model(Layer(Program(vocabulary, base), given.columns(), top=True), given)
