"""How hard the tests try: in CI they take samples and few examples, with ``HYPOTHESIS_PROFILE=thorough`` the whole and many."""

import os
from collections.abc import Sequence
from typing import TypeVar

_Any = TypeVar("_Any")

WHOLE = os.environ.get("HYPOTHESIS_PROFILE") == "thorough"
"""Whether the whole is tried, and not samples."""


def one_in(number: int, every: Sequence[_Any]) -> Sequence[_Any]:
    """The first of so many, and so on; all if the whole is tried."""
    return every if WHOLE else every[::number]


def tries(number: int) -> int:
    """How many examples a law is tried with that takes seconds for one."""
    return 8 * number if WHOLE else number
