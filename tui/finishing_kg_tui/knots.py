"""A proof as a tree that is opened one knot at a time: plain data, drawn elsewhere."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from finishing_kg_tui.plain import one_line, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, BasisNote, Compared, Reason, ReasonLine, Route, RuledOut

DEEPEST = 60
SHORT_LINES = 7
Level = Literal["line", "short", "whole"]
LEVELS: dict[Level, str] = {"line": "one line", "short": "short", "whole": "whole"}
_ABSENT = "nothing here says that"
_ANYTHING = re.compile(r"\?([\w-]+)")


@dataclass(frozen=True)
class Knot:
    """One line of the tree.

    Attributes:
        text: What it says, on one line.
        rid: The reason it stands for; None for a heading or a leaf.
        reasons: Where the reasons below are looked up.
        members: The knots below a heading.
        above: The reasons on the way from the root, to stop at a circle.
        note: What a leaf rests on, to stand beside it.
        told: The reason is only told here, in one of a few lines; nothing of it opens.
        upward: What opens below is not what it rests on but what rests on it.
        option: Words that name what is ruled out here.
    """

    text: str
    rid: str | None = None
    reasons: Mapping[str, Reason] | None = None
    members: tuple[Knot, ...] = ()
    above: frozenset[str] = frozenset()
    note: str = ""
    told: bool = False
    upward: bool = False
    option: str = ""

    @property
    def opens(self) -> bool:
        """Whether anything stands below it."""
        return bool(self.members) or (self.rid is not None and not self.told)

    @property
    def reason(self) -> Reason | None:
        """The reason it stands for."""
        return self.reasons.get(self.rid) if self.reasons is not None and self.rid is not None else None


InLines = Callable[[Knot], "list[ReasonLine]"]
"""Gives the telling lines of a knot's reason; none where they are not known."""


def reason_knot(reasons: Mapping[str, Reason], rid: str, above: frozenset[str] = frozenset(), before: str = "") -> Knot:
    """The knot of a reason; a leaf that says so where it is missing, comes round in a circle or lies too deep."""
    found = reasons.get(rid)
    if found is None:
        return Knot(f"{before}the reason {one_line(rid)} was not handed over")
    said = f"{before}{one_line(found.statement)}"
    if rid in above:
        return Knot(f"{said} (already above)")
    if len(above) >= DEEPEST:
        return Knot(f"{said} (deeper than is shown)")
    return Knot(said, rid, reasons, above=above, note="" if found.rule or found.from_ else _standing(found))


def _standing(reason: Reason) -> str:
    from finishing_kg.advice.levels import standing

    return one_line(standing(reason))


def below(knot: Knot, level: Level = "whole", in_lines: InLines | None = None) -> Iterator[Knot]:
    """What stands under a knot: its rule, its reasons, what was compared, computed or absent, and its basis.

    Args:
        knot: Any.
        level: How much is told of the reasons among its members: one line, a few, or the whole, opened step by step.
        in_lines: Tells them in a few lines.
    """
    for member in knot.members:
        if level == "whole" or member.rid is None or member.told or member.upward:
            yield member
        else:
            yield from _in_lines(member, level, in_lines(member) if in_lines else [])
    if knot.rid is not None and knot.reasons is not None and not knot.told:
        yield from _resting_directly(knot) if knot.upward else _of_reason(knot, knot.reasons, knot.rid)


def _of_reason(knot: Knot, reasons: Mapping[str, Reason], of: str) -> Iterator[Knot]:
    reason, above = reasons[of], knot.above | {of}
    if reason.because:
        yield Knot(f"Because: {one_line(reason.because)}")
    for rid in reason.from_:
        yield reason_knot(reasons, rid, above)
    for found in (reason.comparison, *reason.further_comparisons):
        if found:
            yield Knot(_compared(found))
    if made := reason.computed:
        yield Knot(one_line(f"Computed: {words(made.function)} of {', '.join(made.inputs)} gives {made.result}"))
    for text in reason.absent:
        # A variable stands for whatever there may be: ``stopped by ?danger`` is said as *stopped by any danger*.
        said = _ANYTHING.sub(lambda name: f"any {words(name[1])}", one_line(text))
        yield Knot(f"Absent: {said if said.startswith(_ABSENT) else f'{_ABSENT} {said}'}")
    for rid in reason.overridden:
        yield reason_knot(reasons, rid, above, "Set aside: ")
    if reason.rule:
        yield Knot(f"Rule: {one_line(reason.rule)}")
    yield Knot(basis_line(reason.basis))


def _compared(found: Compared) -> str:
    said, common = (f"{left} {found.operator} {right}" for left, right in ((found.left, found.right), (found.left_common, found.right_common)))
    more = "; ".join(([] if common == said else [common]) + [f"margin {found.margin}"])
    return one_line(f"Compared: {said} ({more}): {found.outcome}")


def _in_lines(knot: Knot, level: Level, lines: list[ReasonLine]) -> Iterator[Knot]:
    """A reason in one line or in a few: each head with what it rests on below it."""
    if not lines:
        reason = knot.reason
        yield replace(knot, text=": ".join(filter(None, (knot.text, one_line(reason.because or "") if reason else ""))), told=True)
        return
    heads: list[Knot] = []
    for line in lines[: 1 if level == "line" else SHORT_LINES]:
        made = Knot(one_line(line.text), line.reason, knot.reasons, told=True)
        if line.depth == 0 or not heads:
            heads.append(made)
        else:
            heads[-1] = replace(heads[-1], members=(*heads[-1].members, made))
    yield from heads


def resting_on(answer: Answer, route: Route | None, rid: str) -> Knot:
    """Everything that rests on a reason: what the answer concludes from it, then step by step upwards.

    Args:
        answer: That the reason is of.
        route: The route shown, if it is of this answer.
        rid: The id of the reason.
    """
    reasons = answer.reasons
    reached = _reached(reasons, rid)
    named = [(knot, root) for knot, root in _conclusions(answer, route) if root in reached]
    head = Knot(f"What the answer concludes from it ({len(named)})", members=tuple(knot for knot, _ in named))
    directly = tuple(_resting_directly(Knot("", rid, reasons, upward=True)))
    upwards = Knot(f"What rests on it directly ({len(directly)}); each opens further up", members=directly)
    said = one_line(reasons[rid].statement) if rid in reasons else rid
    return Knot(f"What rests on: {said}", members=(head, upwards) if directly else (head, Knot("Nothing else rests on it.")), upward=True)


def _reached(reasons: Mapping[str, Reason], rid: str) -> set[str]:
    """A reason and all that rest on it, over however many steps."""
    users: dict[str, list[str]] = {}
    for user, reason in reasons.items():
        for premise in reason.from_:
            users.setdefault(premise, []).append(user)
    found, work = {rid}, [rid]
    while work:
        fresh = [user for user in users.get(work.pop(), ()) if user not in found]
        found.update(fresh)
        work += fresh
    return found


def _resting_directly(knot: Knot) -> Iterator[Knot]:
    assert knot.rid is not None and knot.reasons is not None
    above = knot.above | {knot.rid}
    for user, reason in knot.reasons.items():
        if knot.rid in reason.from_:
            said = one_line(reason.statement)
            further = any(user in each.from_ for each in knot.reasons.values())
            if user in above:
                yield Knot(f"{said} (already above)")
            else:
                yield Knot(said, user, knot.reasons, above=above, upward=True, told=not further)


def _conclusions(answer: Answer, route: Route | None) -> Iterator[tuple[Knot, str]]:
    """What the answer says, each with the reason that it says it for."""
    if route is not None:
        yield from ((step_knot(answer, route, number), step.reason) for number, step in enumerate(route.steps, 1))
    for note in (*answer.cautions, *answer.hints):
        yield Knot(f"▲ {words(note.id)}: {one_line(note.text)}", members=(reason_knot(answer.reasons, note.reason),)), note.reason
    for entry in (*answer.ruled_out, *answer.discouraged):
        yield _ruled_knot(answer, entry), entry.reason
    if answer.reason and answer.kind not in ("why", "comparison"):
        yield Knot("The answer", members=(reason_knot(answer.reasons, answer.reason),)), answer.reason


def _ruled_knot(answer: Answer, entry: RuledOut) -> Knot:
    named = " on ".join(filter(None, (" ".join(words(part) for part in (entry.hold, entry.mineral) if part), words(entry.carrier or ""))))
    return Knot(f"× {_method(entry)}", members=(reason_knot(answer.reasons, entry.reason),), option=named)


def basis_line(basis: BasisNote) -> str:
    """What a statement rests on: the kind, the source, and where in the source."""
    return one_line("Basis: " + "; ".join(filter(None, (basis.kind, basis.source, basis.locator))))


def step_knot(route_answer: Answer, route: Route, number: int) -> Knot:
    """The reasons of one step (numbered from 1) of a route."""
    step = route.steps[number - 1]
    what = " ".join(filter(None, (words(step.mineral), one_line(step.grade or ""), "on", words(step.carrier))))
    return Knot(f"Step {number}: {what}", members=(reason_knot(route_answer.reasons, step.reason),))


def overview(last: Answer, route_answer: Answer | None, route: Route | None) -> Knot:
    """Every reason there is: of the last answer, of each step of the route shown, of each caution and each thing ruled out.

    Args:
        last: The last answer.
        route_answer: The answer that brought the route shown; it may be older.
        route: The route shown.
    """
    groups: list[Knot] = []
    if last.reason:
        groups.append(Knot("The answer", members=(reason_knot(last.reasons, last.reason),)))
    if route and route_answer:
        groups += [step_knot(route_answer, route, number) for number in range(1, len(route.steps) + 1)]
    source = last if last.cautions or last.ruled_out else route_answer or last
    cautions = tuple(Knot(f"▲ Caution: {one_line(note.text)}", members=(reason_knot(source.reasons, note.reason),)) for note in source.cautions)
    ruled = tuple(_ruled_knot(source, entry) for entry in source.ruled_out)
    if cautions:
        groups.append(Knot(f"Cautions ({len(cautions)})", members=cautions))
    if ruled:
        groups.append(Knot(f"Ruled out ({len(ruled)})", members=ruled))
    return Knot("All reasons", members=tuple(groups))


def _method(entry: RuledOut) -> str:
    named = " ".join(words(part) for part in (entry.hold, entry.mineral) if part)
    carrier = words(entry.carrier or "")
    what = f"{named} on {carrier}" if named and carrier else named or carrier or "everything"
    return f"{what} is ruled out for {words(entry.stage)}"
