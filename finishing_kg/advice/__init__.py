"""Answers: what to use, why, why not, what if, and whether a planned setup is right."""

from finishing_kg.advice.ask import Advice, advise
from finishing_kg.advice.check import check, check_plan
from finishing_kg.advice.contract import Answer, PlanCheck
from finishing_kg.advice.plan import PlanError, read_plan
from finishing_kg.advice.reasons import ProofRejected
from finishing_kg.advice.wire import as_json

__all__ = ["Advice", "Answer", "PlanCheck", "PlanError", "ProofRejected", "advise", "as_json", "check", "check_plan", "read_plan"]
