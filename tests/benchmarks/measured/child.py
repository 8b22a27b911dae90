"""What is run as a process of its own: ``child.py KIND ...`` prints its peak of memory in MB, or moments.

A moment is a line of two numbers: the seconds since the epoch, and the seconds of the processor's time that this process has taken so far.
"""

import asyncio
import io
import pickle
import resource
import sys
import time
from contextlib import redirect_stdout
from pathlib import Path


def peak() -> float:
    """The peak of this process's own memory in MB.

    The kernel's figure of this program image, since what ``getrusage`` tells may still be the parent's peak.
    """
    status = Path("/proc/self/status")
    if status.exists():
        (line,) = (line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return int(line.split()[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def ask(question: str) -> None:
    """The command, its output thrown away."""
    from finishing_kg.cli import main

    with redirect_stdout(io.StringIO()):
        main(["ask", question])


def ours() -> None:
    """Our engine with two questions."""
    from engines.questions import asked

    from finishing_kg.engine import Knowledge
    from measured.workload import CASES, facts_of

    knowledge = Knowledge.shipped()
    for case in list(CASES.values())[:2]:
        model = knowledge.evaluate(*asked(facts_of(knowledge, case)))
        model.holds("isRuledOut", "")


def other(name: str, file: str) -> None:
    """Another engine with two questions, or with ``none`` only what it would be given."""
    from measured.questions import load

    program, changing, questions = pickle.loads(Path(file).read_bytes())  # written by our parent
    if name != "none":
        engine = load(name, program, changing, questions[0])
        for rows in questions:
            engine.ask(rows)


def moment() -> None:
    """Tell the moment."""
    print(time.time(), time.process_time())


def empty() -> None:
    """An empty Textual app to its first picture."""
    from textual.app import App

    class Empty(App[None]):
        def on_ready(self) -> None:
            """The first picture stands."""
            moment()

    async def paint() -> None:
        async with Empty().run_test() as pilot:
            await pilot.pause()

    asyncio.run(paint())


def interface(question: str) -> None:
    """The interface to its first picture, and to the answer of a question asked then."""
    from finishing_kg_tui import application

    app = application()
    # Put into the class itself: a subclass would look for the style sheet beside this file.
    type(app).on_ready = lambda _: moment()

    async def paint() -> None:
        from textual.widgets import Input

        async with app.run_test() as pilot:
            app.screen.query_one(Input).value = question
            await pilot.press("enter")
            for _ in range(3):
                await pilot.pause()
                await app.workers.wait_for_complete()
            await pilot.pause()
            moment()

    asyncio.run(paint())


def main() -> None:
    """Do what is asked for."""
    kind, *rest = sys.argv[1:]
    if kind == "empty":
        empty()
    elif kind == "interface":
        interface(*rest)
    else:
        if kind == "ask":
            ask(*rest)
        elif kind == "ours":
            ours()
        else:
            other(kind, *rest)
        print(peak())


if __name__ == "__main__":
    main()
