"""Minutes and depths of the steps of a route as an answer gives them, with what they were reckoned for."""

from collections.abc import Sequence

from finishing_kg.advice.contract import AskBack, Range
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity, two_figures
from finishing_kg.quantities import Expected
from finishing_kg.quantities.ranges import across
from finishing_kg.record import record
from finishing_kg.routes import Case, Judged, face_area, halfway
from finishing_kg.statements import Statement


@record(frozen=True)
class Amounts:
    """What is told of the amounts of one step; ``None`` where it is not known.

    Attributes:
        removal, minutes, damage, speed: as the contract has them.
        minutes_unknown: why minutes or removal are not known.
        a_millimetre: the minutes of a millimetre, where only how much has to come off is not known.
        if_stopped: what is left where the step is stopped after half its minutes, or why that cannot be told.
        root: the statement whose proof lists the working: the minutes, else the removal.
    """

    removal: Range | None
    minutes: Range | None
    damage: Range | None
    speed: Range | None
    minutes_unknown: str | None
    a_millimetre: Range | None
    if_stopped: str
    root: Statement | None


def range_of(quantity: Quantity | None) -> Range | None:
    """A quantity as plain numbers in its own unit; grain sizes come in µm."""
    if quantity is None:
        return None
    low, high = quantity.low, quantity.high
    return Range(low=None if low is None else float(low), mid=float(quantity.mid), high=None if high is None else float(high))


def of_step(knowledge: Knowledge, judged: Judged, step: str) -> Amounts:
    """The amounts of one judged step."""
    expected = judged.expected[step]
    named = [("expectedMinutes", expected.minutes), ("expectedRemoval", expected.removal)]
    root = next((Statement(predicate, step, quantity) for predicate, quantity in named if quantity is not None), None)
    return Amounts(
        removal=range_of(expected.removal),
        minutes=range_of(expected.minutes),
        damage=range_of(expected.cracks_left),
        speed=range_of(expected.speed),
        minutes_unknown=_unknown(expected),
        a_millimetre=range_of(expected.minutes_a_millimetre),
        if_stopped=_if_stopped(knowledge, expected),
        root=root,
    )


def _unknown(expected: Expected) -> str | None:
    why, each = expected.unknown.get("minutes") or expected.unknown.get("removal"), expected.minutes_a_millimetre
    if why is None or each is None:
        return why
    ends = f" ({two_figures(float(each.lowest))} to {two_figures(float(each.highest))})" if each.low is not None else ""
    return f"{why} Each millimetre takes about {two_figures(float(each.mid))}{ends} minutes."


def about(minutes: float) -> str:
    """A length of time as well as it is known: to one or two figures, in hours where that is long."""
    if minutes < 1:
        return "under a minute"
    if minutes < 100:
        return f"{two_figures(minutes)} minute{'s' * (f'{minutes:.2g}' != '1')}"
    return f"{two_figures(minutes / 60)} hours"


def total_minutes(steps: Sequence[Expected]) -> Quantity | None:
    """The minutes of all steps together: middles with middles and ends with ends; ``None`` where those of a step are not known."""
    known = [step.minutes for step in steps if step.minutes is not None]
    if not known or len(known) < len(steps):
        return None
    return across(lambda *parts: sum(parts[1:], parts[0]), known, [True] * len(known), "min")


def known_minutes(steps: Sequence[Expected]) -> Quantity | None:
    """The minutes of the steps together of which they are known, where those of others are not; ``None`` where all or none are known."""
    known = [step for step in steps if step.minutes is not None]
    return total_minutes(known) if len(known) < len(steps) else None


def untimed(knowledge: Knowledge, judged: Judged, steps: Sequence[str]) -> str | None:
    """Of which steps of a route the minutes are not known, and what the others take; ``None`` where all are known."""
    unknown = [place for place, step in enumerate(steps, 1) if judged.expected[step].minutes is None]
    if not unknown:
        return None
    stages = [judged.model.objects("worksToward", steps[place - 1]) for place in unknown]
    named = [
        f"step {place} ({', '.join(knowledge.vocabulary.names[str(stage)].label for stage in found)})"
        for place, found in zip(unknown, stages, strict=True)
    ]
    rest = known_minutes([judged.expected[step] for step in steps])
    others = "the other step takes" if len(steps) - len(unknown) == 1 else "the other steps take"
    return f"how long {' and '.join(named)} takes is not known" + (f"; {others} about {about(float(rest.mid))}" if rest else "")


def face(knowledge: Knowledge, case: Case, judged: Judged, steps: Sequence[str]) -> str | None:
    """What the minutes hold for, where the size of the face was taken for granted; ``None`` without minutes."""
    areas = [judged.expected[step].area for step in steps if judged.expected[step].minutes is not None]
    if not areas or areas[0] is None:
        return None
    given = face_area(knowledge.vocabulary, case) is not None
    return f"a face of {areas[0]}" + ("" if given else ", since nobody said how large it is")


def for_this_piece(knowledge: Knowledge, case: Case, judged: Judged, steps: Sequence[str]) -> list[AskBack]:
    """What the minutes would gain from a measure of the piece."""
    if face_area(knowledge.vocabulary, case) is not None:
        return []
    area = next((judged.expected[step].area for step in steps if judged.expected[step].minutes is not None), None)
    if area is None:
        return []
    small = case.form is not None and knowledge.vocabulary.quantity(case.form, "workArea") is not None
    measure = "its area" if small else "its area, or the diameter of a round one"
    text = f"How large is the face? With {measure}, the minutes would be for your piece and not for {area}."
    return [AskBack(about="face_area", text=text)]


def _if_stopped(knowledge: Knowledge, expected: Expected) -> str:
    found = halfway(knowledge.vocabulary, expected)
    if expected.minutes is None:
        return "how much of the old marks would be left cannot be told, since it is not known how long the step takes."
    if found is None or expected.cracks_left is None:
        return "no deeper cracks are left than its own, since it finds none."
    inputs, left = found
    done, needed = (f"{float(f'{part.mid:.2g}'):g}" for part in inputs[2:])
    return f"after {done} of {needed} minutes cracks still reach about {_short(left)} µm deep, and {_short(expected.cracks_left)} µm at the end."


def _short(quantity: Quantity) -> str:
    return f"{float(f'{quantity.mid:.2g}'):g}"
