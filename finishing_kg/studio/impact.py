"""What a change to the rules would change: which answers of the case library, how, and why; or why it changes nothing.

Only what can change is run again. A case is left as it is where no rule that goes away had fired in it, and where no rule that
comes has all that it needs in any evaluation on the way to its answer (``casebook.telling`` says why that is enough).
"""

import time
from collections.abc import Callable, Iterable
from contextlib import closing
from dataclasses import dataclass, field

from finishing_kg.casebook.cases import Case
from finishing_kg.casebook.cores import done
from finishing_kg.casebook.recorded import Library
from finishing_kg.casebook.telling import tell
from finishing_kg.casebook.told import Asked, Told
from finishing_kg.engine import Knowledge, Model
from finishing_kg.studio.difference import differences, first_route, is_advice, methods
from finishing_kg.studio.nothing import why_nothing
from finishing_kg.studio.say import Account, account_of
from finishing_kg.studio.trial import Trial, shared_by

_FIRST = 0.7
"""Seconds that may pass until it is told where a change has a say."""


@dataclass(frozen=True)
class Change:
    """One answer that changes.

    Attributes:
        case: the case's id.
        file: where it stands.
        asked: what is asked, or the plan.
        advice: whether the steps of the first route, the cautions, the findings or the kind of answer change, and not only what is told beside.
        differences: old against new, in sentences.
        before, after: the first route, or the findings, a line each.
        proof: why the changed rules have a say here, a line a reason; empty where they only no longer have one.
        short: how the case now falls short of what it stands for, and did not before.
    """

    case: str
    file: str
    asked: str
    advice: bool
    differences: tuple[str, ...]
    before: tuple[str, ...]
    after: tuple[str, ...]
    proof: tuple[str, ...]
    short: tuple[str, ...]


@dataclass(frozen=True)
class Impact:
    """All that changes.

    Attributes:
        rules: ids of the rules that come, go or are changed.
        changes: the answers that change, those whose advice changes first.
        cases: how many cases there are.
        looked_at: how many of them were run again.
        left: ids of the cases that may change and were not run again, since time was up or somebody stopped.
        why_nothing: why nothing changes, in a sentence; ``None`` where something does, or where not all was looked at.
        library: the case library after the change; without what was left.
    """

    rules: tuple[str, ...]
    changes: tuple[Change, ...]
    cases: int
    looked_at: int
    left: tuple[str, ...]
    why_nothing: str | None
    library: Library = field(repr=False)


def impact(
    library: Library,
    after: Knowledge,
    *,
    within: float | None = None,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
    stop: Callable[[], bool] = lambda: False,
    hear: Callable[[Change], None] = lambda _change: None,
    first: Callable[[Account], None] | None = None,
    cores: int | None = None,
) -> Impact:
    """What changes if the knowledge behind a case library becomes another.

    Args:
        library: the cases with the answers of today.
        after: the knowledge with the change.
        within: after how many seconds no further case is begun; ``None`` runs all that may change.
        progress: told how many of the cases that may change are done, and how many there are.
        stop: asked between two cases; once it is true no further case is begun.
        hear: told of each change as it comes, those that are quick to find first.
        first: told within a second, before any case is run, where the change has a say at all; ``None`` if nobody wants to know.
        cores: on how many the cases are run; ``None`` for as many as there are, one where no process can be forked.
    """
    began = time.monotonic()
    trial = Trial(library.knowledge, after)
    if first is not None:
        first(account_of(library, trial, _FIRST if within is None else min(_FIRST, within)))
    changing = {case.id: trial.changing(library.told[case.id]) for case in library.cases}
    may_change = sorted((case for case in library.cases if any(changing[case.id])), key=lambda case: len(changing[case.id]))

    def again(case: Case) -> tuple[Told, Change | None]:
        models: list[Model] = []
        old = library.told[case.id]
        new = tell(after, case, models.append, old, changing[case.id], is_as_before=trial.is_as_before)
        return new, _change(case, old, new, trial, models) if old.answers != new.answers else None

    told: dict[str, Told] = {}
    changes: dict[str, Change] = {}
    turns = (turn for case in may_change for turn, may in zip(library.told[case.id].turns, changing[case.id], strict=True) if may)
    _make_ready(after, (asked for turn in turns for asked in turn.asked if not trial.is_as_before(asked)))
    progress(0, len(may_change))
    if not stop() and (within is None or within > 0):
        with closing(done(again, may_change, cores)) as ready:
            for place, (new, change) in ready:
                told[may_change[place].id] = new
                if change is not None:
                    changes[change.case] = change
                    hear(change)
                progress(len(told), len(may_change))
                if stop() or (within is not None and time.monotonic() - began > within):
                    break
    left = tuple(case.id for case in library.cases if any(changing[case.id]) and case.id not in told)
    found = sorted((changes[case.id] for case in library.cases if case.id in changes), key=lambda change: not change.advice)
    why = None if found or left else why_nothing(trial, [told[case.id] for case in library.cases if case.id in told])
    return Impact(trial.rules, tuple(found), len(library.cases), len(told), left, why, library.with_told(after, told))


def _make_ready(knowledge: Knowledge, questions: Iterable[Asked]) -> None:
    """Derive what no question changes and some go on from, so that not each process does."""
    for upon in {asked.upon for asked in questions}:
        shared_by(knowledge, upon)


def _change(case: Case, old: Told, new: Told, trial: Trial, models: list[Model]) -> Change:
    return Change(
        case=case.id,
        file=case.file,
        asked=case.table.get("ask") or " / ".join(case.table.get("turns", ())) or str(case.table.get("plan", "")).strip(),
        advice=is_advice(old.plain, new.plain),
        differences=tuple(differences(old.plain, new.plain)),
        before=tuple(first_route(old.plain)),
        after=tuple(first_route(new.plain)),
        proof=tuple(trial.proof(models, methods(old.plain, new.plain))),
        short=tuple(fault for fault in new.short if fault not in old.short),
    )


def in_short(change: Change) -> str:
    """A change in one line: the case and the first difference."""
    return f"{change.case}: {change.differences[0]}"


def lines_of(found: Impact, *, most: int = 10) -> list[str]:
    """An impact in lines of plain text.

    Args:
        found: the impact.
        most: how many changes are told in full; the others are named.
    """
    advice = sum(change.advice for change in found.changes)
    lines = [f"{len(found.changes)} of {found.cases} cases answer otherwise, {advice} of them in what to do; {found.looked_at} were run again."]
    if found.left:
        lines.append(f"{len(found.left)} more may change and were not run yet.")
    if found.why_nothing:
        lines = [f"It changes nothing in {found.cases} cases. {found.why_nothing}"]
    for change in found.changes[:most]:
        lines += ["", f"{change.case}: {change.asked.splitlines()[0] if change.asked else ''}"]
        lines += [f"  {difference}" for difference in change.differences]
        lines += [f"  The case falls short now: {fault}" for fault in change.short]
        lines += [f"    because {line}" if place == 0 else f"    {line}" for place, line in enumerate(change.proof)]
    if further := found.changes[most:]:
        lines += ["", f"And {len(further)} more: {', '.join(change.case for change in further)}"]
    return lines
