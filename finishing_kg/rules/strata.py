"""In which order rules can be evaluated so that every ``unless`` looks at something already settled."""

from collections.abc import Iterable

from finishing_kg.rules.model import Rule
from finishing_kg.statements import Language, Statement

_Edge = tuple[Rule, Statement, bool]
"""A rule, the sentence in it that needs something, and whether it needs its absence."""

_Needs = dict[str, dict[str, _Edge]]
"""For each predicate the predicates that its rules look at, each with how."""


class NotStratifiable(Exception):
    """Rules that rest on the absence of what follows from themselves.

    Attributes:
        cycle: the rules on the cycle, each with the sentence by which it leads to the next.
    """

    def __init__(self, cycle: list[_Edge]) -> None:
        super().__init__(" -> ".join(rule.id for rule, _, _ in cycle))
        self.cycle = cycle

    def spelt(self, language: Language) -> str:
        """The cycle in the rules' own sentences."""
        lines = ["These rules wait for each other in a circle that goes through an 'unless', so nothing decides which comes first:"]
        for rule, sentence, negative in self.cycle:
            lines.append(f"  rule {rule.id} needs {'that nothing says' if negative else 'that'} {language.print(sentence)}")
            lines.append("    and concludes that " + ", that ".join(language.print(conclusion) for conclusion in rule.conclusions))
        lines.append("Take one of these conditions out, or conclude something with a name of its own.")
        return "\n".join(lines)


def stratify(rules: Iterable[Rule]) -> tuple[frozenset[str], ...]:
    """Group predicates so that each group needs only itself and earlier ones, and nothing absent of itself.

    Raises:
        NotStratifiable: with the cycle.
    """
    needs: _Needs = {}
    for rule in rules:
        for conclusion in rule.conclusions:
            found = needs.setdefault(conclusion.predicate, {})
            for sentences, negative in ((rule.conditions, False), (rule.exceptions, True)):
                for sentence in sentences:
                    needs.setdefault(sentence.predicate, {})
                    if negative or sentence.predicate not in found:
                        found[sentence.predicate] = (rule, sentence, negative)
    groups = _components({predicate: sorted(found) for predicate, found in sorted(needs.items())})
    for group in groups:
        for predicate in sorted(group):
            for needed, edge in needs[predicate].items():
                if needed in group and edge[2]:
                    raise NotStratifiable([edge, *_path(needs, group, needed, predicate)])
    return tuple(groups)


def _path(needs: _Needs, group: frozenset[str], start: str, goal: str) -> list[_Edge]:
    """The shortest way of needing from one predicate to another within a group."""
    ways: dict[str, list[_Edge]] = {start: []}
    queue = [start]
    while queue and goal not in ways:
        here = queue.pop(0)
        for needed in sorted(needs[here]):
            if needed in group and needed not in ways:
                ways[needed] = [*ways[here], needs[here][needed]]
                queue.append(needed)
    return ways.get(goal, [])


def _components(graph: dict[str, list[str]]) -> list[frozenset[str]]:
    """Strongly connected components, each after those it leads to (Tarjan 1972, without recursion)."""
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    on_stack: set[str] = set()
    components: list[frozenset[str]] = []
    for root, targets in graph.items():
        if root in index:
            continue
        work = [(root, iter(targets))]
        index[root] = low[root] = len(index)
        stack.append(root)
        on_stack.add(root)
        while work:
            node, rest = work[-1]
            advanced = False
            for target in rest:
                if target not in index:
                    index[target] = low[target] = len(index)
                    stack.append(target)
                    on_stack.add(target)
                    work.append((target, iter(graph[target])))
                    advanced = True
                    break
                if target in on_stack:
                    low[node] = min(low[node], index[target])
            if advanced:
                continue
            work.pop()
            if work:
                low[work[-1][0]] = min(low[work[-1][0]], low[node])
            if low[node] == index[node]:
                component = set()
                while True:
                    member = stack.pop()
                    on_stack.discard(member)
                    component.add(member)
                    if member == node:
                        break
                components.append(frozenset(component))
    return components
