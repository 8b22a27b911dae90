"""The second held-out questions: no later change makes the reading of them worse than on the first run."""

import tomllib

import pytest
from held_out_second import FILE, FULL, MISREAD, figures, questions

from finishing_kg.engine import Knowledge

RECORDED = tomllib.loads(FILE.read_text(encoding="utf-8"))["first_run"]


@pytest.fixture(scope="module")
def now(knowledge: Knowledge) -> dict[str, dict[str, int]]:
    """The figures of today."""
    return figures(knowledge)


def test_there_are_enough_of_them() -> None:
    """At least a hundred and fifty questions by at least fifteen recipes, none twice."""
    asked = [question["ask"] for question in questions()]
    assert len(asked) == len(set(asked)) >= 150
    assert len(RECORDED) >= 15


@pytest.mark.parametrize("recipe", RECORDED)
def test_no_recipe_is_read_worse(now: dict[str, dict[str, int]], recipe: str) -> None:
    """At least as many are understood fully as on the first run, and no more are misread."""
    assert now[recipe][FULL] >= RECORDED[recipe][FULL]
    assert now[recipe][MISREAD] <= RECORDED[recipe][MISREAD]


def test_few_are_misread(now: dict[str, dict[str, int]]) -> None:
    """Of all questions at most one in twenty is read as something that it does not say."""
    total = sum(sum(counts.values()) for counts in now.values())
    assert sum(counts[MISREAD] for counts in now.values()) * 20 <= total
