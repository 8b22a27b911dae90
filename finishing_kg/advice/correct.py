"""The corrected plan: the one with the fewest changes in which nothing is to be stopped for or careful of."""

from collections import Counter
from collections.abc import Iterator, Sequence
from heapq import heappop, heappush
from itertools import count, islice, product

from finishing_kg.advice.bench_moves import Bench, Judgement, Move, MoveKind, Steps
from finishing_kg.advice.plan import Plan, Trouble, plan_from_tables, said_anew, staged
from finishing_kg.advice.plan_writing import PlanTables, plan_tables
from finishing_kg.engine import Knowledge
from finishing_kg.record import record, replace
from finishing_kg.routes import PIECE, judge, with_shelf

MOST_CHANGES = 6
"""Plans that differ in more than this are not looked at."""
_MOST_JUDGED = 1600  # steps, in all plans together
_OF_THE_PIECE = ("unknown-thing", "unknown-grade")
_MOST_READINGS = 3  # of a piece of which something is not known
_MOST_WAYS = 2  # to the same rest of a plan

# What can be tried for a finding, the likeliest first; for one that is not named here the last row.
_REMEDIES: dict[str, tuple[MoveKind, ...]] = {
    "dry-grinding": (Bench.wet, Bench.method, Bench.drop),
    "dry-dust": (Bench.wet, Bench.method, Bench.drop),
    "heat-risk": (Bench.wet, Bench.method, Bench.drop),
    "over-speed": (Bench.slower, Bench.method, Bench.drop),
    "over-rated-speed": (Bench.slower, Bench.method, Bench.drop),
    "lead-dust": (Bench.cabinet, Bench.method, Bench.drop),
    "unknown-grade": (Bench.regrade, Bench.method, Bench.drop),
    "unknown-thing": (Bench.method, Bench.drop),
    "damage-not-cleared": (Bench.longer, Bench.fill, Bench.regrade, Bench.method, Bench.drop),
    "grade-jump-too-large": (Bench.regrade, Bench.fill, Bench.drop, Bench.swap, Bench.method),
    "skips-pre-polish": (Bench.fill, Bench.swap, Bench.method, Bench.drop),
    "too-gentle-for-removal": (Bench.fill, Bench.method, Bench.regrade, Bench.swap, Bench.drop),
    "goes-back-coarser": (Bench.drop, Bench.regrade, Bench.swap, Bench.fill, Bench.method),
    "grade-not-finer": (Bench.drop, Bench.regrade, Bench.swap, Bench.fill, Bench.method),
    "will-not-reach-finish": (Bench.finish, Bench.regrade, Bench.swap, Bench.drop, Bench.method),
    "not-on-shelf": (Bench.regrade, Bench.method, Bench.drop, Bench.fill),
    "finish-already-passed": (Bench.drop_even_the_last,),
}
_OTHERWISE: tuple[MoveKind, ...] = (Bench.method, Bench.regrade, Bench.wet, Bench.cabinet, Bench.drop, Bench.fill)


@record(frozen=True)
class Correction:
    """What became of the search for a corrected plan.

    Attributes:
        tables: the corrected plan in the form of a plan file, or ``None``.
        changes: what is changed, as sentences in the order in which it is to be done; without a plan, why there is none.
    """

    tables: PlanTables | None
    changes: tuple[str, ...]


def correct(knowledge: Knowledge, plan: Plan) -> Correction:
    """The plan with the fewest changes that leaves nothing to stop for and nothing to be careful of.

    A part of the piece that is not known is first said anew: as each of the few known things that it may mean, or left unsaid where it
    is like none. Of the plans that follow the one with the fewest changes is taken, of equals the one with the likeliest reading.
    """
    unknown = [trouble for trouble in plan.troubles if trouble.step is None and trouble.code in _OF_THE_PIECE]
    if not unknown:
        return _correct_steps(knowledge, plan)
    best: Correction | None = None
    readings = product(*((trouble.near or (None,))[:_MOST_READINGS] for trouble in unknown))
    for values in islice(readings, _MOST_READINGS):
        case = said_anew(plan.case, unknown, values)
        # The stage of a step hangs on the finish.
        steps = [staged(knowledge.vocabulary, step, case) for step in plan.steps]
        rest = [trouble for trouble in plan.troubles if trouble not in unknown]
        found = _correct_steps(knowledge, Plan(case, steps, rest))
        if found.tables is not None and (best is None or best.tables is None or len(found.changes) < len(best.changes) - len(unknown)):
            told = (_said(knowledge, trouble, value) for trouble, value in zip(unknown, values, strict=True))
            best = Correction(found.tables, (*told, *found.changes))
        best = best or found
    assert best is not None
    return best


def _said(knowledge: Knowledge, trouble: Trouble, value: str | None) -> str:
    """A part of the piece said anew, as a change."""
    part = "the grade of the surface" if trouble.part == "grade" else f"the {trouble.part}"
    if value is None:
        return f"Piece: leave {part} unsaid, since {trouble.written!r} is like nothing that is known; what rests on it is then not judged."
    return f"Piece: write {knowledge.vocabulary.names[value].notation} as {part} instead of {trouble.written!r}, if that is what it is."


def _correct_steps(knowledge: Knowledge, plan: Plan) -> Correction:
    """The plan with the fewest changes of its steps.

    Plans are looked at in the order of what they come to at least: the changes made, and one for each step still at fault (Hart, Nilsson
    and Raphael 1968; a change that mends two steps at once may so be overlooked for two small ones). Moves are made for the first step
    at fault, since what comes after a step hardly makes it worse; of the ways to come to the same rest of a plan only a few are followed.
    Of as many changes those that touch fewer parts of a step come first. Where nothing is found within the bounds, the whole work is
    planned anew.
    """
    knowledge = knowledge.unheard
    bench, order = Bench(knowledge, plan.case, tuple(plan.steps)), count()
    judged = dict.fromkeys([tuple(plan.steps)], _judge(knowledge, plan, [tuple(plan.steps)])[0])
    ways: Counter[Steps] = Counter()
    heap = [(0, 0, 0, next(order), Move(tuple(plan.steps), (), 0))]
    while heap and sum(map(len, judged)) < _MOST_JUDGED:
        _, _, _, _, here = heappop(heap)
        troubles = judged[here.steps].troubles
        if any(at is None for at, _ in troubles):
            return Correction(None, ("No change of the steps mends what is wrong with the piece as the plan tells it.",))
        if not troubles:
            tables = plan_tables(knowledge.vocabulary, plan.case, here.steps)
            if not _found_again(knowledge, tables, plan):
                return Correction(tables, here.changes)
            continue
        first = min(at for at, _ in troubles if at is not None)
        ways[here.steps[first:]] += 1
        if ways[here.steps[first:]] > _MOST_WAYS:
            continue
        moves = {move.steps: move for move in reversed(_moves(knowledge, bench, here, first, judged[here.steps]))}
        new = [move for move in reversed(moves.values()) if move.steps not in judged and len(move.changes) <= MOST_CHANGES]
        # All at once, since the engine derives for many plans in little more time than for one.
        judged.update(zip((move.steps for move in new), _judge(knowledge, plan, [move.steps for move in new]), strict=True))
        for move in new:
            at_fault = {at for at, _ in judged[move.steps].troubles}
            heappush(heap, (len(move.changes) + len(at_fault), len(at_fault), move.parts, next(order), move))
    return _anew(knowledge, plan, bench, f"within {MOST_CHANGES} changes" if not heap else f"among the first {len(judged)} plans")


def _moves(knowledge: Knowledge, bench: Bench, here: Move, at: int, judgement: Judgement) -> list[Move]:
    """The moves for a step at fault, each after the changes made before; of two that come to the same the smaller first."""
    codes = dict.fromkeys(knowledge.vocabulary.names[code].notation for place, code in judgement.troubles if place == at)
    kinds = dict.fromkeys(kind for code in codes for kind in _REMEDIES.get(code, _OTHERWISE))
    made = [
        Move(move.steps, (*here.changes, *move.changes), here.parts + move.parts) for kind in kinds for move in kind(bench, here.steps, at, judgement)
    ]
    return sorted(made, key=lambda move: (len(move.changes), move.parts))


def _anew(knowledge: Knowledge, plan: Plan, bench: Bench, bound: str) -> Correction:
    """The whole work as it would be advised, where nothing nearer was found."""
    for move in bench.anew(tuple(plan.steps)):
        tables = plan_tables(knowledge.vocabulary, plan.case, move.steps)
        if not _found_again(knowledge, tables, plan):
            return Correction(tables, move.changes)
    return Correction(None, (f"I found no corrected plan {bound}, and no way to plan the work anew.",))


def _judge(knowledge: Knowledge, plan: Plan, every: Sequence[Steps]) -> list[Judgement]:
    """What the rules say to several plans for one piece."""
    judged = judge(knowledge, plan.case, every, brought=True)

    def troubles(subject: str) -> Iterator[str]:
        for predicate in ("isStoppedBy", "isCautionedFor"):
            yield from map(str, judged.model.objects(predicate, subject))

    of_piece = [(None, code) for code in troubles(PIECE)]
    return [
        Judgement(judged.model, ids, (*of_piece, *((at, code) for at, step in enumerate(ids) for code in troubles(step)))) for ids in judged.routes
    ]


def _found_again(knowledge: Knowledge, tables: PlanTables, plan: Plan) -> bool:
    """Whether the plan, once it is written and read, has something to stop for or to be careful of after all."""
    read = plan_from_tables(knowledge, tables, "the corrected plan")
    read = replace(read, case=with_shelf(read.case, plan.case))  # no plan file says what is on the shelf
    return bool(_judge(knowledge, read, [tuple(read.steps)])[0].troubles)
