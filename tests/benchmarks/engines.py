"""Our engine beside others and beside its targets: one table of figures, all taken in one run, each a median of at least five.

Run: ``python tests/benchmarks/engines.py`` (some five minutes), or a part of it: ``--only warm``; ``--only larger`` runs only if named.
Nothing is asserted: machines differ and are busy, so compare ratios and not milliseconds; and but for the interface what counts is the
processor's time. Every engine has one process with one thread. The other engines are given integers, with comparisons worked out
beforehand, and are not timed while their conclusions are read out; ours starts from statements.
"""

import argparse
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
# In front of this folder, where this file's own name would stand for the package of other engines.
sys.path[:0] = [str(ROOT), str(ROOT / "tui"), str(ROOT / "tests")]

from measured import growth, larger, processes, questions  # noqa: E402
from measured.table import Figure, Table  # noqa: E402
from measured.targets import judged  # noqa: E402

from finishing_kg.engine import Knowledge  # noqa: E402


def _warm(table: Table, knowledge: Knowledge) -> None:
    questions.ours(table, knowledge)
    questions.readout(table, knowledge)


def _larger(table: Table, knowledge: Knowledge) -> None:
    if table.value(processes.ASK) is None:
        processes.start(table)
    larger.ask_larger(table, knowledge)


PARTS: dict[str, Callable[[Table, Knowledge], None]] = {
    "warm": _warm,
    "proofs": growth.proofs,
    "others": lambda table, knowledge: questions.others(table, questions.Asked(knowledge)),
    "growth": growth.growth,
    "start": lambda table, _: processes.start(table),
    "memory": processes.memory,
    "interface": lambda table, _: processes.interface(table),
    "larger": _larger,
}
"""The parts of the table; a target that needs a part that was left out is not judged."""

# It takes minutes where nothing is kept between runs.
_ONLY_NAMED = "larger"


def _say(figure: Figure) -> None:
    shown = (
        "-" if figure.value is None else ("yes" if figure.value else "NO") if figure.unit.startswith("yes") else f"{figure.value:.2f} {figure.unit}"
    )
    runs = f"{figure.runs} runs" if figure.runs > 1 else ""
    print(f"{figure.name:48}{shown:>16}  {'; '.join(filter(None, [runs, figure.note]))}", flush=True)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", choices=PARTS, action="append", help=f"only this part; may be given several times; {_ONLY_NAMED} only if named")
    parser.add_argument(
        "--budget", type=float, default=60, metavar="SECONDS", help="after which a slow figure makes do with fewer runs; 60 unless given"
    )
    parser.add_argument("--json", action="store_true", help="print figures and targets as JSON")
    options = parser.parse_args()
    table = Table(options.budget, None if options.json else _say)
    knowledge = Knowledge.shipped()
    if not options.json:
        held = f"{len(knowledge.base.rules)} rules, {len(knowledge.facts)} facts"
        print(f"{held}; Python {sys.version.split()[0]}, {os.cpu_count()} processors, one used; medians of the processor's time")
    for name, part in PARTS.items():
        if name in (options.only or PARTS.keys() - {_ONLY_NAMED}):
            part(table, knowledge)
    found = judged(table)
    if options.json:
        print(json.dumps({"figures": table.as_data(), "targets": found}, indent=2))
        return
    print(f"\n{'target':48}{'must':>9}{'aim':>9}{'measured':>12}")
    for target in found:
        value = target["measured"]
        shown = "-" if value is None else f"{value:.2f}"
        print(f"{target['what']:48}{target['must']:9.2f}{target['aim']:9.2f}{shown:>12} {target['unit']:3} {target['verdict']}")


if __name__ == "__main__":
    main()
