"""Proofs as data, and the checker that trusts nobody."""

from finishing_kg.proofs.check import ProofChecker
from finishing_kg.proofs.facts import Column, Facts
from finishing_kg.proofs.model import Compared, Computation, Fact, Proof

__all__ = ["Column", "Compared", "Computation", "Fact", "Facts", "Proof", "ProofChecker"]
