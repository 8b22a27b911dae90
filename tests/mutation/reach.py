"""Which test runs which lines of the rooms, and how long it takes: each file of tests is run once under coverage, and what was seen is kept."""

import ast
import hashlib
import json
import time
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from mutation.mutants import Mutant
from mutation.warm import ROOT, HarnessFault, forked, run_pytest

_SHARED = ""  # run while modules were loaded or fixtures were made: every test of the file hangs on it


class Reach(NamedTuple):
    """What one file of tests reaches.

    Attributes:
        seconds: the processor time that each of its tests took, coverage included.
        lines: for each module and line the tests that ran it; ``""`` stands for all.
    """

    seconds: dict[str, float]
    lines: dict[str, dict[str, list[str]]]


class _Recorder:
    def __init__(self, coverage: Any) -> None:
        self.coverage, self.seconds, self.failed, self._here = coverage, dict[str, float](), list[str](), _SHARED

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        self._here, began = item.nodeid, time.process_time()
        self.coverage.switch_context(self._here)
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = round(time.process_time() - began, 3)
            self._here = _SHARED
            self.coverage.switch_context(_SHARED)

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Any:
        if fixturedef.scope == "function":
            return (yield)
        self.coverage.switch_context(_SHARED)
        try:
            return (yield)
        finally:
            self.coverage.switch_context(self._here)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)


def digest(paths: Iterable[Path], *more: str) -> str:
    """Some files' names and contents, and some words, as one short word."""
    made = hashlib.sha256("\0".join(more).encode())
    for path in sorted(paths):
        made.update(str(path.relative_to(ROOT)).encode() + b"\0" + path.read_bytes() + b"\0")
    return made.hexdigest()[:16]


def program() -> list[Path]:
    """All files that an answer hangs on."""
    parts = (("finishing_kg", "*.py"), ("rules", "*.toml"), ("ontology", "*.ttl"))
    return [file for folder, kind in parts for file in (ROOT / folder).rglob(kind)]


def reach_of(tests: str, slow: Sequence[str], rooms: Sequence[str], work: Path) -> Reach:
    """What a file of tests, or one test of it, reaches of some rooms; measured if it is not known.

    Args:
        tests: seen from the root.
        slow: tests that are left out.
        rooms: that are looked at.
        work: where it is kept.

    Raises:
        HarnessFault: a test fails on the program as it is.
    """
    file = tests.split("::", maxsplit=1)[0]
    left = [test for test in slow if test.startswith(f"{file}::")]
    kept = work / f"reach-{Path(file).stem}-{digest([*program(), ROOT / file, ROOT / 'tests' / 'conftest.py'], tests, *left)}.json"
    if not kept.exists():
        status, note = forked(lambda folder: _measure(tests, left, rooms, kept, folder))
        if status or not kept.exists():
            raise HarnessFault(f"{tests} cannot be used, its tests end with {status}: {note}")
    return Reach(*json.loads(kept.read_text(encoding="utf-8")))


def _measure(tests: str, left: Sequence[str], rooms: Sequence[str], kept: Path, folder: Path) -> int:
    from coverage import Coverage

    coverage = Coverage(data_file=None, config_file=False, include=[f"{ROOT}/finishing_kg/{room}/*" for room in rooms])
    recorder = _Recorder(coverage)
    coverage.start()
    status = run_pytest([tests], recorder, *(f"--deselect={test}" for test in left))
    coverage.stop()
    if status:
        (folder / "note").write_text(", ".join(recorder.failed), encoding="utf-8")
        return status
    data = coverage.get_data()
    lines = {str(Path(file).relative_to(ROOT)): data.contexts_by_lineno(file) for file in data.measured_files()}
    part = kept.with_suffix(".part")
    part.write_text(json.dumps([recorder.seconds, lines]), encoding="utf-8")
    part.replace(kept)
    return 0


def tests_for(mutant: Mutant, source: str, reaches: Sequence[Reach], budget: float) -> dict[str, float]:
    """The tests to run, in their order, with the time each takes: those that run the changed lines, the quickest first, then others.

    A table that is made once and kept is made in the first test that asks for it, and another may be the one that shows it wrong:
    so what the other tests of the file say is heard too, after these.

    Args:
        mutant: that they are to notice.
        source: the module before it was changed.
        reaches: what the files of tests of its room reach.
        budget: seconds of processor time that all of them may take; who takes longest is left out.
    """
    likely, seconds = set[str](), dict[str, float]()
    span = range(*_statement(source, mutant.lines))
    for reach in reaches:
        hit = {test for line in span for test in reach.lines.get(mutant.module, {}).get(str(line), ())}
        if hit:
            seconds.update(reach.seconds)
            likely.update(reach.seconds if hit == {_SHARED} else hit - {_SHARED})
    chosen: dict[str, float] = {}
    for test in sorted(seconds, key=lambda test: (test not in likely, seconds[test])):
        if (budget := budget - seconds[test]) < 0:
            break
        chosen[test] = seconds[test]
    return chosen


def _statement(source: str, lines: tuple[int, int]) -> tuple[int, int]:
    """The lines of the statement (of a compound one: its head) that changed lines are in, as a half-open range; an interpreter may report any."""
    best = (lines[0], lines[1] + 1)
    smallest = len(source)
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.stmt):
            body = getattr(node, "body", None)
            end = body[0].lineno if body and body[0].lineno > node.lineno else (node.end_lineno or node.lineno) + 1
            if node.lineno <= lines[0] < end and end - node.lineno < smallest:
                best, smallest = (node.lineno, max(end, lines[1] + 1)), end - node.lineno
    return best
