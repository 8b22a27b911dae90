"""Compare what our engine derives with what others do, on the shipped rules; and our answers under other hash seeds.

Run: ``python tests/engines/compare.py --questions 500`` (some three minutes), ``--engine`` to choose, ``--seeds 20``. The exit status is 1
where anything differs.
"""

import argparse
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from itertools import islice
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from engines.program import Program, Row  # noqa: E402
from engines.questions import asked as apart  # noqa: E402
from engines.questions import questions  # noqa: E402
from finishing_kg.engine import Knowledge  # noqa: E402

CONVERSATION = (
    "A kiln-cast plaque of lead crystal with a low relief, fresh out of the mould: how do I bring it to a polish?",
    "why not a felt wheel?",
    "why step 1, in full?",
    "why pumice and not cerium oxide?",
    "why not F1200 first?",
    "what if rule bristles-for-relief were left out?",
    "float glass edge, broken, to be ground",
    "orange peel after the felt wheel on borosilicate, flat face",
)
"""Turns whose answers must be the same bytes whatever Python's hashes are: routes, each way of asking why, a fault."""


def engine(name: str, program: Program, changing: Iterable[int]) -> "Callable[[Iterable[Row]], set[Row]]":
    """What derives with one of the other engines: from a question's rows to all that holds.

    Raises:
        ImportError: it is not installed.
    """
    if name == "clingo":
        from engines.by_clingo import Clingo

        made = Clingo(program)
    elif name == "sparql":
        from engines.by_sparql import Oxigraph

        made = Oxigraph(program, changing)
    elif name == "sqlite":
        from engines.by_sqlite import Sqlite

        made = Sqlite(program, changing)
    else:
        from engines.by_clips import Clips

        made = Clips(program, logical=False, changing=changing)

    def derive(rows: Iterable[Row]) -> set[Row]:
        made.ask(rows)
        return made.conclusions()

    return derive


def compare(name: str, count: int) -> bool:
    """Put questions to both engines, print the counts, and say whether nothing differed."""
    knowledge = Knowledge.shipped()
    asked = list(questions(knowledge, count))
    program = Program(knowledge.vocabulary, knowledge.base, knowledge.facts)
    rows = [program.question(facts) for _, facts in asked]
    derive = engine(name, program, {row[0] for one in rows for row in one})
    begun, compared, derived, differing = time.monotonic(), 0, 0, 0
    for number, ((title, facts), question) in enumerate(zip(asked, rows, strict=True), 1):
        ours, theirs = knowledge.evaluate(*apart(facts)).statements(), program.statements(derive(question))
        compared += len(ours | theirs)
        derived += len(ours - facts.keys() - knowledge.facts.keys())
        if ours != theirs:
            differing += 1
            for owner, only in (("only ours", ours - theirs), (f"only {name}", theirs - ours)):
                for statement in islice(sorted(only, key=str), 5):
                    print(f"  {title}: {owner}: {statement}")
        if number % 50 == 0 and number < len(asked):
            print(f"  {number} questions, {differing} with differences", file=sys.stderr, flush=True)
    seconds = time.monotonic() - begun
    print(
        f"{name}: {len(asked)} questions, {compared} statements compared, {derived} of them derived, {differing} questions differ ({seconds:.0f} s)"
    )
    return not differing


def answers(seed: int) -> bytes:
    """What ``ask --json`` prints for a conversation in a process of its own with a hash seed.

    Raises:
        CalledProcessError: it ended as it should not.
    """
    environment = {**os.environ, "PYTHONHASHSEED": str(seed), "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tui")])}
    command = [sys.executable, "-m", "finishing_kg", "ask", "--json", "-"]
    done = subprocess.run(command, input="\n".join(CONVERSATION).encode(), env=environment, capture_output=True, check=True)
    return done.stdout


def compare_seeds(count: int) -> bool:
    """Whether the answers are the same bytes under hash seeds 1, 2, 3 and so on."""
    found = {answers(seed) for seed in range(1, count + 1)}
    print(f"{count} hash seeds, {len(CONVERSATION)} turns, {len(next(iter(found)))} bytes: {len(found)} different output{'s' * (len(found) > 1)}")
    return len(found) == 1


def main() -> int:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--questions", type=int, default=0, metavar="N", help="compare on N questions, plans first")
    parser.add_argument("--engine", choices=("clingo", "sparql", "sqlite", "clips"), default="clingo")
    parser.add_argument("--seeds", type=int, default=0, metavar="N", help="compare answers under N hash seeds")
    options = parser.parse_args()
    if not options.questions and not options.seeds:
        parser.error("say --questions N, --seeds N or both")
    same = [compare(options.engine, options.questions)] if options.questions else []
    same += [compare_seeds(options.seeds)] if options.seeds else []
    return 0 if all(same) else 1


if __name__ == "__main__":
    sys.exit(main())
