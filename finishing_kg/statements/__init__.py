"""One kind of sentence for facts, rules, questions and explanations."""

from finishing_kg.statements.errors import StatementError
from finishing_kg.statements.language import Language
from finishing_kg.statements.model import Comparison, Statement, Term, Variable
from finishing_kg.statements.names import option_id, option_parts, rule_id, step_id

__all__ = ["Comparison", "Language", "Statement", "StatementError", "Term", "Variable", "option_id", "option_parts", "rule_id", "step_id"]
