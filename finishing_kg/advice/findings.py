"""What the rules find in judged steps, as the findings that a check or an answer lists."""

from collections.abc import Iterable, Iterator
from typing import Literal

from finishing_kg.advice.contract import FindingNote
from finishing_kg.advice.reasons import Reasons
from finishing_kg.engine import Knowledge, Model
from finishing_kg.proofs import Proof
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement

Level = Literal["stop", "caution", "note"]

_LEVELS: tuple[tuple[str, Level], ...] = (("isStoppedBy", "stop"), ("isCautionedFor", "caution"), ("isNotedFor", "note"))


def findings_on(knowledge: Knowledge, model: Model, reasons: Reasons, subjects: Iterable[tuple[str, int | None]]) -> Iterator[FindingNote]:
    """The findings on steps, or on the piece, each once at its gravest level.

    Args:
        knowledge: for the words.
        model: with the judged steps.
        reasons: of the same model.
        subjects: ids to look at, each with the step's number, or ``None`` for the piece.
    """
    names = knowledge.vocabulary.names
    notes: set[tuple[str, str]] = set()
    for subject, number in subjects:
        told: set[str] = set()
        for predicate, level in _LEVELS:
            for value in sorted(map(str, model.objects(predicate, subject))):
                because = finding_rule(knowledge, reasons.prover.proof(Statement(predicate, subject, value))).because
                if value in told or (level == "note" and (value, because) in notes and value != "missing-fact"):
                    continue  # told at a graver level, or the same note on an earlier step; what is missing differs from step to step
                told.add(value)
                notes.add((value, because))
                rid = reasons.of(Statement(predicate, subject, value))
                yield FindingNote(
                    code=names[value].notation,
                    level=level,
                    step=number,
                    text=because,
                    remedy=names[value].texts.get("remedy"),
                    reason=rid,
                    explains=_explained(knowledge, model, reasons, subject, value),
                )


def finding_rule(knowledge: Knowledge, proof: Proof) -> Rule:
    """The rule that found what a proof proves; one that only picks the cause among several signs has nothing to say of it."""
    return knowledge.base.by_id[str(finding_proof(knowledge, proof).rule)]


def finding_proof(knowledge: Knowledge, proof: Proof) -> Proof:
    """The part of a finding's proof in which it was found; above it stands at most that it is the cause among several signs."""
    by = knowledge.base.by_id[str(proof.rule)]
    return finding_proof(knowledge, proof.premises[0]) if by.subject == "causes" else proof


def _explained(knowledge: Knowledge, model: Model, reasons: Reasons, subject: str, finding: str) -> dict[str, str]:
    """What else shows in a step and is explained by a finding, with the reasons for it."""
    vocabulary = knowledge.vocabulary
    shown = sorted(str(value) for value in model.objects("hasAsAConsequence", subject))
    return {
        vocabulary.names[other].notation: reasons.of(Statement("showsSignOf", subject, other))
        for other in shown
        if other in vocabulary.related(finding, "explains")
    }
