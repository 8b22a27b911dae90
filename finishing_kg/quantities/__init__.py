"""What the trade computes: grades, speeds and what else has a number."""

from finishing_kg.quantities.computations import GRAIN_RATIO, SURFACE_SPEED, computations
from finishing_kg.quantities.grades import GradeDescription, GradeRead, describe_grade, read_grade, refusal
from finishing_kg.quantities.scales import UnknownGrade, designation, grain, scales_for, stocked
from finishing_kg.quantities.speed import surface_speed, turning_speed

__all__ = [
    "GRAIN_RATIO",
    "SURFACE_SPEED",
    "GradeDescription",
    "GradeRead",
    "UnknownGrade",
    "computations",
    "describe_grade",
    "designation",
    "grain",
    "read_grade",
    "refusal",
    "scales_for",
    "stocked",
    "surface_speed",
    "turning_speed",
]
