"""Feeds one target by atheris, which goes after new branches of the code; started by ``tests/fuzz/run.py``, with options of libFuzzer."""

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import atheris  # noqa: E402

with atheris.instrument_imports(include=["finishing_kg"], enable_loader_override=False):
    from fuzz.targets import knowledge, targets

if __name__ == "__main__":
    chosen = next(target for target in targets() if target.name == sys.argv[1])
    knowledge()
    chosen.feed(chosen.seeds[0])  # loads what is loaded late

    def one(data: bytes) -> None:
        """Feed one input; a finding ends the process with its traceback."""
        chosen.feed(data)

    atheris.Setup([sys.argv[0], *sys.argv[2:]], one)
    atheris.Fuzz()
