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
from importlib.util import find_spec
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from fuzz.guard import the_guard  # noqa: E402
from fuzz.mutate import inputs  # noqa: E402
from fuzz.targets import Target, targets  # noqa: E402

WHOLE = 1_000_000
_SHOWN = 5  # findings of one target; more of them are mostly the same again
_GUIDED = ("quantity", "sentence", "plan-toml", "plan-csv", "turtle", "session", "log", "shelf", "words")
"""Targets that the guided fuzzer gets far enough with in the time there is."""


def fed(target: Target, count: int, seed: int, seconds: float) -> dict[str, object]:
    """Feed one target and tell what came of it.

    Args:
        target: what is fed.
        count: how many inputs.
        seed: begins the chance.
        seconds: when to stop at the latest.
    """
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


def guided(target: Target, count: int, seed: int, seconds: float) -> dict[str, object]:
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
    return {"done": int(runs[1] or runs[2]) if runs else 0, "taken": None, "findings": found}


def main() -> int:
    """Feed all targets, print a line for each, and give 1 if something was found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--inputs", type=int, default=WHOLE, metavar="N", help="how many in all (1,000,000)")
    parser.add_argument("--guided", type=int, default=10, metavar="PERCENT", help="how many of them by the coverage-guided fuzzer (10)")
    parser.add_argument("--only", action="append", default=[], metavar="TARGET", help="feed this one alone; may be given several times")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="another number gives other inputs (1)")
    parser.add_argument("--seconds", type=float, default=float("inf"), metavar="N", help="stop each target after so many seconds")
    parser.add_argument("--add-to", metavar="FILE", help="keep in this file what was done, and go on where it ends")
    options = parser.parse_args()
    chosen = [target for target in targets() if not options.only or target.name in options.only]
    weights = sum(target.of_a_million for target in chosen)
    share = options.guided / 100 if find_spec("atheris") else 0.0
    steered = sum(target.of_a_million for target in chosen if target.name in _GUIDED)
    kept = Path(options.add_to) if options.add_to else None
    told: dict[str, dict[str, object]] = json.loads(kept.read_text(encoding="utf-8")) if kept and kept.exists() else {}
    for target in chosen:
        plain = round(options.inputs * (1 - share) * target.of_a_million / weights)
        by_cover = round(options.inputs * share * target.of_a_million / steered) if share and target.name in _GUIDED else 0
        for way, count, feed in (("by chance", plain, fed), ("guided", by_cover, guided)):
            name = f"{target.name}, {way}"
            if count and name not in told:
                began = time.process_time()
                told[name] = feed(target, count, options.seed, options.seconds)
                told[name]["seconds"] = round(time.process_time() - began, 1)
                taken = "" if told[name]["taken"] is None else f", {told[name]['taken']} taken"
                print(f"{name:26} {told[name]['done']:>9,} inputs{taken}, {len(told[name]['findings'])} findings", flush=True)
                for finding in told[name]["findings"]:
                    print(f"    {finding}", flush=True)
                if kept:
                    kept.write_text(json.dumps(told, indent=1), encoding="utf-8")
    every = sum(int(str(each["done"])) for each in told.values())
    found = sum(len(each["findings"]) for each in told.values())
    print(f"{every:,} inputs, {found} findings; the slowest by chance took {the_guard().slowest * 1000:.0f} ms.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
