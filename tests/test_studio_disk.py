"""A studio's files on the disk: whatever happens while they are written, nothing saved is lost and nothing is half there."""

import json
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from studio_folders import contents

from finishing_kg.engine import Knowledge
from finishing_kg.studio import Studio, StudioError, add, edit, init, log, read_studio
from finishing_kg.studio.add import add_to_shelf
from finishing_kg.studio.pack import read_pack
from finishing_kg.studio.write import LOCK, aside, locked, replace_file

ROOT = Path(__file__).parent.parent
# Writes records (or whole files) as fast as it can, and says which are done: what was said before the end must be there.
_WRITE_LOG = """
import sys
from pathlib import Path
from finishing_kg.studio import log
for number in range(int(sys.argv[2]), int(sys.argv[3])):
    log.write(Path(sys.argv[1]), log.Record(at=log.now(), minutes="12 min", note=f"{number} " + "x" * 3000))
    print(number, flush=True)
"""
_WRITE_FILE = """
import sys
from itertools import count
from pathlib import Path
from finishing_kg.studio.write import locked, replace_file
folder = Path(sys.argv[1])
for number in count(1):
    with locked(folder):
        replace_file(folder / "shelf.toml", f"# {number}\\n" + "# filling\\n" * 20000 + f"# {number}\\n")
    print(number, flush=True)
"""
# Takes packs in and out as fast as it can: each version takes the place of the one before, every third is taken out.
_WRITE_PACKS = """
import sys
from itertools import count
from pathlib import Path
from finishing_kg.studio.pack import Pack
from finishing_kg.studio.packs import put
from finishing_kg.studio.write import locked
folder = Path(sys.argv[1])
for number in count(1):
    with locked(folder):
        if number % 3:
            put(folder, Pack("theirs", str(number), "0.1.0", "CC0", "Theirs", {"rules/a.toml": b"# filling\\n" * 50_000}))
        else:
            (folder / "packs/theirs.zip").unlink()
    print(number, flush=True)
"""


def start(script: str, *arguments: object, limit: int | None = None) -> "subprocess.Popen[str]":
    """A process of its own that runs a script; ``limit`` is the most bytes that a file of it may have."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    limited = f"import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, ({limit}, {limit}))\n" if limit else ""
    command = [sys.executable, "-c", limited + script, *map(str, arguments)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new studio."""
    init(tmp_path / "studio")
    return tmp_path / "studio"


def notes(folder: Path, knowledge: Knowledge) -> list[int]:
    """The numbers of the records in the log, in their order."""
    return [int(job.record.note.split()[0]) for job in read_studio(folder, knowledge).jobs]


def test_a_killed_writer_loses_no_record(folder: Path, knowledge: Knowledge) -> None:
    """Killed at random moments, the log holds every record that was reported as written, once and whole, and goes on growing."""
    chance, done = random.Random(7), []
    for turn in range(5):
        writer = start(_WRITE_LOG, folder, turn * 10_000, (turn + 1) * 10_000)
        assert writer.stdout is not None
        done += [int(writer.stdout.readline()) for _ in range(5)]  # however busy the machine is
        time.sleep(chance.random() * 0.05)
        writer.send_signal(signal.SIGKILL)
        done += [int(line) for line in writer.communicate()[0].split()]
    found = notes(folder, knowledge)
    assert set(found) >= set(done) and len(found) == len(set(found)) and len(done) > 20
    assert len(found) <= len(done) + 5, "each killed writer may have finished one record more than it could report"


def test_a_killed_writer_leaves_the_old_file_or_the_new_one(folder: Path) -> None:
    """Killed at random moments while it replaces a file, a writer leaves a whole one, and the lock does not stay."""
    chance = random.Random(11)
    for _ in range(5):
        writer = start(_WRITE_FILE, folder)
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(chance.random() * 0.05)
        writer.send_signal(signal.SIGKILL)
        last = [1, *map(int, writer.communicate()[0].split())][-1]
        lines = (folder / "shelf.toml").read_text(encoding="utf-8").splitlines()
        assert lines[0] == lines[-1] and len(lines) == 20002
        assert int(lines[0][2:]) in (last, last + 1)
    log.write(folder, log.Record(at=log.now(), minutes="1 min"))


def test_a_killed_writer_leaves_a_whole_pack_or_none(folder: Path) -> None:
    """Killed at random moments while packs come and go, a writer leaves a whole one or none, and the next one finds nothing lying about."""
    before, chance = contents(folder), random.Random(13)
    for _ in range(4):
        writer = start(_WRITE_PACKS, folder)
        assert writer.stdout is not None
        writer.stdout.readline()
        time.sleep(chance.random() * 0.05)
        writer.send_signal(signal.SIGKILL)
        last = [1, *map(int, writer.communicate()[0].split())][-1]
        with locked(folder):
            kept = contents(folder)
        assert {file: data for file, data in kept.items() if file in before} == before and len(kept) <= len(before) + 1
        found = [read_pack(data, file.name).version for file, data in kept.items() if file not in before]
        assert found in [[str(number)] if number % 3 else [] for number in (last, last + 1)]
    (folder / "packs/theirs.zip").unlink(missing_ok=True)
    with locked(folder):
        assert not (folder / "packs").exists()


def test_a_full_disk_takes_no_pack_in(folder: Path) -> None:
    """A pack that does not fit is not taken in: the folder is as it was, and the reason is told."""
    before = contents(folder)
    assert "cannot be taken in" in start(_WRITE_PACKS, folder, limit=1000).communicate()[1]
    assert contents(folder) == before and not (folder / "packs").exists()


def test_a_full_disk_loses_nothing(folder: Path, knowledge: Knowledge) -> None:
    """Where no more fits, the writer is told, the log holds what was reported and ends with a whole line."""
    writer = start(_WRITE_LOG, folder, 0, 100, limit=20_000)
    out, errors = writer.communicate()
    done = [int(line) for line in out.split()]
    assert 0 < len(done) < 100 and "Nothing was changed" in errors
    assert notes(folder, knowledge) == done
    assert (folder / log.FILE).read_bytes().endswith(b"}\n")


def test_a_full_disk_leaves_the_file_as_it_was(folder: Path) -> None:
    """A file that does not fit is not put in the place of the old one, and nothing of it stays."""
    before = contents(folder)
    writer = start(_WRITE_FILE, folder, limit=1000)
    assert "Nothing was changed" in writer.communicate()[1]
    assert contents(folder) == before


def test_a_half_written_line_is_kept_aside(folder: Path, knowledge: Knowledge) -> None:
    """A cut-off last line counts for nothing, is reported, and is moved aside byte for byte before the next record."""
    log.write(folder, log.Record(at=log.now(), minutes="1 min", note="1"))
    with (folder / log.FILE).open("ab") as stream:
        stream.write(b'{"at": "2026-01-01T10:00:00+00:00", "minutes": "7 \xc2')
    assert read_studio(folder, knowledge).torn.startswith('{"at": "2026-01-01')
    assert notes(folder, knowledge) == [1]
    log.write(folder, log.Record(at=log.now(), minutes="1 min", note="2"))
    assert notes(folder, knowledge) == [1, 2] and not read_studio(folder, knowledge).torn
    assert aside(folder / log.FILE).read_bytes() == b'{"at": "2026-01-01T10:00:00+00:00", "minutes": "7 \xc2\n'


def test_a_last_record_without_its_line_end_counts(folder: Path, knowledge: Knowledge) -> None:
    """A whole record whose line end an editor took away is no half-written line: it counts, and the next one begins a line of its own."""
    log.write(folder, log.Record(at=log.now(), minutes="1 min", note="1"))
    file = folder / log.FILE
    file.write_bytes(file.read_bytes().rstrip(b"\n"))
    assert notes(folder, knowledge) == [1]
    log.write(folder, log.Record(at=log.now(), minutes="1 min", note="2"))
    assert notes(folder, knowledge) == [1, 2] and not aside(file).exists()


def test_two_writers_at_once_lose_nothing(folder: Path, knowledge: Knowledge) -> None:
    """Records of two processes that write at once all stand in the log, each writer's in its own order."""
    writers = [start(_WRITE_LOG, folder, first, first + 40) for first in (0, 1000)]
    for writer in writers:
        assert writer.communicate()[1] == ""
    found = notes(folder, knowledge)
    assert sorted(found) == [*range(40), *range(1000, 1040)]
    assert [each for each in found if each < 1000] == list(range(40))


def test_two_editors_at_once_lose_nothing(folder: Path) -> None:
    """What two threads put on the shelf at once is all there: each reads, changes and writes alone."""
    things = ["felt-wheel", "brush-wheel", "flat-lap", "pumice", "diamond", "cerium-oxide"]
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(lambda thing: add_to_shelf(folder, thing, [], None), things))
    entries = tomllib.loads((folder / "shelf.toml").read_text(encoding="utf-8"))["shelf"]
    assert sorted(entry["thing"] for entry in entries) == sorted(things)


@pytest.mark.parametrize("still_there", [True, False], ids=["moved", "gone"])
def test_what_another_changes_meanwhile_is_not_taken_for_what_was_meant(folder: Path, still_there: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is to be taken out is looked for when nobody else writes: what came to stand in its place stays, and if it is gone that is said."""
    rule = '[[rule]]\nid = "{}"\nif = ["?option uses mineral tripoli"]\nthen = ["?option is ruled out"]\nbecause = "So it is here."\n'
    rules = {name: rule.format(name) + 'basis = { kind = "studio" }\n' for name in ("a", "b", "c")}
    items = {thing: f'[[shelf]]\nthing = "{thing}"\n' for thing in ("felt-wheel", "pumice", "diamond")}
    for file, texts, meant, remove in (
        ("rules/ours.toml", rules, "b", add.remove_rule),
        ("shelf.toml", items, "pumice", add.remove_from_shelf),
    ):
        first, _, last = texts
        (folder / file).write_text(texts[first] + texts[meant], encoding="utf-8")
        meanwhile = (texts[meant] if still_there else "") + texts[last]

        def change(*told: Any, file: str = file, meanwhile: str = meanwhile, **options: Any) -> Studio:
            (folder / file).write_text(meanwhile, encoding="utf-8")
            return edit.change(*told, **options)

        monkeypatch.setattr(add, "change", change)
        if still_there:
            remove(folder, meant)
            assert (folder / file).read_text(encoding="utf-8") == texts[last]
        else:
            with pytest.raises(StudioError, match="in the meantime"):
                remove(folder, meant)
            assert (folder / file).read_text(encoding="utf-8") == meanwhile


_AS_ANYBODY = """
import os, sys
from pathlib import Path
from finishing_kg.engine import Knowledge
from finishing_kg.studio import StudioError, log, read_studio
folder, shipped = Path(sys.argv[1]), Knowledge.shipped()
knowledge = Knowledge(shipped.vocabulary, shipped.language, shipped.base)  # nothing of it is compiled, so that the files are read twice
read_studio(folder, knowledge)  # loads what is loaded late, which somebody else may not be able to read
if os.getuid() == 0:
    os.setuid(65534)  # root may write everywhere
print([job.record.note for job in read_studio(folder, knowledge).jobs])
try:
    log.write(folder, log.Record(at=log.now(), minutes="1 min"))
except StudioError as error:
    print(error)
"""


@pytest.mark.skipif(os.name != "posix", reason="permissions of folders are those of POSIX")
def test_a_folder_that_may_not_be_written_can_be_read() -> None:
    """A studio on a medium that cannot be written is read as any other; a change is refused with the reason."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "studio"
        init(folder)
        log.write(folder, log.Record(at=log.now(), minutes="1 min", note="1"))
        before = contents(folder)
        for path in (*folder.rglob("*"), folder, Path(place)):
            path.chmod(0o555 if path.is_dir() else 0o444)
        try:
            out, errors = start(_AS_ANYBODY, folder).communicate()
            assert not errors and out.startswith("['1']") and "Nothing was changed" in out
            assert contents(folder) == before
        finally:
            for path in (Path(place), folder, *folder.rglob("*")):
                path.chmod(0o755 if path.is_dir() else 0o644)


def test_a_newer_format_is_not_touched(folder: Path) -> None:
    """A folder that a newer version wrote is neither read nor changed, not even by a lock, and the message says what to do."""
    (folder / "studio.toml").write_text('name = "Ours"\nformat = 2\n', encoding="utf-8")
    (folder / LOCK).unlink(missing_ok=True)
    before = contents(folder)
    for change in (lambda: read_studio(folder), lambda: add_to_shelf(folder, "pumice", [], None)):
        with pytest.raises(StudioError, match="a newer version wrote it"):
            change()
    assert contents(folder) == before and not (folder / LOCK).exists()


def test_a_clock_that_goes_back_refuses_nothing(folder: Path, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Records are kept in the order in which they were written, whatever the clock said; the period is from the earliest to the latest."""
    told = {"mineral": "silicon-carbide", "hold": "loose", "carrier": "flat-lap", "glass": "lead-crystal", "grade": "F400", "found": "F220"}
    for at in ("2026-03-01T10:00:00+00:00", "2025-12-24T10:00:00+01:00"):
        log.write(folder, log.Record(at=at, minutes="12 min", found_hold="loose", **told))
    studio = read_studio(folder, knowledge)
    assert [job.record.at[:4] for job in studio.jobs] == ["2026", "2025"]
    assert (studio.paces[0].first, studio.paces[0].last) == ("2025-12-24", "2026-03-01")


def test_a_link_stays_a_link(folder: Path, tmp_path: Path) -> None:
    """A file of the studio that is a link to somewhere else is written where it leads to."""
    elsewhere = tmp_path / "shelf elsewhere.toml"
    elsewhere.write_text("# here\n", encoding="utf-8")
    (folder / "shelf.toml").unlink()
    (folder / "shelf.toml").symlink_to(elsewhere)
    replace_file(folder / "shelf.toml", "# there\n")
    assert (folder / "shelf.toml").is_symlink() and elsewhere.read_text(encoding="utf-8") == "# there\n"


def test_a_spoilt_record_is_told_with_its_line(folder: Path, knowledge: Knowledge) -> None:
    """Every line of the log that is no record is reported, with its number; nothing of the studio is then used."""
    good = json.dumps({"at": "2026-01-01T10:00:00+00:00", "minutes": "12 min"})
    bad = ["{", '{"at": 3}', '{"at": "2026-01-01", "minutes": "12"}', '{"at": "noon", "minutes": "1 min"}', '{"at": "2026-01-01", "who": "I"}']
    (folder / log.FILE).write_text("".join(f"{line}\n" for line in (good, *bad, good)), encoding="utf-8")
    with pytest.raises(StudioError) as caught:
        read_studio(folder, knowledge)
    assert [(fault.file, fault.line) for fault in caught.value.faults] == [(log.FILE, number) for number in range(2, 7)]
