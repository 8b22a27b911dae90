"""The values that an unknown could have, put together by what the rules tell apart."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from itertools import pairwise
from typing import TYPE_CHECKING

from finishing_kg.advice.possible import possible
from finishing_kg.engine import Knowledge, Model, compare
from finishing_kg.measure import Quantity
from finishing_kg.record import replace
from finishing_kg.routes import PARTS, PIECE, Case
from finishing_kg.statements import Statement, Variable

if TYPE_CHECKING:
    from finishing_kg.rules import Rule

# What a search for routes reads of the options, and what is told of the steps and of the piece; a rule that nothing of this rests on
# changes no advice.
OF_OPTIONS = ("isOffered", "isDiscouraged", "isPreferred", "isProposedAsPreferredBy", "usesWhatIsAtHand", "surfaceGrain")
OF_STEPS = ("isInOrder", "isCautionedFor", "isStoppedBy", "callsForCaution")
_TWO = Decimal(2)


def rules_behind(knowledge: Knowledge, predicates: Iterable[str]) -> list[Rule]:
    """The rules that some phrases can rest on, whether by what the rules need or by what blocks them."""
    concluding: dict[str, list[Rule]] = {}
    for rule in knowledge.base.rules:
        for conclusion in rule.conclusions:
            concluding.setdefault(conclusion.predicate, []).append(rule)
    found: dict[str, Rule] = {}
    work, seen = list(predicates), set[str]()
    while work:
        predicate = work.pop()
        if predicate in seen:
            continue
        seen.add(predicate)
        for rule in concluding.get(predicate, ()):
            found[rule.id] = rule
            work += [sentence.predicate for sentence in (*rule.conditions, *rule.exceptions)]
    return list(found.values())


def measures_compared(knowledge: Knowledge, rules: Iterable[Rule]) -> list[str]:
    """The measures of a piece that some rules compare with a limit."""
    phrases = knowledge.vocabulary.phrases
    return sorted({each.predicate for each in _limits(rules) if "piece" in phrases[each.predicate].given})


def limits_of(rules: Iterable[Rule], measure: str) -> list[Quantity]:
    """The limits that some rules compare a measure of the piece with, each once."""
    return list(dict.fromkeys(each.object for each in _limits(rules) if each.predicate == measure and isinstance(each.object, Quantity)))


def _limits(rules: Iterable[Rule]) -> Iterable[Statement]:
    sentences = (sentence for rule in rules for sentence in (*rule.conditions, *rule.exceptions))
    return (each for each in sentences if each.subject == PIECE and each.comparison != "is" and isinstance(each.object, Quantity))


def values_of(knowledge: Knowledge, case: Case, slot: str, rules: Sequence[Rule]) -> list[Case]:
    """The case with each possible value of a part that is not known; of a measure with a value below, at, between and above all limits."""
    if slot in PARTS:
        return [replace(case, **{slot: value}) for value in possible(knowledge.vocabulary, case, slot)]
    phrase, units = knowledge.vocabulary.phrases[slot], knowledge.vocabulary.units
    unit = phrase.units[0]
    limits = sorted({units.convert(limit, unit).mid for limit in limits_of(rules, slot)})
    between = [each for low, high in pairwise(limits) for each in ((low + high) / _TWO, high)]
    values = [limits[0] / _TWO, limits[0], *between, limits[-1] * _TWO]
    return [replace(case, measures={**case.measures, slot: Quantity(value, unit)}) for value in values]


def profile(knowledge: Knowledge, model: Model, case: Case, slot: str, rules: Sequence[Rule]) -> object:
    """All that some rules can tell of the value that a case has in a part or a measure: two values with the same are the same to them.

    Args:
        knowledge: ontology and rules.
        model: with what follows before anything is asked.
        case: with the value.
        slot: a key of ``PARTS``, or the id of a measure.
        rules: those that matter.
    """
    if slot not in PARTS:
        phrase, units, held = knowledge.vocabulary.phrases[slot], knowledge.vocabulary.units, case.measures[slot]
        limits = [each for each in _limits(rules) if each.predicate == slot]
        return tuple(compare(phrase, units, held, each.comparison, each.object) for each in limits if isinstance(each.object, Quantity))
    value = str(case.part(slot))
    sentences = [(rule, each) for rule in rules for each in (*rule.conditions, *rule.exceptions)]
    return tuple(_told_by(model, rule, each, value) for rule, each in sentences if each.predicate == PARTS[slot] and each.subject == PIECE)


def _told_by(model: Model, rule: Rule, named: Statement, value: str) -> object:
    """All that a rule looks at in a value that one of its sentences names."""
    if not isinstance(named.object, Variable):
        return named.object == value
    told: list[object] = []
    for each in (*rule.conditions, *rule.exceptions, *rule.conclusions):
        if each is named:
            continue
        if each.subject == named.object:
            wanted = each.object if isinstance(each.object, str) else None
            told.append(model.holds(each.predicate, value, wanted) if wanted else tuple(map(str, model.objects(each.predicate, value))))
        elif each.object == named.object:
            told.append(value if each in rule.conclusions else tuple(model.subjects(each.predicate, value)))
    return tuple(told)
