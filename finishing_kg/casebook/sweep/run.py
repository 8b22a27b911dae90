"""Runs a sweep on all cores; it can be stopped at any moment and goes on where it was."""

import csv
import gc
import io
import os
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager, suppress
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from finishing_kg.advice.ask import Advice, answer_of
from finishing_kg.advice.complete import complete
from finishing_kg.casebook.cores import processes
from finishing_kg.casebook.sweep.invariants import Asked, broken
from finishing_kg.casebook.sweep.twice import broken_when_asked_again
from finishing_kg.engine import Knowledge
from finishing_kg.files import CannotWrite, place_of, write_whole
from finishing_kg.routes import Case

_Work = tuple[Case, bool]  # a case, and whether it is asked again in other ways
_CHUNK = 16  # cases handed to a worker at a time: enough that passing them costs nothing, few enough that a stop loses little

_BETWEEN = " | "  # of several faults of one row


class Row(NamedTuple):
    """One case of a sweep, as a line of its table; what nobody said is empty."""

    glass: str
    make: str
    form: str
    surface: str
    grade: str
    finish: str
    kind: str
    routes: int
    steps: int
    again: int
    faults: str

    def unwaived(self, waived: Collection[str]) -> list[str]:
        """What is wrong in it, without what breaks only an invariant that may stay broken for now."""
        return [fault for fault in filter(None, self.faults.split(_BETWEEN)) if fault.partition(":")[0] not in waived]


class Swept(NamedTuple):
    """How far a sweep came: how many cases it has, how many are done, by kind of answer, and the rows in which something is wrong."""

    cases: int
    done: int
    kinds: dict[str, int]
    faulty: list[Row]


def row_of(knowledge: Knowledge, case: Case, *, again: bool) -> Row:
    """Ask about one case and look for everything that is wrong with the answer.

    Args:
        knowledge: ontology and rules.
        case: as a maker would tell it.
        again: whether to ask it again in other ways too, which takes several times as long.
    """
    parts = [case.part(part) or "" for part in ("glass", "make", "form", "surface", "surface_grade", "finish")]
    try:
        completed = complete(knowledge.vocabulary, case)
        answer = answer_of(Advice(knowledge, completed, whole=False, asking=False))
        faults = broken(Asked(knowledge.vocabulary, completed, answer))
        faults += broken_when_asked_again(knowledge, case, answer) if again else []
    except Exception as error:  # whatever it is, it is the finding
        return Row._make([*parts, "exception", 0, 0, int(again), " ".join(f"exception: {type(error).__name__}: {error}"[:400].split())])
    steps = len(answer.routes[0].steps) if answer.routes else 0
    return Row._make([*parts, answer.kind, len(answer.routes), steps, int(again), _BETWEEN.join(faults)])


def sweep(
    cases: Sequence[Case],
    table: Path,
    *,
    every: int = 20,
    workers: int | None = None,
    most: int | None = None,
    fingerprint: str = "",
    progress: Callable[[int, int], None] | None = None,
) -> Swept:
    """Ask about all cases with the shipped knowledge and write a row for each; whoever interrupts it (Ctrl-C) gets what was done so far.

    The rows stand in the order of the cases, so that their number tells where to go on.

    Args:
        cases: what to ask.
        table: the file for the rows, as CSV; beside it a file with ``.state`` tells which sweep it belongs to.
        every: of how many cases one is asked again in other ways.
        workers: how many processes; as many as there are cores unless given.
        most: how many cases to do before stopping, all unless given.
        fingerprint: tells one state of the knowledge from another; a table of another one is begun anew.
        progress: is told how many of the cases are done, and how many there are.

    Raises:
        CannotWrite: the table cannot be written, or is a file that no sweep wrote.
        OSError: there is no room for more rows; those that were written stay.
    """
    whose = sha256(f"{fingerprint} {every} {cases}".encode()).hexdigest()
    with _alone(table):
        done = _begin(table, whose)
        last = len(cases) if most is None else min(len(cases), done + most)
        work = ((case, number % every == 0) for number, case in islice(enumerate(cases), done, last))
        done += _write(table, work, workers or os.cpu_count() or 1, lambda more: progress(done + more, len(cases)) if progress else None)
    gc.collect()  # a command leaves without taking anything apart; what the system lent to the workers' pool is given back before
    found = read_rows(table)
    return Swept(len(cases), done, dict(Counter(row.kind for row in found)), [row for row in found if row.faults])


def _write(table: Path, work: Iterator[_Work], workers: int, progress: Callable[[int], None]) -> int:
    """Add the rows for some cases to a table, until it is interrupted; gives how many."""
    written = 0
    with table.open("a", encoding="utf-8", newline="") as file, suppress(KeyboardInterrupt), _workers(workers) as rows:
        writer = csv.writer(file)
        for row in rows(work):
            writer.writerow(row)
            file.flush()
            written += 1
            progress(written)
    return written


def read_rows(table: Path) -> list[Row]:
    """The rows of a table, without one that was not written to its end."""
    lines = table.read_text(encoding="utf-8").splitlines(keepends=True)
    whole = [line for line in lines[1:] if line.endswith("\n")]
    return [Row._make([*line[:7], *map(int, line[7:10]), line[10]]) for line in csv.reader(whole)]


@contextmanager
def _alone(table: Path) -> Iterator[None]:
    """Keep other sweeps from the table: rows of two would be counted as those of one."""
    from filelock import FileLock, Timeout

    place_of(table)  # a lock would make the folder that is missing
    try:
        lock = FileLock(f"{table}.lock", timeout=0)
        lock.acquire()
    except Timeout as error:
        raise CannotWrite(f"{table}: another sweep is writing this table. Wait for its end, or name another with --table.") from error
    except OSError as error:
        raise CannotWrite(f"{table}: this cannot be written ({error.strerror}). Nothing was changed.") from error
    try:
        yield
    finally:
        lock.release()


def _begin(table: Path, whose: str) -> int:
    """How many rows of this sweep the table holds; if it holds those of another, it is emptied."""
    state = table.with_name(f"{table.name}.state")
    if table.exists() and not state.exists():
        raise CannotWrite(f"{table}: this file is there already and no sweep wrote it, so it stays as it is. Name another with --table.")
    same = table.exists() and state.read_text(encoding="utf-8", errors="replace") == whose
    rows = read_rows(table) if same else []
    begun = io.StringIO(newline="")
    csv.writer(begun).writerows([Row._fields, *rows])
    # Stopped at any moment between the two, the table is taken for one of its former sweep or is whole.
    if not same:
        write_whole(state, "")
    write_whole(table, begun.getvalue())
    if not same:
        write_whole(state, whose)
    return len(rows)


_held: list[Knowledge] = []  # of a worker process, loaded once


@contextmanager
def _workers(count: int) -> Iterator[Callable[[Iterator[_Work]], Iterator[Row]]]:
    """Something that turns cases into rows, in their order, in some processes of its own."""
    if count == 1:
        yield lambda work: map(_row, work)
        return
    with processes(count, "spawn") as pool:
        yield lambda work: pool.imap(_row, work, chunksize=_CHUNK)


def _row(work: _Work) -> Row:
    if not _held:
        _held.append(Knowledge.shipped())
    return row_of(_held[0], work[0], again=work[1])
