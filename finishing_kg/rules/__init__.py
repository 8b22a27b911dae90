"""Rule files, checked when they are loaded."""

from finishing_kg.rules.errors import RuleFault, RuleFileError
from finishing_kg.rules.load import load_rules, make_base
from finishing_kg.rules.model import Rule, RuleBase, as_written
from finishing_kg.rules.strata import NotStratifiable, stratify

__all__ = ["NotStratifiable", "Rule", "RuleBase", "RuleFault", "RuleFileError", "as_written", "load_rules", "make_base", "stratify"]
