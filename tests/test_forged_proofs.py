"""Proofs that are forged by hand, each with one thing false that all else hides; and the checker's comparisons beside trying all ends."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import FACT, INVENTED, quantities
from test_checker import checker
from test_engine import LANGUAGE, OVER, conclude, outcome, rule

from finishing_kg.engine import Prover
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Compared, Facts, Proof, ProofChecker
from finishing_kg.proofs.backward import BackwardSearch
from finishing_kg.statements import Comparison, Statement

# A few ends, so that many of two ranges meet exactly: 1 mm and 2 mm, in both units.
_MEETING = quantities(("µm", "mm")) | st.builds(
    lambda ends, unit: Quantity.between(*(Decimal(end * (1000 if unit == "µm" else 1)) for end in sorted(ends)), unit),
    st.tuples(st.integers(1, 3), st.integers(1, 3)),
    st.sampled_from(("µm", "mm")),
)
_OPERATORS: tuple[Comparison, ...] = ("above", "below", "at least", "at most")


@given(st.sampled_from(("width", "depth")), _MEETING, st.sampled_from(_OPERATORS), _MEETING)
def test_the_checker_compares_as_trying_all_ends_does(predicate: str, left: Quantity, operator: Comparison, right: Quantity) -> None:
    """A comparison holds if it holds of every two ends, is unknown if of some, also where ends meet exactly and units differ."""
    assert BackwardSearch(INVENTED, {}, Facts({})).compares(predicate, left, operator, right) is outcome(predicate, left, operator, right)


@pytest.mark.parametrize("operator", _OPERATORS)
@pytest.mark.parametrize(("left", "right"), [("mm", "kg"), ("kg", "mm"), ("mm", "ell"), ("ell", "mm"), ("ell", "ell")])
def test_what_has_no_common_unit_cannot_be_compared(left: str, right: str, operator: Comparison) -> None:
    """Between a length and a weight, or in a unit that nobody knows, nothing holds."""
    assert BackwardSearch(INVENTED, {}, Facts({})).compares("width", Quantity.of(2, left), operator, Quantity.of(2, right)) is False


_WIDTH = Quantity.of(2, "mm")
_DERIVED: list[dict[str, Any]] = [
    {"bindings": (("x", "p0"),)},
    {"premises": (Proof(Statement("open", "p1"), fact=FACT),)},
    {"compared": (Compared("width", _WIDTH, "at least", _WIDTH, "holds"),)},
    {"absent": (Statement("lost", "p0"),)},
]


@pytest.mark.parametrize("part", _DERIVED, ids=lambda part: next(iter(part)))
def test_a_fact_with_any_part_of_a_derivation_is_rejected(part: dict[str, Any]) -> None:
    """What is given needs no rule, so whoever says more of it than what it rests on is wrong."""
    opened = Proof(Statement("open", "p0"), fact=FACT)
    its_checker = ProofChecker(INVENTED, {}, {opened.statement: FACT, Statement("open", "p1"): FACT}, {})
    assert its_checker.fault(opened) is None
    assert its_checker.fault(replace(opened, **part)) is not None


@pytest.mark.parametrize("other", [Statement("width", "p1", _WIDTH), Statement("depth", "p0", _WIDTH), Statement("open", "p0")])
def test_a_true_premise_of_something_else_proves_nothing(other: Statement) -> None:
    """A rule about a width is not met by another parcel's, nor by a depth, even of the same size, nor by what has no size."""
    model = conclude(
        [rule("wide", "the width of ?x is above 1 mm", "?x is sent")],
        "the width of parcel p0 is 2 mm", "the width of parcel p1 is 2 mm", "the depth of parcel p0 is 2 mm", "parcel p0 is open",
    )
    proof = Prover(model).proof(Statement("sent", "p0"))
    assert checker(model).fault(proof) is None
    assert checker(model).fault(replace(proof, premises=(Prover(model).proof(other),))) is not None


def test_a_size_that_is_no_quantity_is_rejected_and_no_crash() -> None:
    """Whoever gives a name where a size belongs, as a fact and in the proof, is told so."""
    wide = rule("wide", "the width of ?x is above ?v;the depth of ?x is ?v", "?x is sent")
    right = conclude([wide], "the width of parcel p0 is 2 mm", "the depth of parcel p0 is 1 mm")
    proof = Prover(right).proof(Statement("sent", "p0"))
    assert checker(right).fault(proof) is None
    width, depth = (Proof(Statement(predicate, "p0", "shelf-0"), fact=FACT) for predicate in ("width", "depth"))
    named = (("v", "shelf-0"), ("x", "p0"))
    for forged in (
        replace(proof, premises=(width, proof.premises[1])),
        replace(proof, premises=(proof.premises[0], depth), bindings=named, compared=(replace(proof.compared[0], right="shelf-0"),)),
        replace(proof, premises=(width, depth), bindings=named, compared=(replace(proof.compared[0], left="shelf-0", right="shelf-0"),)),
    ):
        facts = {node.statement: FACT for node in forged.walk() if node.rule is None}
        assert ProofChecker(INVENTED, {"wide": wide}, facts, {}).fault(forged) is not None


def _leaf(name: str) -> Proof:
    return Proof(Statement("open", name), fact=FACT)


def test_a_walk_meets_each_step_once_from_the_top_and_from_the_left() -> None:
    """What two steps rest on is met where it is met first; depth first means that what a step rests on comes before its neighbour."""
    shared, last = _leaf("p2"), _leaf("p3")
    left = Proof(Statement("sent", "p0"), "left", premises=(shared,))
    right = Proof(Statement("sent", "p1"), "right", premises=(shared, last))
    top = Proof(Statement("lost", "p0"), "top", premises=(left, right))
    met = list(top.walk())
    assert [id(node) for node in met] == [id(node) for node in (top, left, shared, right, last)]


def test_steps_that_share_what_they_rest_on_are_checked_in_time() -> None:
    """Sixty steps, each resting twice on the one below, are sixty to check and not two to the sixtieth."""
    twice = rule("twice", "?x lies on ?y;?y is open;?y is open", "?x is open")
    names = [f"q{number}" for number in range(60)]
    facts = {Statement("on", one, below): FACT for one, below in pairwise(names)} | {Statement("open", names[-1]): FACT}
    proof = _leaf(names[-1])
    for one, below in reversed(list(pairwise(names))):
        on = Proof(Statement("on", one, below), fact=FACT)
        proof = Proof(Statement("open", one), "twice", (("x", one), ("y", below)), (on, proof, proof))
    assert ProofChecker(INVENTED, {"twice": twice}, facts, {}).fault(proof) is None
    assert len(list(proof.walk())) == 1 + 2 * 59


# What holds, and whether an exception of the rule does, by hand. What lies on a parcel is somewhere over it, and over what that lies on.
_STACK = "parcel p1 lies on parcel p0", "parcel p2 lies on parcel p1"
_PRESENT = [
    ("?any is somewhere over ?x", _STACK, True),
    ("?any is somewhere over ?x", ("parcel p0 lies on parcel p1",), False),
    ("?x is somewhere over ?any", _STACK, False),
    ("?x is somewhere over ?any", ("parcel p0 lies on parcel p1",), True),
    ("parcel p2 is somewhere over ?x", _STACK, True),
    ("parcel p3 is somewhere over ?x", _STACK, False),
    ("parcel p2 is somewhere over ?any", _STACK, True),
    ("parcel p0 is somewhere over ?any", _STACK, False),
    ("?any is somewhere over ?other", _STACK, True),
    ("?any is somewhere over ?other", ("parcel p1 is safe",), False),
    ("?any is somewhere over ?any", _STACK, False),
    ("?any is somewhere over ?any", (*_STACK, "parcel p0 lies on parcel p2"), True),
    ("?any is lost", ("parcel p2 is sent", "the width of parcel p2 is 2 mm"), True),
    ("?any is lost", ("parcel p2 is sent", "the width of parcel p2 is 1 mm"), False),
    ("?any is lost", ("parcel p2 is sent", "the width of parcel p1 is 2 mm"), False),
    ("?any is lost", ("parcel p2 is sent", "the width of parcel p2 is 2 mm", "parcel p2 is kept on shelf 1"), False),
    ("?any is moved to shelf 1", ("parcel p2 is kept on shelf 1",), True),
    ("?any is moved to shelf 1", ("parcel p2 is kept on shelf 0",), False),
    ("?x is moved to ?shelf", ("parcel p2 is kept on shelf 0",), False),
    ("?x is moved to ?shelf", ("parcel p0 is kept on shelf 0",), True),
]


@pytest.mark.parametrize(("exception", "held", "present"), _PRESENT)
def test_what_is_said_to_be_absent_is_looked_for_through_rules(exception: str, held: tuple[str, ...], present: bool) -> None:
    """A proof that a parcel is safe is refused where what its rule excepts follows, about whatever thing that is."""
    rules = [
        *OVER,
        rule("guard", "?x is open", "?x is safe", exception),
        rule("lost", "?y is sent;the width of ?y is above 1 mm", "?y is lost", "?y is moved to shelf 1"),
        rule("moved", "?y is kept on ?s", "?y is moved to ?s"),
    ]
    guard = rules[-3]
    absent = tuple(each.filled({"x": "p0"}) for each in guard.exceptions)
    proof = Proof(Statement("safe", "p0"), "guard", (("x", "p0"),), (_leaf("p0"),), absent=absent)
    facts = {LANGUAGE.parse(sentence): FACT for sentence in (*held, "parcel p0 is open")}
    fault = ProofChecker(INVENTED, {one.id: one for one in rules}, facts, {}).fault(proof)
    assert (fault is not None and "absent" in fault) is present
    assert present or fault is None
