"""Sweep: every combination that makes sense is asked, and what must hold of all answers is looked for without the rules."""

from finishing_kg.casebook.sweep.combinations import combinations, sample, spread
from finishing_kg.casebook.sweep.invariants import INVARIANTS, Asked, broken
from finishing_kg.casebook.sweep.run import Row, Swept, row_of, sweep
from finishing_kg.casebook.sweep.twice import broken_when_asked_again

__all__ = ["INVARIANTS", "Asked", "Row", "Swept", "broken", "broken_when_asked_again", "combinations", "row_of", "sample", "spread", "sweep"]
