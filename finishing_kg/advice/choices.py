"""Why a route was chosen, and what decided between it and the first: told from what the two cost."""

from collections.abc import Sequence

from finishing_kg.advice.amounts import about
from finishing_kg.advice.contract import Route
from finishing_kg.routes import Case, Choice, Judged, Search, put_first
from finishing_kg.routes.cost import Cost

_A_MINUTE = 1000  # of the minutes in a cost


def chosen_because(choices: Sequence[Choice], number: int, judged: Judged) -> str:
    """One or two sentences: what speaks for a route, and of a further one what decided that it is not the first."""
    choice, first = choices[number], choices[0]
    cost = choice.found.cost
    time = _minutes(judged, number)
    if number == 0:
        takes = f"it takes {_steps(cost)}" + (f", about {time} in all" if time else "")
        return f"{'Of all ways that the rules allow it comes first' if choice.name == 'first choice' else 'It comes first, since it keeps to the time'}: {_discouraged(cost)}, {_preferred(cost)}, and {takes}."
    best = _best_in(choice, first, time, _minutes(judged, 0))
    return f"{best} {_decided(choice, first)}"


def in_time(search: Search, choices: list[Choice]) -> list[Choice]:
    """The choices, with one that keeps to the maker's longest time in front where the first does not."""
    limit = search.case.measures.get("atMostMinutes")
    if limit is None or not choices or _middle(choices[0].found.cost) <= float(limit.highest):
        return choices
    keeping = [number for number, choice in enumerate(choices) if _middle(choice.found.cost) <= float(limit.highest)]
    return put_first(choices, keeping[0]) if keeping else choices


def too_long(case: Case, routes: Sequence[Route]) -> str:
    """By how much the quickest of the routes misses the maker's longest time, judged by the middles; empty where one keeps to it."""
    limit = case.measures.get("atMostMinutes")
    known = [route.minutes.mid for route in routes if route.minutes]
    if limit is None:
        return ""
    if not known:
        return f"Whether that keeps to {limit} cannot be told: the minutes of a step are not known."
    over = min(known) - float(limit.highest)
    if over <= 0:
        return ""
    return f"No way keeps to {limit}: the quickest takes about {about(min(known))}, {about(over)} more."


def _middle(cost: Cost) -> float:
    return cost.minutes / _A_MINUTE


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
        return f"It takes about {time} and the first {first_time}." if time and first_time else "Its known steps take less time than those of the first."
    if choice.name == "fewest changes of tool":
        return f"It takes {_changes(cost)} and the first {other.changes}."
    if choice.name == "gentlest":
        return f"Its steps leave cracks of {cost.damage / 1000:.2g} µm in sum, those of the first {other.damage / 1000:.2g}."
    if choice.name == "only what is at hand":
        return "It uses nothing but what you named."
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
    }
    if part is None:
        return "What decides between the two is what you asked for, or their names: they cost the same otherwise."
    return f"The first comes before it because {told[part]}."
