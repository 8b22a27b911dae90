"""The third and the fourth held-out questions: no later change makes the reading of them worse than on the first run."""

import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from held_out_second import FILE, FOURTH, FULL, MISREAD, THIRD, judged, questions

from finishing_kg.engine import Knowledge

EARLIER = {THIRD: (FILE,), FOURTH: (FILE, THIRD)}
RECORDED: dict[Path, dict[str, Any]] = {file: tomllib.loads(file.read_text(encoding="utf-8")).get("first_run", {}) for file in EARLIER}
RECIPES = {file: sorted({question["recipe"] for question in questions(file)}) for file in EARLIER}

of_each_set = pytest.mark.parametrize("file", EARLIER, ids=lambda file: file.stem)


@of_each_set
def test_there_are_enough_of_them(file: Path) -> None:
    """At least a hundred and fifty questions by at least fifteen recipes, none twice."""
    asked = [question["ask"] for question in questions(file)]
    assert len(asked) == len(set(asked)) >= 150
    assert len(RECIPES[file]) >= 15


@of_each_set
def test_none_is_asked_in_an_earlier_set(file: Path) -> None:
    """A question of an earlier set tells nothing new."""
    earlier = {question["ask"] for each in EARLIER[file] for question in questions(each)}
    assert not {question["ask"] for question in questions(file)} & earlier


@of_each_set
def test_each_recipe_has_its_first_run(file: Path) -> None:
    """All questions of a recipe were judged on it."""
    counted = {recipe: sum(counts.values()) for recipe, counts in RECORDED[file].items()}
    assert counted == {recipe: sum(question["recipe"] == recipe for question in questions(file)) for recipe in RECIPES[file]}


@pytest.mark.parametrize(
    ("file", "recipe"),
    [pytest.param(file, recipe, id=f"{file.stem}-{recipe}") for file, recipes in RECIPES.items() for recipe in recipes],
)
def test_no_recipe_is_read_worse(knowledge: Knowledge, file: Path, recipe: str) -> None:
    """At least as many are understood fully as on the first run, and no more are misread."""
    now = Counter(judged(knowledge, question)[0] for question in questions(file) if question["recipe"] == recipe)
    assert now[FULL] >= RECORDED[file][recipe][FULL]
    assert now[MISREAD] <= RECORDED[file][recipe][MISREAD]
