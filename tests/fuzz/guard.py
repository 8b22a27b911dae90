"""What no input may bring about: a connection, a program, a changed file, a strange file read, long time or much memory."""

import os
import signal
import sys
import sysconfig
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

ROOT = Path(__file__).parents[2]
SECONDS, MEGABYTES = 1.0, 500
"""The most that one input may take: seconds of processor time, and memory above what the process held before."""

_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_CHANGES = ("os.remove", "os.rename", "os.rmdir", "os.mkdir", "os.truncate", "os.link", "os.symlink", "os.chmod", "os.chown", "os.utime", "shutil.")
_RUNS = ("subprocess.", "os.system", "os.exec", "os.fork", "os.forkpty", "os.posix_spawn", "os.spawn", "os.startfile", "pty.spawn")
_CONNECTS = ("socket.", "urllib.", "http.", "ftplib.", "smtplib.", "webbrowser.")
# Programs load their own code late; what they read for that is no answer to an input.
_CODE = tuple(str(Path(place).resolve()) for place in (ROOT, sys.prefix, sys.base_prefix, sysconfig.get_path("stdlib"), "/dev/urandom"))
_MEMORY = Path("/proc/self")  # of Linux; elsewhere memory is not watched


class Forbidden(BaseException):
    """An input brought something about that none may; no ``except Exception`` on the way hides it."""


class TooSlow(Forbidden):
    """An input took too long, though it ended."""


class Guard:
    """Watches everything that Python does while it is on. There is one for a process, since what watches cannot be taken out again.

    Attributes:
        place: the folder that inputs lie in; it may be read while the guard is on, and written only while it is off.
        slowest: the longest processor time that one input took, in seconds.
    """

    def __init__(self) -> None:
        self.place = Path(tempfile.mkdtemp(prefix="fuzz-")).resolve()
        self.slowest = 0.0
        self._on = False
        self._may_read = (*_CODE, str(self.place))
        sys.addaudithook(self._heard)

    @contextmanager
    def watching(self, seconds: float = SECONDS) -> Iterator[None]:
        """Forbid all that an input may not bring about.

        Args:
            seconds: of processor time that it may take.

        Raises:
            Forbidden: it did so; the message says what.
        """
        handler = signal.signal(signal.SIGVTALRM, self._too_long)
        signal.setitimer(signal.ITIMER_VIRTUAL, 10 * seconds)  # what never ends is ended; what is slow is told when it is over
        held = _megabytes("VmRSS", anew=True)
        began, self._on = time.process_time(), True
        try:
            yield
        finally:
            self._on = False
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
            signal.signal(signal.SIGVTALRM, handler)
        took = time.process_time() - began
        self.slowest = max(self.slowest, took)
        if took > seconds:
            raise TooSlow(f"it took {took:.1f} s")
        if (risen := _megabytes("VmHWM") - held) > MEGABYTES:
            raise Forbidden(f"memory rose by {risen:.0f} MB")

    def _too_long(self, _: int, __: FrameType | None) -> None:
        raise Forbidden("it does not end")

    def _heard(self, event: str, arguments: tuple[object, ...]) -> None:
        if not self._on:
            return
        if event == "open":
            self._opened(arguments)
        elif event.startswith(_CONNECTS):
            raise Forbidden(f"a connection: {event} {arguments!r}")
        elif event.startswith((*_RUNS, *_CHANGES)):
            raise Forbidden(f"{event} {arguments!r}")

    def _opened(self, arguments: tuple[object, ...]) -> None:
        path, mode, flags = (*arguments, None, None)[:3]
        if isinstance(path, int):
            return  # a file that was opened before
        name = os.path.realpath(os.fsdecode(path)) if isinstance(path, str | bytes | os.PathLike) else repr(path)
        writes = (isinstance(flags, int) and flags & _WRITES) or (isinstance(mode, str) and set(mode) & set("wax+"))
        if writes and "__pycache__" not in name:
            raise Forbidden(f"a file is written: {name}")
        if not name.startswith(self._may_read):
            raise Forbidden(f"a strange file is read: {name}")


_made: list[Guard] = []


def the_guard() -> Guard:
    """The guard of this process."""
    if not _made:
        _made.append(Guard())
    return _made[0]


def _megabytes(figure: str, *, anew: bool = False) -> float:
    """A figure of the memory of this process, such as the most that it ever held; ``anew``: from here on."""
    if not _MEMORY.exists():
        return 0.0
    if anew:
        (_MEMORY / "clear_refs").write_text("5", encoding="ascii")
    line = next(line for line in (_MEMORY / "status").read_text(encoding="ascii").splitlines() if line.startswith(f"{figure}:"))
    return int(line.split()[1]) / 1024
