"""Facts in layers are one table, as a plain dictionary would be; and what a goal's variables stand for."""

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import FACT, INVENTED, PARCELS, fact_sets
from test_engine import rule

from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact, Facts
from finishing_kg.proofs.backward import BackwardSearch, rules_for
from finishing_kg.proofs.facts import matched
from finishing_kg.statements import Statement, Variable
from finishing_kg.vocabulary import Basis

OTHERS = Fact(Basis("standard"))


@given(st.lists(fact_sets(), min_size=1, max_size=4))
def test_layers_of_facts_are_one_table(layers: list[dict[Statement, Fact]]) -> None:
    """The topmost says what a statement rests on; each statement is there once, however it is asked for."""
    stacked, plain = None, dict[Statement, Fact]()
    for number, layer in enumerate(layers):
        given_here = dict.fromkeys(layer, OTHERS if number % 2 else FACT)
        stacked, plain = Facts(given_here, stacked), {**plain, **given_here}
    assert stacked is not None
    assert dict(stacked) == plain and len(stacked) == len(plain) and len(list(stacked)) == len(plain)
    for statement in [*plain, Statement("open", "nobody")]:
        assert (statement in stacked) is (statement in plain)
        assert stacked.get(statement) == plain.get(statement)
        assert stacked.get(statement, "none") == plain.get(statement, "none")
    with pytest.raises(KeyError) as told:
        stacked[Statement("open", "nobody")]
    assert told.value.args == (Statement("open", "nobody"),)
    for predicate in {statement.predicate for statement in plain} | {"weight"}:
        assert set(stacked.of(predicate)) == {each for each in plain if each.predicate == predicate}
        for subject in PARCELS:
            assert set(stacked.about(predicate, subject)) == {each for each in plain if (each.predicate, each.subject) == (predicate, subject)}
            goal = Statement(predicate, subject, Variable("any"))
            assert {each for each in stacked.near(goal) if matched(goal, each) is not None} == {
                each for each in plain if (each.predicate, each.subject) == (predicate, subject) and each.object is not None
            }
    last = dict.fromkeys(layers[-1])
    assert {Statement(predicate, subject, obj) for predicate, obj, subjects in stacked.columns() for subject in subjects} == set(last)
    assert set(stacked.predicates()) == {statement.predicate for statement in last}


ON = Statement("on", "p0", "p1")
X, Y = Variable("x"), Variable("y")


@pytest.mark.parametrize(
    ("goal", "held", "found"),
    [
        (ON, ON, {}),
        (Statement("on", X, "p1"), ON, {"x": "p0"}),
        (Statement("on", X, Y), ON, {"x": "p0", "y": "p1"}),
        (Statement("on", X, X), Statement("on", "p0", "p0"), {"x": "p0"}),
        (Statement("open", X), Statement("open", "p0"), {"x": "p0"}),
        (Statement("width", "p0", Y), Statement("width", "p0", Quantity.of(2, "mm")), {"y": Quantity.of(2, "mm")}),
        (Statement("over", "p0", "p1"), ON, None),
        (Statement("over", X, Y), ON, None),
        (Statement("on", X, X), ON, None),
        (Statement("on", "p1", Y), ON, None),
        (Statement("on", X, "p0"), ON, None),
        (Statement("open", X, Y), Statement("open", "p0"), None),
        (Statement("open", X), Statement("open", "p0", "p1"), None),
        (Statement("on", X, Y), Statement("on", "p0", Variable("z")), None),
        (Statement("on", X, Y), Statement("on", Variable("z"), "p0"), None),
        (Statement("width", "p0", Y), Statement("width", "p0", Quantity.of(2, "mm"), "above"), None),
    ],
)
def test_what_variables_stand_for(goal: Statement, held: Statement, found: dict[str, object] | None) -> None:
    """A goal meets what says the same of the same; one variable stands for one thing, and nothing but a thing or a size is stood for."""
    assert matched(goal, held) == found


def test_what_is_no_size_is_compared_with_nothing() -> None:
    """A name where a size should be, on either side, and a size that nothing says: the comparison does not hold, and others still do."""
    size = Quantity.of(2, "mm")
    facts = Facts({Statement("width", "p0", "p1"): FACT, Statement("width", "p0", size): FACT, Statement("width", "p2", "p1"): FACT})
    search = BackwardSearch(INVENTED, rules_for([]), facts)
    for subject, limit, holds in (
        ("p0", Quantity.of(1, "mm"), True),
        ("p2", Quantity.of(1, "mm"), False),
        (Variable("any"), Quantity.of(1, "mm"), True),
        ("p0", Quantity.of(3, "mm"), False),
        ("p0", "p1", False),
        ("p0", Variable("v"), False),
        ("p3", Quantity.of(1, "mm"), False),
    ):
        assert search.holds(Statement("width", subject, limit, "above")) is holds, (subject, limit)


class Counted(Facts):
    """Facts that count how often they are looked through."""

    looked = 0

    def near(self, goal: Statement) -> Iterable[Statement]:
        self.looked += 1
        return super().near(goal)


PILE = {Statement("on", f"a{number}", f"b{number}"): FACT for number in range(30)}


@pytest.mark.parametrize(
    "lacking",
    [
        "?z is lost",
        "parcel p3 is lost",
        "?z is kept on shelf 1",
        "parcel p3 is kept on ?s",
        "the width of ?z is above 1 mm",
        "the depth of p3 is above 1 mm",
    ],
)
def test_a_rule_that_needs_what_there_is_nothing_of_is_not_looked_into(lacking: str) -> None:
    """However much there is of all else that it needs; that is found out once and not for each thing that is asked about."""
    others = (Statement("kept", "p0", "shelf-0"), Statement("depth", "p0", Quantity.of(2, "mm")), Statement("open", "b0"))
    facts, rules = Counted({**PILE, **dict.fromkeys(others, FACT)}), [rule("sends", f"?x lies on ?y;?y is open;{lacking}", "?x is sent")]
    search = BackwardSearch(INVENTED, rules_for(rules), facts)
    assert not search.holds(Statement("sent", Variable("any")))
    assert facts.looked <= 1 + len(rules[0].conditions)  # for each condition whether there is anything, and the goal itself
    before = facts.looked
    assert not any(search.holds(Statement("sent", f"a{number}")) for number in range(30))
    assert facts.looked - before <= 30, "more than the goals themselves was looked for"


def test_what_was_found_backwards_is_not_looked_for_again() -> None:
    """The same goal, under whichever name of its variable, and every goal that came up on the way, is answered from what was found."""
    facts = Counted({**PILE, **{Statement("open", f"b{number}"): FACT for number in range(0, 30, 2)}})
    rules = [rule("leans", "?x lies on ?y;?y is open", "?x is safe"), rule("sends", "?x is safe", "?x is sent")]
    search = BackwardSearch(INVENTED, rules_for(rules), facts)
    assert search.holds(Statement("sent", Variable("any")))
    found = facts.looked
    for goal in (Statement("sent", Variable("other")), Statement("sent", Variable("0")), Statement("safe", Variable("x"))):
        assert search.holds(goal)
    assert facts.looked == found
    assert search.holds(Statement("sent", "a2")) and not search.holds(Statement("sent", "a1"))
    found = facts.looked
    assert search.holds(Statement("sent", "a2")) and not search.holds(Statement("sent", "a1")) and search.holds(Statement("safe", "a2"))
    assert facts.looked == found
