"""Layers of what holds: each is derived over the one below it, and dropping it takes all that it added back.

The ground layer is derived from what the ontology holds, once. A question's layer adds the question: for each rule only what needs
at least one statement of the new layer is worked out (semi-naive over layers), and within a stratum that feeds itself, only what
needs a statement of the last round. Rules that something in the question may forbid wait for the topmost layer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from finishing_kg.engine.join import Head, Join
from finishing_kg.engine.links import Found
from finishing_kg.engine.names import Names
from finishing_kg.engine.program import Program, Stratum
from finishing_kg.engine.relation import EMPTY, Pairs, Relation, joined
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Column
from finishing_kg.statements import Comparison

Key = tuple[str, int, int]
"""Predicate, subject and object of something that holds, numbered."""

Entry = tuple[int, Head, Found]
"""An entry of the log: index of the rule, the conclusion in question, and the firing group."""


class Layer:
    """What holds, with every way in which it was derived.

    Args:
        program: the rules.
        given: what is given in this layer; ``None`` derives nothing, for a layer that is filled with what was derived before.
        below: the layer that this one goes on from.
        top: whether everything is known now, so that rules with exceptions may run that a question could have forbidden.
        settled: whether what follows is derived too, and not only what is given taken in.

    Attributes:
        depth: how many layers are below.
        names: numbers of all that is named here and below.
        own: the pairs that this layer adds, by predicate; a predicate without any is not among them.
        log: for each rule, by its index, the firing groups of this layer.
        rounds: for what a stratum that feeds itself derived here, the round in which it came.
    """

    def __init__(self, program: Program, given: Iterable[Column] | None, below: Layer | None = None, *, top: bool, settled: bool = True) -> None:
        self.program, self.below, self.top = program, below, top
        self.depth: int = below.depth + 1 if below else 0
        self.names: Names = Names(below.names) if below else program.names
        self.own: dict[str, Relation] = {}
        self.log: dict[int, list[Found]] = {}
        self.rounds: dict[Key, int] = {}
        self._outcomes: dict[tuple[str, Comparison, int, int], bool | None] = {}
        self._entries: dict[str, dict[int | None, list[Entry]]] = {}
        self._before: dict[str, Pairs] = {}
        self._all: dict[str, Pairs] = {}
        self._lower: tuple[Layer, ...] = (*below._lower, below) if below else ()
        self._there: set[str] = set().union(*(layer.own for layer in self._lower))  # predicates of which something holds, here or below
        if given is None:
            return
        self._give(given)
        for stratum in program.strata if settled else ():
            if below is None or (top and stratum.waits) or not stratum.looks_at.isdisjoint(self.own):
                self._settle(stratum)

    def _give(self, given: Iterable[Column]) -> None:
        number = self.names.number
        for predicate, value, subjects in given:
            obj = number(value)
            own = self.own.get(predicate, Relation())
            if own.add_all(map(number, subjects), obj, known=self.before(predicate).subjects(obj)):
                self.own[predicate] = own
                self._there.add(predicate)

    def before(self, predicate: str) -> Pairs:
        """The pairs of a predicate that hold in the layers below."""
        found = self._before.get(predicate)
        if found is None:
            found = self._before[predicate] = joined([layer.own[predicate] for layer in self._lower if predicate in layer.own])
        return found

    def pairs(self, predicate: str) -> Pairs:
        """All pairs of a predicate that hold."""
        own = self.own.get(predicate)
        if own is None:
            return self.before(predicate)
        found = self._all.get(predicate)
        if found is None:  # what is added to it later shows in it as well
            below = [layer.own[predicate] for layer in self._lower if predicate in layer.own]
            found = self._all[predicate] = joined([*below, own]) if len(self.before(predicate)) else own
        return found

    def entries(self, predicate: str, obj: int) -> list[Entry]:
        """The entries of this layer's log that can conclude a predicate of something and an object."""
        found = self._entries.get(predicate)
        if found is None:
            found = self._entries[predicate] = {}
            for index in self.program.concluding.get(predicate, ()):
                if index not in self.log:
                    continue
                join = self.program.join(index)
                for head in (head for head in join.heads if head.predicate == predicate):
                    for group in self.log[index]:
                        spread = head.object == join.group and group[1] is not None
                        found.setdefault(None if spread else term(join, group[0], head.object), []).append((index, head, group))
        return [*found.get(obj, ()), *found.get(None, ())]

    def layers(self) -> tuple[Layer, ...]:
        """This layer and those below it, the lowest first."""
        return (*self._lower, self)

    def holds(self, predicate: str, operator: Comparison, left: int, right: int) -> bool | None:
        """Whether a comparison of two numbered quantities holds; ``False`` where one is no quantity."""
        if self.below is not None and left < self.names.first and right < self.names.first:
            return self.below.holds(predicate, operator, left, right)  # which remembers it for all that go on from there
        key = (predicate, operator, left, right)
        if key not in self._outcomes:
            one, other = self.names.value(left), self.names.value(right)
            both = isinstance(one, Quantity) and isinstance(other, Quantity)
            self._outcomes[key] = self.program.outcome(predicate, operator, one, other) if both else False  # type: ignore[arg-type]
        return self._outcomes[key]

    def _settle(self, stratum: Stratum) -> None:
        found = list(self._begun(stratum))
        turn = 0
        fresh = self._enter(stratum, found, turn)
        while fresh and stratum.recursive:
            turn += 1
            found = []
            for index in sorted(stratum.recursive):
                if index in self.program.deferred and not self.top:
                    continue
                for position, predicate in enumerate(self.program.looks_at[index]):
                    if predicate in fresh:
                        found.append((index, self._run(index, position, fresh[predicate], within=True)))
            fresh = self._enter(stratum, found, turn)

    def _begun(self, stratum: Stratum) -> Iterator[tuple[int, list[Found]]]:
        """What the rules of a stratum derive before it feeds itself."""
        for index in stratum.rules:
            if self._lacks_something(index):
                continue
            if index in self.program.deferred:
                if self.top:
                    yield index, self._run(index, None, EMPTY)
            elif self.below is None:
                yield index, self._run(index, None, EMPTY)
            else:
                for position, predicate in enumerate(self.program.looks_at[index]):
                    if (new := self.own.get(predicate)) is not None:
                        yield index, self._run(index, position, new)
                        if not len(self.before(predicate)):
                            break  # what is new at a later place would need something of this one from below

    def _lacks_something(self, index: int) -> bool:
        """Whether a rule cannot fire, as far as that is seen without running it: nine in ten are passed over so."""
        program = self.program
        if not program.needs[index] <= self._there:
            return True
        return any(not self.pairs(predicate).subjects(obj) for predicate, obj in program.wants[index])

    def _run(self, index: int, position: int | None, new: Pairs, *, within: bool = False) -> list[Found]:
        """Run one rule.

        Args:
            index: of the rule.
            position: index of the condition that is met only by what is new; ``None`` to meet all by everything.
            new: what is new of its predicate.
            within: whether *new* is the last round of a stratum, and not this layer; then the conditions before it are met
                by everything, and the same firing can be found twice.
        """
        sources: list[Pairs] = []
        for place, predicate in enumerate(self.program.looks_at[index]):
            if place == position:
                source = new
            elif position is None or within or place > position:
                source = self.pairs(predicate)
            else:
                source = self.before(predicate)
            if not len(source):
                return []
            sources.append(source)
        join = self.program.join(index)
        return join.run(sources, [self.pairs(exception.predicate) for exception in join.rule.exceptions], self.holds)

    def _enter(self, stratum: Stratum, found: Sequence[tuple[int, list[Found]]], turn: int) -> dict[str, Relation]:
        """Log what was found and add what it concludes; gives what is new."""
        fresh: dict[str, Relation] = {}
        for index, groups in found:
            if not groups:
                continue
            self.log.setdefault(index, []).extend(groups)
            join = self.program.join(index)
            for head in join.heads:
                if head.predicate in stratum.predicates:
                    known, own = self.before(head.predicate), self.own.get(head.predicate, Relation())
                    for slots, group in groups:
                        for subjects, obj in concluded(join, head.subject, head.object, slots, group):
                            new = own.add_all(subjects, obj, known=known.subjects(obj))
                            if new and head.predicate not in self.own:
                                self.own[head.predicate] = own
                                self._there.add(head.predicate)
                            if new and stratum.recursive:
                                fresh.setdefault(head.predicate, Relation()).add_all(new, obj)
                                for subject in new:
                                    self.rounds[head.predicate, subject, obj] = turn
        return fresh


def term(join: Join, slots: tuple[int, ...], slot: int) -> int:
    """What a slot of a firing holds; the constants' slots stand behind those that are logged."""
    return slots[slot] if slot < len(slots) else join.start[slot]


def concluded(join: Join, subject: int, obj: int, slots: tuple[int, ...], group: Iterable[int] | None) -> Iterable[tuple[Iterable[int], int]]:
    """What a firing group concludes by one head: subjects with their object."""
    if group is None or join.group not in (subject, obj):
        return [((term(join, slots, subject),), term(join, slots, obj))]
    if subject == join.group:
        return [((each,), each) for each in group] if obj == join.group else [(group, term(join, slots, obj))]
    return [((term(join, slots, subject),), each) for each in group]
