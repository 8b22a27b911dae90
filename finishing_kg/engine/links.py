"""The links of which a rule's chain is made.

Each makes a function that fills its slots, or narrows the group, in every way in which its condition holds, and goes on with the
next one. What they share is a ``Run``: the relations that the conditions are met from, and what was found.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet

from finishing_kg.engine.relation import Pairs
from finishing_kg.record import field, record
from finishing_kg.statements import Comparison

Group = AbstractSet[int] | None
"""What the group variable may stand for: any of these; ``None`` while nothing narrows it, and in a rule without variables."""

Found = tuple[tuple[int, ...], Group]
"""One firing group: the slots, and everything that the group variable stood for."""

Holds = Callable[[str, Comparison, int, int], bool | None]


@record(slots=True)
class Run:
    """What one run of a join looks at, and what it finds."""

    sources: Sequence[Pairs]
    absent: Sequence[Pairs]
    holds: Holds
    found: list[Found] = field(default_factory=list)


Step = Callable[[Run, list[int], Group], None]


def _useful(run: Run, found: AbstractSet[int], only: int) -> AbstractSet[int]:
    """Of what was found, what condition ``only`` can narrow the group with; the smaller of the two is gone through. All where it is -1."""
    return found if only < 0 else run.sources[only].all_objects() & found


def _check(index: int, subject: int, obj: int, _only: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        if slots[subject] in run.sources[index].subjects(slots[obj]):
            go(run, slots, group)

    return step


def _loop_objects(index: int, subject: int, obj: int, only: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        for each in _useful(run, run.sources[index].objects(slots[subject]), only):
            slots[obj] = each
            go(run, slots, group)

    return step


def _loop_subjects(index: int, subject: int, obj: int, only: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        for each in _useful(run, run.sources[index].subjects(slots[obj]), only):
            slots[subject] = each
            go(run, slots, group)

    return step


def _loop_pairs(index: int, subject: int, obj: int, only: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        for other in source.all_objects():
            slots[obj] = other
            for each in _useful(run, source.subjects(other), only):
                slots[subject] = each
                go(run, slots, group)

    return step


def _loop_itself(index: int, subject: int, obj: int, _only: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        for each in source.all_objects():
            if each in source.subjects(each):
                slots[subject] = slots[obj] = each
                go(run, slots, group)

    return step


LOOPS: dict[tuple[bool, bool, bool], Callable[[int, int, int, int, Step], Step]] = {
    (False, False, False): _check,
    (False, False, True): _check,
    (False, True, False): _loop_objects,
    (True, False, False): _loop_subjects,
    (True, True, False): _loop_pairs,
    (True, True, True): _loop_itself,
}
"""Which loop meets a condition, by whether its subject and its object are open, and whether they are one variable."""


def _narrowed(group: Group, more: AbstractSet[int]) -> AbstractSet[int]:
    return more if group is None else group & more


def narrow_subjects(index: int, obj: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        if fit := _narrowed(group, run.sources[index].subjects(slots[obj])):
            go(run, slots, fit)

    return step


def narrow_objects(index: int, subject: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        if fit := _narrowed(group, run.sources[index].objects(slots[subject])):
            go(run, slots, fit)

    return step


def narrow_each_object(index: int, obj: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        for each in source.all_objects():
            if fit := _narrowed(group, source.subjects(each)):
                slots[obj] = each
                go(run, slots, fit)

    return step


def narrow_each_subject(index: int, subject: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        for each in source.all_subjects():
            if fit := _narrowed(group, source.objects(each)):
                slots[subject] = each
                go(run, slots, fit)

    return step


def narrow_to_itself(index: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        fit = {each for each in (source.all_objects() if group is None else group) if each in source.subjects(each)}
        if fit:
            go(run, slots, fit)

    return step


_Test = tuple[str, Comparison, int, bool]
"""Predicate, operator and slot of the right side; and whether an unknown outcome counts as holding."""


def _passes(run: Run, test: _Test, value: int, slots: list[int]) -> bool:
    outcome = run.holds(test[0], test[1], value, slots[test[2]])
    return test[3] if outcome is None else outcome


def compared(index: int, test: _Test, subject: int, held: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        for value in run.sources[index].objects(slots[subject]):
            if _passes(run, test, value, slots):
                slots[held] = value
                go(run, slots, group)

    return step


def loop_compared(index: int, test: _Test, binds: tuple[int, int], only: int, go: Step) -> Step:
    subject, held = binds

    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        for value in source.all_objects():
            if _passes(run, test, value, slots):
                slots[held] = value
                for each in _useful(run, source.subjects(value), only):
                    slots[subject] = each
                    go(run, slots, group)

    return step


def narrow_by_comparison(index: int, test: _Test, held: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.sources[index]
        for value in source.all_objects():
            if _passes(run, test, value, slots) and (fit := _narrowed(group, source.subjects(value))):
                slots[held] = value
                go(run, slots, fit)

    return step


def unless(index: int, places: tuple[int, int], own: bool, go: Step) -> Step:
    subject, obj = places

    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.absent[index]
        if subject >= 0 and obj >= 0:
            present = slots[subject] in source.subjects(slots[obj])
        elif subject >= 0:
            present = bool(source.objects(slots[subject]))
        elif obj >= 0:
            present = bool(source.subjects(slots[obj]))
        else:
            present = any(each in source.subjects(each) for each in source.all_objects()) if own else len(source) > 0
        if not present:
            go(run, slots, group)

    return step


def unless_compared(index: int, test: tuple[str, Comparison, int], subject: int, about_group: bool, go: Step) -> Step:
    predicate, operator, right = test

    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.absent[index]
        values = source.all_objects() if about_group or subject < 0 else source.objects(slots[subject])
        meeting = [value for value in values if run.holds(predicate, operator, value, slots[right])]
        if about_group:
            assert group is not None
            fit = group
            for value in meeting:
                fit = fit - source.subjects(value)
            if fit:
                go(run, slots, fit)
        elif not meeting:
            go(run, slots, group)

    return step


def unless_group(index: int, other: int, of_subject: bool, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.absent[index]
        assert group is not None
        fit: AbstractSet[int]
        if other >= 0:
            fit = group - (source.subjects(slots[other]) if of_subject else source.objects(slots[other]))
        elif of_subject and len(source.all_objects()) < len(group):  # fewer sets to take away than members to try
            fit = group
            for each in source.all_objects():
                fit = fit - source.subjects(each)
        else:
            related = source.objects if of_subject else source.subjects
            fit = {each for each in group if not related(each)}
        if fit:
            go(run, slots, fit)

    return step


def unless_itself(index: int, go: Step) -> Step:
    def step(run: Run, slots: list[int], group: Group) -> None:
        source = run.absent[index]
        assert group is not None
        if fit := {each for each in group if each not in source.subjects(each)}:
            go(run, slots, fit)

    return step
