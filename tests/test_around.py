"""The knowledge around a thing, both ways: what holds of it, what leads to it, and which rules speak of it."""

from __future__ import annotations

import pytest

from finishing_kg.advice.around import around
from finishing_kg.engine import Knowledge


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    """The shipped knowledge."""
    return Knowledge.shipped()


def test_both_ways_agree(knowledge: Knowledge) -> None:
    """Where one thing's statements lead to another, that one shows the same statement as leading to it."""
    felt = around(knowledge, "felt-wheel")
    assert felt is not None
    assert felt.held
    for mention in felt.held:
        for other in mention.leads_to:
            there = around(knowledge, other)
            assert there is not None
            assert mention.sentence in [each.sentence for each in there.leading_here]


def test_every_claim_of_the_ontology_is_found_from_its_subject(knowledge: Knowledge) -> None:
    """Nothing is left out: the statements of all carriers are as many as the ontology holds of them, and each names its basis."""
    for name in knowledge.vocabulary.things("carrier"):
        found = around(knowledge, name.id)
        assert found is not None
        assert len(found.held) == sum(claim.subject == name.id for claim in knowledge.vocabulary.claims)
        assert all(mention.basis for mention in found.held)


def test_rules_lead_on_and_back(knowledge: Knowledge) -> None:
    """A rule that speaks of a thing leads back to it by one of its own sentences."""
    felt = around(knowledge, "felt-wheel")
    assert felt is not None
    assert felt.rules
    for rule in felt.rules:
        there = around(knowledge, f"rule/{rule.id}")
        assert there is not None
        naming = {mention.sentence.split()[0] for mention in there.held if "felt-wheel" in mention.leads_to}
        assert naming == set(rule.places)
        assert rule.because in there.note


def test_what_is_not_known_has_nothing_around_it(knowledge: Knowledge) -> None:
    """An unknown thing and an unknown rule are no places to go."""
    assert around(knowledge, "nothing") is None
    assert around(knowledge, "rule/nothing") is None
