"""Routes against an exhaustive search, and steps judged by the rules."""

import random
from collections.abc import Iterator
from itertools import pairwise
from typing import Any, cast

import networkx as nx
import pytest
from effort import one_in
from hypothesis import given
from hypothesis import strategies as st

from finishing_kg.advice import Advice
from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case, Place, PlannedStep, Search, judge, stage_of, stages_to
from finishing_kg.routes.cost import FEWEST_CHANGES, GENTLEST, QUICKEST, Order
from finishing_kg.routes.search import Cost
from finishing_kg.statements import option_parts

FORMS = ("flat-face", "edge", "convex", "bas-relief", "cut-groove")
CASES = [
    Case(glass="soda-lime-float", form="flat-face", surface="sawn", finish="fine-ground"),
    Case(glass="lead-crystal", form="flat-face", surface="surface-ground", surface_grade="F220", finish="pre-polish"),
    Case(glass="borosilicate", form="edge", surface="broken", finish="ground"),
    Case(glass="soda-lime-studio", form="bas-relief", surface="mould-marked", finish="pre-polish"),
    Case(glass="soda-lime-studio", form="convex", surface="belt-ground", surface_grade="P400", finish="satin"),
    Case(form="flat-face", surface="fire-polished", finish="blast-fine"),
]
MORE = [
    Case(glass="lead-crystal", form="flat-face", surface="sawn", finish="polish"),
    Case(glass="lead-crystal", form="rim", surface="broken", finish="polish"),
    Case(glass="soda-lime-float", form="edge", surface="surface-ground", surface_grade="F80", finish="polish"),
    Case(glass="borosilicate", form="convex", surface="mould-marked", finish="satin", at_hand=("pumice", "felt-wheel")),
    Case(glass="fused-quartz", form="concave", surface="belt-ground", surface_grade="P120", finish="pre-polish", unwanted=("diamond",)),
    Case(glass="soda-lime-studio", form="cut-groove", surface="surface-ground", surface_grade="F600", finish="polish"),
]


def every_route(search: Search, here: Place, start: Place, most: int, without: frozenset[str]) -> Iterator[tuple[tuple[Place, ...], Cost]]:
    """All routes of at most ``most`` steps, by plain recursion over the same single steps."""
    for there, cost in search.steps_from(here, start, without, frozenset()):
        if search.is_goal(there):
            yield (there,), cost
        if most > 1 and there.stage != search.case.finish:
            for rest, further in every_route(search, there, start, most - 1, without):
                yield (there, *rest), cost + further


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.form}-{case.surface}-{case.finish}")
def test_the_best_route_is_the_cheapest_of_all(knowledge: Knowledge, case: Case, seed: int) -> None:
    """No route of up to three steps costs less than the one that the graph search finds: over its own options and a dozen others a stage."""
    search = Advice(knowledge, case).search
    start, best = search.start(), search.best()
    assert start is not None
    assert best is not None
    without = thinned(search, 12, seed, frozenset(str(place.option) for place in best.places))
    assert search.best(without=without) == best
    cheapest = min((cost for _, cost in every_route(search, start, start, 3, without)), default=None)
    if cheapest is not None:
        assert best.cost <= cheapest
    if len(best.places) <= 3:
        assert best.cost == cheapest


def thinned(search: Search, most: int, seed: int, keep: frozenset[str]) -> frozenset[str]:
    """The options to leave out, so that of each stage some by chance are left, and those to keep."""
    chance, stages = random.Random(seed), stages_to(search.vocabulary, str(search.case.finish))
    kept = {option for stage in stages for option in chance.sample(search.offered(stage), min(most, len(search.offered(stage))))}
    return frozenset(search.model.subjects("isOffered")) - kept - keep


def by_networkx(search: Search, without: frozenset[str], last_not: frozenset[tuple[str, str]]) -> tuple["nx.DiGraph[Place]", Cost | None]:
    """The whole graph, and the least cost that networkx finds in it."""
    start, graph = search.start(), search.graph(without=without, last_not=last_not)
    assert start is not None
    found = nx.single_source_dijkstra(graph, start, weight=lambda _from, _to, edge: edge["cost"])
    # The stubs know only weights that are numbers; a cost adds and compares like one.
    costs, _ = cast(tuple[dict[Place, Cost], dict[Place, list[Place]]], found)
    return graph, min((costs[place] for place in graph if place != start and search.is_goal(place)), default=None)


@pytest.mark.parametrize("case", [*CASES, *MORE], ids=lambda case: f"{case.form}-{case.surface}-{case.finish}")
def test_the_search_finds_what_networkx_finds_in_the_whole_graph(knowledge: Knowledge, case: Case) -> None:
    """A way through the graph at the least cost, and the same again where the ending of the last one is not allowed."""
    search = Advice(knowledge, case).search
    start, barred = search.start(), frozenset[tuple[str, str]]()
    assert start is not None
    # All that is offered is weighed in test_route_costs; the graphs of a whole ladder are large.
    without = thinned(search, 24, 1, frozenset())
    for _ in range(3):
        found = search.best(without=without, last_not=barred)
        graph, least = by_networkx(search, without, barred)
        if found is None or least is None:
            assert found is least is None
            return
        assert found.cost == least == sum((graph.edges[edge]["cost"] for edge in pairwise((start, *found.places))), Cost())
        mineral, _, carrier, _ = option_parts(str(found.places[-1].option))
        barred |= {(mineral, carrier)}


class Ranked(tuple[int, ...]):
    """The parts of a cost in some order: adds part by part, compares the first first."""

    def __add__(self, other: object) -> "Ranked":
        assert isinstance(other, Ranked)
        return Ranked(one + two for one, two in zip(self, other, strict=True))

    def __radd__(self, nothing: int) -> "Ranked":
        assert nothing == 0
        return self


@pytest.mark.parametrize("order", [QUICKEST, FEWEST_CHANGES, GENTLEST], ids=lambda order: str(order.names[1]))
@pytest.mark.parametrize("case", one_in(3, [*CASES, *MORE]), ids=lambda case: f"{case.form}-{case.surface}-{case.finish}")
def test_the_search_finds_what_networkx_finds_in_every_order(knowledge: Knowledge, case: Case, order: Order) -> None:
    """Whatever part of the cost counts first; and below a bound it finds the same, or nothing where there is nothing below it."""
    search = Advice(knowledge, case).search
    start, without = search.start(), thinned(search, 16, 2, frozenset())
    assert start is not None
    graph = search.graph(without=without)
    lengths: Any = nx.single_source_dijkstra_path_length  # the stubs know only weights that are numbers
    costs = lengths(graph, start, weight=lambda _from, _to, edge: Ranked(order.ranked(edge["cost"].parts)))
    least = min((costs[place] for place in graph if place != start and search.is_goal(place)), default=None)
    found = search.best(without=without, by=order)
    assert (found and Ranked(order.ranked(found.cost.parts))) == least
    if found is not None and least is not None:
        assert search.best(without=without, by=order, below=(*least[:2], least[2] + 1)) == found
        assert search.best(without=without, by=order, below=least[:3]) is None


def test_the_cost_of_a_route_is_the_sum_of_its_steps(knowledge: Knowledge) -> None:
    """Costs add up, and compare part by part with rules first."""
    search = Advice(knowledge, CASES[0]).search
    best, start = search.best(), search.start()
    assert best is not None
    assert start is not None
    total, here = Cost(), start
    for place in best.places:
        total = total + next(cost for there, cost in search.steps_from(here, start, frozenset(), frozenset()) if there == place)
        here = place
    assert total == best.cost
    assert Cost(discouraged=1) > Cost(unfavoured=9, steps=9, changes=9)
    assert sum([Cost(steps=1), Cost(steps=2)]) == Cost(steps=3)


@given(st.data())
def test_any_case_is_answered(knowledge: Knowledge, data: st.DataObject) -> None:
    """Whatever the piece, there are routes whose steps the rules find in order, or none; never an exception."""
    vocabulary = knowledge.vocabulary

    def some(kind: str) -> str:
        return data.draw(st.sampled_from([name.id for name in vocabulary.things(kind)]))

    case = Case(glass=some("glass"), make=some("make"), form=some("form"), surface=some("surface"), finish=some("finish"))
    advice = Advice(knowledge, case)
    for found, steps in zip(advice.found, advice.judged.routes, strict=True):
        assert found.places[-1].stage == case.finish
        for place, step in zip(found.places, steps, strict=True):
            assert place.option is not None
            assert advice.model.holds("isOffered", place.option)
            assert not advice.model.holds("isRuledOut", place.option)
            assert not advice.judged.model.objects("isStoppedBy", step)
            assert not advice.judged.model.objects("isCautionedFor", step)
            assert not advice.judged.model.holds("isRuledOut", step)
            assert advice.judged.model.holds("isInOrder", step)


def test_what_a_step_finds_is_what_the_one_before_left(knowledge: Knowledge) -> None:
    """The entering grain of each step is the left grain of the step before, and the ratio is computed from it."""
    steps = [PlannedStep("silicon-carbide", "loose", "plate", grade, stage="ground", wet=True) for grade in ("F120", "F220")]
    judged = judge(knowledge, CASES[0], [steps])
    first, second = judged.routes[0]
    left, entering = judged.model.objects("leftGrain", first), judged.model.objects("enteringGrain", second)
    assert left == entering
    assert [str(value) for value in judged.model.objects("grainRatio", second)] == ["1.68 times"]


@pytest.mark.parametrize(
    ("mineral", "hold", "grade", "finish", "stage"),
    [
        ("silicon-carbide", "loose", "F80", "polish", "rough-shape"),
        ("silicon-carbide", "loose", "F220", "polish", "ground"),
        ("silicon-carbide", "loose", "F500", "polish", "fine-ground"),
        ("aluminium-oxide", "loose", "F1000", "polish", "pre-polish"),
        ("aluminium-oxide", "air-borne", "F180", "blast-fine", "blast-fine"),
        ("cerium-oxide", "loose", None, "polish", "polish"),
        ("pumice", "loose", "pumice-2F", "polish", "pre-polish"),
        ("pumice", "loose", "pumice-F", "satin", "satin"),
        ("diamond", "plated", "D126", "ground", "ground"),
    ],
)
def test_stage_of_a_step(knowledge: Knowledge, mineral: str, hold: str, grade: str | None, *, finish: str, stage: str) -> None:
    """A planned step works at the stage whose usual grain and means it has."""
    size = knowledge.vocabulary.quantity(grade, "grainSize") if grade else None
    assert stage_of(knowledge.vocabulary, mineral, hold, size, finish) == stage
