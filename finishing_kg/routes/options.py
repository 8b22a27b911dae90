"""The options that are put up for judging: every method that can be bought or mixed, for each stage in question."""

from collections.abc import Iterable

from finishing_kg.engine import Ground
from finishing_kg.proofs import Fact
from finishing_kg.routes.stages import stages_to
from finishing_kg.statements import Statement, option_id
from finishing_kg.vocabulary import Basis, Vocabulary

_CONSIDERED = Fact(Basis("computed", None, "an option put up for judging"))


def methods(vocabulary: Vocabulary) -> list[tuple[str, str, str]]:
    """Every mineral in a hold that it comes in, on a carrier that takes that hold."""
    carriers_of: dict[str, list[str]] = {}
    for carrier in vocabulary.things("carrier"):
        for hold in vocabulary.related(carrier.id, "takesHold"):
            carriers_of.setdefault(hold, []).append(carrier.id)
    return sorted(
        (mineral.id, hold, carrier)
        for mineral in vocabulary.things("mineral")
        for hold in vocabulary.related(mineral.id, "comesAs")
        for carrier in carriers_of.get(hold, ())
    )


def option_facts(vocabulary: Vocabulary, stages: Iterable[str]) -> dict[Statement, Fact]:
    """The facts that make up an option for each method and stage."""
    facts: dict[Statement, Fact] = {}
    for mineral, hold, carrier in methods(vocabulary):
        for stage in stages:
            option = option_id(mineral, hold, carrier, stage)
            for predicate, value in (("usesMineral", mineral), ("hasHold", hold), ("usesCarrier", carrier), ("worksToward", stage)):
                facts[Statement(predicate, option, value)] = _CONSIDERED
    return facts


def options_for(vocabulary: Vocabulary, finish: str | None) -> Ground:
    """All options for the stages that lead to a finish, none without one: facts that every question about this finish shares."""
    stages = tuple(stages_to(vocabulary, finish)) if finish else ()
    return Ground(("options", *stages), lambda: option_facts(vocabulary, stages))
