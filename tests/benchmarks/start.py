"""How long ``finishing-kg ask`` takes from the shell, start-up included, and how much memory, beside what it is measured against.

Run: ``python tests/benchmarks/start.py [RUNS]``; with ``--interface`` instead the way to the interface's first picture and first answer, beside an
empty application of the same toolkit. Nothing is asserted: machines differ and are busy. What can be compared are the
ratios, since each round runs every command once, one after the other. Compiled knowledge and compiled Python go into a
folder of the benchmark's own; *first ever* begins with that of the knowledge emptied.
"""

import argparse
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
QUESTION = "A kiln-cast plaque of studio soda-lime glass with a low relief, fresh out of the mould: how do I bring it to a pre-polish?"
ASK = ["-m", "finishing_kg", "ask", QUESTION]
BARE, PYDANTIC, FIRST = "python -c pass", 'python -c "import pydantic"', "ask, first ever"
COMMANDS = {
    BARE: ["-c", "pass"],
    PYDANTIC: ["-c", "import pydantic"],
    "finishing-kg --version": ["-m", "finishing_kg", "--version"],
    FIRST: ASK,
    "ask": ASK,
    "ask --json": [*ASK[:-1], "--json", QUESTION],
}
# What each must come to and should, as multiples of the import of pydantic; memory in MB.
TARGETS = {"ask": (1.5, 0.5), "ask --json": (1.5, 0.5), FIRST: (15.0, 8.0)}
MEMORY = (60, 25)
FIRST_PICTURE = 1.5  # times that of an empty application
CHILD = Path(__file__).with_name("measured") / "child.py"
# Asks in a process of its own and tells the most memory that it held, and how the time went.
_MEASURED = """
import io, json, resource, sys, time
from contextlib import redirect_stdout
begun = last = time.perf_counter()
parts = {}
def lap(name):
    global last
    now = time.perf_counter()
    parts[name] = parts.get(name, 0.0) + 1000 * (now - last)
    last = now
from finishing_kg.cli.main import _parser
options = _parser(["ask"]).parse_args(["ask", sys.argv[1]])
lap("command line")
from finishing_kg.chat import Dialogue
from finishing_kg.cli.commands import _knowledge
from finishing_kg.cli.render import render_answer
lap("modules")
knowledge = _knowledge()
lap("compiled knowledge")
plain = type(knowledge).evaluate
def evaluate(self, *given, **named):
    here = time.perf_counter()
    model = plain(self, *given, **named)
    taken = 1000 * (time.perf_counter() - here)
    parts["rules evaluated"] = parts.get("rules evaluated", 0.0) + taken
    parts["answer, rules aside"] = parts.get("answer, rules aside", 0.0) - taken
    return model
type(knowledge).evaluate = evaluate
answer = Dialogue(knowledge).say(sys.argv[1])
lap("answer, rules aside")
with redirect_stdout(io.StringIO()):
    render_answer(knowledge, answer)
lap("printing")
largest = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * (1 if sys.platform == "darwin" else 1024)
print(json.dumps({"bytes": largest, "parts": parts}))
"""


class Runner:
    """Runs Python processes with compiled forms in one folder."""

    def __init__(self, folder: Path) -> None:
        self.cache = folder / "knowledge"
        kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        path = os.pathsep.join([str(ROOT), str(ROOT / "tui")])
        own = {"PYTHONPATH": path, "PYTHONPYCACHEPREFIX": str(folder / "python"), "FINISHING_KG_CACHE": str(self.cache)}
        self.environment = {**kept, **own}

    def run(self, arguments: list[str]) -> tuple[float, str]:
        """The seconds from start to end of one process, and what it printed.

        Raises:
            SystemExit: it did not end with 0, so that its time says nothing.
        """
        begun = time.perf_counter()
        done = subprocess.run([sys.executable, *arguments], env=self.environment, capture_output=True, text=True, check=False)
        taken = time.perf_counter() - begun
        if done.returncode:
            sys.exit(f"{' '.join(arguments)} ended with {done.returncode}:\n{done.stdout[-500:]}{done.stderr[-2000:]}")
        return taken, done.stdout


def interface(runs: int) -> None:
    """Measure and print the way to the interface's first picture and to the answer of a question asked then; the first round is left out.

    The wall's clock tells what a maker waits, the processor's time what does not depend on who else works on this machine.
    """
    names = ("empty application, first picture", "interface, first picture", "interface, first answer")
    wall: list[tuple[float, ...]] = []
    worked: list[tuple[float, ...]] = []
    with tempfile.TemporaryDirectory() as folder:
        runner = Runner(Path(folder))
        for number in range(runs + 1):
            found = []
            for arguments in (["empty"], ["interface", QUESTION]):
                begun = time.time()
                printed = runner.run([str(CHILD), *arguments])[1]
                found += [(float(at) - begun, float(used)) for at, used in map(str.split, printed.splitlines())]
            if number:
                wall.append(tuple(at for at, _ in found))
                worked.append(tuple(used for _, used in found))
    print(f"{runs} runs each, milliseconds from the start of the process; Python {sys.version.split()[0]}, {os.cpu_count()} processors")
    print(f"{'':36}{'median':>8}{'min':>8}{'x empty':>9}{'processor':>11}{'x empty':>9}{'must':>7}")
    for place, name in enumerate(names):
        median, least = (1000 * of(each[place] for each in wall) for of in (statistics.median, min))
        by_clock, by_work = (statistics.median(each[place] / each[0] for each in taken) for taken in (wall, worked))
        used = 1000 * statistics.median(each[place] for each in worked)
        must = FIRST_PICTURE if place == 1 else ""
        print(f"{name:36}{median:8.0f}{least:8.0f}{by_clock:9.2f}{used:11.0f}{by_work:9.2f}{must:>7}")


def main() -> None:
    """Do what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("runs", nargs="?", type=int, help="how often each is run; 5, or with --interface 10, unless given")
    parser.add_argument("--interface", action="store_true", help="measure the interface")
    asked = parser.parse_args()
    if asked.interface:
        interface(asked.runs or 10)
    else:
        commands(asked.runs or 5)


def commands(runs: int) -> None:
    """Measure and print the tables of the commands; the first round only warms caches and is left out."""
    taken: dict[str, list[float]] = {name: [] for name in COMMANDS}
    measured: list[dict[str, float]] = []
    largest: list[float] = []
    with tempfile.TemporaryDirectory() as folder:
        runner = Runner(Path(folder))
        for number in range(runs + 1):
            for name, arguments in COMMANDS.items():
                if name == FIRST:
                    shutil.rmtree(runner.cache, ignore_errors=True)
                one = runner.run(arguments)[0]
                if number:
                    taken[name].append(one)
            found = json.loads(runner.run(["-c", _MEASURED, QUESTION])[1])
            if number:
                measured.append(found["parts"])
                largest.append(found["bytes"] / 1e6)
    medians = {name: 1000 * statistics.median(times) for name, times in taken.items()}
    print(f"{runs} runs each, milliseconds; Python {sys.version.split()[0]}, {os.cpu_count()} processors")
    print(f"{'':30}{'median':>8}{'min':>8}{'max':>8}{'x bare':>9}{'x pydantic':>12}{'must':>7}{'aim':>6}")
    for name, times in taken.items():
        must, aim = TARGETS.get(name, ("", ""))
        figures = f"{medians[name]:8.0f}{1000 * min(times):8.0f}{1000 * max(times):8.0f}"
        print(f"{name:30}{figures}{medians[name] / medians[BARE]:9.1f}{medians[name] / medians[PYDANTIC]:12.2f}{must:>7}{aim:>6}")
    print(f"\nPeak memory of ask: {statistics.median(largest):.0f} MB (must {MEMORY[0]}, aim {MEMORY[1]})")
    print("\nWithin ask, median milliseconds; starting Python comes before:")
    for part in measured[0]:
        print(f"{part:30}{statistics.median(each[part] for each in measured):8.1f}")


if __name__ == "__main__":
    main()
