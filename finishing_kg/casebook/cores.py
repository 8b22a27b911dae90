"""Work on several cores, in processes of its own."""

import gc
import os
import signal
import sys
import threading
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import contextmanager
from multiprocessing import current_process, get_context
from multiprocessing.pool import Pool
from typing import Any, Literal, TypeVar

_Item = TypeVar("_Item")
_Result = TypeVar("_Result")


@contextmanager
def processes(count: int, start: Literal["spawn", "fork"]) -> Iterator[Pool]:
    """Some processes, ended with the block.

    Args:
        count: how many.
        start: ``spawn`` for some that start afresh: the same on every system, and nothing is shared by accident; ``fork`` for some that
            have at once all that this one has.
    """
    pool = get_context(start).Pool(count, initializer=_begin)
    try:
        yield pool
    finally:
        pool.terminate()
        pool.join()


def _begin() -> None:
    """Leave stopping to the parent; and look for garbage as seldom as a command does, for at Python's usual pace it takes a sixth of the whole."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.freeze()  # what came with the fork stays with it
    gc.set_threshold(100_000, *gc.get_threshold()[1:])


def cores_to_fork_on() -> int:
    """How many cores there are for forked processes; one where forking is not safe, so that the work is done here.

    A fork takes no other thread along, nor gives back what one held; and on some systems, whose own libraries have threads, none is safe.
    """
    if sys.platform != "linux" or threading.active_count() > 1 or current_process().daemon:
        return 1
    return len(os.sched_getaffinity(0))


_left: list[Callable[[Any], Any]] = []  # what a forked process is to do, put here before it is made: so nothing of it must be passed on


def done(work: Callable[[_Item], _Result], items: Sequence[_Item], cores: int | None = None) -> Generator[tuple[int, _Result]]:
    """The result of some work for each item with the item's place, in the order in which they are ready; what is not taken up ends with it.

    Args:
        work: may look at all that is there now; what it changes is lost. Its results can be pickled.
        items: to be begun in their order.
        cores: how many processes; ``None`` for as many as ``cores_to_fork_on``, and with one it is done here.
    """
    count = min(cores_to_fork_on() if cores is None else cores, len(items))
    if count <= 1:
        yield from ((place, work(item)) for place, item in enumerate(items))
        return
    _left.append(lambda place: work(items[place]))
    try:
        with processes(count, "fork") as pool:
            yield from pool.imap_unordered(_do, range(len(items)))
    finally:
        _left.pop()


def _do(place: int) -> tuple[int, Any]:
    return place, _left[-1](place)
