"""Every kind of write under kills, on a full disk, in a folder that may not be written, and beside a second writer: a sample of each check."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from finishing_kg.casebook.sweep import sweep
from finishing_kg.cli import main
from finishing_kg.files import CannotWrite, unfinished
from finishing_kg.routes import Case
from finishing_kg.studio import init
from finishing_kg.studio.add import add_to_shelf

ROOT = Path(__file__).parent.parent


def run(*options: str) -> "subprocess.CompletedProcess[str]":
    """``tests/disk/run.py`` as a process of its own, since it forks."""
    command = [sys.executable, str(ROOT / "tests/disk/run.py"), *options]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="writers are forked")
def test_nothing_that_was_saved_is_lost() -> None:
    """Whatever befalls the disk, what was saved is there and whole, and the writer is told what to do."""
    ended = run("--kills", "20")
    assert ended.stdout.endswith("20 kills, 0 faults.\n") and ended.returncode == 0, ended.stdout + ended.stderr
    assert ended.stdout.count(" 2 kills") == 10
    assert all(ended.stdout.count(way) == 10 for way in ("full disk", "read only", "two at once"))


@pytest.mark.skipif(not hasattr(os, "fork"), reason="writers are forked")
def test_a_careless_writer_is_found() -> None:
    """One that writes over what was saved is noticed within a few kills."""
    ended = run("--careless", "--kills", "12")
    assert ended.returncode == 1 and "the file is not whole" in ended.stdout


def test_what_a_killed_writer_left_goes_with_the_next_write(tmp_path: Path) -> None:
    """Unfinished files beside a studio's file are cleared away by its next writer, and those of other files stay."""
    init(tmp_path)
    left, other = tmp_path / ".shelf.toml.0123abcd.part", tmp_path / ".shelf.toml.old.part"
    for file in (left, other):
        file.write_text("half", encoding="utf-8")
    assert unfinished(tmp_path / "shelf.toml") == [left]
    add_to_shelf(tmp_path, "felt-wheel", [], None)
    assert not left.exists() and other.exists()


def test_a_sweep_writes_over_no_file_of_somebody_else(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that no sweep wrote stays as it is, and the command says what to do."""
    table = tmp_path / "prices.csv"
    table.write_text("felt wheel,20\n", encoding="utf-8")
    assert main(["rules", "sweep", "--sample", "1", "--processes", "1", "--table", str(table)]) == 2
    assert "Name another with --table" in capsys.readouterr().err
    assert table.read_text(encoding="utf-8") == "felt wheel,20\n"


def test_one_sweep_at_a_time_writes_a_table(tmp_path: Path) -> None:
    """A second sweep of the same table is refused while the first one runs; afterwards it goes on."""
    table, refused = tmp_path / "t.csv", list[str]()

    def meanwhile(_: int, __: int) -> None:
        with pytest.raises(CannotWrite, match="another sweep is writing"):
            sweep([Case()], table, workers=1)
        refused.append("refused")

    assert sweep([Case(), Case(finish="polish")], table, workers=1, most=1, progress=meanwhile).done == 1
    assert refused
    assert sweep([Case(), Case(finish="polish")], table, workers=1).done == 2
