"""A rule made ready for evaluation: its conditions as steps of a join over slots."""

from collections.abc import Callable
from dataclasses import dataclass

from finishing_kg.engine.compare import compare
from finishing_kg.engine.relation import Relation, Value
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Term, Variable
from finishing_kg.vocabulary import Vocabulary

Slots = list[Value]
Go = Callable[[], None]


@dataclass(frozen=True)
class RulePlan:
    """A rule's variables laid out in slots.

    Attributes:
        rule: the rule.
        names: the variable of each slot; a comparison has a further slot for the value that it looked at.
        held: for each condition the slot of that value, or -1.
    """

    rule: Rule
    names: tuple[str, ...]
    held: tuple[int, ...]


def plan_rule(rule: Rule) -> RulePlan:
    """Lay out the slots of a rule."""
    names = list(dict.fromkeys(name for sentence in (*rule.conditions, *rule.conclusions) for name in sentence.variables()))
    held = []
    for index, condition in enumerate(rule.conditions):
        if condition.comparison == "is":
            held.append(-1)
        else:
            held.append(len(names))
            names.append(f"#{index}")
    return RulePlan(rule, tuple(names), tuple(held))


def run(
    plan: RulePlan,
    *,
    relations: Callable[[int, str], Relation],
    all_relations: Callable[[str], Relation],
    vocabulary: Vocabulary,
    emit: Callable[[Slots], None],
) -> None:
    """Call ``emit`` with the slots for every way in which a rule's conditions hold and no exception does.

    Args:
        plan: the rule.
        relations: the pairs that a condition, given by its index and predicate, is to be met from.
        all_relations: all pairs of a predicate, for exceptions.
        vocabulary: for units and the ways of comparing.
        emit: must copy the slots if it keeps them.
    """
    rule = plan.rule
    slots: Slots = [None] * len(plan.names)
    index_of = {name: index for index, name in enumerate(plan.names)}
    sources = [relations(index, condition.predicate) for index, condition in enumerate(rule.conditions)]
    order = _order(rule, sources)
    if order is None:
        return

    def finish() -> None:
        if not any(_present(exception, slots, index_of, all_relations(exception.predicate), vocabulary) for exception in rule.exceptions):
            emit(slots)

    go: Go = finish
    bound = set(plan.names)
    for index in reversed(order):
        condition = rule.conditions[index]
        bound -= _binds(rule, order, index)
        if condition.comparison == "is":
            go = _joining(condition, sources[index], slots, index_of=index_of, bound=bound, go=go)
        else:
            go = _comparing(condition, sources[index], slots, plan=plan, held=plan.held[index], bound=bound, vocabulary=vocabulary, go=go)
    go()


def _order(rule: Rule, sources: list[Relation]) -> list[int] | None:
    """The conditions, each as soon as it is cheap: most slots bound first, then the smallest relation."""
    if not all(len(source) for source in sources):
        return None
    left, known, order = set(range(len(rule.conditions))), set[str](), []

    def cost(index: int) -> tuple[bool, int, int, int]:
        condition = rule.conditions[index]
        waits = condition.comparison != "is" and isinstance(condition.object, Variable) and condition.object.name not in known
        unbound = sum(name not in known for name in condition.variables())
        return waits, unbound, len(sources[index]), index

    while left:
        best = min(left, key=cost)
        left.remove(best)
        order.append(best)
        known |= set(rule.conditions[best].variables())
    return order


def _binds(rule: Rule, order: list[int], index: int) -> set[str]:
    """The variables that are first met in a condition, given the order."""
    before: set[str] = set()
    for earlier in order[: order.index(index)]:
        before |= set(rule.conditions[earlier].variables())
    return set(rule.conditions[index].variables()) - before


def _subjects(condition: Statement, source: Relation, slots: Slots, index_of: dict[str, int], bound: set[str]) -> Callable[[], list[str]]:
    """What a condition's subject can be: what it is, what its slot holds, or every subject there is."""
    subject = condition.subject
    if not isinstance(subject, Variable):
        return lambda: [subject]
    slot = index_of[subject.name]
    if subject.name not in bound:
        return lambda: list(source.by_subject)

    def held() -> list[str]:
        value = slots[slot]
        return [value] if isinstance(value, str) else []

    return held


def _comparing(
    condition: Statement,
    source: Relation,
    slots: Slots,
    *,
    plan: RulePlan,
    held: int,
    bound: set[str],
    vocabulary: Vocabulary,
    go: Go,
) -> Go:
    """A comparison as a function that fills its slots in every way in which it holds, and goes on."""
    index_of = {name: index for index, name in enumerate(plan.names)}
    subject, obj = condition.subject, condition.object
    subject_slot = index_of[subject.name] if isinstance(subject, Variable) else -1
    object_slot = index_of[obj.name] if isinstance(obj, Variable) else -1
    subjects = _subjects(condition, source, slots, index_of, bound)
    phrase, units, operator = vocabulary.phrases[condition.predicate], vocabulary.units, condition.comparison

    def comparing() -> None:
        right = slots[object_slot] if object_slot >= 0 else obj
        for here in subjects():
            for value in source.by_subject.get(here, ()):
                if isinstance(value, Quantity) and isinstance(right, Quantity):
                    outcome = compare(phrase, units, value, operator, right)
                    if outcome or (outcome is None and plan.rule.safety):
                        slots[held] = value
                        if subject_slot >= 0:
                            slots[subject_slot] = here
                        go()

    return comparing


def _joining(condition: Statement, source: Relation, slots: Slots, *, index_of: dict[str, int], bound: set[str], go: Go) -> Go:
    """A plain condition as a function that fills its slots in every way in which it holds, and goes on."""
    subject, obj = condition.subject, condition.object
    subject_slot = index_of[subject.name] if isinstance(subject, Variable) else -1
    subject_known = not isinstance(subject, Variable) or subject.name in bound
    object_slot = index_of[obj.name] if isinstance(obj, Variable) else -1
    object_known = not isinstance(obj, Variable) or obj.name in bound
    same = isinstance(subject, Variable) and subject == obj
    subjects = _subjects(condition, source, slots, index_of, bound)

    def wanted() -> Value:
        return obj if not isinstance(obj, Variable) else slots[object_slot]

    def both_known() -> None:
        value = wanted()
        if any((here, value) in source.pairs for here in subjects()):
            go()

    def object_first() -> None:
        for here in source.by_object.get(wanted(), ()):
            slots[subject_slot] = here
            go()

    def with_itself() -> None:
        for here, value in source.pairs:
            if here == value:
                slots[subject_slot] = here
                go()

    def subject_first() -> None:
        for here in subjects():
            for value in source.by_subject.get(here, ()):
                if subject_slot >= 0:
                    slots[subject_slot] = here
                slots[object_slot] = value
                go()

    if same and not subject_known:
        return with_itself
    if object_known:
        return both_known if subject_known else object_first
    return subject_first


def _present(exception: Statement, slots: Slots, index_of: dict[str, int], source: Relation, vocabulary: Vocabulary) -> bool:
    """Whether an exception holds; its own variables stand for anything."""
    subject, obj = _settled(exception.subject, slots, index_of), _settled(exception.object, slots, index_of)
    subjects = list(source.by_subject) if isinstance(subject, Variable) else [subject] if isinstance(subject, str) else []
    if exception.comparison != "is":
        phrase = vocabulary.phrases[exception.predicate]
        values = [value for here in subjects for value in source.by_subject.get(here, ()) if isinstance(value, Quantity)]
        return isinstance(obj, Quantity) and any(compare(phrase, vocabulary.units, value, exception.comparison, obj) is True for value in values)
    if not isinstance(obj, Variable):
        return any((here, obj) in source.pairs for here in subjects)
    if obj == subject:
        return any(here == value for here, value in source.pairs)
    return any(here in source.by_subject for here in subjects)


def _settled(term: Term | None, slots: Slots, index_of: dict[str, int]) -> Term | None:
    """What a term stands for; a variable of the exception alone stays one."""
    if isinstance(term, Variable) and term.name in index_of:
        return slots[index_of[term.name]]
    return term
