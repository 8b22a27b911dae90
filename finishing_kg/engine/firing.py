"""Whether a rule that is not among those of a model would fire in it."""

from __future__ import annotations

from finishing_kg.engine.evaluate import Model
from finishing_kg.engine.join import make_join
from finishing_kg.engine.names import Names
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule
from finishing_kg.statements import Comparison


def would_fire(model: Model, rule: Rule) -> bool:
    """Whether a further rule has all that it needs in a model.

    If it has not, then the model with that rule among the others is the same: nothing new can follow before the rule fires once.
    """
    sources = [model.layer.pairs(condition.predicate) for condition in rule.conditions]
    if not all(map(len, sources)):
        return False
    # What the rule names and nobody else does gets numbers of its own, behind all others.
    names, program = Names(model.layer.names), model.layer.program

    def holds(predicate: str, operator: Comparison, left: int, right: int) -> bool | None:
        one, other = names.value(left), names.value(right)
        both = isinstance(one, Quantity) and isinstance(other, Quantity)
        return program.outcome(predicate, operator, one, other) if both else False  # type: ignore[arg-type]

    join = make_join(rule, names, lambda predicate: len(model.layer.pairs(predicate)))
    absent = [model.layer.pairs(exception.predicate) for exception in rule.exceptions]
    return bool(join.run(sources, absent, holds))
