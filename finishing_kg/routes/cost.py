"""What a route costs: what the rules say of it first, then its minutes and the rest, added up part by part."""

from __future__ import annotations

from functools import cached_property, total_ordering
from math import floor, log10
from operator import itemgetter

from finishing_kg.record import record

Parts = tuple[int, int, int, int, int, int, int, int, int, int]
"""The parts of a cost in the order of ``Cost``'s fields."""

_A_MINUTE = 1000


def rounded(minutes: float | None) -> int:
    """The minutes of one step as far as they can be told apart, in thousandths: 1, 3, 10, 30 and so on; nought where they are not known,
    which ``Cost.untimed`` counts.

    The ends of an estimate lie decades apart and only its middle ranks; two middles within a factor of about three are equal for all
    that anybody knows. Rounded before they are added, so that costs add up whatever way a search comes by.
    """
    if not minutes:
        return 0
    half_decades = floor(2 * log10(minutes * _A_MINUTE) + 0.5)
    decades, half = divmod(max(half_decades, 0), 2)
    return int(10**decades) * (3 if half else 1)


def added(one: Parts, other: Parts) -> Parts:
    """The parts of two costs together."""
    a, b, c, d, e, f, g, h, i, j = one
    k, m, n, o, p, q, r, s, t, u = other
    return a + k, b + m, c + n, d + o, e + p, f + q, g + r, h + s, i + t, j + u


@total_ordering
@record(frozen=True)
class Cost:
    """What a route costs, compared part by part in this order.

    What is ruled out has no cost, since it is no option. First comes what the rules say (``discouraged``, ``elsewhere``, ``unfavoured``,
    ``steps``, ``favour``: a step more is a change of grain, a wash and a look, which no estimate of minutes counts), then the minutes
    among routes of which the rules think alike, then changes of tool, then how evenly the ladder steps down.

    Attributes:
        discouraged: steps that a rule discourages.
        elsewhere: steps that leave aside what the maker has at hand for them.
        unfavoured: steps that no rule prefers.
        steps: how many steps.
        favour: minus the number of rules that speak for the steps.
        untimed: steps whose minutes are not known.
        minutes: the middles of the expected minutes of the other steps, each ``rounded``, summed; where there is a bench log, as the
            studio works.
        changes: how often the carrier changes.
        coarseness: how much larger than halving the jumps between grains are, summed, in hundredths.
        damage: depths of the cracks that the steps leave, summed over the steps, nm.
    """

    discouraged: int = 0
    elsewhere: int = 0
    unfavoured: int = 0
    steps: int = 0
    favour: int = 0
    untimed: int = 0
    minutes: int = 0
    changes: int = 0
    coarseness: int = 0
    damage: int = 0

    @cached_property
    def parts(self) -> Parts:
        """The parts in the order in which they are compared."""
        return _parts(self)

    def __add__(self, other: Cost | int) -> Cost:
        if isinstance(other, int):  # sums start at nought, those of networkx too
            return self
        return Cost(*added(self.parts, other.parts))

    __radd__ = __add__

    def __lt__(self, other: Cost | int) -> bool:
        return self.parts < (Cost() if isinstance(other, int) else other).parts


PARTS = ("discouraged", "elsewhere", "unfavoured", "steps", "favour", "untimed", "minutes", "changes", "coarseness", "damage")


def _parts(cost: Cost) -> Parts:
    return (
        cost.discouraged,
        cost.elsewhere,
        cost.unfavoured,
        cost.steps,
        cost.favour,
        cost.untimed,
        cost.minutes,
        cost.changes,
        cost.coarseness,
        cost.damage,
    )


class Order:
    """In which order the parts of a cost count; what the rules discourage always comes first.

    Args:
        first: names of the parts that come before all others but ``discouraged``; a step always counts before favour, so that
            a longer way is never a cheaper one.
    """

    def __init__(self, *first: str) -> None:
        names = dict.fromkeys(("discouraged", *first, *PARTS))
        self.names = tuple(names)
        self.ranked = itemgetter(*(PARTS.index(name) for name in names))


RULES_FIRST = Order()
QUICKEST = Order("untimed", "minutes")
FEWEST_CHANGES = Order("changes", "steps")
GENTLEST = Order("damage")
