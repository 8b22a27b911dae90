"""One warmed process, and a child of it for each mutant: what lies below the room is loaded once, the room itself anew in each child."""

import contextlib
import gc
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import resource
import shutil
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable, Mapping, Sequence
from importlib.machinery import ModuleSpec
from importlib.metadata import entry_points
from pathlib import Path
from types import CodeType
from typing import Any, NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("hypothesis", "networkx", "pint", "pydantic", "pyshacl", "rapidfuzz", "rdflib", "tomlkit")
MEMORY = 6 * 2**30
"""Bytes of address space: a mutant that fills the memory is stopped before the machine is."""
SLACK, TIMES = 10.0, 5.0
"""A test may take so many seconds of processor time, and so many times what it took before."""
_SURVIVED, _KILLED, _BROKEN, _NO_TESTS = 0, 1, 99, 5


class Outcome(NamedTuple):
    """What became of a mutant: ``killed``, ``survived`` or ``timed out``, and by which test or in what else."""

    kind: str
    by: str


class HarnessFault(Exception):
    """The harness itself went wrong; nothing is said about the mutant."""


class _Planted(importlib.machinery.SourceFileLoader):
    """Loads a module from its file's place, with other code in it, and keeps nothing compiled."""

    def __init__(self, name: str, path: str, code: str) -> None:
        super().__init__(name, path)
        self._code = code

    def get_code(self, _fullname: str) -> CodeType:
        return compile(self._code, self.path, "exec", dont_inherit=True)


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, file: str, code: str) -> None:
        self.name, self._path, self._code = file.removesuffix(".py").replace("/", "."), str(ROOT / file), code

    def find_spec(self, fullname: str, _path: object, _target: object = None) -> ModuleSpec | None:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(fullname, self._path, loader=_Planted(fullname, self._path, self._code))


class _InOrder:
    """Runs some tests in the order that they are named, each under a limit of processor time, and notes the one that is run."""

    def __init__(self, seconds: Mapping[str, float], note: Path) -> None:
        self._seconds, self._note = seconds, note

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        found = {item.nodeid: item for item in items}
        items[:] = [found[test] for test in self._seconds if test in found]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        self._note.write_text(item.nodeid, encoding="utf-8")
        _within(SLACK + TIMES * self._seconds[item.nodeid])
        return (yield)


def _within(seconds: float) -> None:
    """End this process after so many seconds of processor time, or twenty times that by the clock; the system does it, so nothing can hold it up."""
    signal.setitimer(signal.ITIMER_PROF, seconds)
    signal.setitimer(signal.ITIMER_REAL, 20 * seconds)


def warm_up(room: str) -> None:
    """Load what is below a room, and nothing of the room: the ontology for all, the rules for all above ``statements``."""
    for name in HEAVY:
        importlib.import_module(name)
    for plugin in entry_points(group="pytest11"):
        plugin.load()
    from finishing_kg.vocabulary import load as ontology

    folder, rule_files = ROOT / "ontology", sorted((ROOT / "rules").glob("*.toml"))
    _keep(ontology, "load_vocabulary", (folder,))
    if room != "statements":
        from finishing_kg.rules import load as rules
        from finishing_kg.statements import Language

        # The rules are those of a vocabulary; tests that widen the vocabulary have other tables.
        def same(given: tuple[Any, ...]) -> object:
            return given[0], id(given[1].vocabulary.names), id(given[1].vocabulary.claims)

        _keep(rules, "load_rules", (rule_files, Language(ontology.load_vocabulary(folder))), same)
    gc.freeze()


def _keep(module: Any, name: str, shipped: tuple[Any, ...], same: Callable[[tuple[Any, ...]], object] = lambda given: given) -> None:
    """Let a function of a module give what is shipped without loading it again; whatever else it is asked for it loads."""
    load = getattr(module, name)
    if hasattr(load, "kept"):
        return
    held, ours = load(*shipped), same(shipped)

    def loaded(first: Any, *more: Any) -> Any:
        given = (first if isinstance(first, Path) else list(first), *more)
        return held if len(given) == len(shipped) and same(given) == ours else load(*given)

    loaded.kept = held  # type: ignore[attr-defined]
    setattr(module, name, loaded)


def forked(work: Callable[[Path], int]) -> tuple[int, str]:
    """Do something in a child of this process, in silence and within bounds.

    Args:
        work: is given an empty folder, where a file ``note`` may be left, and gives the exit status.

    Returns:
        the exit status, or the signal that ended it as a negative number; and what stands in the note.
    """
    folder = Path(tempfile.mkdtemp(prefix="mutant-"))
    child = os.fork()
    if not child:
        _child(work, folder)
    try:
        _, status = os.waitpid(child, 0)
        note = folder / "note"
        return os.waitstatus_to_exitcode(status), note.read_text(encoding="utf-8") if note.exists() else ""
    except BaseException:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        raise
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _child(work: Callable[[Path], int], folder: Path) -> None:
    """Never comes back."""
    status = _BROKEN
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # the parent decides
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        silence = os.open(os.devnull, os.O_RDWR)
        for stream in range(3):
            os.dup2(silence, stream)
        os.environ["TMPDIR"], tempfile.tempdir = str(folder), str(folder)
        os.environ["HYPOTHESIS_PROFILE"] = "mutants"
        status = work(folder)
    except BaseException:
        with contextlib.suppress(BaseException):
            (folder / "note").write_text(traceback.format_exc(), encoding="utf-8")
    finally:
        os._exit(status)


def run_pytest(files: Sequence[str], plugin: object, *more: str) -> int:
    """The tests of some files, in this process, one after the other."""
    bare = ["-q", "--assert=plain", "-o", "addopts=--strict-markers --import-mode=importlib", "-p", "no:cacheprovider", "--rootdir", str(ROOT)]
    bare += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # plugins that are warm already hold no asserts of ours
    os.chdir(ROOT)
    return int(pytest.main([*bare, *more, *(str(ROOT / file) for file in files)], plugins=[plugin]))


def tried(file: str, code: str, seconds: Mapping[str, float]) -> Outcome:
    """What tests make of a module with other code in it.

    Args:
        file: the module's, seen from the root.
        code: what is to stand in it.
        seconds: the tests to run, in this order, and the processor time that each takes.

    Raises:
        HarnessFault: the module is loaded already, or the tests could not be run.
    """
    finder = _Finder(file, code)
    if finder.name in sys.modules:
        raise HarnessFault(f"{finder.name} was loaded before the mutant could take its place.")
    files = list(dict.fromkeys(test.split("::")[0] for test in seconds))

    def work(folder: Path) -> int:
        note = folder / "note"
        sys.meta_path.insert(0, finder)
        _within(SLACK + TIMES * 10)
        note.write_text("being imported", encoding="utf-8")
        try:
            importlib.import_module(finder.name)
            for conftest in ("compiled_here", "shipped_words"):  # in which a failure would look like a wrong call of pytest
                importlib.import_module(conftest)
        except BaseException:
            return _KILLED
        note.write_text("being collected", encoding="utf-8")
        return run_pytest(files, _InOrder(seconds, note), "-x")

    status, note = forked(work)
    if status == _SURVIVED:
        return Outcome("survived", "")
    if status in (-signal.SIGPROF, -signal.SIGALRM):
        return Outcome("timed out", note)
    if status in (_BROKEN, _NO_TESTS, int(pytest.ExitCode.USAGE_ERROR)):
        raise HarnessFault(f"{file}: status {status}: {note}")
    return Outcome("killed", note)
