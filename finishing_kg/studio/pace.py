"""How a studio's minutes differ from what is expected, from its jobs.

The model. Let y be the logarithm of the minutes taken over the minutes expected, of the jobs of one operation on one glass. A job's y is
the studio's pace m plus what differs from job to job: y ~ N(m, s²). Before the log says anything, m lies around nought, the factor around
1, and the less certain s is taken to be, the less certain m:

    s²      ~ inverse gamma(w/2, w·s₀²/2)      s₀ = log of the spread of minutes between jobs, w = how many jobs that is worth
    m | s²  ~ N(0, s²/k)                       k = (s₀ / log of the spread of paces between studios)²

So k is worth the fraction of a job, and draws the factor towards 1; the prior's three numbers stand in the ontology. After n jobs of mean ȳ

    m ~ Student's t with w + n degrees of freedom around n·ȳ/(k + n), of the scale sqrt(S / ((w + n)·(k + n))),
    S = w·s₀² + Σ(y − ȳ)² + k·n·ȳ²/(k + n)

(the normal-inverse-gamma prior; Gelman and others, Bayesian Data Analysis, chapter 3). The factor is exp(m), its interval holds nine tenths of
that distribution. It is an interval for the studio's pace, not for the next single job, and it is as good as the assumption that jobs
differ by a factor whose logarithm is normal.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Context, Decimal
from math import atan, cos, exp, fsum, log, pi, sin, sqrt

from finishing_kg.measure import Quantity
from finishing_kg.vocabulary import Vocabulary

SHARE = 0.9
"""Of the probability that lies within an interval; wide enough to be honest, and narrow enough to say something after a few jobs."""

_BENCH = "bench"
_HALVINGS = 200


@dataclass(frozen=True, slots=True)
class Prior:
    """What is thought before any job: logarithms of spreads, and how many jobs the spread between jobs is worth."""

    between_studios: float
    between_jobs: float
    weight: int


@dataclass(frozen=True, slots=True)
class Pace:
    """What is thought after some jobs: the factor's middle (a median) and the ends of its interval."""

    middle: float
    low: float
    high: float

    def factor(self) -> Quantity:
        """As a quantity in ``times``: three significant digits, the ends rounded outwards."""
        middle, low, high = (
            Context(prec=3, rounding=rounding).create_decimal_from_float(number)
            for number, rounding in ((self.middle, ROUND_HALF_EVEN), (self.low, ROUND_FLOOR), (self.high, ROUND_CEILING))
        )
        return Quantity(min(max(middle, low), high), "times", low, high)


def prior(vocabulary: Vocabulary) -> Prior:
    """The prior that the ontology holds."""

    def held(predicate: str) -> Decimal:
        quantity = vocabulary.quantity(_BENCH, predicate)
        assert quantity is not None, f"the ontology holds no {predicate} of the bench"
        return quantity.mid

    return Prior(log(held("spreadOfPaces")), log(held("spreadOfMinutes")), int(held("weightOfTheSpread")))


def estimate(ratios: Sequence[float], before: Prior) -> Pace:
    """The pace after jobs whose minutes were these ratios of what was expected; the order does not matter."""
    logs = sorted(log(ratio) for ratio in ratios)
    count, pull = len(logs), (before.between_jobs / before.between_studios) ** 2
    mean = fsum(logs) / count if logs else 0.0
    freedom = before.weight + count
    squares = before.weight * before.between_jobs**2 + fsum((each - mean) ** 2 for each in logs) + pull * count * mean**2 / (pull + count)
    middle = count * mean / (pull + count)
    reach = student_quantile((1 + SHARE) / 2, freedom) * sqrt(squares / (freedom * (pull + count)))
    return Pace(exp(middle), exp(middle - reach), exp(middle + reach))


def student_probability(value: float, freedom: int) -> float:
    """The probability that Student's t with whole degrees of freedom is at most a value.

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4: finite sums in the angle atan(t/√ν).
    """
    angle = atan(value / sqrt(freedom))
    term = total = 1.0 if freedom % 2 == 0 else cos(angle)
    first = 2 if freedom % 2 == 0 else 3
    for each in range(first, freedom - 1, 2):
        term *= (each - 1) / each * cos(angle) ** 2
        total += term
    even = sin(angle) * total
    odd = 2 / pi * (angle + (even if freedom > 1 else 0.0))
    return 0.5 + (even if freedom % 2 == 0 else odd) / 2


def student_quantile(probability: float, freedom: int) -> float:
    """The value that Student's t is at most with a probability above a half, found by halving."""
    low, high = 0.0, 1.0
    while student_probability(high, freedom) < probability:
        high *= 2
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if student_probability(middle, freedom) < probability else (low, middle)
    return high
