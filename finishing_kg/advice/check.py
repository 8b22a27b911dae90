"""Checking a planned setup: what would waste a day, scar a piece or hurt someone."""

from collections.abc import Iterator
from pathlib import Path

from finishing_kg.advice.ask import understood
from finishing_kg.advice.contract import FindingNote, PlanCheck
from finishing_kg.advice.findings import findings_on
from finishing_kg.advice.plan import Plan, read_plan
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.routes import PIECE, SAID, Judged, judge
from finishing_kg.statements import Statement

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
    reasons = Reasons(knowledge, judged.model, book)
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
    steps = [(step, place) for place, step in enumerate(judged.routes[0], 1)]
    for finding in findings_on(knowledge, model, reasons, [(PIECE, None), *steps]):
        own = next((trouble for trouble in plan.troubles if trouble.code == finding.code and trouble.step == finding.step), None)
        yield replace(finding, text=f"{own.text} {finding.text}", remedy=own.remedy) if own else finding
    for value in sorted(str(value) for value in model.objects("callsForCaution", PIECE)):
        rid = reasons.of(Statement("callsForCaution", PIECE, value))
        yield FindingNote(
            code=names[value].notation,
            level="note",
            text=names[value].texts.get("says", names[value].note),
            remedy=names[value].texts.get("remedy"),
            reason=rid,
        )
