"""The knowledge with a rule left out: what would be advised if it did not hold."""

from collections.abc import Sequence

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.contract import Answer
from finishing_kg.advice.why import what_if
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.rules import make_base


class CannotLeaveOut(ValueError):
    """A rule that does not exist, or that keeps people from harm."""


def without_rules(knowledge: Knowledge, ids: Sequence[str]) -> Knowledge:
    """The same knowledge without some rules; nothing compiled is taken over, since that was compiled with them.

    Raises:
        CannotLeaveOut: there is no such rule, or it is a safety rule.
    """
    for each in ids:
        rule = knowledge.base.by_id.get(each)
        if rule is None:
            raise CannotLeaveOut(f"There is no rule {each[:80]!r}. See finishing-kg rules list.")
        if rule.safety:
            raise CannotLeaveOut(f"Rule {each} is a safety rule: {rule.because} Such a rule is never left out, not even to see what would be.")
    kept = (rule for rule in knowledge.base.rules if rule.id not in ids)
    base = make_base(replace(rule, overrides=tuple(other for other in rule.overrides if other not in ids)) for rule in kept)
    return Knowledge(knowledge.vocabulary, knowledge.language, base)


def what_if_without(before: Answer, advice: Advice, ids: Sequence[str]) -> tuple[Answer, Advice]:
    """The answer without some rules and how it differs, and the judged case behind it.

    Raises:
        CannotLeaveOut: as ``without_rules``.
    """
    after = Advice(without_rules(advice.knowledge, ids), advice.case, advice.whole)
    return replace(what_if(before, after, []), left_out=list(ids)), after
