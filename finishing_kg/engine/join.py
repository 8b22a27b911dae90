"""A rule made ready for evaluation: its conditions as a chain of closures over slots of integers.

One variable of a rule, its *group*, is not looped over: whatever fits it is carried as one set, narrowed by each condition that
speaks of it. In a rule about options that is the option, so a rule that judges hundreds of them takes a few set operations, and its
derivations are one entry each instead of hundreds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from finishing_kg.engine import links
from finishing_kg.engine.links import Found, Group, Holds, Run, Step
from finishing_kg.engine.names import NOTHING, Names
from finishing_kg.engine.relation import Pairs
from finishing_kg.record import record
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Term, Variable


@record(frozen=True, slots=True)
class Head:
    """A conclusion, its terms as slots."""

    predicate: str
    subject: int
    object: int


@record(frozen=True)
class Join:
    """A rule over slots.

    Attributes:
        rule: the rule.
        names: what each of the first slots stands for: the variables, then one ``#i`` for the value that comparison ``i`` looked at.
        held: for each condition the slot of that value, or -1.
        group: slot of the group variable, or -1 if the rule has no variable.
        heads: its conclusions.
        start: the slots before a run; constants are in their places.
        go: runs the conditions.
    """

    rule: Rule
    names: tuple[str, ...]
    held: tuple[int, ...]
    group: int
    heads: tuple[Head, ...]
    start: tuple[int, ...]
    go: Step

    def run(self, sources: Sequence[Pairs], absent: Sequence[Pairs], holds: Holds) -> list[Found]:
        """Every firing group.

        Args:
            sources: for each condition the pairs that it is to be met from.
            absent: for each exception the pairs that it is looked for in.
            holds: answers a comparison of two numbered quantities.
        """
        run = Run(sources, absent, holds)
        self.go(run, list(self.start), None)
        return run.found


def make_join(rule: Rule, names: Names, size: Callable[[str], int]) -> Join:
    """Lay out a rule's slots and chain its conditions.

    Args:
        rule: the rule.
        names: receives the rule's constants.
        size: about how many pairs a predicate has; it decides only the order of the loops.
    """
    return _Maker(rule, names, size).join()


class _Maker:
    """Works out the slots, the order of the conditions, and the chain."""

    def __init__(self, rule: Rule, names: Names, size: Callable[[str], int]) -> None:
        self.rule, self.size = rule, size
        self.slot: dict[str, int] = {}
        for sentence in (*rule.conditions, *rule.conclusions):
            for name in sentence.variables():
                self.slot.setdefault(name, len(self.slot))
        self.variables = frozenset(self.slot)
        self.held = tuple(self._held(index, condition) for index, condition in enumerate(rule.conditions))
        self.named = tuple(self.slot)
        self.start = [NOTHING] * len(self.slot)
        self.names = names
        self.group = _group_of(rule)

    def _held(self, index: int, condition: Statement) -> int:
        return -1 if condition.comparison == "is" else self.slot.setdefault(f"#{index}", len(self.slot))

    def place(self, term: Term | None) -> int:
        """The slot of a term; a constant gets one of its own."""
        if isinstance(term, Variable):
            return self.slot[term.name]
        self.start.append(self.names.number(term))
        return len(self.start) - 1

    def join(self) -> Join:
        heads = tuple(Head(c.predicate, self.place(c.subject), self.place(c.object)) for c in self.rule.conclusions)
        go = self._finish()
        for index, exception in reversed(list(enumerate(self.rule.exceptions))):
            go = self._exception(index, exception, go)
        for index, bound in reversed(self._order()):
            go = self._condition(index, self.rule.conditions[index], bound, go)
        group = self.slot[self.group] if self.group is not None else -1
        return Join(self.rule, self.named, self.held, group, heads, tuple(self.start), go)

    def _finish(self) -> Step:
        count = len(self.named)

        def finish(run: Run, slots: list[int], group: Group) -> None:
            # A set may be a relation's own, which grows later: what was found is kept as it is now.
            run.found.append((tuple(slots[:count]), None if group is None else frozenset(group)))

        return finish

    def _order(self) -> list[tuple[int, frozenset[str]]]:
        """The conditions in the order in which they are met, each with the variables bound before it.

        What can be checked comes first; then what narrows the group; then the loop that turns least often; at last the loops that
        only the group can be narrowed with.
        """
        left, bound, order = set(range(len(self.rule.conditions))), frozenset[str](), []
        named = [tuple(condition.variables()) for condition in self.rule.conditions]

        def cost(index: int) -> tuple[int, int, int]:
            condition, names = self.rule.conditions[index], named[index]
            compares = condition.comparison != "is"
            if compares:
                if isinstance(condition.object, Variable) and condition.object.name not in bound:
                    return 5, 0, index
                names = (condition.subject.name,) if isinstance(condition.subject, Variable) else ()
            others = [name for name in names if name not in bound and name != self.group]
            if not others:
                return int(self.group in names), int(compares), index
            if self.group in names:
                return 4, self.size(condition.predicate), index
            return (2 if len(others) == 1 else 3), self.size(condition.predicate), index

        while left:
            best = min(left, key=cost)
            left.remove(best)
            order.append((best, bound))
            bound |= {name for name in named[best] if name != self.group}
        return order

    def _condition(self, index: int, condition: Statement, bound: frozenset[str], go: Step) -> Step:
        subject, obj = self.place(condition.subject), self.place(condition.object)
        open_subject = isinstance(condition.subject, Variable) and condition.subject.name not in bound
        open_object = isinstance(condition.object, Variable) and condition.object.name not in bound
        group_subject = isinstance(condition.subject, Variable) and condition.subject.name == self.group
        group_object = isinstance(condition.object, Variable) and condition.object.name == self.group
        if condition.comparison != "is":
            return self._comparison(index, condition, (subject, obj), open_subject, go)
        if group_subject and group_object:
            return links.narrow_to_itself(index, go)
        if group_subject:
            return (links.narrow_each_object if open_object else links.narrow_subjects)(index, obj, go)
        if group_object:
            return (links.narrow_each_subject if open_subject else links.narrow_objects)(index, subject, go)
        looped = condition.subject if open_subject else condition.object
        return links.LOOPS[open_subject, open_object, subject == obj](index, subject, obj, self._narrows_with(looped), go)

    def _comparison(self, index: int, condition: Statement, places: tuple[int, int], open_subject: bool, go: Step) -> Step:
        test, held = (condition.predicate, condition.comparison, places[1], self.rule.safety), self.held[index]
        if isinstance(condition.subject, Variable) and condition.subject.name == self.group:
            return links.narrow_by_comparison(index, test, held, go)
        if open_subject:
            return links.loop_compared(index, test, (places[0], held), self._narrows_with(condition.subject), go)
        return links.compared(index, test, places[0], held, go)

    def _narrows_with(self, term: Term | None) -> int:
        """The condition that narrows the group with what a loop binds, so that it need not try what nothing of the group has; or -1."""
        for index, condition in enumerate(self.rule.conditions):
            about_group = isinstance(condition.subject, Variable) and condition.subject.name == self.group
            if about_group and isinstance(term, Variable) and condition.object == term and condition.comparison == "is":
                return index
        return -1

    def _exception(self, index: int, exception: Statement, go: Step) -> Step:
        """An exception's own variables stand for anything."""
        subject, obj = exception.subject, exception.object
        any_subject = isinstance(subject, Variable) and subject.name not in self.variables
        any_object = isinstance(obj, Variable) and obj.name not in self.variables
        about_group = self.group is not None and self.group in exception.variables()
        own = any_subject and any_object and subject == obj
        places = (-1 if any_subject else self.place(subject), -1 if any_object else self.place(obj))
        if exception.comparison != "is":
            test = (exception.predicate, exception.comparison, places[1])
            return links.unless_compared(index, test, places[0], about_group, go)
        if not about_group:
            return links.unless(index, places, own, go)
        of_subject = isinstance(subject, Variable) and subject.name == self.group
        of_object = isinstance(obj, Variable) and obj.name == self.group
        if of_subject and of_object:
            return links.unless_itself(index, go)
        return links.unless_group(index, places[1] if of_subject else places[0], of_subject, go)


def _group_of(rule: Rule) -> str | None:
    """The variable that is carried as a set: what the first conclusion is about, or what most conditions are about."""
    bound = [name for condition in rule.conditions for name in condition.variables()]
    if not bound:
        return None
    compared_with = {c.object.name for c in rule.conditions if c.comparison != "is" and isinstance(c.object, Variable)}
    subjects = [c.subject.name for c in rule.conditions if isinstance(c.subject, Variable)]
    free = [name for name in dict.fromkeys(bound) if name not in compared_with]
    if not free:
        return None
    first = rule.conclusions[0].subject
    if isinstance(first, Variable) and first.name in free:
        return first.name
    return max(free, key=lambda name: (subjects.count(name), -free.index(name)))
