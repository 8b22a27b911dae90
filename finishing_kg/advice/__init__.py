"""Answers: what to use, why, why not, what if, and whether a planned setup is right."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late

if TYPE_CHECKING:
    from finishing_kg.advice.ask import Advice, advise
    from finishing_kg.advice.check import check_plan
    from finishing_kg.advice.contract import Answer, PlanCheck
    from finishing_kg.advice.plan import PlanError
    from finishing_kg.advice.plan_file import read_plan
    from finishing_kg.advice.reasons import ProofRejected
    from finishing_kg.advice.wire import as_json
else:
    # A question needs no plan files, and a grade no answers.
    _PLACES = {"Advice": "ask", "advise": "ask", "check_plan": "check", "Answer": "contract", "PlanCheck": "contract", "PlanError": "plan"}
    __getattr__ = loaded_late(__name__, {**_PLACES, "read_plan": "plan_file", "ProofRejected": "reasons", "as_json": "wire"})

__all__ = ["Advice", "Answer", "PlanCheck", "PlanError", "ProofRejected", "advise", "as_json", "check_plan", "read_plan"]
