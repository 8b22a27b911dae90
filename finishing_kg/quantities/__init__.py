"""What the trade computes: grades, speeds and what else has a number."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late
from finishing_kg.quantities.computations import GRAIN_RATIO, SURFACE_SPEED, computations
from finishing_kg.quantities.scales import UnknownGrade, designation, grades_on, grain, scales_for, stocked
from finishing_kg.quantities.speed import surface_speed, turning_speed

if TYPE_CHECKING:
    from finishing_kg.quantities.grades import GradeDescription, GradeRead, describe_grade, read_grade, refusal
    from finishing_kg.quantities.nearest import comparing, find_scale, nearest_on
else:
    # Many patterns, and only of use where a grade was written.
    _READING = dict.fromkeys(("GradeDescription", "GradeRead", "describe_grade", "read_grade", "refusal"), "grades")
    __getattr__ = loaded_late(__name__, {**_READING, **dict.fromkeys(("comparing", "find_scale", "nearest_on"), "nearest")})

__all__ = [
    "GRAIN_RATIO",
    "SURFACE_SPEED",
    "GradeDescription",
    "GradeRead",
    "UnknownGrade",
    "comparing",
    "computations",
    "describe_grade",
    "designation",
    "find_scale",
    "grades_on",
    "grain",
    "nearest_on",
    "read_grade",
    "refusal",
    "scales_for",
    "stocked",
    "surface_speed",
    "turning_speed",
]
