"""What a maker can change in a plan, one change at a time: the remedies of findings, carried out.

Each move gives the steps as they are after it, and the change as a sentence. What comes in place of a method, and what is put
between two steps, comes from the options that the rules offer and from the search for routes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import ROUND_CEILING, ROUND_FLOOR, Context, Decimal

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.complete import complete
from finishing_kg.advice.machine import machine_for, planned_steps
from finishing_kg.advice.plan import staged
from finishing_kg.advice.plan_writing import spelling
from finishing_kg.engine import Knowledge, Model
from finishing_kg.measure import Quantity
from finishing_kg.quantities import grain, recommended_speed, turning_speed
from finishing_kg.record import record, replace
from finishing_kg.routes import Case, PlannedStep, grades_for
from finishing_kg.statements import option_parts

Steps = tuple[PlannedStep, ...]
_WHEEL = ("wheelDiameter", "spindleSpeed", "ratedSpeed")
_MOST_METHODS, _MOST_GRADES = 10, 8
_DOWN, _UP = Context(prec=2, rounding=ROUND_FLOOR), Context(prec=2, rounding=ROUND_CEILING)


@record(frozen=True)
class Move:
    """One way to change a plan.

    Attributes:
        steps: as they are afterwards.
        changes: the changes as sentences; a step put in is a change of its own.
        parts: how many parts of steps it touches; of equally many changes those that touch less come first.
    """

    steps: Steps
    changes: tuple[str, ...]
    parts: int = 1


@record(frozen=True)
class Judgement:
    """What the rules say to the steps of a plan.

    Attributes:
        model: everything that holds.
        ids: of the steps in it.
        troubles: what is to be stopped for or careful of: ids of findings, each with the place of its step, ``None`` for the piece.
    """

    model: Model
    ids: tuple[str, ...]
    troubles: tuple[tuple[int | None, str], ...]


class Bench:
    """The moves over the steps of one piece.

    Args:
        knowledge: ontology and rules.
        case: the piece.
        steps: as planned; what they use is there, so it comes first where something is put in.
    """

    def __init__(self, knowledge: Knowledge, case: Case, steps: Steps) -> None:
        self.knowledge, self.vocabulary, self.case = knowledge, knowledge.vocabulary, case
        self._offered: dict[str, list[str]] = {}
        self._routes: dict[tuple[str | None, ...], Steps] = {}
        named = (part for step in steps for part in (step.mineral, step.carrier) if part)
        # A plan shows what is there, unless it is written down.
        used = dict.fromkeys(part for part in named if self.vocabulary.names[part].kind not in case.limited_in)
        self._supplied = replace(case, at_hand=tuple(dict.fromkeys((*case.at_hand, *used))))

    # Each of the following takes the steps, the place of the one at fault counted from 0, and what the rules say to them.

    def wet(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Run it wet."""
        if steps[at].wet is not True and steps[at].hold != "air-borne":
            yield Move(_with(steps, at, replace(steps[at], wet=True)), (f"Step {at + 1}: run it wet.",))

    def slower(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Turn it slower, within what is marked and what the carrier works at, or take a smaller wheel."""
        said = dict(steps[at].measures)
        spindle, diameter, mark = (said.get(part) for part in ("spindleSpeed", "wheelDiameter", "ratedSpeed"))
        carrier = steps[at].carrier
        mark = mark or (self.case.marks.get(carrier) if carrier else None)
        usual = recommended_speed(self.vocabulary, carrier) if carrier else None
        limits = [mark.lowest] if mark else []
        if usual and diameter and diameter.lowest:
            limits.append(turning_speed(diameter, usual, self.vocabulary.units).highest)
        if spindle and limits and min(limits) > 0:
            turns = _round(min(limits), "rpm", _DOWN)
            yield Move(_measured(steps, at, "spindleSpeed", turns), (f"Step {at + 1}: turn at {turns} instead of {spindle}.",))
        if spindle and usual and diameter and spindle.highest:
            across = diameter.mid * min(limits) / spindle.highest if limits else diameter.mid
            smaller = _round(across, diameter.unit, _DOWN)
            if 0 < smaller.mid < diameter.mid:
                yield Move(_measured(steps, at, "wheelDiameter", smaller), (f"Step {at + 1}: take a wheel of {smaller} instead of {diameter}.",), 2)

    def longer(self, steps: Steps, at: int, judgement: Judgement) -> Iterator[Move]:
        """Give it the time, and the depth, that it needs by the middle of the estimate."""
        said, changed, told = dict(steps[at].measures), dict(steps[at].measures), []
        for plan, need, verb in (("plannedMinutes", "neededMinutes", "go on for"), ("plannedRemoval", "neededRemoval", "take off")):
            needed = judgement.model.quantity(need, judgement.ids[at])
            if plan in said and needed is not None and needed.mid:
                changed[plan] = _round(needed.mid, needed.unit, _UP)
                told.append(f"{verb} {changed[plan]} instead of {said[plan]}")
        if told:
            yield Move(_with(steps, at, replace(steps[at], measures=tuple(changed.items()))), (f"Step {at + 1}: {' and '.join(told)}.",), len(told))

    def cabinet(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Do it in a machine that its carrier usually runs on."""
        carrier = steps[at].carrier
        for machine in self.vocabulary.related(carrier, "isDrivenBy") if carrier else ():
            if machine != steps[at].machine:
                label = self.vocabulary.names[machine].label
                yield Move(_with(steps, at, replace(steps[at], machine=machine)), (f"Step {at + 1}: use the {label}.",))

    def drop(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Leave it out, unless nothing would be left."""
        if len(steps) > 1:
            yield Move(steps[:at] + steps[at + 1 :], (f"Leave out step {at + 1}, {self._told(steps[at])}.",), 2)

    def drop_even_the_last(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Leave it out, also where the piece is then left as it is."""
        yield Move(steps[:at] + steps[at + 1 :], (f"Leave out step {at + 1}, {self._told(steps[at])}.",))

    def swap(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Do it before the step before it, or after the one after it."""
        for first in (at - 1, at):
            if first >= 0 and first + 1 < len(steps):
                swapped = (*steps[:first], steps[first + 1], steps[first], *steps[first + 2 :])
                yield Move(swapped, (f"Do step {first + 2} before step {first + 1}.",))

    def regrade(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Take another grade of the same grain, or one before it where the step before left too coarse a surface."""
        for place in (at, at - 1):
            if place >= 0:
                yield from self._regrade(steps, place)

    def _regrade(self, steps: Steps, at: int) -> Iterator[Move]:
        step = steps[at]
        if not step.mineral or not step.hold:
            return
        entering = next((left for each in reversed(steps[:at]) if each.grade and (left := grain(self.vocabulary, each.grade))), None)
        size = grain(self.vocabulary, step.grade) if step.grade else None
        wanted = size.mid if size else entering.mid / 2 if entering else None
        sized = [(grade, here.mid) for grade, here in self._sized(self._grades(step.mineral, step.hold, step.carrier)) if grade != step.grade]
        if wanted:
            sized.sort(key=lambda each: (max(each[1] / wanted, wanted / each[1]), each[0]))
        for grade, _ in sized[:_MOST_GRADES]:
            words = spelling(self.vocabulary, grade, step.mineral, step.hold)
            traits = tuple(trait for trait in step.traits if trait != "hasAnUnknownGrade")
            changed = staged(self.vocabulary, replace(step, grade=grade, traits=traits), self.case)
            before = f" instead of {spelling(self.vocabulary, step.grade, step.mineral, step.hold)}" if step.grade else ""
            yield Move(_with(steps, at, changed), (f"Step {at + 1}: take {words}{before}.",))

    def _grades(self, mineral: str, hold: str, carrier: str | None) -> list[str]:
        return grades_for(self.vocabulary, self.case, mineral, hold, carrier)

    def _sized(self, grades: Iterable[str]) -> list[tuple[str, Quantity]]:
        return [(grade, size) for grade in grades if (size := grain(self.vocabulary, grade))]

    def method(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Do the same stage with another grain, hold or carrier that the rules offer."""
        step, stages = steps[at], dict.fromkeys(stage for stage in (steps[at].stage, self.case.finish) if stage)
        own = (step.mineral, step.hold, step.carrier)
        for stage in stages:
            way = self._route(steps[:at], stage)
            if len(way) == 1:
                yield Move(_with(steps, at, way[0]), (f"Step {at + 1}: take {self._told(way[0])}, instead of {self._told(step)}.",), 4)
        options = [option for stage in stages for option in self._options(stage)]
        ranked = sorted(options, key=lambda option: sum(a != b for a, b in zip(option_parts(option), own, strict=False)))
        for option in ranked[:_MOST_METHODS]:
            mineral, hold, carrier, _ = option_parts(option)
            changed = self._fitted(step, mineral, hold, carrier)
            if changed != step:
                parts = sum(a != b for a, b in zip((mineral, hold, carrier, changed.grade), (*own, step.grade), strict=True))
                yield Move(_with(steps, at, changed), (f"Step {at + 1}: take {self._told(changed)}, instead of {self._told(step)}.",), parts)

    def _fitted(self, step: PlannedStep, mineral: str, hold: str, carrier: str) -> PlannedStep:
        """A step with another method; what belonged to the old wheel goes with it."""
        vocabulary, grade = self.vocabulary, step.grade
        grades = self._grades(mineral, hold, carrier) if not vocabulary.holds(mineral, "isUngraded") else []
        if grade not in grades:
            size = grain(vocabulary, grade) if grade else None
            band = vocabulary.quantity(step.stage, "grainBand") if step.stage else None
            aim = size.mid if size else (band.lowest * band.highest).sqrt() if band else Decimal(1)
            sized = [(max(here.mid / aim, aim / here.mid), each) for each, here in self._sized(grades)]
            grade = min(sized)[1] if sized else None
        fits = step.machine is None or step.machine in vocabulary.related(carrier, "isDrivenBy")
        machine = step.machine if fits else machine_for(self.knowledge, self.case, carrier)
        measures = step.measures if carrier == step.carrier else tuple(each for each in step.measures if each[0] not in _WHEEL)
        wet = False if hold == "air-borne" else True if step.hold == "air-borne" else step.wet
        changed = PlannedStep(mineral, hold, carrier, grade, machine, None, wet, measures=measures)
        return staged(vocabulary, changed, self.case)

    def _options(self, stage: str) -> list[str]:
        if stage not in self._offered:
            self._offered[stage] = Advice(self.knowledge, replace(self._supplied, finish=stage)).search.offered(stage)
        return self._offered[stage]

    def fill(self, steps: Steps, at: int, _judgement: Judgement) -> Iterator[Move]:
        """Put in the steps that are missing before it."""
        step = steps[at]
        if step.stage is None:
            return
        way = self._route(steps[:at], step.stage)
        size = grain(self.vocabulary, step.grade) if step.grade and self.vocabulary.holds(str(step.mineral), "cutsGlass") else None
        earlier = self.vocabulary.related(step.stage, "comesAfter")
        if size is None and earlier:
            yield from self._put_in(steps, at, self._route(steps[:at], earlier[0]))
        kept = [
            each
            for each in way
            if each.stage != step.stage or (size and each.grade and (own := grain(self.vocabulary, each.grade)) and own.mid > size.mid)
        ]
        yield from self._put_in(steps, at, tuple(kept))

    def finish(self, steps: Steps, _at: int, _judgement: Judgement) -> Iterator[Move]:
        """Go on to the finish after the last step."""
        if self.case.finish:
            yield from self._put_in(steps, len(steps), self._route(steps, self.case.finish))

    def anew(self, steps: Steps) -> Iterator[Move]:
        """Do the whole work in the way that would be advised."""
        way = self._route((), self.case.finish) if self.case.finish else ()
        if way:
            gone = [f"Leave out step {place}, {self._told(step)}." for place, step in enumerate(steps, 1)]
            yield Move(way, (*gone, *(f"Put in as step {place}: {self._told(step)}." for place, step in enumerate(way, 1))), 2 * len(way))

    def _put_in(self, steps: Steps, at: int, way: Steps) -> Iterator[Move]:
        for first in range(len(way)):  # the whole of it, or only its last steps
            told = tuple(f"Put in as step {at + place}: {self._told(step)}." for place, step in enumerate(way[first:], 1))
            yield Move((*steps[:at], *way[first:], *steps[at:]), told)

    def _route(self, before: Steps, finish: str) -> Steps:
        """The best way from what some steps leave to a finish; empty if there is none."""
        vocabulary, case = self.vocabulary, replace(self._supplied, finish=finish)
        if before:
            last = before[-1]
            left = vocabulary.related(last.stage, "leavesSurface") if last.stage else []
            cuts = last.mineral is not None and vocabulary.holds(last.mineral, "cutsGlass")
            case = replace(case, surface=left[0] if left else None, surface_grade=last.grade if cuts else None)
        key = (case.surface, case.surface_grade, finish)
        if key not in self._routes:
            advice = Advice(self.knowledge, complete(vocabulary, case))
            found = advice.search.best() if advice.case.surface else None
            made = planned_steps(self.knowledge, advice.case, found) if found else []
            self._routes[key] = tuple(staged(vocabulary, step, self.case) for step in made)
        return self._routes[key]

    def _told(self, step: PlannedStep) -> str:
        """A step in a few words."""
        names = self.vocabulary.names
        hold, mineral, carrier = (names[part].label if part else None for part in (step.hold, step.mineral, step.carrier))
        grade = spelling(self.vocabulary, step.grade, step.mineral, step.hold) if step.grade else None
        method = " ".join(filter(None, [hold, mineral, grade])) or "a grain that is not named"
        return f"{method} on the {carrier}" if carrier else method


def _with(steps: Steps, at: int, step: PlannedStep) -> Steps:
    return (*steps[:at], step, *steps[at + 1 :])


def _measured(steps: Steps, at: int, predicate: str, value: Quantity) -> Steps:
    measures = tuple({**dict(steps[at].measures), predicate: value}.items())
    return _with(steps, at, replace(steps[at], measures=measures))


def _round(value: Decimal, unit: str, context: Context) -> Quantity:
    """A value to two digits, down or up."""
    return Quantity.of(format(context.plus(value).normalize(), "f"), unit)


MoveKind = Callable[[Bench, Steps, int, Judgement], Iterator[Move]]
