"""The third held-out questions: no later change makes the reading of them worse than on the first run."""

import tomllib

import pytest
from held_out_second import FULL, MISREAD, THIRD, figures, questions

from finishing_kg.engine import Knowledge

RECORDED = tomllib.loads(THIRD.read_text(encoding="utf-8")).get("first_run", {})
RECIPES = sorted({question["recipe"] for question in questions(THIRD)})


@pytest.fixture(scope="module")
def now(knowledge: Knowledge) -> dict[str, dict[str, int]]:
    """The figures of today."""
    return figures(knowledge, THIRD)


def test_there_are_enough_of_them() -> None:
    """At least a hundred and fifty questions by at least fifteen recipes, none twice."""
    asked = [question["ask"] for question in questions(THIRD)]
    assert len(asked) == len(set(asked)) >= 150
    assert len(RECIPES) >= 15


def test_none_is_asked_in_the_second() -> None:
    """A question of the second set tells nothing new."""
    assert not {question["ask"] for question in questions(THIRD)} & {question["ask"] for question in questions()}


def test_each_recipe_has_its_first_run() -> None:
    """All questions of a recipe were judged on it."""
    counted = {recipe: sum(counts.values()) for recipe, counts in RECORDED.items()}
    assert counted == {recipe: sum(question["recipe"] == recipe for question in questions(THIRD)) for recipe in RECIPES}


@pytest.mark.parametrize("recipe", RECIPES)
def test_no_recipe_is_read_worse(now: dict[str, dict[str, int]], recipe: str) -> None:
    """At least as many are understood fully as on the first run, and no more are misread."""
    assert now[recipe][FULL] >= RECORDED[recipe][FULL]
    assert now[recipe][MISREAD] <= RECORDED[recipe][MISREAD]
