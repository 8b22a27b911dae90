"""All minimal reasons of a statement: the smallest sets of facts that it follows from, each without the others."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from finishing_kg.engine.evaluate import Model
from finishing_kg.engine.explain import Prover
from finishing_kg.record import record
from finishing_kg.statements import Statement

Leaves = frozenset[Statement]


@record(frozen=True, slots=True)
class MinimalReasons:
    """The minimal reasons of a statement.

    Attributes:
        sets: each a set of facts that the statement follows from, and of which none can be left out; the smallest first.
        complete: whether these are all; ``False`` where there were more than were asked for, or than could be looked at.
    """

    sets: tuple[Leaves, ...]
    complete: bool


def minimal_reasons(
    prover: Prover, statement: Statement, counts: Callable[[Statement], bool] = lambda _fact: True, most: int = 20, reach: int = 5000
) -> MinimalReasons:
    """All minimal reasons of a statement that holds.

    What a rule needs to be absent is taken as absent: a reason is a set of facts that is enough as long as nothing else changes.

    Args:
        prover: of the model in which it holds.
        statement: without variables.
        counts: which facts are told apart; the others are taken for granted, such as what the ontology holds.
        most: how many reasons to give.
        reach: how many statements to look through.

    Raises:
        KeyError: the statement does not hold.
    """
    ways, complete = _ways(prover, statement, reach)
    known: dict[Statement, list[Leaves]] = {}
    for here in ways:
        known[here] = [frozenset({here} if counts(here) else ())] if here in prover.model.facts else []
    cap = most * 3  # a reason that is dropped on the way can be part of one that would be kept, so more are carried than are given
    waiting = dict.fromkeys(reversed(list(ways)))
    users: dict[Statement, dict[Statement, None]] = {}
    for here, firings in ways.items():
        for premises in firings:
            for premise in premises:
                users.setdefault(premise, {})[here] = None
    while waiting:
        here = next(iter(waiting))
        del waiting[here]
        found = list(known[here])
        for premises in ways[here]:
            found += _unions([known[premise] for premise in premises], cap)
        best = _smallest(found)
        complete = complete and len(best) <= cap
        best = best[:cap]
        if best != known[here]:
            known[here] = best
            waiting.update(users.get(here, {}))
    sets = known[statement]
    return MinimalReasons(tuple(sets[:most]), complete and len(sets) <= most)


def _ways(prover: Prover, statement: Statement, reach: int) -> tuple[dict[Statement, list[tuple[Statement, ...]]], bool]:
    """For a statement and all below it, the premises of each way in which it was derived; and whether that is everything."""
    model: Model = prover.model
    if statement not in model.facts and not model.firings(statement):
        raise KeyError(statement)
    ways: dict[Statement, list[tuple[Statement, ...]]] = {}
    work = [statement]
    while work:
        here = work.pop()
        if here not in ways:
            ways[here] = [] if len(ways) >= reach else [tuple(prover.premises(firing)) for firing in model.firings(here)]
            work += [premise for premises in ways[here] for premise in premises]
    return ways, len(ways) < reach


def _unions(choices: Iterable[list[Leaves]], cap: int) -> list[Leaves]:
    """One reason for each premise, taken together in every way; the smallest ones."""
    made: list[Leaves] = [frozenset()]
    for options in choices:
        made = _smallest([one | other for one in made for other in options])[: cap * 2]
    return made


def _smallest(sets: Iterable[Leaves]) -> list[Leaves]:
    """Those that contain no other, in a fixed order."""
    kept: list[Leaves] = []
    for each in sorted(set(sets), key=lambda leaves: (len(leaves), sorted(map(str, leaves)))):
        if not any(smaller <= each for smaller in kept):
            kept.append(each)
    return kept
