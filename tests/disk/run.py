"""Lets a disk fail in every way under every kind of write: ``python tests/disk/run.py`` (500 kills; ``--kills`` for another number).

Writers are forked from a process in which all is loaded, so that a kill meets the writing and not the start of a program.
"""

import argparse
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from disk.writers import CARELESS, REFUSALS, WRITERS, Writer, knowledge  # noqa: E402
from finishing_kg.engine import Knowledge  # noqa: E402

_NOBODY = 65534
_LONGEST = 0.03  # seconds that a writer goes on for after its first report, or as long as that took: a kill meets the next write anywhere


class Child:
    """A forked writer and what it reports."""

    def __init__(self, work: Callable[[Callable[[str], None]], None]) -> None:
        reading, writing = os.pipe()
        self.pid = os.fork()
        if self.pid == 0:
            os.close(reading)
            try:
                work(lambda text: (os.write(writing, f"{text}\n".encode()), None)[1])
            except BaseException:
                os.write(writing, f"! {traceback.format_exc()[-800:]!r}\n".encode())
            os._exit(0)
        os.close(writing)
        self._reports = os.fdopen(reading, encoding="utf-8")

    def first(self) -> str:
        """Wait for the first report."""
        return self._reports.readline()

    def rest(self) -> list[str]:
        """Wait for its end; all further reports that are whole."""
        os.waitpid(self.pid, 0)
        with self._reports:
            return [line for line in self._reports if line.endswith("\n")]


def _writing(writer: Writer, folder: Path, first: int, last: int) -> Callable[[Callable[[str], None]], None]:
    def work(report: Callable[[str], None]) -> None:
        for number in range(first, last):
            writer.write(folder, number)
            report(str(number))

    return work


def _numbers(lines: list[str]) -> tuple[list[int], list[str]]:
    """The numbers that were saved, and what else a writer had to say."""
    told = [line.strip() for line in lines if line.strip()]
    return [int(line) for line in told if line.isdecimal()], [line for line in told if not line.isdecimal()]


def _found(writer: Writer, folder: Path, saved: list[int]) -> list[str]:
    """What is wrong with the files; that they cannot be read at all is wrong too."""
    try:
        return list(writer.faults(folder, saved))
    except Exception as error:
        return [f"{type(error).__name__}: {str(error)[:300]}"]


def killed(writer: Writer, folder: Path, *, kills: int, chance: random.Random) -> list[str]:
    """Kill a writer at random moments, again and again over the same files, and tell what is wrong after it."""
    saved: list[int] = []
    faults: list[str] = []
    for _ in range(kills):
        # What was being written when the last one was killed may be there already; it begins with an odd number, as writers expect it.
        begin = (saved[-1] + 2) | 1 if saved else 1
        began = time.monotonic()
        child = Child(_writing(writer, folder, begin, begin + 1_000_000))
        reports = [child.first()]
        time.sleep(chance.random() * max(_LONGEST, time.monotonic() - began))
        os.kill(child.pid, signal.SIGKILL)
        numbers, said = _numbers(reports + child.rest())
        saved += numbers
        faults += [*said, *_found(writer, folder, saved)]
        writer.settle(folder)
    return faults


def _at_once(writer: Writer, folder: Path, numbers: Iterable[int], before: Callable[[], object] = lambda: None) -> Child:
    """A writer that reports what it saved, and what it was refused with."""

    def work(report: Callable[[str], None]) -> None:
        before()
        for number in numbers:
            try:
                kept = writer.write(folder, number)
            except REFUSALS as error:
                report(f"refused {' '.join(str(error).split())}")
            else:
                report("silent" if kept is False else str(number))

    return Child(work)


def full(writer: Writer, folder: Path) -> list[str]:
    """Let the disk be full after the first write: the second is refused with words, and what was saved stays."""
    writer.write(folder, 1)
    return _refused(writer, folder, lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (16, 16)))


def read_only(writer: Writer, folder: Path) -> list[str]:
    """Take away the right to write, for somebody who is not the system's master: as ``full``."""
    writer.write(folder, 1)
    places = [folder, *folder.rglob("*")]
    for place in places:
        place.chmod(0o555 if place.is_dir() else 0o444)
    try:
        return _refused(writer, folder, _become_nobody)
    finally:
        for place in places:
            place.chmod(0o755 if place.is_dir() else 0o644)


def _become_nobody() -> None:
    """Be no longer the system's master, for whom no folder is read-only."""
    if os.getuid() == 0:
        known = knowledge()
        Knowledge.shipped = classmethod(lambda _cls: known)  # type: ignore[method-assign,assignment]  # nobody may be kept from the checkout itself
        os.setuid(_NOBODY)


def _refused(writer: Writer, folder: Path, before: Callable[[], object]) -> list[str]:
    [line] = [line.strip() for line in _at_once(writer, folder, [2], before).rest()]
    expected = line == "silent" if writer.silent else line.startswith("refused ") and len(line) > len("refused ") + 30
    return [*([] if expected else [f"not refused in words: {line}"]), *_found(writer, folder, [1])]


def two_at_once(writer: Writer, folder: Path) -> list[str]:
    """Let two write into the same folder at once: all is whole, and what stays beside the later is all there."""
    children = [_at_once(writer, folder, range(first, first + 6)) for first in (1, 1001)]
    told = [_numbers(child.rest()) for child in children]
    faults = [line for _, said in told for line in said if not line.startswith(("refused ", "silent"))]
    saved = [number for numbers, _ in told for number in numbers]
    return [*([] if saved else ["neither of them could write"]), *faults, *_found(writer, folder, saved if writer.stays else [])]


def main() -> int:
    """Try all writers, print a line for each, and give 1 if something was lost, half there, or refused without words."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=500, metavar="N", help="how many in all (500)")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="another number gives other moments (1)")
    parser.add_argument("--careless", action="store_true", help="try a writer that is known to lose things, to see that it is found")
    options = parser.parse_args()
    writers = (CARELESS,) if options.careless else WRITERS
    knowledge()
    chance, every, done = random.Random(options.seed), 0, 0
    for number, writer in enumerate(writers):
        kills = options.kills // len(writers) + (number < options.kills % len(writers))
        ways: list[tuple[str, Callable[[Writer, Path], list[str]]]] = [
            (f"{kills} kills", partial(killed, kills=kills, chance=chance)),
            ("full disk", full),
            ("read only", read_only),
            ("two at once", two_at_once),
        ]
        for name, way in ways[:1] if options.careless else ways:
            place = Path(tempfile.mkdtemp(prefix="disk-"))
            try:
                folder = place / "here"
                folder.mkdir()
                place.chmod(0o777)
                tempfile.tempdir = str(place)  # what killed writers leave of their trials goes with it
                writer.begin(folder)
                faults = way(writer, folder)
            finally:
                tempfile.tempdir = None
                shutil.rmtree(place, ignore_errors=True)
            every += len(faults)
            print(f"{writer.name:22} {name:12} {len(faults)} faults", flush=True)
            for fault in faults[:5]:
                print(f"    {fault}", flush=True)
        done += kills
    print(f"{done} kills, {every} faults.")
    return 1 if every else 0


if __name__ == "__main__":
    sys.exit(main())
