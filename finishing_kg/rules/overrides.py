"""Who may override whom."""

from finishing_kg.rules.errors import RuleFault
from finishing_kg.rules.model import Rule
from finishing_kg.vocabulary import Vocabulary


def check_overrides(rules: list[Rule], vocabulary: Vocabulary, broken: frozenset[str] = frozenset()) -> list[RuleFault]:
    """Faults of all ``overrides``: an unknown rule, one that proposes no verdict, a safety rule, a circle.

    Args:
        rules: all that could be read.
        vocabulary: for the phrases by which verdicts are proposed.
        broken: ids of rules that are there but could not be read; of these nothing is said.
    """
    proposals = {phrase.proposed_through for phrase in vocabulary.phrases.values() if phrase.verdict}
    by_id = {rule.id: rule for rule in rules}
    faults = []

    def proposes(rule: Rule) -> bool:
        return any(conclusion.predicate in proposals for conclusion in rule.conclusions)

    for rule in rules:
        for loser in rule.overrides:
            text = ""
            if loser in broken:
                continue
            if loser not in by_id:
                text = f"There is no rule {loser!r} to override."
            elif by_id[loser].safety:
                text = f"The rule {loser!r} guards against harm to people; no rule may override it."
            elif not proposes(by_id[loser]):
                text = f"The rule {loser!r} proposes no verdict on an option, so there is nothing to override."
            elif not proposes(rule):
                text = f"This rule proposes no verdict on an option, so it cannot override {loser!r}."
            elif circle := _way(loser, rule.id, by_id):
                text = f"Rules override each other in a circle: {' overrides '.join([rule.id, *circle])}."
            if text:
                faults.append(RuleFault(rule.file, rule.line, rule.id, "overrides", text))
    return faults


def _way(start: str, goal: str, by_id: dict[str, Rule]) -> list[str]:
    """The shortest way along ``overrides`` from one rule to another, both named; empty if there is none."""
    ways = {start: [start]}
    queue = [start]
    while queue and goal not in ways:
        here = queue.pop(0)
        for loser in by_id[here].overrides if here in by_id else ():
            if loser not in ways:
                ways[loser] = [*ways[here], loser]
                queue.append(loser)
    return ways.get(goal, [])
