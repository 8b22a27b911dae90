"""What is wrong with rules that shows without running a case: each fault with a case that shows it."""

from finishing_kg.health.base import KINDS, faults_of_base
from finishing_kg.health.fault import Fault

__all__ = ["KINDS", "Fault", "faults_of_base"]
