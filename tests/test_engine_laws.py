"""What the engine tells beside what follows: whether a further rule would fire, and which facts could be added for something to follow."""

import pytest
from hypothesis import given
from strategies import INVENTED, fact_sets, rule_sets
from test_engine import LANGUAGE, _naive_matches, conclude, naive, rule

from finishing_kg.engine import could_add, could_follow, evaluate
from finishing_kg.engine.firing import would_fire
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement


def fires(one: Rule, held: set[Statement]) -> bool:
    """Whether a rule has a filling that all of its conditions and none of its exceptions agree with, by trying every statement for each."""
    ordered = tuple(sorted(one.conditions, key=lambda condition: condition.comparison != "is"))
    return any(
        not any(True for exception in one.exceptions for _ in _naive_matches((exception,), held, known, False))
        for known in _naive_matches(ordered, held, {}, one.safety)
    )


@given(rule_sets(), fact_sets())
def test_a_further_rule_would_fire_where_trying_everything_finds_a_filling(rules: list[Rule], given_facts: dict[Statement, Fact]) -> None:
    """Each rule of a set in turn is the further one; the others have been applied."""
    for one in rules:
        others = [other for other in rules if other is not one]
        assert would_fire(evaluate(INVENTED, make_base(others), given_facts), one) is fires(one, naive(others, set(given_facts)))


@pytest.mark.parametrize(
    ("condition", "fires"),
    [
        ("the width of ?x is above 3 mm", False),
        ("the width of ?x is at least 2 mm", True),
        ("the width of ?x is above 1234 µm", True),
        ("?x lies on parcel p3", False),
        ("?x is lost", False),
        ("?x is open", True),
    ],
)
def test_a_further_rule_may_name_what_no_other_does(condition: str, fires: bool) -> None:
    """A quantity or a thing that stands nowhere else can be compared with and looked for."""
    model = conclude([rule("first", "?x lies on ?y", "?x is open")], "parcel p0 lies on parcel p1", "the width of parcel p0 is 2 mm")
    assert would_fire(model, rule("further", condition, "?x is sent")) is fires


# What could be added, worked out by hand: the rules, what is given, what is wanted, of which predicates facts may be added, and these facts.
LEAN = "?x lies on ?y;?y is open -> ?x is safe"
SENDING = "?x is kept on ?s;?x is safe -> ?x is sent"
OVER = ("?x lies on ?y -> ?x is somewhere over ?y", "?x lies on ?y;?y is somewhere over ?z -> ?x is somewhere over ?z")
ON_ONE, ON_TWO, KEPT = "parcel p0 lies on parcel p1", "parcel p0 lies on parcel p2", "parcel p0 is kept on shelf 0"
SAFE, SENT, OPEN, ONE_OPEN, TWO_OPEN = "parcel p0 is safe", "parcel p0 is sent", "parcel p0 is open", "parcel p1 is open", "parcel p2 is open"
LACKING = {
    "one condition": ([LEAN], [ON_ONE], SAFE, {"open"}, {ONE_OPEN}),
    "under each filling": ([LEAN], [ON_ONE, ON_TWO], SAFE, {"open"}, {ONE_OPEN, TWO_OPEN}),
    "what is wanted is not among those that may be added": ([LEAN], [ON_ONE], SAFE, {"sent"}, set()),
    "what is wanted may be added itself": ([LEAN], [ON_ONE], SAFE, {"safe"}, {SAFE}),
    "the other conditions say what it would be about": ([LEAN], [ONE_OPEN, TWO_OPEN], SAFE, {"on"}, {ON_ONE, ON_TWO}),
    "through a chain": ([LEAN, SENDING], [ON_ONE, KEPT], SENT, {"open"}, {ONE_OPEN}),
    "two that may be added": ([LEAN, SENDING], [ON_ONE, KEPT], SENT, {"open", "safe"}, {ONE_OPEN, SAFE}),
    "of no use while another lacks": ([LEAN, SENDING], [ON_ONE], SENT, {"open"}, set()),
    "both at once": (["?x is open;?x is lost -> ?x is sent"], [], SENT, {"open", "lost"}, {OPEN, "parcel p0 is lost"}),
    "what holds is not lacking": (["?x is open;?x is lost -> ?x is sent"], [OPEN], SENT, {"open", "lost"}, {"parcel p0 is lost"}),
    "another shelf": (["?x is open -> ?x is moved to shelf 0"], [], "parcel p0 is moved to shelf 1", {"open"}, set()),
    "the same shelf": (["?x is open -> ?x is moved to shelf 0"], [], "parcel p0 is moved to shelf 0", {"open"}, {OPEN}),
    "any shelf": (["?x is open -> ?x is moved to shelf 0"], [], "parcel p0 is moved to ?s", {"open"}, {OPEN}),
    "another about itself": (["?x is open -> ?x is somewhere over ?x"], [], "parcel p0 is somewhere over parcel p1", {"open"}, set()),
    "itself about itself": (["?x is open -> ?x is somewhere over ?x"], [], "parcel p0 is somewhere over parcel p0", {"open"}, {OPEN}),
    "wide enough": (["the width of ?x is above 1 mm;?x is open -> ?x is sent"], ["the width of parcel p0 is 2 mm"], SENT, {"open"}, {OPEN}),
    "too narrow": (["the width of ?x is above 1 mm;?x is open -> ?x is sent"], ["the width of parcel p0 is 500 µm"], SENT, {"open"}, set()),
    "a rule that feeds itself": (
        OVER, [ON_ONE], "parcel p0 is somewhere over parcel p3", {"on"},
        {"parcel p0 lies on parcel p3", "parcel p1 lies on parcel p3"},
    ),
    "about anything nothing can be added": ([LEAN], [], SAFE, {"on", "open"}, set()),
}


@pytest.mark.parametrize(("rules", "given_too", "wanted", "may", "added"), LACKING.values(), ids=LACKING)
def test_what_could_be_added(rules: list[str], given_too: list[str], wanted: str, may: set[str], added: set[str]) -> None:
    """The facts that bring a conclusion nearer are those found by hand; where all of them are added, it follows."""
    base = [rule(f"rule-{number}", *text.split(" -> ")) for number, text in enumerate(rules)]
    model, goal = conclude(base, *given_too), LANGUAGE.parse(wanted)
    assert set(could_add(model, goal, may.__contains__)) == {LANGUAGE.parse(sentence) for sentence in added}
    if added and not list(goal.variables()):
        assert goal in conclude(base, *given_too, *added).statements()


@pytest.mark.parametrize(("depth", "found"), [(0, False), (1, False), (2, True), (3, True)])
def test_a_chain_of_rules_is_followed_as_deep_as_is_said(depth: int, found: bool) -> None:
    """What two rules would have to bring about is found with two and not with one."""
    base = [rule("first", *LEAN.split(" -> ")), rule("second", *SENDING.split(" -> "))]
    model = conclude(base, "parcel p0 lies on parcel p1", "parcel p0 is kept on shelf 0")
    wanted = Statement("sent", "p0")
    assert bool(set(could_add(model, wanted, {"open"}.__contains__, depth))) is found


WIDE = "the width of ?x is above 1 mm;?x is open -> ?x is sent"
# What rules lacked, by hand: what is given, what does not hold, and of each rule how many conditions held, what lacked, and whether that forbade it.
CAME_NEAR = {
    "the last condition": ([WIDE], ["the width of parcel p0 is 2 mm"], SENT, [(1, OPEN, False)]),
    "the first condition": ([WIDE], [OPEN], SENT, [(0, "the width of parcel p0 is above 1 mm", False)]),
    "too small": ([WIDE], [OPEN, "the width of parcel p0 is 500 µm"], SENT, [(0, "the width of parcel p0 is above 1 mm", False)]),
    "not surely enough": ([WIDE], [OPEN, "the width of parcel p0 is 500 to 2000 µm"], SENT, [(0, "the width of parcel p0 is above 1 mm", False)]),
    "one of two sizes is enough": ([WIDE], ["the width of parcel p0 is 500 µm", "the width of parcel p0 is 2 mm"], SENT, [(1, OPEN, False)]),
    "forbidden": ([f"{WIDE} -> ?x is lost"], [OPEN, "the width of parcel p0 is 2 mm", "parcel p0 is lost"], SENT, [(2, "parcel p0 is lost", True)]),
    "forbidden by a size": (
        ["?x is open -> ?x is sent -> the width of ?x is above 1 mm"], [OPEN, "the width of parcel p0 is 2 mm"], SENT,
        [(1, "the width of parcel p0 is above 1 mm", True)],
    ),
    "forbidden by the second": (["?x is open -> ?x is sent -> ?x is lost;?x is safe"], [OPEN, SAFE], SENT, [(1, SAFE, True)]),
    "of two fillings the nearer": (
        ["?x lies on ?y;?y is open;?y is lost -> ?x is sent"], [ON_ONE, ON_TWO, TWO_OPEN], SENT, [(2, "parcel p2 is lost", False)],
    ),
    "of two rules the nearer": (
        [WIDE, "?x lies on ?y;?y is open -> ?x is sent"], [ON_ONE], SENT, [(1, ONE_OPEN, False), (0, "the width of parcel p0 is above 1 mm", False)],
    ),
    "of a rule about another shelf nothing": (["?x is open -> ?x is moved to shelf 0"], [], "parcel p0 is moved to shelf 1", []),
    "of a rule about this shelf": (["?x is open -> ?x is moved to shelf 1"], [], "parcel p0 is moved to shelf 1", [(0, OPEN, False)]),
    "of two alike by what is said of itself": (["?x is open -> ?x is somewhere over ?x"], [], "parcel p0 is somewhere over parcel p1", []),
    "about itself": (["?x is open -> ?x is somewhere over ?x"], [], "parcel p0 is somewhere over parcel p0", [(0, OPEN, False)]),
    "of two alike in one condition": (["?x is open;?y lies on ?y -> ?x is sent"], [OPEN, ON_ONE], SENT, [(1, "?y lies on ?y", False)]),
    "of what is bound in another": (
        ["?x lies on ?y;?y lies on ?x -> ?x is sent"], [ON_ONE, "parcel p1 lies on parcel p2"], SENT, [(1, "parcel p1 lies on parcel p0", False)],
    ),
    "to anywhere": (["?x is kept on ?s -> ?x is moved to ?s"], [], "parcel p0 is moved to ?any", [(0, "parcel p0 is kept on ?s", False)]),
    "to one place": (
        ["?x is kept on ?s -> ?x is moved to ?s"], [KEPT], "parcel p0 is moved to shelf 1", [(0, "parcel p0 is kept on shelf 1", False)],
    ),
}


@pytest.mark.parametrize(("rules", "given_too", "absent", "lacked"), CAME_NEAR.values(), ids=CAME_NEAR)
def test_what_rules_lacked(rules: list[str], given_too: list[str], absent: str, lacked: list[tuple[int, str, bool]]) -> None:
    """Each rule that could have concluded what does not hold says how near it came, the nearest first."""
    base = [rule(f"rule-{number}", *text.split(" -> ")) for number, text in enumerate(rules)]
    found = could_follow(conclude(base, *given_too), LANGUAGE.parse(absent))
    assert [(each.met, each.lacking, each.blocked) for each in found] == [(met, LANGUAGE.parse(text), blocked) for met, text, blocked in lacked]
