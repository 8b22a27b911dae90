"""Spoils the rooms that must not be wrong, a little at a time, and looks whether a test notices: ``python tests/mutation/run.py``.

Which mutants there are is mutmut's to say (``pip install -e ".[mutation]"``). What was done is kept in the cache folder, for as long as
program and tests stay as they are: a run that is stopped with Ctrl-C goes on where it was when it is started again.
"""

import argparse
import json
import math
import os
import signal
import sys
import time
import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from mutation.mutants import Module, Mutant, modules_of, sampled  # noqa: E402
from mutation.reach import Reach, digest, program, reach_of, tests_for  # noqa: E402
from mutation.survivors import KINDS, Survivor, known  # noqa: E402
from mutation.warm import tried, warm_up  # noqa: E402

ROOMS = ("statements", "engine", "proofs", "quantities")  # from the lowest upwards: what is below a room stays loaded
_HEARD = ("killed", "timed out")


class Told(NamedTuple):
    """A mutant and what became of it; ``listed`` is its entry among the known survivors."""

    room: str
    file: str
    place: str
    was: str
    now: str
    kind: str
    by: str
    listed: Survivor | None


def main() -> int:
    """Try the chosen mutants, print what became of them, and give 1 if one survived that is not listed."""
    options = _options()
    work = Path(options.work) if options.work else _cache()
    work.mkdir(parents=True, exist_ok=True)
    # The same order of all sets in each run; and what is compiled for one child need not be compiled for the next.
    wanted = {"PYTHONHASHSEED": "0", "PYTHONPYCACHEPREFIX": str(work / "bytecode"), "PYTHONDONTWRITEBYTECODE": ""}
    if any(os.environ.get(name) != value for name, value in wanted.items()):
        os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **wanted})
    tests = tomllib.loads(Path(__file__).with_name("rooms.toml").read_text(encoding="utf-8"))
    rooms = {room: modules_of(room) for room in ROOMS if not options.room or room in options.room}
    chosen = sampled(rooms, None if options.all else options.sample, options.seed)
    until = time.monotonic() + options.seconds
    warm_up(ROOMS[0])
    measured = {some: reach_of(some, tests["slow"], ROOMS, work) for room in rooms for some in tests[room]["tests"]}
    told: list[Told] = []
    stopping = _stopping()
    for room, drawn in chosen.items():
        warm_up(room)
        files = {ROOT / some.split("::")[0] for some in (*tests[room]["tests"], "tests/conftest.py")}
        how = json.dumps([tests[room], tests["slow"], tests["budget"]])
        results = work / f"results-{room}-{digest([*program(), *files], how)}.jsonl"
        done = _done(results)
        reaches = [measured[some] for some in tests[room]["tests"]]
        for module, number in drawn:
            if module.name_of(number) not in done and (stopping or time.monotonic() >= until):
                continue
            mutant = module.mutant(number)
            if options.only and options.only not in f"{mutant.place} {mutant.was} {mutant.now}":
                continue
            if mutant.name not in done:
                done[mutant.name] = _try(mutant, module, reaches, tests["budget"])
                with results.open("a", encoding="utf-8") as kept:
                    kept.write(json.dumps(done[mutant.name]) + "\n")
            found = done[mutant.name]
            one = Told(room, mutant.module, mutant.place, mutant.was, mutant.now, found["kind"], found["by"], options.known.get(mutant[1:4]))
            told.append(one)
            _progress(one, len(told), sum(map(len, chosen.values())))
    if stopping:
        print("\nStopped; the same command goes on from here.")
    _report(told, rooms)
    return 1 if any(one.kind == "survived" and not one.listed for one in told) else 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    many = parser.add_mutually_exclusive_group()
    many.add_argument("--sample", type=int, default=400, metavar="N", help="so many, an equal share of each room, drawn by chance (400)")
    many.add_argument("--all", action="store_true", help="every mutant: hours")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="another number draws another sample (1)")
    parser.add_argument("--room", action="append", choices=ROOMS, help="this room alone; may be given several times")
    parser.add_argument("--only", metavar="TEXT", help="of the sample only those with this in their place or their lines")
    parser.add_argument("--seconds", type=float, default=math.inf, metavar="N", help="begin no new mutant after so many seconds")
    parser.add_argument("--work", metavar="FOLDER", help="keep what was done there instead of in the cache folder")
    options = parser.parse_args()
    options.known = known()
    return options


def _cache() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("finishing-kg") / "mutation"


def _stopping() -> list[int]:
    """Gets an entry at Ctrl-C: the mutant that is being tried is tried to its end, since an exception could fall into a fork and be lost."""
    asked: list[int] = []
    signal.signal(signal.SIGINT, lambda number, _frame: asked.append(number))
    return asked


def _done(results: Path) -> dict[str, dict[str, Any]]:
    """What was tried before, by the mutants' names."""
    lines = results.read_text(encoding="utf-8").splitlines() if results.exists() else []
    return {line["name"]: line for line in map(json.loads, lines)}


def _try(mutant: Mutant, module: Module, reaches: Sequence[Reach], budget: float) -> dict[str, Any]:
    """One mutant tried, as it is kept."""
    seconds = tests_for(mutant, module.source, reaches, budget)
    began = time.monotonic()
    kind, by = tried(mutant.module, mutant.code, seconds) if seconds else ("survived", "no test runs it")
    return {"name": mutant.name, "kind": kind, "by": by, "seconds": round(time.monotonic() - began, 1)}


def _progress(one: Told, count: int, every: int) -> None:
    if one.kind == "survived" and not one.listed:
        print(f"\n{one.place}: survived{f', {one.by}' if one.by else ''}\n  - {one.was}\n  + {one.now}", flush=True)
    elif count % 20 == 0:
        print(f"{count} of {every}", flush=True)


def _report(told: Sequence[Told], rooms: Mapping[str, Sequence[Module]]) -> None:
    """A line for each module and room, and the rate of all rooms, each weighted with its number of mutants."""
    print(f"\n{'':45}{'killed':>8}{'timed out':>11}{'survived':>10}{'of them listed':>16}")
    for room, modules in rooms.items():
        for module in modules:
            _line(module.file, [one for one in told if one.file == module.file])
        _line(room, [one for one in told if one.room == room], rate=True)
    shares = {room: sum(len(module.mutations) for module in modules) for room, modules in rooms.items()}
    rates = {room: _rate([one for one in told if one.room == room]) for room in rooms if any(one.room == room for one in told)}
    weight = sum(shares[room] for room in rates)
    if weight:
        print(f"\nOf {sum(shares.values()):,} mutants {len(told):,} were tried; killed, each room weighted with its mutants: ", end="")
        print(f"{sum(rates[room] * shares[room] for room in rates) / weight:.1%}")
    for kind, meaning in KINDS.items():
        print(f"{sum(one.kind == 'survived' and one.listed is not None and one.listed.kind == kind for one in told)} survivors listed: {meaning}")
    print(f"{sum(one.kind == 'survived' and not one.listed for one in told)} survivors not listed")


def _rate(told: Sequence[Told]) -> float:
    return sum(one.kind in _HEARD for one in told) / len(told)


def _line(name: str, told: Sequence[Told], *, rate: bool = False) -> None:
    if not told:
        return
    kinds = Counter(one.kind for one in told)
    listed = sum(one.kind == "survived" and one.listed is not None for one in told)
    tail = "{:8.1%}, between {:.0%} and {:.0%} with 95 % confidence".format(_rate(told), *_interval(told)) if rate else ""
    print(f"{name:45}{kinds['killed']:>8}{kinds['timed out']:>11}{kinds['survived']:>10}{listed:>16}{tail}")


def _interval(told: Sequence[Told]) -> tuple[float, float]:
    """Where the rate of all mutants lies with 95 % confidence, after Wilson (1927)."""
    n, p, z = len(told), _rate(told), 1.96
    middle, half = (p + z * z / (2 * n)) / (1 + z * z / n), z / (1 + z * z / n) * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return middle - half, middle + half


if __name__ == "__main__":
    sys.exit(main())
