"""Feeds a million inputs to everything that reads text: ``python tests/fuzz/run.py``; ``--help`` tells how to feed fewer.

Some targets are fed by a coverage-guided fuzzer too, where atheris is installed (``pip install -e ".[fuzz]"``). What is found is printed
with the input, which goes into ``tests/data/fuzzed.toml`` once it is mended.
"""

import argparse
import json
import re
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from fuzz.guard import the_guard  # noqa: E402
from fuzz.mutate import inputs  # noqa: E402
from fuzz.targets import Target, knowledge, targets  # noqa: E402

WHOLE = 1_000_000
_PARTS = 20  # each goes through all targets, so that a run that is stopped has fed them all
_SHOWN = 5  # findings of one target; more of them are mostly the same again
_GUIDED = ("quantity", "sentence", "plan-toml", "plan-csv", "turtle", "session", "log", "shelf", "words")
"""Targets that the guided fuzzer gets far enough with in the time there is."""

Feed = Callable[[Target, int, int, float], dict[str, Any]]


def fed(target: Target, count: int, seed: int, seconds: float) -> dict[str, Any]:
    """Feed one target and tell what came of it.

    Args:
        target: what is fed.
        count: how many inputs.
        seed: begins the chance.
        seconds: when to stop at the latest.
    """
    knowledge()
    taken, done, findings, began = 0, 0, list[str](), time.monotonic()
    for data in inputs(target.seeds, count, seed):
        if time.monotonic() - began > seconds:
            break
        done += 1
        try:
            taken += target.feed(data)
        except BaseException as error:  # whatever it is, it is the finding
            if isinstance(error, KeyboardInterrupt):
                raise
            where = traceback.extract_tb(error.__traceback__)[-1]
            findings.append(f"{type(error).__name__}: {str(error)[:200]} ({Path(where.filename).name}:{where.lineno}) from {data!r}")
            if len(findings) == _SHOWN:
                break
    return {"done": done, "taken": taken, "findings": findings}


def guided(target: Target, count: int, seed: int, seconds: float) -> dict[str, Any]:
    """Feed one target by the coverage-guided fuzzer, in a process of its own."""
    with tempfile.TemporaryDirectory() as corpus:
        for number, data in enumerate(target.seeds[:200]):
            Path(corpus, f"seed-{number}").write_bytes(data)
        limits = [f"-max_total_time={max(1, int(min(seconds, 100_000)))}", "-max_len=2000", "-timeout=20"]
        command = [sys.executable, str(Path(__file__).with_name("guided.py")), target.name, corpus, f"-artifact_prefix={corpus}/found-"]
        ended = subprocess.run(
            [*command, f"-runs={count}", f"-seed={seed}", *limits], stderr=subprocess.STDOUT, stdout=subprocess.PIPE, check=False, cwd=corpus
        )
        told = ended.stdout.decode("utf-8", "replace")
        why = "".join(f"{line}\n" for line in told.splitlines() if not line.startswith(("INFO", "WARNING", "#", "MS:")))[-1500:]
        found = [f"{why} from {file.read_bytes()!r}" for file in Path(corpus).glob("found-*")]
    runs = re.search(r"Done (\d+) runs|#(\d+)\s+DONE", told)
    if ended.returncode and not found:
        found = [why]
    return {"done": int(runs[1] or runs[2]) if runs else 0, "taken": 0, "findings": found}


def _parts(options: argparse.Namespace) -> Iterator[tuple[str, int, Target, int, int, Feed]]:
    """All that is to be done: the name, the part, the target, how many inputs, the seed, and how; each part goes through all targets."""
    chosen = [target for target in targets() if not options.only or target.name in options.only]
    steered = [target for target in chosen if target.name in _GUIDED]
    share = options.guided / 100 if find_spec("atheris") and steered else 0.0
    weights, steered_weights = (sum(target.of_a_million for target in some) for some in (chosen, steered))
    for part in range(_PARTS):
        for target in chosen:
            yield "by chance", part, target, _part_of(options.inputs * (1 - share) * target.of_a_million / weights, part), options.seed, fed
    for target in steered if share else ():
        yield "guided", 0, target, round(options.inputs * share * target.of_a_million / steered_weights), options.seed, guided


def _part_of(count: float, part: int) -> int:
    """How many of some inputs belong to one part; all parts together have them all."""
    return round(count * (part + 1) / _PARTS) - round(count * part / _PARTS)


def main() -> int:
    """Feed all targets, print a line for each, and give 1 if something was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=WHOLE, metavar="N", help="how many in all (1,000,000)")
    parser.add_argument("--guided", type=int, default=10, metavar="PERCENT", help="how many of them by the coverage-guided fuzzer (10)")
    parser.add_argument("--only", action="append", default=[], metavar="TARGET", help="feed this one alone; may be given several times")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="another number gives other inputs (1)")
    parser.add_argument("--seconds", type=float, default=float("inf"), metavar="N", help="stop after so many seconds")
    parser.add_argument("--add-to", metavar="FILE", help="keep in this file what was done, and go on where it ends")
    options = parser.parse_args()
    kept, until = Path(options.add_to) if options.add_to else None, time.monotonic() + options.seconds
    told: dict[str, dict[str, Any]] = json.loads(kept.read_text(encoding="utf-8")) if kept and kept.exists() else {}
    for way, part, target, count, seed, feed in _parts(options):
        name = f"{target.name}, {way}"
        sofar = told.setdefault(name, {"done": 0, "taken": 0, "findings": [], "parts": 0})
        if count and sofar["parts"] <= part and len(sofar["findings"]) < _SHOWN and time.monotonic() < until:
            now = feed(target, count, seed + part, until - time.monotonic())
            sofar.update({key: sofar[key] + now[key] for key in ("done", "taken", "findings")}, parts=part + 1)
            if kept:
                kept.write_text(json.dumps(told, indent=1), encoding="utf-8")
    for name, found in told.items():
        if found["done"] or found["findings"]:
            taken = "" if "guided" in name else f", {found['taken']:,} taken"
            print(f"{name:24} {found['done']:>9,} inputs{taken}, {len(found['findings'])} findings")
        for finding in found["findings"]:
            print(f"    {finding}")
    every, findings = (sum(total) for total in zip(*((each["done"], len(each["findings"])) for each in told.values()), strict=True))
    print(f"{every:,} inputs, {findings} findings; the slowest by chance took {the_guard().slowest * 1000:.0f} ms.")
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main())
