"""Finds a case in which sentences hold together: facts to be given, from which they follow by the ontology and the rules.

The search goes backwards from the sentences (SLD resolution), and invents what a question or a plan could say. A rule on
the way brings its own conditions and exceptions with it; numbers are kept apart as comparisons and chosen at the end.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from finishing_kg.health import order
from finishing_kg.health.ground import grounded
from finishing_kg.health.state import Case, Goal, State, Undecided
from finishing_kg.health.supply import QUANTITY, Supply
from finishing_kg.health.terms import Bindings, Order, filled, is_frozen, meant, rename_rule
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Term, Variable

_DEEPEST = 5  # rules on the way from one sentence to what is given; no shipped conclusion needs more
_LONGEST = 4000  # tries before a search is given up undecided


class Search:
    """One search.

    Args:
        supply: where statements come from.
        facts: what is given.
        known: comparisons that are known to hold of frozen things.
        invents: whether further facts may be invented.
        plain: use only rules without exceptions, and not these.
        may_say: ids of the phrases with which facts may be invented; any if ``None``.
    """

    def __init__(
        self,
        supply: Supply,
        facts: Sequence[Statement] = (),
        known: Sequence[Statement] = (),
        *,
        invents: bool = True,
        plain: frozenset[str] | None = None,
        may_say: frozenset[str] | None = None,
    ) -> None:
        self.supply, self.facts, self.known, self.invents, self.plain = supply, tuple(facts), tuple(known), invents, plain
        self.may_say = may_say
        self.kinds: dict[str, frozenset[str]] = {}
        self.cut = False
        self.fillings = 600  # of what is left at the end that may still be tried
        self._tries = self._marks = 0

    def case(
        self, conditions: Iterable[Statement], exceptions: Iterable[Statement] = (), *, safety: bool = False, more: Iterable[Statement] = ()
    ) -> Case | None:
        """A case in which the conditions, and more besides, hold and no exception does; ``None`` if there is none.

        Raises:
            Undecided: not every way was tried.
        """
        return self._first(self.ways((*more, *conditions), exceptions, safety=safety))

    def case_of(self, rules: Sequence[Rule], bindings: Bindings | None = None, more: Sequence[Statement] = ()) -> Case | None:
        """A case in which several rules fire, and more holds besides; ``None`` if there is none.

        Args:
            rules: with variables that are told apart, see ``rename_rule``.
            bindings: which of the variables stand for the same.
            more: further sentences that are to hold.

        Raises:
            Undecided: not every way was tried.
        """
        goals = [Goal(condition, rule.safety) for rule in rules for condition in rule.conditions]
        absent = tuple(exception for rule in rules for exception in rule.exceptions)
        self._learn((*(goal.sentence for goal in goals), *absent, *more))
        return self._first(self._begin([*map(Goal, more), *goals], State(bindings or {}, self.facts, absent=absent)))

    def _first(self, states: Iterator[State]) -> Case | None:
        for state in states:
            found = grounded(self, state)
            if found is not None:
                return Case(*found)
        if self.cut:
            raise Undecided
        return None

    def ways(
        self, conditions: Iterable[Statement], exceptions: Iterable[Statement] = (), *, bindings: Bindings | None = None, safety: bool = False
    ) -> Iterator[State]:
        """Every way in which conditions can hold; variables that nothing fills stay."""
        conditions, exceptions = tuple(conditions), tuple(exceptions)
        self._learn((*conditions, *exceptions))
        yield from self._begin([Goal(condition, safety) for condition in conditions], State(bindings or {}, self.facts, absent=exceptions))

    def proves(self, wanted: Statement, facts: Sequence[Statement]) -> bool:
        """Whether a sentence, or any filling of its variables, follows from facts."""
        search = Search(self.supply, facts, invents=False)
        search._marks = self._marks  # so that no variable of the sentence is taken for one of a rule
        found = any(not any(search.proves(filled(absent, state.bindings), facts) for absent in state.absent) for state in search.ways([wanted]))
        self._marks = search._marks
        self.cut |= search.cut and not found
        return found

    def _learn(self, sentences: Iterable[Statement]) -> None:
        for name, kinds in self.supply.kinds(sentences).items():
            self.kinds[name] = self.kinds[name] & kinds if name in self.kinds else kinds

    def _begin(self, goals: list[Goal], state: State) -> Iterator[State]:
        """The search, unless an exception is among what must hold."""
        wanted = {filled(goal.sentence, state.bindings) for goal in goals}
        if not any(filled(absent, state.bindings) in wanted for absent in state.absent):
            yield from self._solve(goals, state)

    def _solve(self, goals: list[Goal], state: State) -> Iterator[State]:
        self._tries += 1
        if self._tries > _LONGEST:
            self.cut = True
            return
        if not goals:
            yield state
            return
        place = min(range(len(goals)), key=lambda at: self._cost(goals[at], state)) if len(goals) > 1 else 0
        goal, rest = goals[place], [*goals[:place], *goals[place + 1 :]]
        if goal.sentence.comparison != "is":
            yield from self._compare(goal, rest, state)
            return
        for more, after in self._sources(goal, state):
            yield from self._solve([*more, *rest], after)

    def _compare(self, goal: Goal, rest: list[Goal], state: State) -> Iterator[State]:
        """A comparison: known of a frozen thing, or a value to find and an order to keep."""
        sentence = filled(goal.sentence, state.bindings)
        for known in self.known:
            if known.predicate == sentence.predicate:
                bindings = self.joined(known.subject, sentence.subject, state.bindings)
                if isinstance(sentence.object, Variable):
                    bindings = self.joined(known.object, sentence.object, bindings)
                if bindings is not None and order.implies(self.supply.vocabulary, known, filled(sentence, bindings)):
                    yield from self._solve(rest, replace(state, bindings=bindings))
        self._marks += 1
        value = Variable(f"#{self._marks}")
        self.kinds[value.name] = frozenset({QUANTITY})
        looked_at = Goal(Statement(sentence.predicate, sentence.subject, value), goal.safety, goal.above)
        yield from self._solve([looked_at, *rest], replace(state, orders=(*state.orders, Order(sentence, value, goal.safety))))

    def _cost(self, goal: Goal, state: State) -> tuple[int, int]:
        """Few ways first; a comparison is taken up once its subject is known."""
        sentence = filled(goal.sentence, state.bindings)
        makers = len(self.supply.makers.get(sentence.predicate, ()))
        if self._settled(sentence, state) is not None:
            return 0, 0
        held = len(self.supply.held_like(sentence))
        given = self._can_say(sentence)
        loose = sum(isinstance(term, Variable) for term in (sentence.subject, sentence.object))
        return held + given + 20 * makers, loose

    def _can_say(self, sentence: Statement) -> bool:
        allowed = self.invents and (self.may_say is None or sentence.predicate in self.may_say)
        return allowed and self.supply.can_be_given(sentence, self._kinds(sentence.subject))

    def _kinds(self, term: Term) -> frozenset[str] | None:
        return self.kinds.get(term.name) if isinstance(term, Variable) else None

    def _settled(self, sentence: Statement, state: State) -> Statement | None:
        # Of a frozen thing two values may have been said that are in fact one, so there every fact counts by itself.
        if not self.invents or not self.supply.phrase(sentence).single:
            return None
        return next((s for s in state.settled if s.predicate == sentence.predicate and meant(s.subject, state.bindings) == sentence.subject), None)

    def _sources(self, goal: Goal, state: State) -> Iterator[tuple[list[Goal], State]]:
        """Every way to come by a sentence: with further goals where a rule gives it."""
        sentence = filled(goal.sentence, state.bindings)
        earlier = self._settled(sentence, state)
        if earlier is not None:
            yield from self._with(earlier, sentence, state)
            return
        after = replace(state, settled=(*state.settled, sentence)) if self.supply.phrase(sentence).single else state
        for fact in (*self.supply.held_like(sentence), *(self.facts if not self.invents else ())):
            if fact.predicate == sentence.predicate:
                yield from self._with(fact, sentence, after)
        if self._can_say(sentence) and self._possible(said := replace(after, given=(*after.given, sentence))):
            yield [], said
        for rule, conclusion in self.supply.makers.get(sentence.predicate, ()):
            yield from self._by_rule(rule, rule.conclusions.index(conclusion), sentence, goal, after)

    def _with(self, fact: Statement, sentence: Statement, state: State) -> Iterator[tuple[list[Goal], State]]:
        bindings = self.joined(fact.subject, sentence.subject, state.bindings)
        bindings = self.joined(fact.object, sentence.object, bindings) if bindings is not None else None
        if bindings is not None:
            after = replace(state, bindings=bindings)
            if self._possible(after):
                yield [], after

    def _by_rule(self, rule: Rule, which: int, sentence: Statement, goal: Goal, state: State) -> Iterator[tuple[list[Goal], State]]:
        if (self.plain is not None and (rule.exceptions or rule.id in self.plain)) or set(rule.exceptions) & set(rule.conditions):
            return
        if len(goal.above) >= _DEEPEST:
            self.cut = True
            return
        if any(filled(earlier, state.bindings) == sentence for earlier in goal.above):
            return
        self._marks += 1
        fresh = rename_rule(rule, str(self._marks))
        self._learn((*fresh.conditions, *fresh.exceptions))
        for _, after in self._with(fresh.conclusions[which], sentence, state):
            above = (*goal.above, sentence)
            goals = [Goal(condition, rule.safety, above) for condition in fresh.conditions]
            yield goals, replace(after, absent=(*after.absent, *fresh.exceptions))

    def joined(self, one: Term | None, other: Term | None, bindings: Bindings | None) -> Bindings | None:
        """The bindings under which two terms are the same, or ``None``."""
        if bindings is None:
            return None
        one, other = meant(one, bindings), meant(other, bindings)
        if one == other:
            return bindings
        if isinstance(other, Variable) and (not isinstance(one, Variable) or self._narrower(one, other)):
            one, other = other, one
        if not isinstance(one, Variable) or other is None:
            return None
        kinds = self.kinds.get(one.name)
        if kinds is not None:
            if isinstance(other, Variable):
                if not kinds & self.kinds.get(other.name, kinds):
                    return None
            elif not is_frozen(other) and self.supply.kind_of_value(other) not in kinds:
                return None
        return {**bindings, one.name: other}

    def _narrower(self, one: Variable, other: Variable) -> bool:
        return len(self.kinds.get(one.name, ())) < len(self.kinds.get(other.name, ()))

    def _possible(self, state: State) -> bool:
        """Whether nothing that is known forbids a state: a comparison of two known values, an exception that is held or was said."""
        for kept in state.orders:
            left, right = meant(kept.left, state.bindings), meant(kept.condition.object, state.bindings)
            if isinstance(left, Quantity) and isinstance(right, Quantity) and not order.holds(self.supply.vocabulary, kept, left, right):
                return False
        said = {filled(fact, state.bindings) for fact in state.given} if state.absent else set()
        for sentence in state.absent:
            absent = filled(sentence, state.bindings)
            if absent in said or (isinstance(absent.subject, str) and absent.comparison == "is" and absent in self.supply.held_like(absent)):
                return False
        return True


def example(supply: Supply, rule: Rule) -> tuple[Statement, ...]:
    """Facts under which a rule fires; none if none were found."""
    try:
        found = Search(supply).case(rule.conditions, rule.exceptions, safety=rule.safety)
    except Undecided:
        return ()
    return found.facts if found else ()
