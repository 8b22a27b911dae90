"""How near rules came to what does not hold, and what they lacked."""

from collections.abc import Iterator

from finishing_kg.engine.compare import compare
from finishing_kg.engine.evaluate import Model
from finishing_kg.measure import Quantity
from finishing_kg.record import record
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Variable

Bindings = dict[str, str | Quantity]


@record(frozen=True, slots=True)
class Shortfall:
    """What a rule lacked.

    Attributes:
        rule: the rule.
        met: how many of its conditions held.
        lacking: the first condition that did not, or the exception that held.
        blocked: whether an exception blocked it.
    """

    rule: Rule
    met: int
    lacking: Statement
    blocked: bool


def shortfall(model: Model, rule: Rule, conclusion: Statement, subject: str, obj: str | Quantity | None = None) -> Shortfall | None:
    """How far a rule came toward a conclusion about a subject, by the filling that met most conditions.

    Args:
        model: what holds.
        rule: the rule.
        conclusion: the one of its conclusions that is meant; it must be able to be about the subject.
        subject: whom it should be about.
        obj: what else it should be about; ``None`` for anything, and for a trait.

    Returns:
        ``None`` if the rule fired.
    """
    start: Bindings = {conclusion.subject.name: subject} if isinstance(conclusion.subject, Variable) else {}
    if obj is not None and isinstance(conclusion.object, Variable):
        start[conclusion.object.name] = obj
    best: tuple[int, Statement, bool] | None = None
    work: list[tuple[Bindings, tuple[Statement, ...]]] = [(start, rule.conditions)]
    while work:
        bindings, left = work.pop()
        met = len(rule.conditions) - len(left)
        if not left:
            blocking = next((e for e in rule.exceptions if any(True for _ in matches(model, e, bindings))), None)
            if blocking is None:
                return None
            best = (met, blocking.filled(bindings), True)
            continue
        condition = min(left, key=lambda c: (sum(name not in bindings for name in c.variables()), left.index(c)))
        rest = tuple(c for c in left if c is not condition)
        fillings = list(matches(model, condition, bindings))
        if not fillings and (best is None or met > best[0]):
            best = (met, condition.filled(bindings), False)
        work += [(filling, rest) for filling in fillings]
    assert best is not None
    return Shortfall(rule, *best)


def could_follow(model: Model, absent: Statement) -> list[Shortfall]:
    """The rules that could have concluded what does not hold, each with what it lacks; the one that came nearest first.

    Args:
        model: in which it does not hold.
        absent: as a proof names it: a variable in it means *anything*.
    """
    found = []
    for index in model.layer.program.concluding.get(absent.predicate, ()):
        rule = model.base.rules[index]
        for conclusion in rule.conclusions:
            if conclusion.predicate != absent.predicate or not _could_be(conclusion, absent):
                continue
            obj = None if isinstance(absent.object, Variable) else absent.object
            for subject in model.every_subject(absent.predicate) if isinstance(absent.subject, Variable) else [absent.subject]:
                if (lacked := shortfall(model, rule, conclusion, subject, obj)) is not None:
                    found.append(lacked)
    return sorted(found, key=lambda each: (len(each.rule.conditions) - each.met, each.rule.id))


def _could_be(conclusion: Statement, wanted: Statement) -> bool:
    """Whether a conclusion could be what is wanted; variables of either fit anything."""
    pairs = ((conclusion.subject, wanted.subject), (conclusion.object, wanted.object))
    if conclusion.subject == conclusion.object and not any(isinstance(other, Variable) for _, other in pairs):
        return wanted.subject == wanted.object
    return all(isinstance(one, Variable) or isinstance(other, Variable) or one == other for one, other in pairs)


def matches(model: Model, sentence: Statement, bindings: Bindings) -> Iterator[Bindings]:
    """The fillings under which a sentence holds in a model."""
    goal = sentence.filled(bindings)
    subjects = model.every_subject(goal.predicate) if isinstance(goal.subject, Variable) else [goal.subject]
    for subject in subjects:
        for value in model.objects(goal.predicate, subject):
            found: Bindings = {**bindings, **({goal.subject.name: subject} if isinstance(goal.subject, Variable) else {})}
            if goal.comparison != "is":
                if (
                    isinstance(value, Quantity)
                    and isinstance(goal.object, Quantity)
                    and compare(model.vocabulary.phrases[goal.predicate], model.vocabulary.units, value, goal.comparison, goal.object)
                ):
                    yield found
            elif isinstance(goal.object, Variable):
                if value is not None and found.get(goal.object.name, value) == value:
                    yield {**found, goal.object.name: value}
            elif value == goal.object:
                yield found
