"""Rules that can never fire: their conditions exclude each other, or one of their own exceptions always holds."""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from itertools import combinations

from finishing_kg.health import order
from finishing_kg.health.fault import Fault, quoted
from finishing_kg.health.solve import Search
from finishing_kg.health.state import Case, Undecided
from finishing_kg.health.supply import Supply
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement


def never_true(supply: Supply, only: frozenset[str]) -> Iterator[Fault]:
    """Those of some rules for which no case exists, each with the sentences that exclude each other."""
    for rule in supply.base.rules:
        if rule.id in only:
            if (blocking := _blocks_itself(supply, rule)) is not None:
                yield _blocked(supply, rule, blocking)
                continue
            try:
                if _impossible(supply, rule):
                    yield _explained(supply, rule)
            except Undecided:
                continue


def _blocks_itself(supply: Supply, rule: Rule) -> Statement | None:
    """An exception that one of the rule's own conditions makes hold; seen at once, without a search."""
    for exception in rule.exceptions:
        for condition in rule.conditions:
            same = (condition.predicate, condition.subject) == (exception.predicate, exception.subject)
            compares = same and "is" not in (condition.comparison, exception.comparison)
            if condition == exception or (compares and order.implies(supply.vocabulary, condition, exception) and not rule.safety):
                return exception
    return None


def _blocked(supply: Supply, rule: Rule, exception: Statement) -> Fault:
    said = quoted(supply.language, exception)
    facts: tuple[Statement, ...] = ()
    with suppress(Undecided):
        free = _case(supply, rule, rule.conditions)
        facts = free.facts if free is not None else ()
    return _by_exception(rule, said, facts)


def _by_exception(rule: Rule, said: str, facts: tuple[Statement, ...]) -> Fault:
    text = f"The rule {rule.id} can never fire: wherever its conditions hold, so does its exception {said}. Take that out, or add a condition."
    return Fault("never true", (rule.id,), rule.id, text, facts, f"the conditions of {rule.id} hold, and so does {said}")


def _impossible(supply: Supply, rule: Rule) -> bool:
    """Whether no case exists; where the whole is too much to try, whether one or two of the conditions have none.

    Raises:
        Undecided: not even so.
    """
    try:
        return _case(supply, rule, rule.conditions, rule.exceptions) is None
    except Undecided:
        return _core(supply, rule) is not None


def _core(supply: Supply, rule: Rule) -> tuple[Statement, ...] | None:
    """One or two conditions for which no case exists."""
    for some in (*combinations(rule.conditions, 1), *combinations(rule.conditions, 2)):
        with suppress(Undecided):
            if _case(supply, rule, some) is None:
                return some
    return None


def _case(supply: Supply, rule: Rule, conditions: Sequence[Statement], exceptions: Sequence[Statement] = ()) -> Case | None:
    return Search(supply).case(conditions, exceptions, safety=rule.safety)


def _explained(supply: Supply, rule: Rule) -> Fault:
    core = list(_core(supply, rule) or rule.conditions)
    free = _case(supply, rule, rule.conditions) if len(core) == len(rule.conditions) else None
    if free is not None:
        guilty = [exception for exception in rule.exceptions if _case(supply, rule, rule.conditions, [exception]) is None] or list(rule.exceptions)
        said = quoted(supply.language, *guilty[:1] if len(guilty) < len(rule.exceptions) or len(guilty) == 1 else guilty)
        return _by_exception(rule, said, free.facts)
    for condition in list(core):
        rest = [other for other in core if other != condition]
        if rest and _case(supply, rule, rest) is None:
            core = rest
    said = quoted(supply.language, *core)
    nearest = _nearest(supply, rule, core)
    if len(core) == 1:
        text = f"The rule {rule.id} can never fire: {said} holds of nothing. Change the condition."
        return Fault("never true", (rule.id,), rule.id, text, nearest.facts if nearest else (), f"all else is so, but {said} holds of nothing")
    text = f"The rule {rule.id} can never fire: its conditions {said} exclude each other. Change one of them."
    shown = f"all but {quoted(supply.language, core[-1])} is so, and that cannot be"
    return Fault("never true", (rule.id,), rule.id, text, nearest.facts if nearest else (), shown)


def _nearest(supply: Supply, rule: Rule, core: Sequence[Statement]) -> Case | None:
    """A case in which all holds but the last of the sentences that exclude each other, or all of these but the last.

    None of the rule's exceptions holds in it, if there is such a case.
    """
    rest = [condition for condition in rule.conditions if condition != core[-1]]
    for conditions, exceptions in ((rest, rule.exceptions), (rest, ()), (core[:-1], ())):
        with suppress(Undecided):
            if conditions and (found := _case(supply, rule, conditions, exceptions)) is not None:
                return found
    return None
