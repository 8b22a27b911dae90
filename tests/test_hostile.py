"""Input that means harm: nothing is fetched, run, read or changed for it; it is refused in words, or taken without harm, and soon."""

import os
import re
import socket
import subprocess
import tomllib
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from urllib.request import urlopen

import pytest
from fuzz.guard import Forbidden, the_guard
from fuzz.targets import refusals, warm

DATA = Path(__file__).parent / "data"
HOSTILE = tomllib.loads((DATA / "hostile.toml").read_text(encoding="utf-8"))["hostile"]


def input_of(case: dict[str, object]) -> bytes:
    """The bytes of a case."""
    text = case.get("text") or f"{case.get('before', '')}{str(case['repeat']) * int(str(case['times']))}{case.get('after', '')}"
    return str(text).encode("utf-8")


@pytest.mark.parametrize("case", HOSTILE, ids=[case["id"] for case in HOSTILE])
def test_hostile_input_does_no_harm(case: dict[str, object]) -> None:
    """What means harm is refused with the reason, or taken without harm; the guard of the target watches all the while."""
    target = warm(str(case["into"]))
    with refusals() as told:
        taken = target.feed(input_of(case))
    assert taken is case.get("taken", False), told
    for part in case.get("says", []):
        assert part in " ".join(told), (part, [text[:500] for text in told])


HARM: dict[str, Callable[[], object]] = {
    "socket.": lambda: socket.create_connection(("127.0.0.1", 9)),
    "socket.getaddrinfo": lambda: socket.getaddrinfo("finishing-kg.example", 80),
    "urllib": lambda: urlopen("http://127.0.0.1:9/"),
    "os.system": lambda: os.system("true"),
    "subprocess.Popen": lambda: subprocess.run(["true"], check=False),
    "a file is written": lambda: Path(the_guard().place, "x").write_text("x", encoding="utf-8"),
    "os.remove": lambda: Path(the_guard().place, "kept").unlink(),
    "a strange file": lambda: Path("/etc/passwd").read_bytes(),
    "it took": lambda: sum(range(10_000_000)),
    "it does not end": lambda: [None for number in iter(int, 1) if number],
}


@pytest.mark.parametrize("what", HARM)
def test_the_guard_notices_harm(what: str) -> None:
    """A connection, a program, a written or a strange file, and what takes too long are noticed, though the code swallows every exception."""
    (the_guard().place / "kept").write_text("kept", encoding="utf-8")
    with pytest.raises(Forbidden, match=re.escape(what)), the_guard().watching(seconds=0.05), suppress(Exception):
        HARM[what]()
    assert (the_guard().place / "kept").exists() and not (the_guard().place / "x").exists()


def test_nothing_of_the_program_reads_json_ld_or_takes_queries() -> None:
    """Remote contexts and ``SERVICE`` have no way in: outside of the shapes, which are shipped, no graph is parsed but from Turtle, none queried."""
    package = Path(__file__).parent.parent / "finishing_kg"
    lines = [line for file in package.rglob("*.py") for line in file.read_text(encoding="utf-8").splitlines()]
    assert [line.strip() for line in lines if "graph.parse(" in line] == ['graph.parse(data=text, format="turtle")']
    assert not [line for line in lines if ".query(" in line or (".update(" in line and "graph" in line) or "ConjunctiveGraph" in line]
