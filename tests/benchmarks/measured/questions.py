"""Questions to our engine and to others: loading, the next question, one fact changed, and whether all conclude the same."""

import inspect
from collections.abc import Callable, Iterable, Mapping
from itertools import cycle, islice
from typing import Any

from engines.program import Program, Row
from engines.questions import Facts
from engines.questions import asked as apart

from finishing_kg.engine import Knowledge, Model
from finishing_kg.statements import Statement
from measured.table import Table
from measured.workload import CASES, WHAT_IF, facts_of

OTHERS = ("CLIPS, logical", "CLIPS, logical, differences", "CLIPS, firing log", "clingo", "Oxigraph", "sqlite")
LOAD, FIRST, WARM, WHAT_IF_FIGURE, EQUAL = "load", "first question", "next question", "what-if", "equal"


def named(figure: str, engine: str = "ours") -> str:
    """The name of a figure of one engine."""
    return f"{figure}: {engine}"


def forced(model: Model) -> Model:
    """A model that has surely derived what it has to, even if it were one that derives when it is looked at."""
    model.holds("isRuledOut", "")
    return model


def changed(model: Model, before: Facts, after: Facts) -> Callable[[], Model] | None:
    """A call of the model's own way to change facts, if it has one: ``what_if(facts)`` or ``what_if(removed, added)``."""
    what_if = getattr(model, "what_if", None)
    if what_if is None:
        return None
    if len(inspect.signature(what_if).parameters) == 1:
        return lambda: what_if(after)
    removed = [statement for statement in before if statement not in after]
    added = {statement: fact for statement, fact in after.items() if statement not in before}
    return lambda: what_if(removed, added)


def ours(table: Table, knowledge: Knowledge) -> None:
    """Our engine: it takes statements and gives a model, all derivations kept."""
    table.time(named(LOAD), lambda _: Knowledge.shipped(), note="ontology and rules from files, or from what was compiled of them")
    asked = [apart(facts_of(knowledge, case)) for case in CASES.values()]
    fresh = [Knowledge.shipped() for _ in range(5)]
    table.time(named(FIRST), lambda run: forced(fresh[run].evaluate(*asked[0])), runs=5, warm=False, note="after loading")
    note = "three cases in turn; their options derived once"
    table.time(named(WARM), lambda run: forced(knowledge.evaluate(*asked[run % len(asked)])), runs=15, note=note)
    model, other = knowledge.evaluate(*asked[0]), apart(facts_of(knowledge, WHAT_IF))
    way = changed(model, asked[0][0], other[0])
    if way is None:
        table.time(named(WHAT_IF_FIGURE), lambda _: forced(knowledge.evaluate(*other)), runs=15, note="a whole evaluation: the model has no what_if")
        return
    try:
        same = way().statements() == knowledge.evaluate(*other).statements()
    except TypeError as error:
        table.add(named(WHAT_IF_FIGURE), None, note=f"what_if is called in another way: {error}")
        return
    if not same:
        table.add(named(WHAT_IF_FIGURE), None, note="what_if gives other statements than evaluate")
        return
    table.time(named(WHAT_IF_FIGURE), lambda _: forced(way()), runs=15, note="by the model's what_if")


def readout(table: Table, knowledge: Knowledge) -> None:
    """The next question with everything that holds read out of the model as statements."""
    asked = [apart(facts_of(knowledge, case)) for case in CASES.values()]
    table.time("next question, all statements read out: ours", lambda run: knowledge.evaluate(*asked[run % len(asked)]).statements())


class Asked:
    """The questions over integers, the same for every other engine."""

    def __init__(self, knowledge: Knowledge) -> None:
        self.program = Program(knowledge.vocabulary, knowledge.base, knowledge.facts)
        self.questions = [facts_of(knowledge, case) for case in (*CASES.values(), WHAT_IF)]
        self.rows = [self.program.question(facts) for facts in self.questions]
        self.changing = {row[0] for rows in self.rows for row in rows}
        self.expected: list[set[Statement]] = [knowledge.evaluate(*apart(facts)).statements() for facts in self.questions]

    def made(self, name: str) -> Any:
        """An engine, loaded.

        Raises:
            ImportError: it is not installed.
        """
        return load(name, self.program, self.changing, self.rows[0])


def load(name: str, program: Program, changing: Iterable[int], sample: Iterable[Row]) -> Any:
    """One of the other engines with a program loaded.

    Raises:
        ImportError: it is not installed.
    """
    if name.startswith("CLIPS"):
        from engines.by_clips import Clips

        return Clips(program, logical="logical" in name, differences="differences" in name, changing=changing)
    if name == "clingo":
        from engines.by_clingo import Clingo

        return Clingo(program)
    if name == "Oxigraph":
        from engines.by_sparql import Oxigraph

        return Oxigraph(program, changing)
    from engines.by_sqlite import Sqlite

    return Sqlite(program, changing, sample)


_HOW: Mapping[str, str] = {
    "CLIPS, logical": "derivations kept; question retracted and asserted",
    "CLIPS, logical, differences": "derivations kept; what both questions say stays asserted",
    "CLIPS, firing log": "each firing noted; question retracted and asserted",
    "clingo": "no derivations; grounded and solved anew",
    "Oxigraph": "no derivations; what no question changes derived once",
    "sqlite": "no derivations; tuned, what no question changes derived once",
}


def others(table: Table, asked: Asked) -> None:
    """The other engines, each checked for the same conclusions on every question timed."""
    for name in OTHERS:
        names = [named(figure, name) for figure in (LOAD, FIRST, WARM, WHAT_IF_FIGURE, EQUAL)]
        with table.missing(*names):
            asked.made(name)
            table.time(names[0], lambda _, name=name: asked.made(name), note="from integers in memory")
            fresh = [asked.made(name) for _ in range(5)]
            table.time(names[1], lambda run, fresh=fresh: fresh[run].ask(asked.rows[0]), runs=5, warm=False)
            engine = fresh[0]
            order = list(islice(cycle(asked.rows[: len(CASES)]), 15))
            table.time(names[2], lambda run, engine=engine, order=order: engine.ask(order[run]), runs=15, note=_HOW[name])
            two = (asked.rows[-1], asked.rows[0])
            note = "one fact retracted, one asserted" if "differences" in name else "as any next question"
            table.time(names[3], lambda run, engine=engine, two=two: engine.ask(two[run % 2]), runs=15, note=note)
            table.add(names[4], float(equal(engine, asked)), "yes = 1", runs=len(asked.rows), note="conclusions on every question timed")


def equal(engine: Any, asked: Asked) -> bool:
    """Whether an engine concludes what ours does on every question."""
    for rows, expected in zip(asked.rows, asked.expected, strict=True):
        engine.ask(rows)
        if asked.program.statements(engine.conclusions()) != expected:
            return False
    return True
