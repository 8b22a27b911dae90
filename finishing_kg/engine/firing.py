"""Whether a rule that is not among those of a model would fire in it, and what it would conclude."""

from __future__ import annotations

from collections.abc import Iterable

from finishing_kg.engine.evaluate import Model
from finishing_kg.engine.join import Join, make_join
from finishing_kg.engine.layer import concluded
from finishing_kg.engine.links import Found
from finishing_kg.engine.names import Names
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule
from finishing_kg.statements import Comparison, Statement


def would_fire(model: Model, rule: Rule) -> bool:
    """Whether a further rule has all that it needs in a model.

    If it has not, then the model with that rule among the others is the same: nothing new can follow before the rule fires once.
    """
    return bool(_firings(model, rule)[2])


def would_conclude(model: Model, rule: Rule) -> list[Statement]:
    """What a further rule would conclude of what holds in a model, in a fixed order; what follows from that in turn is not among it."""
    join, names, groups = _firings(model, rule)
    found = {
        Statement(head.predicate, str(names.value(subject)), names.value(obj))
        for head in join.heads
        for slots, group in groups
        for subjects, obj in concluded(join, head.subject, head.object, slots, group)
        for subject in subjects
    }
    return sorted(found, key=str)


def _firings(model: Model, rule: Rule) -> tuple[Join, Names, Iterable[Found]]:
    """A rule's join with its names, and the groups in which it would fire."""
    # What the rule names and nobody else does gets numbers of its own, behind all others.
    names, program = Names(model.layer.names), model.layer.program
    join = make_join(rule, names, lambda predicate: len(model.layer.pairs(predicate)))
    sources = [model.layer.pairs(condition.predicate) for condition in rule.conditions]
    if not all(map(len, sources)):
        return join, names, ()

    def holds(predicate: str, operator: Comparison, left: int, right: int) -> bool | None:
        one, other = names.value(left), names.value(right)
        both = isinstance(one, Quantity) and isinstance(other, Quantity)
        return program.outcome(predicate, operator, one, other) if both else False  # type: ignore[arg-type]

    absent = [model.layer.pairs(exception.predicate) for exception in rule.exceptions]
    return join, names, join.run(sources, absent, holds)
