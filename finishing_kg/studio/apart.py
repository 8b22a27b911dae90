"""Which unknown parts of a piece must be looked into anew, since rules tell their values apart otherwise than before.

An answer that says what would help to know tries one of all values that no rule tells apart (``advice.deciding``). A rule that names
a value, or a limit of a measure, that none named before can so have a say where it fired in nothing that was tried.
"""

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from finishing_kg.advice.telling_apart import OF_OPTIONS, OF_STEPS, rules_behind
from finishing_kg.engine import Knowledge
from finishing_kg.routes import PARTS, PIECE
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Variable

_PART = {predicate: part for part, predicate in PARTS.items()}
_WITH_IF = "mayCallForCaution"


Apart = dict[str, frozenset[str | None]]
"""For each key of ``PARTS`` or id of a measure the values that are told from others anew; ``None`` where that may be any."""


def newly_told_apart(before: Knowledge, after: Knowledge) -> Apart:
    """Of what one knowledge tells other values apart than the other."""
    found: set[tuple[str, str | None]] = set()
    for predicates in (OF_OPTIONS, (*OF_OPTIONS, *OF_STEPS)):
        old, new = (rules_behind(knowledge, predicates) for knowledge in (before, after))
        looked_at, kept = _looked_at(old) ^ _looked_at(new), {rule.id: rule for rule in new}
        alone = _Alone(before, [rule for rule in old if kept.get(rule.id) == rule])
        found.update((slot, _value(slot, how)) for slot, how in looked_at if not alone.is_told_apart(slot, how))
    if _of_steps(before, old) != _of_steps(after, new) or _with_an_if(before) != _with_an_if(after):
        found.update((part, None) for part in PARTS)  # each value is tried with what rules look at in the steps, and what is told with an *if*
    return {slot: frozenset(value for each, value in found if each == slot) for slot, _ in found}


def _value(slot: str, how: object) -> str | None:
    return how.value if slot in PARTS and isinstance(how, _Named) and isinstance(how.value, str) else None


class _Alone:
    """The values of parts that some rules tell apart from all others, whatever the case."""

    def __init__(self, knowledge: Knowledge, rules: Iterable[Rule]) -> None:
        self._model, self._rules = knowledge.unheard.evaluate({}), list(rules)
        self._of: dict[str, frozenset[str]] = {}

    def is_told_apart(self, slot: str, how: object) -> bool:
        """Whether nothing new is told of the values of a part by a sentence that looks at it so: it names one that is told apart already."""
        values = {name.id for name in self._model.vocabulary.things(slot)}
        if not values:
            return False
        alone = self._of.get(slot)
        if alone is None:
            alone = self._of[slot] = self._found(slot, values)
        return values == alone or (isinstance(how, _Named) and how.value in alone)

    def _found(self, slot: str, values: Iterable[str]) -> frozenset[str]:
        alike: dict[object, list[str]] = {}
        looking = [(rule, each) for rule in self._rules for each in _sentences(rule) if each.subject == PIECE and each.predicate == PARTS[slot]]
        for value in values:
            alike.setdefault(tuple(self._told(rule, each, value) for rule, each in looking), []).append(value)
        return frozenset(group[0] for group in alike.values() if len(group) == 1)

    def _told(self, rule: Rule, named: Statement, value: str) -> object:
        """What a rule that looks at a part can tell of a value, as far as no case adds to it."""
        if not isinstance(named.object, Variable):
            return named.object == value
        if any(made.object == named.object for made in rule.conclusions):
            return value
        may_grow, model = self._model.layer.program.open, self._model
        beside = [each for each in _sentences(rule) if each is not named and each.predicate not in may_grow]
        of_it = [(each, model.objects(each.predicate, value)) for each in beside if each.subject == named.object]
        to_it = [tuple(model.subjects(each.predicate, value)) for each in beside if each.object == named.object]
        return *(each.object in told if isinstance(each.object, str) else tuple(told) for each, told in of_it), *to_it


class _Named(NamedTuple):
    """How a sentence looks at a part that names a value, or at a measure that it compares with a limit."""

    comparison: str
    value: object


def _looked_at(rules: Iterable[Rule]) -> set[tuple[str, object]]:
    """What some rules look at in the piece: for each part and measure the values that they name, or how they look at any value."""
    return {(_PART.get(each.predicate, each.predicate), _how(rule, each)) for rule in rules for each in _sentences(rule) if _is_asked_of(each)}


def _sentences(rule: Rule) -> Iterator[Statement]:
    yield from rule.conditions
    yield from rule.exceptions


def _is_asked_of(sentence: Statement) -> bool:
    return sentence.subject == PIECE and (sentence.predicate in _PART or sentence.comparison != "is")


def _how(rule: Rule, sentence: Statement) -> object:
    if isinstance(sentence.object, Variable):
        return rule.conditions, rule.exceptions, rule.conclusions
    return _Named(sentence.comparison, sentence.object)


def _of_steps(knowledge: Knowledge, rules: Iterable[Rule]) -> set[str]:
    """What some rules look at in steps."""
    phrases = knowledge.vocabulary.phrases
    predicates = {each.predicate for rule in rules for each in _sentences(rule)}
    return {predicate for predicate in predicates if not {"option", "step"}.isdisjoint(phrases[predicate].subjects)}


def _with_an_if(knowledge: Knowledge) -> set[object]:
    return {made.object for rule in knowledge.base.rules for made in rule.conclusions if made.predicate == _WITH_IF}
