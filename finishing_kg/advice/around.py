"""What stands around one thing in the knowledge: the statements that hold of it or lead to it, and the rules that speak of it.

Every statement tells which further things it names, so that one can go on from thing to thing.
"""

from collections.abc import Iterable, Iterator
from typing import Literal

from finishing_kg.engine import Knowledge
from finishing_kg.record import record
from finishing_kg.statements import Statement, rule_id
from finishing_kg.vocabulary import Basis

Place = Literal["if", "unless", "then"]


@record(frozen=True, slots=True)
class Mention:
    """One sentence.

    Attributes:
        sentence: as it is printed.
        basis: kind, source and place in the source; empty in a rule, which has one for all its sentences.
        leads_to: ids of what else it names.
    """

    sentence: str
    basis: str
    leads_to: tuple[str, ...]


@record(frozen=True, slots=True)
class RuleMention:
    """One rule that speaks of the thing: its id, where in it the thing stands, and its reason."""

    id: str
    places: tuple[Place, ...]
    because: str


@record(frozen=True, slots=True)
class Around:
    """A thing or a rule with what is next to it.

    Attributes:
        id: of the thing; of a rule with ``rule/`` before it.
        label, kind, note: what it is.
        held: statements about it; of a rule, its own sentences, each with the word that stands before it.
        leading_here: statements about other things that name it.
        rules: the rules that speak of it.
    """

    id: str
    label: str
    kind: str
    note: str
    held: tuple[Mention, ...]
    leading_here: tuple[Mention, ...] = ()
    rules: tuple[RuleMention, ...] = ()


def around(knowledge: Knowledge, identifier: str) -> Around | None:
    """What is next to a thing of the ontology or a rule (``rule/`` and its id); ``None`` where there is no such thing."""
    if identifier.startswith("rule/"):
        return _around_rule(knowledge, identifier.removeprefix("rule/"))
    name = knowledge.vocabulary.names.get(identifier)
    if name is None:
        return None
    claims = [
        (Statement(claim.predicate, claim.subject, claim.object), _told(claim.basis))
        for claim in knowledge.vocabulary.claims
        if identifier in (claim.subject, claim.object)
    ]
    return Around(
        id=identifier,
        label=name.label,
        kind=name.kind,
        note=name.note,
        held=tuple(_mention(knowledge, said, identifier, basis) for said, basis in claims if said.subject == identifier),
        leading_here=tuple(_mention(knowledge, said, identifier, basis) for said, basis in claims if said.subject != identifier),
        rules=tuple(_rules(knowledge, identifier)),
    )


def _around_rule(knowledge: Knowledge, identifier: str) -> Around | None:
    rule = knowledge.base.by_id.get(identifier)
    if rule is None:
        return None
    parts = (("if", rule.conditions), ("unless", rule.exceptions), ("then", rule.conclusions))
    held = [_mention(knowledge, each, "", "", f"{word} ") for word, sentences in parts for each in sentences]
    return Around(id=rule_id(identifier), label=identifier, kind="rule", note=f"{rule.because} ({_told(rule.basis)})", held=tuple(held))


def _told(basis: Basis) -> str:
    return ", ".join(filter(None, (basis.kind, basis.source, basis.locator)))


def _mention(knowledge: Knowledge, said: Statement, seen_from: str, basis: str, before: str = "") -> Mention:
    others = tuple(each for each in dict.fromkeys(_things(knowledge, said)) if each != seen_from)
    return Mention(f"{before}{knowledge.language.print(said)}", basis, others)


def _things(knowledge: Knowledge, said: Statement) -> Iterator[str]:
    for term in (said.subject, said.object):
        if isinstance(term, str) and term in knowledge.vocabulary.names:
            yield term


def _rules(knowledge: Knowledge, identifier: str) -> Iterator[RuleMention]:
    def named(sentences: Iterable[Statement]) -> bool:
        return any(identifier in (each.subject, each.object) for each in sentences)

    for rule in knowledge.base.rules:
        parts: tuple[tuple[Place, tuple[Statement, ...]], ...] = (("if", rule.conditions), ("unless", rule.exceptions), ("then", rule.conclusions))
        places = tuple(place for place, sentences in parts if named(sentences))
        if places:
            yield RuleMention(rule.id, places, rule.because)
