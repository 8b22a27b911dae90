"""Checking a planned setup: what would waste a day, scar a piece or hurt someone."""

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from finishing_kg.advice.ask import understood
from finishing_kg.advice.contract import FindingNote, PlanCheck
from finishing_kg.advice.plan import Plan, read_plan
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.engine import Knowledge
from finishing_kg.routes import PIECE, SAID, Judged, judge
from finishing_kg.statements import Statement

Level = Literal["stop", "caution", "note"]
_LEVELS: tuple[tuple[str, Level], ...] = (("isStoppedBy", "stop"), ("isCautionedFor", "caution"), ("isNotedFor", "note"))
_ORDER = {"stop": 0, "caution": 1, "note": 2}


def check_plan(knowledge: Knowledge, file: Path) -> PlanCheck:
    """Read and check a plan file.

    Raises:
        PlanError: the file cannot be used.
    """
    return check(knowledge, read_plan(knowledge, file))


def check(knowledge: Knowledge, plan: Plan) -> PlanCheck:
    """All findings on a plan, the worst first, then in the order of the steps."""
    judged = judge(knowledge, plan.case, [plan.steps], SAID)
    book = ReasonBook()
    reasons = Reasons(knowledge, judged.model, judged.facts, book)
    findings = [*_troubles(plan), *_missing(plan), *_from_rules(knowledge, judged, reasons, plan)]
    findings.sort(key=lambda finding: (_ORDER[finding.level], finding.step or 0, finding.code))
    return PlanCheck(understood=understood(knowledge, plan.case), findings=findings, reasons=book.ordered())


def _troubles(plan: Plan) -> Iterator[FindingNote]:
    for trouble in plan.troubles:
        if trouble.code == "unknown-grade" and trouble.step is not None:
            continue  # the rules find this one, with a proof
        yield FindingNote(code=trouble.code, level="stop", step=trouble.step, text=trouble.text, remedy=trouble.remedy)


def _missing(plan: Plan) -> Iterator[FindingNote]:
    """What the plan does not say and a check would need."""
    if not plan.steps:
        yield FindingNote(
            code="missing-fact",
            level="note",
            text="The plan has no steps, so there is nothing to check.",
            remedy="Add a table [[step]] for each step.",
        )
    unknown = {(trouble.step, trouble.part) for trouble in plan.troubles}
    needed = [("form", plan.case.form), ("surface", plan.case.surface), ("finish", plan.case.finish)]
    for part, value in needed:
        if value is None and (None, part) not in unknown:
            yield FindingNote(
                code="missing-fact",
                level="note",
                text=f"The plan does not say the {part} of the piece; checks that rest on it were left out.",
                remedy=f"Add {part} to [piece].",
            )
    for number, step in enumerate(plan.steps, 1):
        for part, value in (("mineral", step.mineral), ("hold", step.hold), ("carrier", step.carrier)):
            if value is None and (number, part) not in unknown:
                yield FindingNote(
                    code="missing-fact",
                    level="note",
                    step=number,
                    text=f"Step {number} does not say the {part}; checks that rest on it were left out.",
                    remedy=f"Add {part} to the step.",
                )


def _from_rules(knowledge: Knowledge, judged: Judged, reasons: Reasons, plan: Plan) -> Iterator[FindingNote]:
    model, names = judged.model, knowledge.vocabulary.names
    for subject, number in [(PIECE, None), *((step, place) for place, step in enumerate(judged.routes[0], 1))]:
        told: set[str] = set()
        for predicate, level in _LEVELS:
            for value in sorted(str(value) for value in model.objects(predicate, subject)):
                if value in told:
                    continue  # the same finding at a graver level was told
                told.add(value)
                rid = reasons.of(Statement(predicate, subject, value))
                because = reasons.book.reasons[rid].because or ""
                own = next((trouble for trouble in plan.troubles if trouble.code == value and trouble.step == number), None)
                remedy = own.remedy if own else names[value].texts.get("remedy")
                yield FindingNote(
                    code=names[value].notation, level=level, step=number, text=f"{own.text} {because}" if own else because, remedy=remedy, reason=rid
                )
    for value in sorted(str(value) for value in model.objects("callsForCaution", PIECE)):
        rid = reasons.of(Statement("callsForCaution", PIECE, value))
        yield FindingNote(
            code=names[value].notation,
            level="note",
            text=names[value].texts.get("says", names[value].note),
            remedy=names[value].texts.get("remedy"),
            reason=rid,
        )
