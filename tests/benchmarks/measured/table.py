"""Figures by name, taken as medians, with how many runs they come from.

What runs in this process is timed by the processor's clock, since on a busy machine the wall's counts what others do.
"""

import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field

RUNS = 7
_LEAST = 5


@dataclass(frozen=True)
class Figure:
    """One figure.

    Attributes:
        value: in ``unit``; ``None`` where there is none, and ``note`` says why.
        runs: how many it is the median of.
    """

    name: str
    value: float | None
    unit: str = "ms"
    runs: int = 1
    note: str = ""


@dataclass
class Table:
    """All figures of one run, in the order in which they were taken.

    Attributes:
        budget: seconds after which a figure that takes long makes do with fewer runs than five, and with one in the end.
        said: called with each figure as it comes, if at all.
    """

    budget: float = 60
    said: Callable[[Figure], None] | None = None
    figures: dict[str, Figure] = field(default_factory=dict)

    def add(self, name: str, value: float | None, unit: str = "ms", *, runs: int = 1, note: str = "") -> None:
        """Take a figure in."""
        figure = self.figures[name] = Figure(name, value, unit, runs, note)
        if self.said:
            self.said(figure)

    def time(self, name: str, run: Callable[[int], object], *, runs: int = RUNS, note: str = "", warm: bool = True) -> float:
        """Time something several times, each with the number of the run, and take in the median in milliseconds; what it gives is kept alive
        until the clock has stopped, so that taking it down is not timed.

        Args:
            name: of the figure.
            run: what to time.
            runs: how often.
            note: to the figure.
            warm: run it once before, untimed.
        """
        taken: list[float] = []
        begun = time.monotonic()
        if warm:
            run(-1)
        for number in range(runs):
            if taken and time.monotonic() - begun > self.budget:
                break
            before = time.process_time()
            kept = run(number)
            taken.append((time.process_time() - before) * 1000)
            del kept
        median = statistics.median(taken)
        few = f"only {len(taken)} of {runs} runs, for time" if len(taken) < min(_LEAST, runs) else ""
        self.add(name, median, runs=len(taken), note="; ".join(filter(None, [note, few])))
        return median

    def medians(self, taken: dict[str, list[float]], notes: dict[str, str] | None = None) -> None:
        """Take in the medians of times in milliseconds that were taken in turn."""
        for name, times in taken.items():
            self.add(name, statistics.median(times), runs=len(times), note=(notes or {}).get(name, ""))

    def ratio(self, above: str, below: str) -> float | None:
        """One figure over another, ``None`` where one is missing."""
        top, bottom = (figure.value if (figure := self.figures.get(name)) else None for name in (above, below))
        return None if top is None or not bottom else top / bottom

    def value(self, name: str) -> float | None:
        """A figure's value, ``None`` where it was not taken."""
        return figure.value if (figure := self.figures.get(name)) else None

    def as_data(self) -> list[dict[str, object]]:
        """For JSON."""
        return [asdict(figure) for figure in self.figures.values()]

    @contextmanager
    def missing(self, *names: str) -> Iterator[None]:
        """Where a library is not installed, its figures say so."""
        try:
            yield
        except ImportError as error:
            for name in names:
                self.add(name, None, note=f"not installed: {error.name}")
