"""Why a route was chosen, and what decided between it and the first: told from what the two cost."""

from collections.abc import Sequence

from finishing_kg.advice.amounts import about
from finishing_kg.advice.contract import Route
from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case, Choice, Judged
from finishing_kg.routes.choices import ANOTHER, AT_HAND, FIRST, PREFERRED, TIME
from finishing_kg.routes.cost import Cost
from finishing_kg.statements import option_parts


def name_of(choice: Choice, knowledge: Knowledge) -> str:
    """What a route is called; one that only ends in another way is told by that ending."""
    if choice.name != ANOTHER:
        return choice.name
    mineral, hold, carrier, _ = option_parts(str(choice.found.places[-1].option))
    names = knowledge.vocabulary.names
    return f"ending with {names[hold].label} {names[mineral].label} on the {names[carrier].label}"


def chosen_because(choices: Sequence[Choice], number: int, judged: Judged, wished: str = "") -> str:
    """One or two sentences: what speaks for a route, and of a further one what decided that it is not the first."""
    choice, first = choices[number], choices[0]
    cost = choice.found.cost
    time = _minutes(judged, number)
    if number == 0:
        takes = f"it takes {_steps(cost)}" + (f", about {time} in all" if time else "")
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
    if not known:
        return f"Whether that keeps to {limit} cannot be told: the minutes of a step are not known."
    over = min(known) - float(knowledge.vocabulary.units.convert(limit, "min").highest)
    if over <= 0:
        return ""
    return f"None of these ways keeps to {limit}: the quickest takes about {about(min(known))}, which is {about(over)} more."


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
    }
    if part is None:
        return "Nothing that is weighed decides between it and the first."
    return f"The first comes before it because {told[part]}."
