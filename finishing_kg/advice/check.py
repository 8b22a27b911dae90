"""Checking a planned setup: what would waste a day, scar a piece or hurt someone."""

from collections.abc import Iterator
from pathlib import Path

from finishing_kg.advice.ask import understood
from finishing_kg.advice.contract import FindingNote, PlanCheck
from finishing_kg.advice.correct import correct
from finishing_kg.advice.findings import findings_on
from finishing_kg.advice.from_shelf import nearest_on_the_shelf
from finishing_kg.advice.plan import Plan
from finishing_kg.advice.plan_file import read_plan
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.routes import PIECE, Case, Judged, judge, with_shelf
from finishing_kg.statements import Statement

_ORDER = {"stop": 0, "caution": 1, "note": 2}


def check_plan(knowledge: Knowledge, file: Path, shelf: Case | None = None) -> PlanCheck:
    """Read and check a plan file.

    Args:
        knowledge: ontology and rules.
        file: the plan.
        shelf: what is on the studio's shelf, as a case; where given, what a plan uses beside it is a finding.

    Raises:
        PlanError: the file cannot be used.
    """
    return check(knowledge, read_plan(knowledge, file), shelf)


def check(knowledge: Knowledge, plan: Plan, shelf: Case | None = None, *, correcting: bool = True) -> PlanCheck:
    """All findings on a plan, the worst first, then in the order of the steps.

    Args:
        knowledge: ontology and rules.
        plan: as read.
        shelf: what is on the studio's shelf, as a case; where given, what a plan uses beside it is a finding.
        correcting: whether a corrected plan is looked for too, which takes many times as long.
    """
    plan = replace(plan, case=with_shelf(plan.case, shelf)) if shelf is not None else plan
    judged = judge(knowledge, plan.case, [plan.steps], brought=True)
    book = ReasonBook()
    reasons = Reasons(knowledge, judged.model, book)
    findings = list(_from_rules(knowledge, judged, reasons, plan))
    findings.sort(key=lambda finding: (_ORDER[finding.level], finding.step or 0, finding.code))
    correction = correct(knowledge, plan) if correcting and any(finding.level != "note" for finding in findings) else None
    return PlanCheck(
        understood=understood(knowledge, plan.case),
        findings=findings,
        corrected=correction.tables if correction else None,
        changes=list(correction.changes) if correction else [],
        reasons=book.ordered(),
    )


def _from_rules(knowledge: Knowledge, judged: Judged, reasons: Reasons, plan: Plan) -> Iterator[FindingNote]:
    model, names = judged.model, knowledge.vocabulary.names
    steps = [(step, place) for place, step in enumerate(judged.routes[0], 1)]
    for finding in findings_on(knowledge, model, reasons, [(PIECE, None), *steps]):
        troubles = [trouble for trouble in plan.troubles if (trouble.code, trouble.step) == (finding.code, finding.step)]
        if finding.code == "not-on-shelf" and finding.step is not None:
            yield replace(finding, remedy=nearest_on_the_shelf(knowledge, plan.case, plan.steps[finding.step - 1]))
            continue
        # The rules find that something is not known; which it is, and what to write instead, only the reading can say.
        yield from [replace(finding, text=f"{each.text} {finding.text}", remedy=each.remedy) for each in troubles] or [finding]
    for value in sorted(str(value) for value in model.objects("callsForCaution", PIECE)):
        rid = reasons.of(Statement("callsForCaution", PIECE, value))
        yield FindingNote(
            code=names[value].notation,
            level="note",
            text=names[value].texts.get("says", names[value].note),
            remedy=names[value].texts.get("remedy"),
            reason=rid,
        )
