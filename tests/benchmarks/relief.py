"""How long ``finishing-kg ask`` takes as a whole process, beside what no program of this kind can go below.

Run: ``python tests/benchmarks/relief.py [RUNS]``. Nothing is asserted: machines differ and are busy. What can be
compared from day to day are the ratios, since each round runs every command once, one after the other.
"""

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
QUESTION = "A kiln-cast plaque of studio soda-lime glass with a low relief, fresh out of the mould: how do I bring it to a pre-polish?"
COMMANDS = {
    "python -c pass": ["-c", "pass"],
    'python -c "import pydantic"': ["-c", "import pydantic"],
    "finishing-kg ask": ["-m", "finishing_kg", "ask", QUESTION],
    "finishing-kg ask --json": ["-m", "finishing_kg", "ask", "--json", QUESTION],
}


def seconds(arguments: list[str]) -> float:
    """The time from start to end of one Python process.

    Raises:
        SystemExit: it did not end with 0, so that its time says nothing.
    """
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tui")])}
    begun = time.perf_counter()
    done = subprocess.run([sys.executable, *arguments], env=environment, capture_output=True, text=True, check=False)
    taken = time.perf_counter() - begun
    if done.returncode:
        sys.exit(f"{' '.join(arguments)} ended with {done.returncode}:\n{done.stdout[-500:]}{done.stderr[-2000:]}")
    return taken


def main() -> None:
    """Measure and print the table; the first round only warms the file cache and compiles, and is left out."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    taken: dict[str, list[float]] = {name: [] for name in COMMANDS}
    for number in range(runs + 1):
        for name, arguments in COMMANDS.items():
            one = seconds(arguments)
            if number:
                taken[name].append(one)
    medians = {name: statistics.median(times) for name, times in taken.items()}
    bare, pydantic = list(medians.values())[:2]
    print(f"{runs} runs each, milliseconds; Python {sys.version.split()[0]}, {os.cpu_count()} processors")
    print(f"{'':30}{'median':>8}{'min':>8}{'max':>8}{'x bare':>9}{'x pydantic':>12}")
    for name, times in taken.items():
        figures = [1000 * value for value in (medians[name], min(times), max(times))]
        print(f"{name:30}{figures[0]:8.0f}{figures[1]:8.0f}{figures[2]:8.0f}{medians[name] / bare:9.1f}{medians[name] / pydantic:12.2f}")


if __name__ == "__main__":
    main()
