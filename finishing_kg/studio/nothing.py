"""Why a change to the rules changes nothing, in a sentence."""

from collections.abc import Iterator, Sequence

from finishing_kg.casebook.told import Told
from finishing_kg.engine import Model
from finishing_kg.health import Fault, faults_of_base
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement
from finishing_kg.studio.trial import Trial, conclusions

_NEVER = ("unreachable", "never true", "circular")
_COVERED = ("duplicate", "subsumed")


def why_nothing(trial: Trial, told: Sequence[Told]) -> str:
    """Why no answer changes.

    Args:
        trial: the change.
        told: what is now said to the cases in which it has a say.
    """
    if not trial.rules:
        return "The rules are the same as before." if trial.same_things else "No case of the library brings up what is new."
    said = [_of_rule(trial, rule, told) for rule in trial.come]
    said += [f"{rule.id} fired in no case of the library." for rule in trial.gone if not _has(trial.come, rule.id)]
    return " ".join(dict.fromkeys(said))


def _has(rules: Sequence[Rule], name: str) -> bool:
    return any(rule.id == name for rule in rules)


def _of_rule(trial: Trial, rule: Rule, told: Sequence[Told]) -> str:
    faults = faults_of_base(trial.after.language, trial.after.base, frozenset({rule.id}))
    never = next((fault for fault in faults if fault.fault in _NEVER and rule.id in fault.rules), None)
    if never is not None:
        return f"{rule.id} is never true: {never.text}"
    fired = [(model, conclusions(model, rule)) for each in told for model, by in trial.fired(each) if by.id == rule.id]
    if not fired:
        return f"{rule.id} could be true, but no case of the library brings up all that it needs. Write a case that does."
    return _without_effect(rule, fired, faults)


def _without_effect(rule: Rule, fired: Sequence[tuple[Model, list[Statement]]], faults: Sequence[Fault]) -> str:
    """Why a rule that is true somewhere changes nothing there."""
    covered = next((fault for fault in faults if fault.fault in _COVERED and fault.rules[0] == rule.id), None)
    if covered is not None:
        return f"What {rule.id} says already follows: {covered.text}"
    if winners := _winners(fired, rule):
        return f"{rule.id} is always overridden where it is true, by {', '.join(winners)}."
    if all(_follows_otherwise(model, statement) for model, found in fired for statement in found):
        return f"What {rule.id} says already follows wherever it is true, from other rules."
    masked = next((fault for fault in faults if fault.fault == "masked" and fault.rules[0] == rule.id), None)
    if masked is not None:
        return f"{rule.id} is always outweighed: {masked.text}"
    return f"{rule.id} is true in {len(fired)} places, and there it judges only what is not chosen anyway."


def _winners(fired: Sequence[tuple[Model, list[Statement]]], rule: Rule) -> list[str]:
    """The rules that override a rule, if they do so wherever it proposes something."""
    named = f"rule/{rule.id}"
    proposed = [(model, made) for model, found in fired for made in found if made.object == named and made.predicate != "isJudgedBy"]
    if not proposed or not all(model.holds("isFreedFrom", str(statement.subject), named) for model, statement in proposed):
        return []
    return sorted({winner.removeprefix("rule/") for model, statement in proposed for winner in _judges(model, statement, named)})


def _judges(model: Model, statement: Statement, named: str) -> Iterator[str]:
    overriding = {str(winner) for winner in model.subjects("overrides", named)}
    return (str(rule) for rule in model.objects("isJudgedBy", str(statement.subject)) if str(rule) in overriding)


def _follows_otherwise(model: Model, statement: Statement) -> bool:
    """Whether a statement, or the verdict that a proposal is for, rests on another rule as well."""
    phrases = model.vocabulary.phrases.values()
    verdict = next((phrase.id for phrase in phrases if phrase.proposed_through == statement.predicate), None)
    if verdict is None:
        return len({index for index, _ in model.firings(statement)}) > 1
    others = [rule for rule in model.objects(statement.predicate, str(statement.subject)) if rule != statement.object]
    return any(not model.holds("isFreedFrom", str(statement.subject), rule) for rule in others)
