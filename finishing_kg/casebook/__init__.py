"""Cases: what the program stands for, how they run, and whether every rule is needed by one."""

from finishing_kg.casebook.cases import Case, load_cases, run
from finishing_kg.casebook.mutate import Survivor, mutations, survivors

__all__ = ["Case", "Survivor", "load_cases", "mutations", "run", "survivors"]
