"""Which facts, if they were added, could help something to follow that does not."""

from collections.abc import Callable, Iterator

from finishing_kg.engine.evaluate import Model
from finishing_kg.engine.nearest import Bindings, matches
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Variable

_DEEPEST = 4  # rules on the way; the shipped ones need two


def could_add(model: Model, wanted: Statement, may: Callable[[str], bool], depth: int = _DEEPEST) -> Iterator[Statement]:
    """Facts that are lacking where a rule, or a chain of rules, comes near to a conclusion; some may come more than once.

    Args:
        model: in which the conclusion does not hold.
        wanted: the conclusion; a variable in it means *anything*.
        may: of which predicates facts may be added.
        depth: how many rules a chain may have.
    """
    if may(wanted.predicate) and not list(wanted.variables()) and wanted.comparison == "is":
        yield wanted
    if depth == 0:
        return
    for index in model.layer.program.concluding.get(wanted.predicate, ()):
        rule = model.base.rules[index]
        for conclusion in rule.conclusions:
            start = _meeting(conclusion, wanted)
            if conclusion.predicate == wanted.predicate and start is not None:
                yield from _lacking(model, rule, start, may, depth)


def _meeting(conclusion: Statement, wanted: Statement) -> Bindings | None:
    """What a conclusion's variables must stand for to be what is wanted; ``None`` if it cannot be."""
    bound: Bindings = {}
    for one, other in ((conclusion.subject, wanted.subject), (conclusion.object, wanted.object)):
        if isinstance(other, Variable) or one is None:
            continue
        if isinstance(one, Variable):
            if other is None or bound.get(one.name, other) != other:
                return None
            bound[one.name] = other
        elif one != other:
            return None
    return bound


def _holds(model: Model, statement: Statement) -> bool:
    return any(True for _ in matches(model, statement, {}))


def _lacking(model: Model, rule: Rule, start: Bindings, may: Callable[[str], bool], depth: int) -> Iterator[Statement]:
    """What one rule lacks, under every filling of the conditions that hold; what nobody may add must hold or follow from what may be added."""
    work: list[tuple[Bindings, tuple[Statement, ...], tuple[Statement, ...]]] = [(start, rule.conditions, ())]
    while work:
        bindings, left, lacking = work.pop()
        if not left:
            ways = [list(could_add(model, each.filled(bindings), may, depth - 1)) for each in lacking if not _holds(model, each.filled(bindings))]
            if all(ways):  # what nobody can bring about makes the rest of no use
                yield from (each for way in ways for each in way)
            continue
        # What may be added comes last, so that the other conditions say what it would have to be about.
        condition = min(left, key=lambda each: (may(each.predicate), sum(name not in bindings for name in each.variables()), left.index(each)))
        rest = tuple(each for each in left if each is not condition)
        fillings = list(matches(model, condition, bindings))
        work += [(filling, rest, lacking) for filling in fillings]
        if may(condition.predicate) or not fillings:
            work.append((bindings, rest, (*lacking, condition)))
