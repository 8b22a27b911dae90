"""Why a route was chosen, and what decided between it and the first: told from what the two cost."""

from collections.abc import Sequence

from finishing_kg.advice.amounts import about, untimed
from finishing_kg.advice.contract import Route
from finishing_kg.engine import Knowledge
from finishing_kg.quantities import CORRECTED_MINUTES, Expected
from finishing_kg.routes import Case, Choice, Found, Judged
from finishing_kg.routes.choices import ANOTHER, AT_HAND, FIRST, PREFERRED, TIME, UNTOLD
from finishing_kg.routes.cost import Cost
from finishing_kg.statements import option_parts


def name_of(choice: Choice, knowledge: Knowledge) -> str:
    """What a route is called; one that only ends in another way is told by that ending."""
    if choice.name != ANOTHER:
        return choice.name
    mineral, hold, carrier, _ = option_parts(str(choice.found.places[-1].option))
    names = knowledge.vocabulary.names
    return f"ending with {names[hold].label} {names[mineral].label} on the {names[carrier].label}"


def chosen_because(knowledge: Knowledge, choices: Sequence[Choice], number: int, judged: Judged, wished: str = "") -> str:
    """One or two sentences: what speaks for a route, and of a further one what decided that it is not the first."""
    choice, first = choices[number], choices[0]
    cost = choice.found.cost
    time = _minutes(judged, number)
    if number == 0:
        unknown = untimed(knowledge, judged, judged.routes[number])
        takes = f"it takes {_steps(cost)}" + (f", about {time} in all" if time else f"; {unknown}" if unknown else "")
        begins = "Of all ways that the rules allow it comes first" if choice.name == FIRST else "It comes first, since it keeps to the time"
        begins = f"It keeps to what you wish to work with, {wished}" if wished else begins
        return f"{begins}: {_discouraged(cost)}, {_preferred(cost)}, and {takes}."
    best = _best_in(choice, first, time, _minutes(judged, 0))
    return f"{best} {_decided(choice, first)}"


def too_long(knowledge: Knowledge, case: Case, routes: Sequence[Route]) -> str:
    """By how much the quickest of the routes misses the maker's longest time, judged by the middles; empty where one keeps to it."""
    limit = case.measures.get("atMostMinutes")
    known = [route.minutes.mid for route in routes if route.minutes]
    if limit is None:
        return ""
    longest = float(knowledge.vocabulary.units.convert(limit, "min").highest)
    if known and min(known) <= longest:
        return ""
    # What is known of a route with a step of unknown minutes can already be too long, but never short enough.
    open_yet = [route for route in routes if not route.minutes and (route.minutes_known is None or route.minutes_known.mid <= longest)]
    if open_yet:
        known_too_long = " The ways of which all minutes are known take longer." if known else ""
        return f"Whether one of these ways keeps to {limit} cannot be told: {open_yet[0].minutes_unknown}.{known_too_long}"
    if not known:
        return f"None of these ways keeps to {limit}: {routes[0].minutes_unknown}, which is more already."
    over = min(known) - longest
    return f"None of these ways keeps to {limit}: the quickest takes about {about(min(known))}, which is {about(over)} more."


def from_log(knowledge: Knowledge, expected: Sequence[Expected], otherwise: Found | None) -> str | None:
    """What the bench log says of the minutes of a route's steps, before and after; ``None`` where it says nothing.

    Args:
        knowledge: for the names.
        expected: of the steps.
        otherwise: the route that would come first without the log, where that is another.
    """
    told = [
        f"step {place} takes about {about(float(made.result.mid))} instead of {about(float(made.inputs[0].mid))}"
        for place, step in enumerate(expected, 1)
        for made in step.computed
        if made.function == CORRECTED_MINUTES
    ]
    if not told and otherwise is None:
        return None
    names = knowledge.vocabulary.names
    methods = [option_parts(str(place.option)) for place in otherwise.places] if otherwise else []
    steps = [f"{names[hold].label} {names[mineral].label} on the {names[carrier].label}" for mineral, hold, carrier, _ in methods]
    changed = f"Without the log another way would come first: {', then '.join(steps)}." if steps else ""
    return " ".join(filter(None, [f"By your bench log {', '.join(told)}." if told else "", changed]))


def _minutes(judged: Judged, number: int) -> str:
    """The middles of the minutes of a route; empty where those of a step are not known."""
    minutes = [judged.expected[step].minutes for step in judged.routes[number]]
    known = [float(each.mid) for each in minutes if each is not None]
    return about(sum(known)) if len(known) == len(minutes) else ""


def _steps(cost: Cost) -> str:
    return f"{cost.steps} step{'s' * (cost.steps != 1)}"


def _discouraged(cost: Cost) -> str:
    return "no rule speaks against any step" if not cost.discouraged else f"a rule discourages {cost.discouraged} of its steps"


def _preferred(cost: Cost) -> str:
    if not cost.unfavoured:
        return f"a rule prefers {'the step' if cost.steps == 1 else 'every step'}"
    return f"no rule prefers {'it' if cost.steps == 1 else f'{cost.unfavoured} of its {cost.steps} steps'}"


def _changes(cost: Cost) -> str:
    return f"{cost.changes} change{'s' * (cost.changes != 1)} of tool"


def _best_in(choice: Choice, first: Choice, time: str, first_time: str) -> str:
    """What a further route is better in, beside the first."""
    cost, other = choice.found.cost, first.found.cost
    if choice.name == "quickest":
        known = time and first_time
        return f"It takes about {time} and the first {first_time}." if known else "Its known steps take less time than those of the first."
    if choice.name == "fewest changes of tool":
        return f"It takes {_changes(cost)} and the first {other.changes}."
    if choice.name == "gentlest":
        return f"Its steps leave cracks of {cost.damage / 1000:.2g} µm in sum, those of the first {other.damage / 1000:.2g}."
    if choice.name == AT_HAND:
        return "It uses nothing but what you named."
    if choice.name == PREFERRED:
        return f"It would come first but for the time: {_discouraged(cost)}, and {_preferred(cost)}."
    return "It ends in another way."


def _decided(choice: Choice, first: Choice) -> str:
    """What puts the first route before a further one."""
    cost, other, part = choice.found.cost, first.found.cost, choice.decided
    told = {
        "discouraged": f"here {_discouraged(cost)}",
        "elsewhere": f"here {cost.elsewhere} of {_steps(cost)} leave aside what is at hand, there {other.elsewhere}",
        "unfavoured": f"here {_preferred(cost)}, there {_preferred(other)}",
        "steps": f"this takes {_steps(cost)} and not {other.steps}",
        "favour": f"{-cost.favour} rule{'s' * (cost.favour != -1)} prefer its steps, {-other.favour} those of the first",
        "minutes": "this takes longer",
        "changes": f"this takes {_changes(cost)}, the first {other.changes}",
        "coarseness": "its grades step down less evenly",
        "damage": "its steps leave deeper cracks",
        TIME: "this does not keep to the time",
        UNTOLD: "nobody can tell whether this keeps to the time",
        "untimed": f"here the minutes of {cost.untimed} of {_steps(cost)} are not known, there of {other.untimed}",
    }
    if part is None:
        return "Nothing that is weighed decides between it and the first."
    return f"The first comes before it because {told[part]}."
