"""A rule base as plain data and back, for its compiled form."""

from __future__ import annotations

from typing import Any

from finishing_kg.compiled import shaped
from finishing_kg.rules.model import Rule, RuleBase, override_facts
from finishing_kg.statements.plain import statement_as_plain, statement_from_plain
from finishing_kg.vocabulary import Basis


def base_as_plain(base: RuleBase) -> tuple[Any, ...]:
    """A rule base; what its rules say of each other follows from them and is left out."""
    rules = [
        (
            rule.id,
            rule.subject,
            rule.file,
            rule.line,
            *(tuple(map(statement_as_plain, part)) for part in (rule.conditions, rule.exceptions, rule.conclusions)),
            rule.because,
            (rule.basis.kind, rule.basis.source, rule.basis.locator),
            rule.overrides,
            rule.safety,
        )
        for rule in base.rules
    ]
    return tuple(rules), tuple(tuple(sorted(stratum)) for stratum in base.strata)


def base_from_plain(plain: Any) -> RuleBase:
    """The rule base of ``base_as_plain``.

    Raises:
        TypeError, ValueError, ArithmeticError, LookupError: it is in another shape.
    """
    held, strata = shaped(plain, tuple, tuple)
    rules = []
    for name, subject, file, line, *parts, because, basis, overrides, safety in held:
        conditions, exceptions, conclusions = (tuple([statement_from_plain(sentence) for sentence in part]) for part in parts)
        rules.append(Rule(name, subject, file, line, conditions, exceptions, conclusions, because, Basis(*basis), overrides, safety))
    return RuleBase(tuple(rules), tuple(map(frozenset, strata)), override_facts(rules))
