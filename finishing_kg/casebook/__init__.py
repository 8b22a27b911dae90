"""Cases: what the program stands for, how they run, and whether every rule is needed by one."""

from finishing_kg.casebook.audit import AuditFault, audit
from finishing_kg.casebook.cases import Case, load_cases, load_waivers, run
from finishing_kg.casebook.expect import faults_of
from finishing_kg.casebook.mutate import Survivor, mutations, survivors

__all__ = ["AuditFault", "Case", "Survivor", "audit", "faults_of", "load_cases", "load_waivers", "mutations", "run", "survivors"]
