"""Rule files, checked when they are loaded."""

from typing import TYPE_CHECKING

from finishing_kg.rules.errors import RuleFault, RuleFileError
from finishing_kg.rules.model import Rule, RuleBase, as_written

if TYPE_CHECKING:
    from finishing_kg.rules.load import load_rules, make_base
    from finishing_kg.rules.strata import NotStratifiable, stratify
else:
    # Reading rule files takes libraries that rules which are compiled already do without, so it is loaded at the first need.
    def __getattr__(name: str) -> object:
        from importlib import import_module

        place = {"load_rules": "load", "make_base": "load", "NotStratifiable": "strata", "stratify": "strata"}.get(name)
        if place is None:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        return getattr(import_module(f"{__name__}.{place}"), name)


__all__ = ["NotStratifiable", "Rule", "RuleBase", "RuleFault", "RuleFileError", "as_written", "load_rules", "make_base", "stratify"]
