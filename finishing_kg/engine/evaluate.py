"""Forward chaining, stratum by stratum; semi-naive where a stratum feeds itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from finishing_kg.engine.plan import RulePlan, Slots, plan_rule, run
from finishing_kg.engine.relation import Relation, Value
from finishing_kg.proofs import Fact
from finishing_kg.rules import RuleBase
from finishing_kg.statements import Statement, Variable
from finishing_kg.vocabulary import Vocabulary

Key = tuple[str, str, Value]
"""Predicate, subject and object of something that holds."""

Firing = tuple[int, tuple[Value, ...]]
"""One way in which something was derived: index of the rule's plan, and its slots."""


@dataclass
class Model:
    """Everything that holds, with every way in which it was derived.

    Attributes:
        vocabulary, base: what it was derived with.
        facts: what was given.
        plans: the rules' plans, by the index that firings name.
        relations: pairs that hold, by predicate.
        firings: for each derived statement the ways in which it was derived.
        rank: for each derived statement the place of its stratum and the round in it; a firing whose premises all
            rank lower cannot rest on the statement itself.
    """

    vocabulary: Vocabulary
    base: RuleBase
    facts: dict[Statement, Fact]
    plans: list[RulePlan]
    relations: dict[str, Relation] = field(default_factory=dict)
    firings: dict[Key, dict[Firing, None]] = field(default_factory=dict)
    rank: dict[Key, tuple[int, int]] = field(default_factory=dict)

    def relation(self, predicate: str) -> Relation:
        """The pairs of a predicate, empty if there are none."""
        found = self.relations.get(predicate)
        if found is None:
            found = self.relations[predicate] = Relation()
        return found

    def holds(self, predicate: str, subject: str, value: Value = None) -> bool:
        """Whether a statement holds."""
        return (subject, value) in self.relation(predicate).pairs

    def objects(self, predicate: str, subject: str) -> list[Value]:
        """The objects that a subject is related to."""
        return list(self.relation(predicate).by_subject.get(subject, ()))

    def subjects(self, predicate: str, value: Value = None) -> list[str]:
        """The subjects that hold a trait, or are related to an object."""
        return list(self.relation(predicate).by_object.get(value, ()))

    def statements(self) -> set[Statement]:
        """All statements that hold, given and derived."""
        return {Statement(predicate, subject, value) for predicate, relation in self.relations.items() for subject, value in relation.pairs}


def evaluate(vocabulary: Vocabulary, base: RuleBase, facts: Mapping[Statement, Fact]) -> Model:
    """Derive all that follows from facts by the rules of a base.

    The result does not depend on the order of rules or facts.
    """
    given = {**{statement: Fact(basis) for statement, basis in base.facts.items()}, **facts}
    model = Model(vocabulary, base, given, [plan_rule(rule) for rule in base.rules])
    for statement in given:
        assert not isinstance(statement.subject, Variable) and not isinstance(statement.object, Variable)
        model.relation(statement.predicate).add(statement.subject, statement.object)
    for place, stratum in enumerate(base.strata):
        concerned = [index for index, rule in enumerate(base.rules) if any(c.predicate in stratum for c in rule.conclusions)]
        if concerned:
            _settle(model, place, stratum, concerned)
    return model


def _settle(model: Model, place: int, stratum: frozenset[str], concerned: list[int]) -> None:
    """Run the rules of one stratum until nothing is added."""
    recursive = {index for index in concerned if any(c.predicate in stratum for c in model.base.rules[index].conditions)}
    fresh: dict[Key, None] = {}
    for index in concerned:
        _fire(model, index, stratum, fresh)
    turn = 0
    while fresh:
        delta: dict[str, Relation] = {}
        for predicate, subject, value in fresh:
            model.rank[predicate, subject, value] = (place, turn)
            if model.relation(predicate).add(subject, value):
                delta.setdefault(predicate, Relation()).add(subject, value)
        fresh = {}
        turn += 1
        for index in sorted(recursive):
            for position, condition in enumerate(model.base.rules[index].conditions):
                if condition.predicate in delta:
                    _fire(model, index, stratum, fresh, delta=delta[condition.predicate], position=position)


def _fire(model: Model, index: int, stratum: frozenset[str], fresh: dict[Key, None], *, delta: Relation | None = None, position: int = -1) -> None:
    """Run one rule, once over everything or with one condition met only by what the last round added.

    Args:
        model: what holds so far; firings are logged in it.
        index: of the rule.
        stratum: the predicates that are being settled; other conclusions of the rule wait for their turn.
        fresh: receives what is new.
        delta: what the last round added.
        position: index of the condition that only the last round's additions may meet.
    """
    plan = model.plans[index]
    slot_of = {name: slot for slot, name in enumerate(plan.names)}
    heads = [conclusion for conclusion in plan.rule.conclusions if conclusion.predicate in stratum]

    def emit(slots: Slots) -> None:
        firing = (index, tuple(slots))
        for head in heads:
            subject = slots[slot_of[head.subject.name]] if isinstance(head.subject, Variable) else head.subject
            value: Value = slots[slot_of[head.object.name]] if isinstance(head.object, Variable) else head.object
            assert isinstance(subject, str)
            key = (head.predicate, subject, value)
            model.firings.setdefault(key, {})[firing] = None
            if (subject, value) not in model.relation(head.predicate).pairs:
                fresh[key] = None

    def source(at: int, predicate: str) -> Relation:
        return delta if delta is not None and at == position else model.relation(predicate)

    run(plan, relations=source, all_relations=model.relation, vocabulary=model.vocabulary, emit=emit)
