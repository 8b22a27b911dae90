"""The steps of a found route as steps of a plan, and which machine drives the carrier of a step, when nobody named one."""

from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case, Found, PlannedStep
from finishing_kg.statements import option_parts


def planned_steps(knowledge: Knowledge, case: Case, route: Found) -> list[PlannedStep]:
    """The steps of a found route as steps of a plan."""
    steps = []
    for place in route.places:
        assert place.option is not None
        mineral, hold, carrier, stage = option_parts(place.option)
        wet = hold != "air-borne"
        steps.append(PlannedStep(mineral, hold, carrier, place.grade, machine_for(knowledge, case, carrier), stage, wet))
    return steps


def machine_for(knowledge: Knowledge, case: Case, carrier: str) -> str | None:
    """The machine for a carrier: one whose usual tools go into the opening of the piece, of those one at hand, of those the usual one.

    Where the maker has nothing but what was named, only that counts; where no machine turns tools so small, the opening decides nothing.

    Args:
        knowledge: for what drives what.
        case: the piece and the bench.
        carrier: what is to be driven.

    Returns:
        ``None`` where the maker wants none of its machines.
    """
    vocabulary = knowledge.vocabulary
    usual_first = dict.fromkeys([*vocabulary.related(carrier, "isUsuallyDrivenBy"), *vocabulary.related(carrier, "isDrivenBy")])
    machines = [machine for machine in usual_first if machine not in case.unwanted]
    at_hand = [machine for machine in machines if machine in case.at_hand]
    if at_hand and "carrier" in case.limited_in:
        machines = at_hand
    # Sorting keeps the order of what is equal.
    machines.sort(key=lambda machine: (_is_too_wide(knowledge, case, machine), machine not in case.at_hand))
    return machines[0] if machines else None


def _is_too_wide(knowledge: Knowledge, case: Case, machine: str) -> bool:
    """Whether even the narrowest of a machine's usual tools does not go into the piece; false where that is not known."""
    vocabulary = knowledge.vocabulary
    opening, tool = case.measures.get("diameter"), vocabulary.quantity(machine, "usualTool")
    if opening is None or tool is None or case.form is None or not vocabulary.holds(case.form, "isHollow"):
        return False
    return vocabulary.units.convert(tool, "mm").lowest >= vocabulary.units.convert(opening, "mm").highest
