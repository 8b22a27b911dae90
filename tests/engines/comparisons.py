"""Comparisons worked out beforehand, so that engines that know nothing of units and ranges can be asked."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from finishing_kg.measure import Quantity
from finishing_kg.rules import RuleBase
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Vocabulary


@dataclass(frozen=True)
class Comparing:
    """A comparison that rules make.

    Attributes:
        predicate: the property compared.
        operator: such as ``"above"``.
        uncertain: whether it goes on where the ranges overlap.
        rights: the quantity that it compares with, or the phrases whose values those can be.
    """

    predicate: str
    operator: str
    uncertain: bool
    rights: Quantity | frozenset[str]


def ends(vocabulary: Vocabulary, predicate: str, value: Quantity) -> tuple[Fraction, ...]:
    """The ends of a value in the base unit of its dimension, or its middle where the phrase compares by that."""
    factor = Fraction(vocabulary.units.by_symbol[value.unit].factor)
    numbers = [value.mid] if vocabulary.phrases[predicate].by_middle or value.low is None else [value.low, value.high]
    return tuple(Fraction(number) * factor for number in numbers if number is not None)


def outcome(vocabulary: Vocabulary, predicate: str, operator: str, left: Quantity, right: Quantity) -> bool | None:
    """A comparison by trying the ends of both ranges: all pairs, no pair, or some."""
    pairs = product(ends(vocabulary, predicate, left), ends(vocabulary, predicate, right))
    tests = {"above": lambda a, b: a > b, "below": lambda a, b: a < b, "at least": lambda a, b: a >= b, "at most": lambda a, b: a <= b}
    found = {tests[operator](a, b) for a, b in pairs}
    return found.pop() if len(found) == 1 else None


class Outcomes:
    """Which comparisons hold between the values that they can meet.

    Args:
        vocabulary: for units and the ways of comparing.
        base: the rules, which can hand a value on from one phrase to another.
    """

    def __init__(self, vocabulary: Vocabulary, base: RuleBase) -> None:
        self.vocabulary, self.base = vocabulary, base
        self._found: dict[tuple[str, str, Quantity, Quantity], bool | None] = {}

    def pairs(self, comparing: Iterable[Comparing], given: Mapping[str, set[Quantity]]) -> Iterator[tuple[Comparing, Quantity, Quantity]]:
        """Every comparison that holds between values that can be met, from those that are given of each phrase."""
        held = self._reachable(given)
        for one in comparing:
            single = isinstance(one.rights, Quantity)
            rights = {one.rights} if single else set().union(*(held.get(predicate, set()) for predicate in one.rights))
            for left, right in product(held.get(one.predicate, set()), rights):
                key = (one.predicate, one.operator, left, right)
                if key not in self._found:
                    self._found[key] = outcome(self.vocabulary, *key)
                found = self._found[key]
                if found or (found is None and one.uncertain):
                    yield one, left, right

    def _reachable(self, given: Mapping[str, set[Quantity]]) -> dict[str, set[Quantity]]:
        """The quantities that each phrase can have: those given, and what rules can hand on from phrase to phrase."""
        held = {predicate: set(values) for predicate, values in given.items()}
        before = -1
        while before != (before := sum(map(len, held.values()))):
            for rule in self.base.rules:
                for conclusion in rule.conclusions:
                    if self.vocabulary.phrases[conclusion.predicate].shape != "quantity":
                        continue
                    known = held.setdefault(conclusion.predicate, set())
                    if isinstance(conclusion.object, Quantity):
                        known.add(conclusion.object)
                    for condition in rule.conditions:
                        if condition.comparison == "is" and condition.object == conclusion.object:
                            known |= held.get(condition.predicate, set())
        return held


def quantities(statements: Iterable[Statement]) -> dict[str, set[Quantity]]:
    """The quantities that statements give, by phrase."""
    held: dict[str, set[Quantity]] = {}
    for statement in statements:
        if isinstance(statement.object, Quantity):
            held.setdefault(statement.predicate, set()).add(statement.object)
    return held
