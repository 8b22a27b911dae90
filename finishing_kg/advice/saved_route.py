"""The first route of an answer as a plan that can be kept, changed and checked."""

from finishing_kg.advice.ask import Advice, assumptions
from finishing_kg.advice.machine import planned_steps
from finishing_kg.advice.plan_writing import PlanTables, plan_tables, plan_toml
from finishing_kg.routes import in_order


def route_tables(advice: Advice) -> PlanTables | None:
    """The first choice in the form of a plan file; ``None`` if there is no route."""
    for found, steps in zip(advice.found, advice.judged.routes, strict=True):
        if in_order(advice.judged.model, steps):
            return plan_tables(advice.knowledge.vocabulary, advice.case, planned_steps(advice.knowledge, advice.case, found))
    return None


def route_toml(advice: Advice) -> str | None:
    """The first choice as the text of a plan file, what was supposed as remarks at its top; ``None`` if there is no route."""
    tables = route_tables(advice)
    if tables is None:
        return None
    supposed = [f"Taken for granted: {made.statement}. {made.because}" for made in assumptions(advice.knowledge, advice.case)]
    return plan_toml(tables, ["The first choice of an answer, as a plan. Change it, then check it: finishing-kg check FILE", *supposed])
