"""Whether one rule fires wherever another does, whatever the case: subsumption by filling variables (Plotkin 1970), with comparisons.

The more special rule's variables are frozen: taken for things of which nothing is known but what its conditions say. The
more general rule covers it if its own conditions then follow, by the ontology and by rules without exceptions.
"""

from collections.abc import Iterator
from itertools import product

from finishing_kg.health import order
from finishing_kg.health.solve import Search
from finishing_kg.health.state import State
from finishing_kg.health.supply import Supply
from finishing_kg.health.terms import Bindings, changed, filled, freeze, frozen, is_frozen, marked, meant, rename_rule
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule, as_written
from finishing_kg.statements import Statement, Term, Variable


def covers(supply: Supply, general: Rule, special: Rule) -> bool:
    """Whether the general rule concludes all that the special one does, whenever that fires."""
    if special.safety and not general.safety:
        return False
    heads = [freeze(made) for made in as_written(special, supply.vocabulary)]
    wider = rename_rule(general, "general")
    return any(_fires(supply, wider, special, start) for start in _alike(supply, heads, as_written(wider, supply.vocabulary)))


def fires_with(supply: Supply, general: Rule, special: Rule, general_about: Term, special_about: Term) -> bool:
    """Whether the general rule fires about a thing whenever the special one fires about it, whatever they conclude."""
    wider = rename_rule(general, "general")
    start = Search(supply).joined(marked(general_about, "general"), frozen(special_about), {})
    return start is not None and _fires(supply, wider, special, start)


def _alike(supply: Supply, heads: list[Statement], offered: list[Statement]) -> Iterator[Bindings]:
    """Every way to find all conclusions of one rule among those of another."""
    search = Search(supply)
    for choice in product(offered, repeat=len(heads)):
        bindings: Bindings | None = {}
        for head, made in zip(heads, choice, strict=True):
            bindings = None if head.predicate != made.predicate else search.joined(made.subject, head.subject, bindings)
            bindings = search.joined(made.object, head.object, bindings)
            if bindings is None:
                break
        if bindings is not None:
            yield bindings


def _fires(supply: Supply, general: Rule, special: Rule, start: Bindings) -> bool:
    facts = [freeze(condition) for condition in special.conditions if condition.comparison == "is"]
    known = [freeze(condition) for condition in special.conditions if condition.comparison != "is"]
    search = Search(supply, facts, known, invents=False, plain=frozenset({general.id, special.id}))
    for state in search.ways(general.conditions, bindings=start):
        if _decided(state) and all(_excused(supply, filled(exception, state.bindings), special) for exception in general.exceptions):
            return True
    return False


def _decided(state: State) -> bool:
    """Whether every comparison is between known values; those were tried on the way."""
    return all(
        isinstance(meant(kept.left, state.bindings), Quantity) and isinstance(meant(kept.condition.object, state.bindings), Quantity)
        for kept in state.orders
    )


def _excused(supply: Supply, exception: Statement, special: Rule) -> bool:
    """Whether an exception of the general rule cannot hold where the special one fires: that has it too, or nothing can give it."""
    bound = {name for condition in special.conditions for name in condition.variables()}
    for own in special.exceptions:
        pattern = changed(own, lambda variable: frozen(variable) if variable.name in bound else variable)
        if _stronger(supply, exception, pattern):
            return True
    if supply.can_be_given(exception) or supply.makers.get(exception.predicate):
        return False
    if isinstance(exception.subject, Variable) or is_frozen(exception.subject) or is_frozen(exception.object):
        return False
    search = Search(supply)
    return exception.comparison == "is" and all(search.joined(fact.object, exception.object, {}) is None for fact in supply.held_like(exception))


def _stronger(supply: Supply, one: Statement, pattern: Statement) -> bool:
    """Whether one sentence, if it holds, fills a pattern whose variables stand for anything."""
    if one.predicate != pattern.predicate or not (isinstance(pattern.subject, Variable) or pattern.subject == one.subject):
        return False
    if pattern.comparison != "is":
        return one.comparison != "is" and order.implies(supply.vocabulary, one, pattern)
    if isinstance(pattern.object, Variable):
        return pattern.object != pattern.subject or one.object == one.subject
    return one.comparison == "is" and pattern.object == one.object
