"""Rule files, checked when they are loaded."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late
from finishing_kg.rules.errors import RuleFault, RuleFileError
from finishing_kg.rules.model import Rule, RuleBase, as_written

if TYPE_CHECKING:
    from finishing_kg.rules.load import load_rules, make_base
    from finishing_kg.rules.strata import NotStratifiable, stratify
else:
    # Reading rule files takes libraries that compiled rules do without.
    __getattr__ = loaded_late(__name__, {"load_rules": "load", "make_base": "load", "NotStratifiable": "strata", "stratify": "strata"})

__all__ = ["NotStratifiable", "Rule", "RuleBase", "RuleFault", "RuleFileError", "as_written", "load_rules", "make_base", "stratify"]
