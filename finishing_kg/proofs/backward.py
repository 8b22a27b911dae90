"""What holds, found backwards from what is asked: the proof checker's own way, which shares no code with the engine."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction

from finishing_kg.measure import Quantity
from finishing_kg.proofs.facts import Facts, matched
from finishing_kg.rules.model import Rule
from finishing_kg.statements import Statement, Variable
from finishing_kg.statements.model import Comparison
from finishing_kg.vocabulary import Vocabulary

Bindings = dict[str, str | Quantity]
Ask = Callable[[Statement], Iterable[Statement]]
# The value that a comparison looks at; no rule can have a variable of this name.
_LOOKED_AT = Variable("#value")

RulesFor = Mapping[str, list[tuple[Rule, Statement]]]
"""For each predicate the rules that could conclude it, each with the conclusion in question."""


def rules_for(rules: Iterable[Rule]) -> RulesFor:
    """The rules by what they conclude."""
    found: dict[str, list[tuple[Rule, Statement]]] = {}
    for rule in rules:
        for conclusion in rule.conclusions:
            found.setdefault(conclusion.predicate, []).append((rule, conclusion))
    return found


class BackwardSearch:
    """Answers whether a statement holds, by the rules that could conclude it."""

    def __init__(self, vocabulary: Vocabulary, rules_for: RulesFor, facts: Facts) -> None:
        self.vocabulary, self.facts = vocabulary, facts
        self._factors: dict[str, Fraction] = {}
        self._done: dict[Statement, set[Statement]] = {}
        self._orders: dict[tuple[str, frozenset[str]], list[Statement]] = {}
        self._rules_for, self._able = rules_for, dict[str, list[tuple[Rule, Statement]]]()

    def compares(self, predicate: str, left: Quantity, operator: Comparison, right: Quantity) -> bool | None:
        """True, False, or None where the ranges overlap; in fractions of the base unit, so that nothing is rounded."""
        known, by_middle = self.vocabulary.units.by_symbol, self.vocabulary.phrases[predicate].by_middle
        if left.unit not in known or right.unit not in known or known[left.unit].dimension != known[right.unit].dimension:
            return False
        ends = [[Fraction(end) for end in ((q.mid, q.mid) if by_middle else (q.lowest, q.highest))] for q in (left, right)]
        (a, b), (c, d) = ([end * self._factor(q.unit) for end in pair] for pair, q in zip(ends, (left, right), strict=True))
        surely, possibly = {"above": (a > d, b > c), "below": (b < c, a < d), "at least": (a >= d, b >= c), "at most": (b <= c, a <= d)}[operator]
        return True if surely else None if possibly else False

    def _factor(self, unit: str) -> Fraction:
        """What a unit is in the base unit."""
        found = self._factors.get(unit)
        if found is None:
            found = self._factors[unit] = Fraction(self.vocabulary.units.by_symbol[unit].factor)
        return found

    def holds(self, wanted: Statement) -> bool:
        """Whether a statement, or any filling of its variables, holds."""
        return any(True for _ in self._matches(wanted, {}, self._answers, uncertain=False))

    def _matches(self, wanted: Statement, bindings: Bindings, ask: Ask, *, uncertain: bool) -> Iterator[Bindings]:
        """Every filling of a sentence's variables under which it holds; ``uncertain`` lets a comparison that is unknown count."""
        goal = wanted.filled(bindings)
        if goal.comparison == "is":
            if not isinstance(goal.subject, Variable) and not isinstance(goal.object, Variable):
                if goal in ask(goal):
                    yield bindings
                return
            for held in list(ask(goal)):
                if (more := matched(goal, held)) is not None:
                    yield {**bindings, **more}
            return
        looked_at = Statement(goal.predicate, goal.subject, _LOOKED_AT)
        for held in list(ask(looked_at)):
            more = matched(looked_at, held)
            if more is not None and isinstance(held.object, Quantity) and isinstance(goal.object, Quantity):
                outcome = self.compares(goal.predicate, held.object, goal.comparison, goal.object)
                if outcome or (uncertain and outcome is None):
                    yield {**bindings, **{name: value for name, value in more.items() if name != _LOOKED_AT.name}}

    def _answers(self, goal: Statement) -> Iterable[Statement]:
        """Statements that hold, among them all that fit a goal, found backwards from it.

        Each goal that comes up gets a table; when a table grows, the goals that looked at it are tried again, until
        nothing grows. What must be absent is settled first, apart: in a stratified rule set it waits for none of these.
        """
        if goal.predicate not in self._rules_for:
            return self.facts.near(goal)
        first = _general(goal)
        if first in self._done:
            return self._done[first]
        tables: dict[Statement, set[Statement]] = {}
        lookers: dict[Statement, dict[Statement, None]] = {}
        work: list[Statement] = []

        def ask(wanted: Statement, looker: Statement | None) -> Iterable[Statement]:
            if wanted.predicate not in self._rules_for:
                return self.facts.near(wanted)
            key = _general(wanted)
            if key in self._done:
                return self._done[key]
            if key not in tables:
                tables[key], lookers[key] = {held for held in self.facts.near(key) if matched(key, held) is not None}, {}
                work.append(key)
            if looker is not None:
                lookers[key][looker] = None
            return tables[key]

        ask(first, None)
        while work:
            here = work.pop()
            before = len(tables[here])
            for rule, conclusion in self._able_to(here.predicate):
                if (start := _start(conclusion, here)) is not None:
                    made = [conclusion.filled(full) for full in self._bodies(rule, start, lambda wanted, here=here: ask(wanted, here))]  # type: ignore[misc]
                    tables[here].update(statement for statement in made if matched(here, statement) is not None)
            if len(tables[here]) > before:
                work += [looker for looker in lookers[here] if looker not in work]
        self._done.update(tables)
        return self._done[first]

    def _able_to(self, predicate: str) -> list[tuple[Rule, Statement]]:
        """The rules that could conclude something, without those that look for a fact of which there is none, whatever it is about."""
        found = self._able.get(predicate)
        if found is None:
            found = self._able[predicate] = [each for each in self._rules_for[predicate] if not any(map(self._is_lacking, each[0].conditions))]
        return found

    def _is_lacking(self, condition: Statement) -> bool:
        if condition.predicate in self._rules_for:
            return False
        wanted = condition if condition.comparison == "is" else Statement(condition.predicate, condition.subject, _LOOKED_AT)
        return not any(True for _ in self.facts.near(wanted))

    def _bodies(self, rule: Rule, start: Bindings, ask: Ask) -> Iterator[Bindings]:
        """Every binding under which a rule's conditions hold and none of its exceptions does."""
        return self._met(rule, self._ordered(rule, frozenset(start)), 0, start, ask)

    def _met(self, rule: Rule, order: list[Statement], place: int, known: Bindings, ask: Ask) -> Iterator[Bindings]:
        """As ``_bodies``, from one of the ordered conditions on."""
        if place < len(order):
            for more in self._matches(order[place], known, ask, uncertain=rule.safety):
                yield from self._met(rule, order, place + 1, more, ask)
        elif not any(self.holds(exception.filled(known)) for exception in rule.exceptions):
            yield known

    def _ordered(self, rule: Rule, bound: frozenset[str]) -> list[Statement]:
        """A rule's conditions in the order in which they are met: what is bound already first, then what is only looked up."""
        if (order := self._orders.get((rule.id, bound))) is not None:
            return order
        names, left = set(bound), list(rule.conditions)

        def cost(c: Statement) -> tuple[bool, int, bool]:
            waits = c.comparison != "is" and isinstance(c.object, Variable) and c.object.name not in names
            return waits, sum(name not in names for name in c.variables()), c.predicate in self._rules_for

        order = self._orders[rule.id, bound] = []
        while left:
            order.append(left.pop(left.index(min(left, key=cost))))
            names.update(order[-1].variables())
        return order


def _general(goal: Statement) -> Statement:
    """The goal with its variables named in their order, so that goals that ask the same are the same."""
    if not isinstance(goal.subject, Variable) and not isinstance(goal.object, Variable):
        return goal
    names = {name: Variable(str(number)) for number, name in enumerate(dict.fromkeys(goal.variables()))}
    subject = names[goal.subject.name] if isinstance(goal.subject, Variable) else goal.subject
    return Statement(goal.predicate, subject, names[goal.object.name] if isinstance(goal.object, Variable) else goal.object)


def _start(conclusion: Statement, goal: Statement) -> Bindings | None:
    """What a rule's variables must stand for if its conclusion is to be the goal."""
    found: Bindings = {}
    for mine, wanted in ((conclusion.subject, goal.subject), (conclusion.object, goal.object)):
        if isinstance(wanted, Variable) or mine is None or wanted is None:
            continue
        if (found.setdefault(mine.name, wanted) if isinstance(mine, Variable) else mine) != wanted:
            return None
    return found
