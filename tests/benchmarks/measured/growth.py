"""How the next question grows with knowledge, rules and options; and what a proof costs."""

import statistics
import time

from engines.questions import Facts
from engines.questions import asked as apart

from finishing_kg.engine import Ground, Knowledge, Prover
from finishing_kg.proofs import ProofChecker
from finishing_kg.quantities import computations
from finishing_kg.statements import Statement
from measured.questions import WARM, forced, named
from measured.table import Table
from measured.workload import CASES, facts_of, with_more_options, with_more_rules, with_more_things

_PROVED = ("isRuledOut", "suitsTheWork", "isPreferred", "isDiscouraged")
_PROOFS = 12
BEFORE = f"{WARM}, 1 x"
BUILT, BUILT_AGAIN, CHECKED = "proof built: ours", "proof built, same prover: ours", "proof checked: ours"


def growth(table: Table, knowledge: Knowledge) -> None:
    """The next question with ten and a hundred times the things, ten times the rules and ten times the options."""
    asked = [apart(facts_of(knowledge, case)) for case in CASES.values()]
    expected = knowledge.evaluate(*asked[0]).statements()
    _next(table, BEFORE, knowledge, asked, note="taken again, just before it grows", expected=expected)
    for times in (10, 100):
        larger = with_more_things(knowledge, times)
        _next(table, f"{WARM}, {times} x things", larger, asked, note="worlds beside the one asked about", expected=expected)
    for asleep, name, note in ((True, "10 x rules", "copies that find no facts"), (False, "10 x rules, all at work", "each copy derives as much")):
        _next(table, f"{WARM}, {name}", with_more_rules(knowledge, 10, asleep=asleep), asked, note=note, expected=expected)
    more = [apart(with_more_options(facts_of(knowledge, case), 10)) for case in CASES.values()]
    _next(table, f"{WARM}, 10 x options", knowledge, more, note="each option again under other names", expected=expected)


def _next(table: Table, name: str, knowledge: Knowledge, asked: list[tuple[Facts, Ground]], *, note: str, expected: set[Statement]) -> None:
    before = time.process_time()
    model = knowledge.evaluate(*asked[0])
    forced(model)
    first = (time.process_time() - before) * 1000
    held = model.statements()
    wrong = "" if expected <= held else "; CONCLUSIONS MISSING"
    count = len(held)
    del model, held
    table.time(
        named(name), lambda run: forced(knowledge.evaluate(*asked[run % len(asked)])), note=f"{note}; {count} statements; first {first:.0f} ms{wrong}"
    )


def proofs(table: Table, knowledge: Knowledge) -> None:
    """The proof of one verdict on an option, built from a fresh model, and checked by a fresh checker."""
    built: list[float] = []
    again: list[float] = []
    checked: list[float] = []
    nodes: list[int] = []
    functions = computations(knowledge.vocabulary.units)
    asked = [apart(facts_of(knowledge, case)) for case in CASES.values()]
    begun = time.monotonic()
    for number in range(_PROOFS):
        if built and time.monotonic() - begun > 2 * table.budget:
            break
        model = knowledge.evaluate(*asked[number % len(asked)])
        predicate = _PROVED[number % len(_PROVED)]
        subjects = sorted(model.subjects(predicate))
        statement, another = (Statement(predicate, subjects[number * step % len(subjects)]) for step in (7, 11))
        checker = ProofChecker(knowledge.vocabulary, knowledge.base.by_id, model.facts, functions)
        prover = Prover(model)
        moments = [time.process_time()]
        proof = prover.proof(statement)
        moments.append(time.process_time())
        prover.proof(another)
        moments.append(time.process_time())
        fault = checker.fault(proof)
        moments.append(time.process_time())
        if fault:
            table.add(CHECKED, None, note=f"a proof has a fault: {fault}")
            return
        for times, one, two in zip((built, again, checked), moments, moments[1:], strict=False):
            times.append((two - one) * 1000)
        nodes.append(sum(1 for _ in proof.walk()))
    table.add(BUILT, statistics.median(built), runs=len(built), note=f"of a fresh model; {statistics.median(nodes):.0f} nodes")
    table.add(BUILT_AGAIN, statistics.median(again), runs=len(again), note="the next proof of the same model")
    table.add(CHECKED, statistics.median(checked), runs=len(checked), note="by a fresh checker, whose making is not counted")
