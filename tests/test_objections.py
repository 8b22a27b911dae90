"""What an objection rests on, told by the rules alone where that is possible."""

import pytest

from finishing_kg.advice import Advice
from finishing_kg.advice.objections import DISCOURAGED, RULED_OUT, Objection, _looked_at, _Told
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.routes import Case
from finishing_kg.rules import RuleBase

CASES = [
    Case(glass="soda-lime-studio", form="bas-relief", surface="mould-marked", finish="pre-polish"),
    Case(glass="lead-crystal", form="deep-recess", surface="sawn", finish="polish", unwanted=("diamond", "belt"), limited_in=frozenset({"carrier"})),
]
PARTS = {"usesMineral", "hasHold", "usesCarrier", "worksToward"}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.form)
@pytest.mark.parametrize("objection", [RULED_OUT, DISCOURAGED], ids=lambda objection: objection.verdict)
def test_rules_tell_what_the_proofs_show(knowledge: Knowledge, case: Case, objection: Objection) -> None:
    """Where the rules tell by themselves which parts of an option an objection looks at, its proof looks at just those."""
    advice = Advice(knowledge, case)
    reasons = Reasons(knowledge, advice.model, ReasonBook())
    told = _Told(knowledge.base)
    compared = set()
    for option in advice.model.subjects(objection.verdict):
        for rule in map(str, advice.model.objects(objection.proposal, option)):
            parts = told.by(rule, objection)
            if parts is not None:
                compared.add(rule)
                assert parts == _looked_at(reasons, option, rule, objection) & PARTS, (rule, option)
    assert compared


def test_where_the_rules_do_not_tell_the_proof_is_asked(knowledge: Knowledge) -> None:
    """A condition that holds by two rules, of which one looks at the carrier and one at the mineral, tells nothing by itself."""
    by_id = knowledge.base.by_id
    stiff = by_id["no-stiff-face-on-relief"]
    through = next(rule for rule in knowledge.base.rules if any(made.predicate == "ridesOnTheHighSpots" for made in rule.conclusions))
    swapped = {"usesCarrier": "usesMineral"}
    other = replace(
        through,
        id="another-way",
        conditions=tuple(each._replace(predicate=swapped.get(each.predicate, each.predicate)) for each in through.conditions),
    )
    assert _Told(RuleBase((stiff, through), ())).by("rule/no-stiff-face-on-relief", RULED_OUT) is not None
    assert _Told(RuleBase((stiff, through, other), ())).by("rule/no-stiff-face-on-relief", RULED_OUT) is None
