"""What ``finishing-kg ask`` loads once the knowledge is compiled: nothing that would make the maker wait."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HEAVY = {
    *("rdflib", "networkx", "pydantic", "pint", "textual", "finishing_kg_tui", "pyshacl", "rich", "platformdirs", "rapidfuzz", "importlib.metadata"),
    *(
        "difflib",
        "asyncio",
        "tomllib",
        "pathlib",
        "hashlib",
        "shutil",
        "tempfile",
        "subprocess",
        "finishing_kg.rules.load",
        "finishing_kg.vocabulary.load",
    ),
}
_ASK = """
import sys
at_start = set(sys.modules)
from finishing_kg.cli import main
status = main(sys.argv[1:])
import json
print(json.dumps([status, sorted(set(sys.modules) - at_start)]), file=sys.stderr)
"""


def loaded(*arguments: str) -> tuple[int, set[str]]:
    """The exit status of a command, and the modules that it loaded."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tui")])}
    done = subprocess.run([sys.executable, "-c", _ASK, *arguments], env=environment, capture_output=True, text=True, check=True)
    status, modules = json.loads(done.stderr)
    return status, set(modules)


@pytest.mark.parametrize("more", [[], ["--json"]], ids=["for people", "as JSON"])
def test_an_answer_loads_nothing_heavy(more: list[str]) -> None:
    """With compiled knowledge an answer of known words, with a grade and a measure in it, loads none of the heavy libraries."""
    question = "Sawn lead crystal block, flat face, ground with F220, diameter 12 cm, to pre-polish"
    loaded("ask", question)
    status, modules = loaded("ask", question, *more)
    assert status == 0
    assert "finishing_kg.advice.ask" in modules
    assert modules & HEAVY == set()


def test_the_first_answer_loads_what_compiles(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing compiled the files are read, by the libraries for that; so the other test can fail."""
    monkeypatch.setenv("FINISHING_KG_CACHE", str(tmp_path))
    status, modules = loaded("ask", "polish a rim")
    assert status == 3
    assert modules >= {"rdflib", "pydantic", "tomllib"}


def test_an_unknown_word_loads_what_compares_words() -> None:
    """Slips of the pen are still repaired, at the price of loading what that takes."""
    status, modules = loaded("ask", "sawn led crystal, flat face, to polsh")
    assert status == 0
    assert "rapidfuzz" in modules
