"""A proof as a tree that is opened one knot at a time: plain data, drawn elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishing_kg_tui.plain import one_line, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, BasisNote, Reason, Route, RuledOut

DEEPEST = 60
_ABSENT = "nothing here says that"


@dataclass(frozen=True)
class Knot:
    """One line of the tree.

    Attributes:
        text: What it says, on one line.
        rid: The reason it stands for; None for a heading or a leaf.
        reasons: Where the reasons below are looked up.
        members: The knots below a heading.
        above: The reasons on the way from the root, to stop at a circle.
    """

    text: str
    rid: str | None = None
    reasons: Mapping[str, Reason] | None = None
    members: tuple[Knot, ...] = ()
    above: frozenset[str] = frozenset()

    @property
    def opens(self) -> bool:
        """Whether anything stands below it."""
        return bool(self.members) or self.rid is not None


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
    return Knot(said, rid, reasons, above=above)


def below(knot: Knot) -> Iterator[Knot]:
    """What stands under a knot: its rule, its reasons, what was compared, computed or absent, and its basis."""
    yield from knot.members
    if knot.rid is None or knot.reasons is None:
        return
    reason, above = knot.reasons[knot.rid], knot.above | {knot.rid}
    if reason.because:
        yield Knot(f"Because: {one_line(reason.because)}")
    for rid in reason.from_:
        yield reason_knot(knot.reasons, rid, above)
    if found := reason.comparison:
        common = f"{found.left_common} {found.operator} {found.right_common}"
        yield Knot(one_line(f"Compared: {found.left} {found.operator} {found.right} ({common}; margin {found.margin}): {found.outcome}"))
    if made := reason.computed:
        yield Knot(one_line(f"Computed: {words(made.function)} of {', '.join(made.inputs)} gives {made.result}"))
    for text in reason.absent:
        said = one_line(text)
        yield Knot(f"Absent: {said if said.startswith(_ABSENT) else f'{_ABSENT} {said}'}")
    for rid in reason.overridden:
        yield reason_knot(knot.reasons, rid, above, "Set aside: ")
    if reason.rule:
        yield Knot(f"Rule: {one_line(reason.rule)}")
    yield Knot(basis_line(reason.basis))


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
    ruled = tuple(Knot(f"× {_method(entry)}", members=(reason_knot(source.reasons, entry.reason),)) for entry in source.ruled_out)
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
