"""What the trade computes: grades, speeds, damage, removal, time, heat, and hardness."""

from finishing_kg.quantities.computations import GRAIN_RATIO, SURFACE_SPEED, computations
from finishing_kg.quantities.contrast import Contrast, contrast, contrasts
from finishing_kg.quantities.expected import Expected, expect_step
from finishing_kg.quantities.grades import GradeDescription, GradeRead, describe_grade, read_grade, refusal
from finishing_kg.quantities.limits import greatest_turning, recommended_speed, recommended_turning
from finishing_kg.quantities.nearest import comparing, find_scale, nearest_on
from finishing_kg.quantities.operations import operation_of
from finishing_kg.quantities.pace import corrected, pace_of
from finishing_kg.quantities.preston import disc_area
from finishing_kg.quantities.removal import cracks_when_stopped
from finishing_kg.quantities.scales import UnknownGrade, designation, grades_on, grain, nominal_size, scales_for, stocked
from finishing_kg.quantities.speed import surface_speed, turning_speed
from finishing_kg.quantities.working import Computed, Held, Working

__all__ = [
    "GRAIN_RATIO",
    "SURFACE_SPEED",
    "Computed",
    "Contrast",
    "Expected",
    "GradeDescription",
    "GradeRead",
    "Held",
    "UnknownGrade",
    "Working",
    "comparing",
    "computations",
    "contrast",
    "contrasts",
    "corrected",
    "cracks_when_stopped",
    "describe_grade",
    "designation",
    "disc_area",
    "expect_step",
    "find_scale",
    "grades_on",
    "grain",
    "greatest_turning",
    "nearest_on",
    "nominal_size",
    "operation_of",
    "pace_of",
    "read_grade",
    "recommended_speed",
    "recommended_turning",
    "refusal",
    "scales_for",
    "stocked",
    "surface_speed",
    "turning_speed",
]
