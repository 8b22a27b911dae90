"""From the present surface to the finish: options, the ladder of stages, the best ways, and steps judged by rules."""

from finishing_kg.routes.amounts import halfway
from finishing_kg.routes.case import BENCH, PARTS, PIECE, SAID, Case
from finishing_kg.routes.choices import Choice, choices, first_choice, in_time
from finishing_kg.routes.face import face_area
from finishing_kg.routes.options import Options, methods, options_for
from finishing_kg.routes.search import Found, Search
from finishing_kg.routes.stages import stage_of, stages_to
from finishing_kg.routes.steps import Judged, PlannedStep, in_order, judge
from finishing_kg.routes.stock import grades_for, on_the_shelf, with_shelf
from finishing_kg.routes.ways import Place

__all__ = [
    "BENCH",
    "PARTS",
    "PIECE",
    "SAID",
    "Case",
    "Choice",
    "Found",
    "Judged",
    "Options",
    "Place",
    "PlannedStep",
    "Search",
    "choices",
    "face_area",
    "first_choice",
    "grades_for",
    "halfway",
    "in_order",
    "in_time",
    "judge",
    "methods",
    "on_the_shelf",
    "options_for",
    "stage_of",
    "stages_to",
    "with_shelf",
]
