"""Rules of every shape: each kind of condition with each kind of exception, beside the evaluator that tries everything."""

from itertools import product

import pytest
from strategies import FACT, INVENTED
from test_engine import LANGUAGE, naive, rule

from finishing_kg.engine import Prover, evaluate
from finishing_kg.proofs import ProofChecker
from finishing_kg.rules import make_base

CONDITIONS = [
    "?x is open",
    "?x lies on ?y",
    "?y lies on ?x",
    "?x lies on parcel p1",
    "parcel p0 lies on ?x",
    "?x lies on ?x",
    "?x lies on ?y;?y is open",
    "?x lies on ?y;?y lies on ?x",
    "?x lies on ?y;?y lies on ?z;?z lies on ?x",
    "?x lies on ?y;?x is kept on ?s;?y is kept on ?s",
    "?x is open;parcel p1 lies on parcel p2",
    "?x is open;?y lies on ?z",
    "the width of ?x is above 1 mm",
    "the width of ?x is ?v;the depth of ?x is below ?v",
    "?x lies on ?y;the width of ?x is ?v;the width of ?y is at most ?v",
    "?x is open;the width of ?x is at least 2 mm",
    "?x lies on ?y;the depth of ?y is ?v;the width of ?x is above ?v",
    "the depth of ?y is ?v;the width of ?x is at least ?v",
    "?x is kept on ?s;the width of parcel p1 is ?v;the depth of ?x is at least ?v",
]
EXCEPTIONS = [
    "",
    "?x is safe",
    "?x lies on ?any",
    "?any lies on ?x",
    "?any lies on ?any",
    "?x lies on ?x",
    "?any lies on ?other",
    "?any is lost",
    "parcel p3 is safe",
    "parcel p2 is safe",
    "?x lies on parcel p1",
    "parcel p1 lies on ?x",
    "?x is kept on shelf 0",
    "?any is kept on shelf 1",
    "the width of ?x is above 1 mm",
    "the depth of ?x is at most 1 mm",
    "the width of ?any is above 5 mm",
    "the width of parcel p1 is below 1 mm",
    "?x is safe;the width of ?x is below 1 mm",
]
# A stack with a circle, one that lies on itself, sizes that surely, possibly and never meet the limits, and things that are nowhere.
GIVEN = [
    [
        "parcel p0 lies on parcel p1", "parcel p1 lies on parcel p2", "parcel p2 lies on parcel p0", "parcel p3 lies on parcel p3",
        "parcel p0 is open", "parcel p1 is open", "parcel p3 is open", "parcel p1 is safe", "parcel p3 is safe",
        "parcel p0 is kept on shelf 0", "parcel p1 is kept on shelf 0", "parcel p3 is kept on shelf 1",
        "the width of parcel p0 is 2 mm", "the width of parcel p1 is 500 to 1500 µm", "the width of parcel p3 is 1 mm",
        "the depth of parcel p0 is 1 mm", "the depth of parcel p1 is 500 to 1500 µm", "the depth of parcel p3 is 3 mm",
    ],
    [
        "parcel p0 lies on parcel p1", "parcel p0 lies on parcel p2", "parcel p3 lies on parcel p1",
        "parcel p0 is open", "parcel p1 is open", "parcel p2 is open", "parcel p2 is safe", "parcel p0 is kept on shelf 1",
        "the width of parcel p0 is 3 mm", "the width of parcel p0 is 500 µm", "the width of parcel p1 is 700 µm", "the width of parcel p2 is 6 mm",
        "the depth of parcel p0 is 900 µm", "the depth of parcel p2 is 2 mm",
    ],
]  # fmt: skip


@pytest.mark.parametrize("conditions", CONDITIONS)
@pytest.mark.parametrize("sentences", GIVEN, ids=["circle", "tree"])
def test_a_rule_of_every_shape_concludes_what_trying_everything_does(conditions: str, sentences: list[str]) -> None:
    """With each exception and as a safety rule or not, the same follows, about the same things, with proofs that the checker accepts."""
    given_facts = {LANGUAGE.parse(sentence): FACT for sentence in sentences}
    for exception, safety in product(EXCEPTIONS, (False, True)):
        rules = [rule("shape", conditions, "?x is sent;?x is moved to shelf 1", exception, safety)]
        model = evaluate(INVENTED, make_base(rules), given_facts)
        assert model.statements() == naive(rules, set(given_facts)), (exception, safety)
        checker, prover = ProofChecker(INVENTED, model.base.by_id, given_facts, {}), Prover(model)
        derived = [statement for statement in model.statements() if statement not in given_facts]
        assert [checker.fault(proof) for statement in derived for proof in prover.proofs(statement)] == [None] * len(derived)
