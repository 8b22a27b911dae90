"""The held-out questions: no later change makes the reading of them worse than it was recorded."""

import tomllib

import pytest
from held_out import FILE, FULL, MISREAD, figures

from finishing_kg.engine import Knowledge

RECORDED = tomllib.loads(FILE.read_text(encoding="utf-8"))["first_run"]


@pytest.fixture(scope="module")
def now(knowledge: Knowledge) -> dict[str, dict[str, int]]:
    """The figures of today."""
    return figures(knowledge)


@pytest.mark.parametrize("recipe", RECORDED)
def test_no_recipe_is_read_worse(now: dict[str, dict[str, int]], recipe: str) -> None:
    """At least as many are understood fully as on the first run, and no more are misread."""
    assert now[recipe][FULL] >= RECORDED[recipe][FULL]
    assert now[recipe][MISREAD] <= RECORDED[recipe][MISREAD]


def test_asking_is_commoner_than_misreading(now: dict[str, dict[str, int]]) -> None:
    """Of what is not understood fully, most is left open and not misread."""
    misread = sum(counts[MISREAD] for counts in now.values())
    assert misread * 4 <= sum(sum(counts.values()) for counts in now.values()) - sum(counts[FULL] for counts in now.values())
