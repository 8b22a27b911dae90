"""Whole processes: start-up, memory, the interface. Each process runs alone, one after the other."""

import os
import pickle
import resource
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from finishing_kg.engine import Knowledge
from measured.questions import OTHERS, Asked, named
from measured.table import Table

ROOT = Path(__file__).resolve().parents[3]
QUESTION = "A kiln-cast plaque of studio soda-lime glass with a low relief, fresh out of the mould: how do I bring it to a pre-polish?"
PASS, PYDANTIC, ASK, FIRST_ASK = "python -c pass", "import pydantic", "ask", "ask, the first ever"
MEMORY, PAINT, EMPTY, ANSWER = "peak memory", "interface: first paint", "empty Textual app: first paint", "interface: first answer after it"
_CHILD = [sys.executable, str(Path(__file__).with_name("child.py"))]
_ROUNDS = 5


def _environment(cache: str) -> dict[str, str]:
    """As usual, with a cache folder of our own, so that nobody's cache is used or spoilt."""
    path = os.pathsep.join(str(ROOT / part) for part in (".", "tui", "tests", "tests/benchmarks"))
    # Without its byte code every module would be compiled at each start, which no installed program is.
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPATH": path, "XDG_CACHE_HOME": cache}


def _children() -> float:
    """Seconds of the processor's time that our children have taken so far."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def run(arguments: list[str], cache: str) -> tuple[float, str]:
    """How many milliseconds of the processor's time a process took, and what it printed.

    Raises:
        SystemExit: it did not end with 0, so that its time says nothing.
    """
    before = _children()
    done = subprocess.run(arguments, env=_environment(cache), capture_output=True, text=True, check=False)
    taken = (_children() - before) * 1000
    if done.returncode:
        sys.exit(f"{' '.join(arguments)[:200]} ended with {done.returncode}:\n{done.stdout[-500:]}{done.stderr[-2000:]}")
    return taken, done.stdout


def start(table: Table) -> None:
    """Python alone, the import of pydantic, and ``finishing-kg ask`` with what it keeps between runs, and without."""
    commands = {
        PASS: ["-c", "pass"],
        PYDANTIC: ["-c", "import pydantic"],
        ASK: ["-m", "finishing_kg", "ask", QUESTION],
        FIRST_ASK: ["-m", "finishing_kg", "ask", QUESTION],
    }
    taken: dict[str, list[float]] = {name: [] for name in commands}
    with TemporaryDirectory() as cache:
        for number in range(_ROUNDS + 1):
            for name, arguments in commands.items():
                with TemporaryDirectory() as empty:
                    one, _ = run([sys.executable, *arguments], empty if name == FIRST_ASK else cache)
                if number:  # the first round only compiles Python's own files and fills the cache
                    taken[name].append(one)
        kept = sum(file.stat().st_size for file in Path(cache).rglob("*") if file.is_file())
    note = f"{kept // 1000} kB kept in the cache folder" if kept else "nothing is kept in the cache folder"
    table.medians(taken, {ASK: note, FIRST_ASK: "with an empty cache folder"})


def memory(table: Table, knowledge: Knowledge) -> None:
    """The peak of a process that loads and answers two questions."""
    asked = Asked(knowledge)
    with TemporaryDirectory() as folder:
        file = Path(folder) / "program.pickle"
        file.write_bytes(pickle.dumps((asked.program, asked.changing, asked.rows[:2])))
        _, printed = run([sys.executable, "-c", "from measured.child import peak; print(peak())"], folder)
        table.add(f"{MEMORY}: python alone", float(printed), "MB")
        for name, arguments, note in (
            ("ask", ["ask", QUESTION], "the whole command"),
            ("ours", ["ours"], "loaded from files, two questions"),
            ("the program over integers", ["none", str(file)], "what the other engines' processes hold without them"),
        ):
            _peaks(table, name, arguments, folder, note)
        held = table.value(f"{MEMORY}: the program over integers")
        for name in OTHERS:
            with table.missing(named(MEMORY, name)):
                _present(name)
                _peaks(table, name, [name, str(file)], folder, f"of which {held:.0f} MB without the engine")


def _present(name: str) -> None:
    """
    Raises:
        ImportError: the engine is not installed.
    """
    module = {"clingo": "clingo", "Oxigraph": "pyoxigraph", "sqlite": "sqlite3"}.get(name, "clips")
    __import__(module)


def _peaks(table: Table, name: str, arguments: list[str], cache: str, note: str) -> None:
    run([*_CHILD, *arguments], cache)  # the first run may compile and keep something
    peaks = sorted(float(run([*_CHILD, *arguments], cache)[1].split()[-1]) for _ in range(_ROUNDS))
    table.add(named(MEMORY, name), peaks[_ROUNDS // 2], "MB", runs=_ROUNDS, note=note)


def interface(table: Table) -> None:
    """An empty Textual app and the interface, without a terminal: from the start of the process to the first picture; then one answer."""
    taken: dict[str, list[float]] = {EMPTY: [], PAINT: [], ANSWER: []}
    kinds: Mapping[str, Callable[[float, str], list[float]]] = {
        "empty": lambda begun, printed: [(float(printed.split()[-2]) - begun) * 1000],
        "interface": lambda begun, printed: [(float(word) - begun) * 1000 for word in printed.split()[-4::2]],
    }
    with TemporaryDirectory() as cache:
        for number in range(_ROUNDS + 1):
            for kind, moments in kinds.items():
                begun = time.time()
                _, printed = run([*_CHILD, kind, QUESTION], cache)
                found = moments(begun, printed)
                if number and kind == "empty":
                    taken[EMPTY] += found
                elif number:
                    taken[PAINT].append(found[0])
                    taken[ANSWER].append(found[1] - found[0])
    table.medians(
        taken,
        {
            ANSWER: "knowledge loaded meanwhile; asked at the first picture",
            PAINT: "headless, by the wall's clock",
            EMPTY: "headless, by the wall's clock",
        },
    )
