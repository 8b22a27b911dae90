"""Rules that can never fire: their conditions exclude each other, or one of their own exceptions always holds."""

from collections.abc import Iterator, Sequence

from finishing_kg.health.fault import Fault, quoted
from finishing_kg.health.solve import Case, Search, Undecided
from finishing_kg.health.supply import Supply
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement


def never_true(supply: Supply, reached: frozenset[str] | None = None) -> Iterator[Fault]:
    """Rules for which no case exists, each with the sentences that exclude each other.

    Args:
        supply: the rules and where statements come from.
        reached: ids of the rules to try; all if ``None``.
    """
    for rule in supply.base.rules:
        if reached is None or rule.id in reached:
            try:
                if _case(supply, rule, rule.conditions, rule.exceptions) is None:
                    yield _explained(supply, rule)
            except Undecided:
                continue


def _case(supply: Supply, rule: Rule, conditions: Sequence[Statement], exceptions: Sequence[Statement] = ()) -> Case | None:
    return Search(supply).case(conditions, exceptions, safety=rule.safety)


def _explained(supply: Supply, rule: Rule) -> Fault:
    free = _case(supply, rule, rule.conditions)
    if free is not None:
        guilty = [exception for exception in rule.exceptions if _case(supply, rule, rule.conditions, [exception]) is None] or list(rule.exceptions)
        said = quoted(supply.language, *guilty[:1] if len(guilty) < len(rule.exceptions) or len(guilty) == 1 else guilty)
        text = f"The rule {rule.id} can never fire: wherever its conditions hold, so does its exception {said}. Take that out, or add a condition."
        return Fault("never true", (rule.id,), rule.id, text, free.facts, f"the conditions of {rule.id} hold, and so does {said}")
    core = list(rule.conditions)
    for condition in rule.conditions:
        rest = [other for other in core if other != condition]
        if rest and _case(supply, rule, rest) is None:
            core = rest
    said = quoted(supply.language, *core)
    if len(core) == 1:
        text = f"The rule {rule.id} can never fire: {said} holds of nothing. Change the condition."
        return Fault("never true", (rule.id,), rule.id, text, (), f"{said} holds of nothing")
    nearest = _case(supply, rule, [condition for condition in rule.conditions if condition != core[-1]]) or _case(supply, rule, core[:-1])
    text = f"The rule {rule.id} can never fire: its conditions {said} exclude each other. Change one of them."
    shown = f"all but {quoted(supply.language, core[-1])} is so, and that cannot be"
    return Fault("never true", (rule.id,), rule.id, text, nearest.facts if nearest else (), shown)
