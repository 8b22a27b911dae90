"""Further routes beside the first, each another way for another reason, and what decided between them and the first."""

from finishing_kg.record import record, replace
from finishing_kg.routes.cost import FEWEST_CHANGES, GENTLEST, QUICKEST, RULES_FIRST, Cost, Order
from finishing_kg.routes.search import Found, Search
from finishing_kg.statements import option_parts

AT_HAND, ANOTHER, FIRST, PREFERRED = "only what is at hand", "another ending", "first choice", "what the rules prefer"
TIME, UNTOLD = "time", "time not known"  # what decided where the maker's longest time did: missed, or not known to be kept
# By name: what the route is best in, and the part of the cost in which it must be better than the first.
_CRITERIA: dict[str, tuple[Order, str]] = {
    "quickest": (QUICKEST, "minutes"),
    "fewest changes of tool": (FEWEST_CHANGES, "changes"),
    "gentlest": (GENTLEST, "damage"),
}
# How far below the first route's it must be: neither minutes nor depths are known well enough for less to be a difference.
_BETTER = {"minutes": 0.67, "damage": 0.8, "changes": 1}
_OTHER_ENDINGS = 2


@record(frozen=True)
class Choice:
    """A route that is offered.

    Attributes:
        name: what it is best in.
        found: the route.
        decided: the part of the cost that put the first route before it, or ``TIME`` or ``UNTOLD``; ``None`` for the first itself, or
            where they cost the same.
    """

    name: str
    found: Found
    decided: str | None = None


def first_choice(search: Search, set_aside: frozenset[str] = frozenset()) -> Found | None:
    """The best route, without some options if there is one without them."""
    return (search.best(without=set_aside) if set_aside else None) or search.best()


def choices(search: Search, most: int = 3, first: Found | None = None) -> list[Choice]:
    """The best route and up to ``most`` others that really differ from it and from each other; none if there is no way.

    Two routes differ where some step uses another mineral, hold or carrier; another grade alone is the same route. None that a rule
    discourages more often than the first is offered.

    Args:
        search: of the case.
        most: how many further routes.
        first: its best route, where that was looked for already.
    """
    first = first or search.best()
    if first is None:
        return []
    offered = [Choice(FIRST, first)]

    def offer(name: str, found: Found | None) -> None:
        new = found is not None and found.cost.discouraged <= first.cost.discouraged
        if new and found is not None and len(offered) <= most and _methods(found) not in [_methods(choice.found) for choice in offered]:
            offered.append(Choice(name, found, _decided(first.cost, found.cost)))

    if first.cost.elsewhere or any(not search.model.holds("usesWhatIsAtHand", str(place.option)) for place in first.places):
        offer(AT_HAND, _at_hand(search))
    for name, (order, part) in _CRITERIA.items():
        sought = part == "minutes" and "atMostMinutes" in search.case.measures
        found = search.best(by=order, below=None if sought else _bound(order, first.cost, part))
        if found is not None and (_sooner(search, found, first) if sought else _better(found.cost, first.cost, part)):
            offer(name, found)
    used = {_ending(first)}
    while len(offered) <= min(most, _OTHER_ENDINGS):
        another = search.best(last_not=frozenset(used))
        if another is None or another.cost.discouraged > first.cost.discouraged:
            break
        used.add(_ending(another))
        offer(ANOTHER, another)
    return offered


def in_time(search: Search, offered: list[Choice], longest: float) -> list[Choice]:
    """The same routes, first the one that the rules think most of among those whose middle keeps to some minutes; as they were if none does.

    Of a route with a step whose minutes are not known nobody can say that it keeps to them.
    """

    def keeps(choice: Choice) -> bool:
        minutes = search.minutes(choice.found)
        return minutes is not None and minutes <= longest

    keeping = [choice for choice in offered if keeps(choice)]
    if not keeping or offered[0] in keeping:
        return offered
    front = min(keeping, key=lambda choice: choice.found.cost)

    def behind(choice: Choice) -> Choice:
        missed = UNTOLD if search.minutes(choice.found) is None else TIME
        decided = _decided(front.found.cost, choice.found.cost) if choice in keeping else missed
        return replace(choice, name=PREFERRED if choice is offered[0] else choice.name, decided=decided)

    return [replace(front, decided=None), *(behind(choice) for choice in offered if choice is not front)]


def _better(one: Cost, other: Cost, part: str) -> bool:
    if part == "minutes" and one.untimed != other.untimed:
        return one.untimed < other.untimed
    here, there = getattr(one, part), getattr(other, part)
    assert isinstance(here, int) and isinstance(there, int)
    return here < there * _BETTER[part]


def _bound(order: Order, first: Cost, part: str) -> tuple[float, ...]:
    """What a route comes below, in the order's parts up to one, that is better in this part than the first."""
    names = order.names[: order.names.index(part) + 1]
    return (*(getattr(first, name) for name in names[:-1]), getattr(first, part) * _BETTER[part])


def _sooner(search: Search, one: Found, other: Found) -> bool:
    """Whether a route is known to take less time than another."""
    here, there = search.minutes(one), search.minutes(other)
    return here is not None and (there is None or here < there)


def _at_hand(search: Search) -> Found | None:
    """The best route that uses nothing but what the maker named."""
    if not search.case.at_hand:
        return None
    return search.best(without=frozenset(option for option in search.model.subjects("isOffered") if not _all_at_hand(search, option)))


def _all_at_hand(search: Search, option: str) -> bool:
    mineral, _, carrier, _ = option_parts(option)
    at_hand = search.case.at_hand
    return mineral in at_hand and (carrier in at_hand or search.model.holds("isDrivenAtHand", carrier))


def _decided(first: Cost, other: Cost) -> str | None:
    """The first part in which the two differ."""
    pairs = zip(RULES_FIRST.names, RULES_FIRST.ranked(first.parts), RULES_FIRST.ranked(other.parts), strict=True)
    return next((name for name, here, there in pairs if here != there), None)


def _methods(route: Found) -> tuple[tuple[str, str, str], ...]:
    return tuple(option_parts(str(place.option))[:3] for place in route.places)


def _ending(route: Found) -> tuple[str, str]:
    mineral, _, carrier, _ = option_parts(str(route.places[-1].option))
    return mineral, carrier
