"""What the trade computes: grades, speeds, damage, removal, time, heat, and hardness."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late
from finishing_kg.quantities.computations import CORRECTED_MINUTES, CRACKS_WHEN_STOPPED, DISC_AREA, GRAIN_RATIO, SURFACE_SPEED, computations
from finishing_kg.quantities.scales import UnknownGrade, designation, grades_on, grain, nominal_size, scales_for, stocked
from finishing_kg.quantities.speed import surface_speed, turning_speed

if TYPE_CHECKING:
    from finishing_kg.quantities.contrast import Contrast, contrast, contrasts
    from finishing_kg.quantities.expected import Expected, expect_step
    from finishing_kg.quantities.grades import GradeDescription, GradeRead, describe_grade, nearest_of_size, read_grade, refusal
    from finishing_kg.quantities.limits import greatest_turning, recommended_speed, recommended_turning
    from finishing_kg.quantities.middles import Pace
    from finishing_kg.quantities.nearest import comparing, find_scale, nearest_on
    from finishing_kg.quantities.operations import operation_of
    from finishing_kg.quantities.pace import corrected, pace_of
    from finishing_kg.quantities.preston import disc_area
    from finishing_kg.quantities.removal import cracks_when_stopped
    from finishing_kg.quantities.working import Computed, Held, Working
else:
    # Many patterns, and only of use where a grade was written; and what only some questions compute.
    _LATE = {
        "contrast": ("Contrast", "contrast", "contrasts"),
        "expected": ("Expected", "expect_step"),
        "grades": ("GradeDescription", "GradeRead", "describe_grade", "nearest_of_size", "read_grade", "refusal"),
        "limits": ("greatest_turning", "recommended_speed", "recommended_turning"),
        "nearest": ("comparing", "find_scale", "nearest_on"),
        "operations": ("operation_of",),
        "middles": ("Pace",),
        "pace": ("corrected", "pace_of"),
        "preston": ("disc_area",),
        "removal": ("cracks_when_stopped",),
        "working": ("Computed", "Held", "Working"),
    }
    __getattr__ = loaded_late(__name__, {name: module for module, names in _LATE.items() for name in names})

__all__ = [
    "CORRECTED_MINUTES",
    "CRACKS_WHEN_STOPPED",
    "DISC_AREA",
    "GRAIN_RATIO",
    "SURFACE_SPEED",
    "Computed",
    "Contrast",
    "Expected",
    "GradeDescription",
    "GradeRead",
    "Held",
    "Pace",
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
    "nearest_of_size",
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
