"""The end of a search: things and numbers for the variables that are left, so that the facts can be put to the engine."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import TYPE_CHECKING

from finishing_kg.health import order
from finishing_kg.health.supply import QUANTITY
from finishing_kg.health.terms import Bindings, Order, filled, meant
from finishing_kg.statements import Statement, Term, Variable, step_id

if TYPE_CHECKING:
    from finishing_kg.health.solve import Search
    from finishing_kg.health.state import State

_MADE = frozenset({"option", "step"})


def grounded(search: Search, state: State) -> tuple[tuple[Statement, ...], Bindings] | None:
    """Facts without variables under which nothing that must be absent holds, and what the variables stand for; ``None`` if there are none."""
    left = _left(search, state)
    things = [name for name, kinds in left.items() if QUANTITY not in kinds]
    measured = [name for name, kinds in left.items() if QUANTITY in kinds]
    choices = [_choices(search, left[name], at) for at, name in enumerate(things)]
    for filling in product(*choices):
        search.fillings -= 1
        if search.fillings < 0:
            search.cut = True
            return None
        chosen = replace(state, bindings={**state.bindings, **dict(zip(things, filling, strict=True))})
        found = _numbered(search, chosen, measured)
        if found is not None and _agrees(search, found):
            facts = tuple(dict.fromkeys(filled(fact, found.bindings) for fact in found.given))
            if not any(search.proves(filled(absent, found.bindings), facts) for absent in found.absent):
                return facts, found.bindings
    return None


def _left(search: Search, state: State) -> dict[str, frozenset[str]]:
    """The variables of the facts and of what must be absent that stand for nothing yet, with the kinds that each can be of."""
    facts = [filled(fact, state.bindings) for fact in state.given]
    named = [name for fact in facts for name in fact.variables()]
    found = {name: search.kinds.get(name, frozenset()) for name in named}
    for name, kinds in search.supply.kinds(facts).items():
        found[name] = found[name] & kinds or found[name]
    return found


def _choices(search: Search, kinds: frozenset[str], at: int) -> list[str]:
    if kinds & _MADE:
        return [step_id(at + 1)]
    return [name.id for name in search.supply.vocabulary.names.values() if name.kind in kinds]


def _numbered(search: Search, state: State, measured: list[str]) -> State | None:
    """The state with a number for each variable that stands for a quantity."""
    vocabulary = search.supply.vocabulary
    units = {}
    for fact in state.given:
        value = meant(fact.object, state.bindings)
        if isinstance(value, Variable) and value.name in measured:
            units[value.name] = vocabulary.phrases[fact.predicate].units[0]
    orders = [Order(filled(kept.condition, state.bindings), _term(kept.left, state.bindings), kept.lenient) for kept in state.orders]
    found = order.numbers(vocabulary, orders, units)
    if found is None:
        # A range could overlap a limit of a safety rule on either side, and single numbers are all that is tried here.
        search.cut |= any(kept.lenient and not vocabulary.phrases[kept.condition.predicate].by_middle for kept in state.orders)
        return None
    return replace(state, bindings={**state.bindings, **found})


def _term(term: Term, bindings: Bindings) -> Term:
    found = meant(term, bindings)
    assert found is not None
    return found


def _agrees(search: Search, state: State) -> bool:
    """Whether the facts say once what is said once, and nothing that excludes what another says."""
    values: dict[tuple[str, str], Term | None] = {}
    facts = {filled(fact, state.bindings) for fact in (*state.given, *state.settled)}
    for fact in facts:
        phrase = search.supply.phrase(fact)
        if phrase.single and values.setdefault((fact.predicate, str(fact.subject)), fact.object) != fact.object:
            return False
        if any(Statement(other, fact.subject, fact.object) in facts for other in phrase.excludes):
            return False
    return True
