"""Rules that nothing can ever bring about: what they need comes from nowhere, or only from themselves."""

from collections.abc import Callable, Iterator

from finishing_kg.health.fault import Fault, quoted
from finishing_kg.health.solve import Search, example
from finishing_kg.health.state import Undecided
from finishing_kg.health.supply import Supply
from finishing_kg.health.terms import renamed
from finishing_kg.rules import Rule, as_written
from finishing_kg.statements import Statement, Variable


def unreachable(supply: Supply) -> Iterator[Fault]:
    """Rules with a condition that no fact, question, plan or rule can give, and rules that feed only each other."""
    reached, every = _grown(supply), frozenset(supply.base.by_id)
    for rule in supply.base.rules:
        if rule.id in reached:
            continue
        kinds = supply.kinds((*rule.conditions, *rule.exceptions))
        missing = next((c for c in rule.conditions if not _sources(supply, c, kinds, every)), None)
        if missing is not None:  # not even a rule that is itself out of reach could give it
            yield _unreachable(supply, rule, missing)
            continue
        missing = next((c for c in rule.conditions if not _sources(supply, c, kinds, reached, {rule.id})), None)
        if missing is None:
            missing = next(c for c in rule.conditions if not _sources(supply, c, kinds, reached))
        yield _unreachable(supply, rule, missing) if not _circle(supply, rule, reached) else _circular(supply, rule, missing, reached)


def concludes_itself(supply: Supply) -> Iterator[Fault]:
    """Rules of which every conclusion is among their own conditions."""
    for rule in supply.base.rules:
        made = as_written(rule, supply.vocabulary)
        if made and all(conclusion in rule.conditions for conclusion in made):
            text = f"The rule {rule.id} concludes {quoted(supply.language, *made)}, which it already needs. Take the condition or the rule out."
            yield Fault("circular", (rule.id,), rule.id, text, example(supply, rule), "what it concludes is said already")


def _grown(supply: Supply) -> frozenset[str]:
    """The rules each of whose conditions has a source that does not rest on the rule itself."""
    reached: frozenset[str] = frozenset()
    kinds = {rule.id: supply.kinds((*rule.conditions, *rule.exceptions)) for rule in supply.base.rules}
    # What has a source once keeps it, since there are only ever more of them: each round looks at what had none.
    left = {rule.id: list(rule.conditions) for rule in supply.base.rules}
    while True:
        for name, conditions in left.items():
            while conditions and _sources(supply, conditions[0], kinds[name], reached):
                del conditions[0]
        more = frozenset(name for name, conditions in left.items() if not conditions)
        if not more:
            return reached
        reached |= more
        left = {name: conditions for name, conditions in left.items() if conditions}


def _sources(
    supply: Supply, condition: Statement, kinds: dict[str, frozenset[str]], reached: frozenset[str], without: set[str] | frozenset[str] = frozenset()
) -> bool:
    """Whether a condition can be given: by the ontology, by somebody, or by a rule that can itself be reached."""
    subject = condition.subject
    if supply.can_be_given(condition, kinds.get(subject.name) if isinstance(subject, Variable) else None):
        return True
    search = Search(supply)
    search.kinds.update(kinds)

    def fits(made: Statement) -> bool:
        bindings = search.joined(made.subject, condition.subject, {})
        return bindings is not None and (condition.comparison != "is" or search.joined(made.object, condition.object, bindings) is not None)

    if any(fits(fact) for fact in supply.held_like(condition)):
        return True
    makers = [(rule, made) for rule, made in supply.makers.get(condition.predicate, ()) if rule.id in reached and rule.id not in without]
    for rule, made in makers:
        search.kinds.update(supply.kinds(renamed(own, "maker") for own in rule.conditions))
        if fits(renamed(made, "maker")):
            return True
    return False


def _circle(supply: Supply, rule: Rule, reached: frozenset[str]) -> list[str]:
    """The unreached rules on the shortest circle of needing through a rule, itself first; empty if there is none."""
    ways: dict[str, list[str]] = {}
    work = [[rule.id]]
    while work:
        way = work.pop(0)
        here = supply.base.by_id[way[-1]]
        for maker in _makers(supply, here, lambda name: name not in reached):
            if maker == rule.id:
                return way
            if maker not in ways:
                ways[maker] = [*way, maker]
                work.append(ways[maker])
    return []


def _makers(supply: Supply, rule: Rule, wanted: Callable[[str], bool]) -> Iterator[str]:
    kinds = supply.kinds((*rule.conditions, *rule.exceptions))
    for condition in rule.conditions:
        for maker, _ in supply.makers.get(condition.predicate, ()):
            if wanted(maker.id) and _sources(supply, condition, kinds, frozenset({maker.id})):
                yield maker.id


def _facts(supply: Supply, rule: Rule, without: Statement) -> tuple[Statement, ...]:
    """A case in which a rule would fire, but for one condition; empty if even that cannot be had."""
    try:
        found = Search(supply).case((condition for condition in rule.conditions if condition != without), rule.exceptions)
    except Undecided:
        return ()
    return found.facts if found else ()


def _unreachable(supply: Supply, rule: Rule, missing: Statement) -> Fault:
    said = quoted(supply.language, missing)
    sources = "no fact of the ontology, nothing that a question or a plan can say, and no rule"
    text = f"The rule {rule.id} needs {said}, and nothing gives that: {sources}. Name what there is, or write a rule that concludes it."
    held = isinstance(missing.subject, str) and supply.phrase(missing).shape == "trait"
    fault = "never true" if held and not supply.makers.get(missing.predicate) else "unreachable"
    return Fault(fault, (rule.id,), rule.id, text, _facts(supply, rule, missing), f"{rule.id} does not fire, since nothing says {said}")


def _circular(supply: Supply, rule: Rule, missing: Statement, reached: frozenset[str]) -> Fault:
    circle = _circle(supply, rule, reached)
    said = quoted(supply.language, missing)
    others = ", ".join(circle[1:])
    by = f"only {others} can give that, which in the end needs this rule" if others else "only the rule itself gives that"
    text = f"The rule {rule.id} needs {said}, and {by}. Let one of them rest on something else."
    return Fault("circular", tuple(circle), rule.id, text, _facts(supply, rule, missing), f"{rule.id} does not fire, since nothing else says {said}")
