"""What decides between routes: rules, then minutes, then changes of tool; and further routes that really differ."""

import networkx as nx
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from finishing_kg.advice import Advice
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.quantities import Pace, expect_step
from finishing_kg.record import replace
from finishing_kg.routes import Case, Place, Search
from finishing_kg.routes.choices import UNTOLD, Choice, choices, in_time
from finishing_kg.routes.cost import FEWEST_CHANGES, GENTLEST, QUICKEST, RULES_FIRST, Cost, Order, rounded
from finishing_kg.routes.remaining import remaining
from finishing_kg.statements import option_parts

ORDERS = {"rules": RULES_FIRST, "quickest": QUICKEST, "changes": FEWEST_CHANGES, "gentlest": GENTLEST}
SMALL = [
    Case(glass="lead-crystal", form="flat-face", surface="surface-ground", surface_grade="F220", finish="pre-polish"),
    Case(glass="soda-lime-studio", form="convex", surface="belt-ground", surface_grade="P400", finish="satin"),
    Case(glass="borosilicate", form="cut-groove", surface="surface-ground", surface_grade="F320", finish="polish"),
]
costs = st.builds(
    Cost,
    discouraged=st.integers(0, 2),
    elsewhere=st.integers(0, 2),
    unfavoured=st.integers(0, 2),
    steps=st.just(1),
    favour=st.integers(-3, 0),
    untimed=st.integers(0, 1),
    minutes=st.sampled_from([0, 1000, 3000, 10_000]),
    changes=st.integers(0, 1),
    coarseness=st.integers(0, 200),
    damage=st.integers(0, 9000),
)


@given(costs, costs, costs)
def test_costs_add_up_in_any_order(one: Cost, two: Cost, three: Cost) -> None:
    """A sum of costs does not hang on the order of its parts, and more of the same keeps what was less the less."""
    assert one + two == two + one
    assert (one + two) + three == one + (two + three)
    assert (one < two) == (one + three < two + three)


def test_rules_come_before_minutes_and_minutes_before_changes() -> None:
    """No saving of time buys what a rule discourages or does not prefer; among equals the quicker wins, then the one with fewer changes."""
    assert Cost(discouraged=1) > Cost(minutes=10**9)
    assert Cost(unfavoured=1) > Cost(minutes=10**9)
    assert Cost(steps=1, favour=-1, minutes=10**9) < Cost(steps=1, minutes=0)
    assert Cost(minutes=3000, changes=0) > Cost(minutes=1000, changes=5)
    assert Cost(minutes=1000, changes=1) > Cost(minutes=1000, coarseness=900)


@given(st.floats(0.01, 10_000), st.floats(1, 1.7))
def test_minutes_are_told_apart_by_the_half_decade(minutes: float, factor: float) -> None:
    """Rounded minutes lie within a factor of two of the minutes, never fall as those rise, and take one more step within a small factor."""
    assert minutes / 2 < rounded(minutes) / 1000 < minutes * 2
    assert rounded(minutes) <= rounded(minutes * factor) <= rounded(minutes) * 10 / 3
    assert rounded(None) == 0


@pytest.mark.parametrize("order", ORDERS.values(), ids=ORDERS)
@pytest.mark.parametrize("case", SMALL, ids=lambda case: f"{case.form}-{case.finish}")
def test_the_search_agrees_with_a_search_of_every_path(knowledge: Knowledge, case: Case, order: Order) -> None:
    """In whatever order the parts of a cost count, no route in the whole graph costs less than the one that is found."""
    search = Advice(knowledge, case).search
    start, best = search.start(), search.best(by=order)
    assert start is not None
    assert best is not None
    graph = search.graph()
    layers: dict[Place, tuple[int, ...]] = {start: order.ranked(Cost().parts)}
    sums: dict[Place, Cost] = {start: Cost()}
    for _ in range(len(graph)):  # Bellman and Ford: no heap, nothing settled early
        changed = False
        for here, there, edge in graph.edges(data=True):
            if here in sums:
                total = sums[here] + edge["cost"]
                if there not in layers or order.ranked(total.parts) < layers[there]:
                    layers[there], sums[there], changed = order.ranked(total.parts), total, True
        if not changed:
            break
    goals = [layers[place] for place in graph if place != start and search.is_goal(place)]
    assert order.ranked(best.cost.parts) == min(goals)


@pytest.mark.parametrize("order", [RULES_FIRST, QUICKEST], ids=["rules", "quickest"])
@pytest.mark.parametrize("case", SMALL, ids=lambda case: f"{case.form}-{case.finish}")
def test_what_is_left_at_least_is_never_more_than_it_costs(knowledge: Knowledge, case: Case, order: Order) -> None:
    """From no place does a way to the finish cost less than was told beforehand, and where nothing was told there is no way."""
    search = Advice(knowledge, case).search
    start, graph = search.start(), search.graph()
    assert start is not None
    candidates = [each for stage in search.stages_after(start) for each in search.onward(stage)]
    told = remaining(search, start, candidates, order.ranked, timed=order is QUICKEST)
    level = {each.place.key: each.level for each in candidates}
    left: dict[Place, Cost] = {place: Cost() for place in graph if place != start and search.is_goal(place)}
    changed = True
    while changed:
        changed = False
        for here, there, edge in graph.edges(data=True):
            total = edge["cost"] + left[there] if there in left else None
            if total is not None and (here not in left or order.ranked(total.parts) < order.ranked(left[here].parts)):
                left[here], changed = total, True
    ways = [place for place in left if place.key in level]
    assert ways and all(order.ranked(told[level[place.key]]) <= order.ranked(left[place].parts) for place in ways)


@pytest.mark.parametrize("case", [Case(glass="lead-crystal", form="rim", surface="sawn", finish="polish"), *SMALL], ids=lambda case: case.form)
def test_a_short_search_finds_what_a_long_one_does(knowledge: Knowledge, case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """The very same route comes first in minutes, whether the search begins to look ahead at once, or never does."""
    search = Advice(knowledge, case).search
    found = []
    for few in (0, 10**9):
        monkeypatch.setattr("finishing_kg.routes.search._FEW", few)
        bound = None if not found else (*QUICKEST.ranked(found[0].cost.parts)[:2], found[0].cost.minutes + 1)
        best = search.best(by=QUICKEST)
        assert best is not None and (bound is None or search.best(by=QUICKEST, below=bound) == best)
        found.append(best)
    assert found[0] == found[1]


@given(st.data())
def test_a_small_graph_holds_no_cheaper_path(knowledge: Knowledge, data: st.DataObject) -> None:
    """Over any few options the search finds the cheapest of all simple paths, one by one."""
    case = data.draw(st.sampled_from(SMALL))
    search = _search(knowledge, case)
    offered = sorted(search.model.subjects("isOffered"))
    kept = frozenset(data.draw(st.lists(st.sampled_from(offered), min_size=2, max_size=5, unique=True)))
    without = frozenset(offered) - kept
    order = data.draw(st.sampled_from(list(ORDERS.values())))
    graph, start = search.graph(without=without), search.start()
    assert start is not None
    assume(len(graph) <= 14)
    goals = [place for place in graph if place != start and search.is_goal(place)]
    every = [
        sum((graph.edges[edge]["cost"] for edge in nx.utils.pairwise(path)), Cost()).parts
        for goal in goals
        for path in nx.all_simple_paths(graph, start, goal)
    ]
    best = search.best(without=without, by=order)
    assert (order.ranked(best.cost.parts) if best else None) == min(map(order.ranked, every), default=None)


_SEARCHES: dict[str, Search] = {}


def _search(knowledge: Knowledge, case: Case) -> Search:
    return _SEARCHES.setdefault(repr(case), Advice(knowledge, case).search)


def test_edges_carry_verdicts_removal_and_minutes(knowledge: Knowledge) -> None:
    """Each edge of the graph says what the rules think of its step, and what it takes off in how long."""
    graph = _search(knowledge, SMALL[0]).graph()
    assert graph.number_of_edges() > 20
    for _, there, edge in graph.edges(data=True):
        assert "isSuiting" not in edge["verdicts"]
        assert "isRuledOut" not in edge["verdicts"]
        assert there.stage == "rough-shape" or edge["removal_um"] > 0
        assert there.stage == "rough-shape" or edge["minutes"] > 0


@pytest.mark.parametrize("glass", ["lead-crystal", "borosilicate", None])
def test_the_quick_middles_are_those_of_the_steps_that_are_shown(knowledge: Knowledge, glass: str | None) -> None:
    """What the search weighs and what an answer prints of the same step differ by rounding alone."""
    vocabulary = knowledge.vocabulary
    pace = Pace(vocabulary, glass, "flat-face", None)
    entering = Quantity.of(90, "µm")
    for mineral, hold, carrier in (("diamond", "metal-bond", "flat-lap"), ("silicon-carbide", "loose", "plate"), ("diamond", "coated", "belt")):
        grain = Quantity.of(30, "µm")
        whole = expect_step(
            vocabulary,
            mineral=mineral,
            hold=hold,
            carrier=carrier,
            glass=glass,
            stage="ground",
            form="flat-face",
            entering=entering,
            entering_hold="plated",
            grain=grain,
        )
        removal = pace.removal("ground", entering, "plated", grain, hold)
        minutes = pace.minutes((mineral, hold, carrier), removal, grain)
        assert whole.removal is not None
        assert whole.minutes is not None
        assert whole.cracks_left is not None
        assert removal == pytest.approx(float(whole.removal.mid), rel=0.002)
        assert minutes == pytest.approx(float(whole.minutes.mid), rel=0.005)
        assert pace.cracks(grain, hold) == pytest.approx(float(whole.cracks_left.mid), rel=0.002)


@pytest.mark.parametrize("case", SMALL, ids=lambda case: f"{case.form}-{case.finish}")
def test_further_routes_really_differ(knowledge: Knowledge, case: Case) -> None:
    """No two routes use the same methods step by step, and each is better than the first in what it is named for."""
    offered = choices(_search(knowledge, case))
    methods = [tuple(option_parts(str(place.option))[:3] for place in choice.found.places) for choice in offered]
    assert len(set(methods)) == len(methods) > 1
    assert len(methods) <= 4
    first = offered[0].found.cost
    parts = {"quickest": "minutes", "fewest changes of tool": "changes", "gentlest": "damage"}
    for choice in offered[1:]:
        assert choice.found.cost >= first
        if choice.name in parts:
            assert getattr(choice.found.cost, parts[choice.name]) < getattr(first, parts[choice.name])


def minutes(search: Search, choice: Choice) -> float:
    """The minutes of a route of which those of every step are known."""
    found = search.minutes(choice.found)
    assert found is not None
    return found


def test_one_that_keeps_to_the_time_comes_first(knowledge: Knowledge) -> None:
    """With a longest time between the quickest and the first, a route that keeps to it is put first; with a shorter one nothing moves."""
    search = _search(knowledge, SMALL[0])
    offered = choices(search)
    times = [minutes(search, choice) for choice in offered]
    assert min(times) < times[0]
    between = in_time(search, offered, (min(times) + times[0]) / 2)
    assert minutes(search, between[0]) < times[0]
    assert sorted(map(id, (choice.found for choice in between))) == sorted(map(id, (choice.found for choice in offered)))
    assert in_time(search, offered, min(times) / 2) == offered


def test_what_is_not_known_keeps_to_no_time(knowledge: Knowledge) -> None:
    """Before a route with a step of unknown minutes comes one that is known to keep to the time, however short the known steps of the first."""
    search = Advice(knowledge, Case(glass="lead-crystal", form="rim", surface="broken", finish="polish")).search
    (first, *_), known = choices(search), choices(_search(knowledge, SMALL[0]))[0]
    assert first.found.cost.untimed and search.minutes(first.found) is None
    assert in_time(search, [first], 1) == in_time(search, [first], 10**6) == [first]
    timed = replace(known, name="quickest", found=replace(known.found, cost=replace(known.found.cost, steps=9)))
    front, behind = in_time(search, [first, timed], 10**6)
    assert (front.found, behind.found) == (timed.found, first.found)
    assert (front.decided, behind.decided) == (None, UNTOLD)


def test_a_step_of_unknown_minutes_is_not_quick() -> None:
    """In every order a step whose minutes are not known comes after one that is alike and takes long."""
    for order in ORDERS.values():
        assert order.ranked(Cost(untimed=1).parts) > order.ranked(Cost(minutes=10**9).parts)


def test_only_what_is_at_hand_is_offered_where_the_rules_prefer_more(knowledge: Knowledge) -> None:
    """A route of things that the maker named is offered beside a better one that needs others."""
    case = Case(
        glass="lead-crystal",
        form="flat-face",
        surface="surface-ground",
        surface_grade="F220",
        finish="pre-polish",
        at_hand=("silicon-carbide", "plate", "pumice", "felt-wheel"),
    )
    search = Advice(knowledge, case).search
    for choice in choices(search):
        if choice.name == "only what is at hand":
            assert all(set(option_parts(str(place.option))[0:3:2]) <= set(case.at_hand) for place in choice.found.places)
            return
    assert all(search.model.holds("usesWhatIsAtHand", str(place.option)) for place in choices(search)[0].found.places)
