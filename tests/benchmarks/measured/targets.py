"""What the engine should reach, as ratios of figures taken in the same run."""

from collections.abc import Callable
from dataclasses import dataclass

from measured.growth import BEFORE, BUILT, CHECKED
from measured.processes import ANSWER, ASK, EMPTY, FIRST_ASK, MEMORY, PAINT, PYDANTIC
from measured.questions import WARM, WHAT_IF_FIGURE, named
from measured.table import Table

_WARM, _BEFORE = named(WARM), named(BEFORE)


@dataclass(frozen=True)
class Target:
    """One target; smaller is better.

    Attributes:
        what: in words.
        must, aim: the most that is let pass, and that is hoped for.
        unit: ``"x"`` for a ratio.
        measured: takes it from the figures; ``None`` where they were not taken.
    """

    what: str
    must: float
    aim: float
    unit: str
    measured: Callable[[Table], float | None]


def _ratio(above: str, below: str) -> Callable[[Table], float | None]:
    return lambda table: table.ratio(above, below)


def _value(name: str) -> Callable[[Table], float | None]:
    return lambda table: table.value(name)


# "10 x rules" is held against the copies that sleep: where each copy derives as much there is ten times as much to derive.
TARGETS = (
    Target("warm question / CLIPS, logical", 1 / 5, 1 / 10, "x", _ratio(_WARM, named(WARM, "CLIPS, logical"))),
    Target("warm question / sqlite, tuned", 1, 1 / 3, "x", _ratio(_WARM, named(WARM, "sqlite"))),
    Target("what-if, one fact / warm question", 1, 1 / 3, "x", _ratio(named(WHAT_IF_FIGURE), _WARM)),
    Target("proof of one conclusion, built", 0.3, 0.05, "ms", _value(BUILT)),
    Target("proof of one conclusion, checked", 1, 0.3, "ms", _value(CHECKED)),
    Target("warm question, 100 x things / 1 x", 1.1, 1.0, "x", _ratio(named(f"{WARM}, 100 x things"), _BEFORE)),
    Target("warm question, 10 x rules / 1 x", 3, 1.5, "x", _ratio(named(f"{WARM}, 10 x rules"), _BEFORE)),
    Target("warm question, 10 x options / 1 x", 15, 4, "x", _ratio(named(f"{WARM}, 10 x options"), _BEFORE)),
    Target("ask / import pydantic", 1.5, 1 / 2, "x", _ratio(ASK, PYDANTIC)),
    Target("ask with 100 x things / ask", 2, 1.2, "x", _ratio(f"{ASK}, 100 x things", ASK)),
    Target("ask, the first ever / import pydantic", 15, 8, "x", _ratio(FIRST_ASK, PYDANTIC)),
    Target("interface: first paint / empty Textual app", 1.5, 1.1, "x", _ratio(PAINT, EMPTY)),
    Target("interface: first answer after it", 1000, 300, "ms", _value(ANSWER)),
    Target("memory of ask", 60, 25, "MB", _value(f"{MEMORY}: ask")),
)


def judged(table: Table) -> list[dict[str, object]]:
    """Each target with what was measured and whether it is met."""
    found: list[dict[str, object]] = []
    for target in TARGETS:
        value = target.measured(table)
        verdict = "not measured" if value is None else "aim met" if value <= target.aim else "must met" if value <= target.must else "missed"
        found.append({"what": target.what, "must": target.must, "aim": target.aim, "unit": target.unit, "measured": value, "verdict": verdict})
    return found
