"""The rule engine: what follows from facts by rules, with a proof for each conclusion."""

from finishing_kg.engine.compare import compare, margin
from finishing_kg.engine.evaluate import Model, evaluate
from finishing_kg.engine.explain import Prover
from finishing_kg.engine.knowledge import Ground, Knowledge
from finishing_kg.engine.lifting import could_add
from finishing_kg.engine.minimal import MinimalReasons, minimal_reasons
from finishing_kg.engine.nearest import Shortfall, could_follow, shortfall

__all__ = [
    "Ground",
    "Knowledge",
    "MinimalReasons",
    "Model",
    "Prover",
    "Shortfall",
    "compare",
    "could_add",
    "could_follow",
    "evaluate",
    "margin",
    "minimal_reasons",
    "shortfall",
]
