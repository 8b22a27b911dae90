"""Another name for a thing of the studio: all of its files follow at once, comments stay, and answers are as they were."""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.studio import StudioError, read_studio
from finishing_kg.studio import write as writing
from finishing_kg.studio.rename import rename

pytestmark = pytest.mark.usefixtures("shipped_once")

EXAMPLE = Path(__file__).parent.parent / "examples" / "studio"
PLAN = """
# Ours, over the brush.
[[setup]]
id = "our-glass-on-a-lap"   # stays: it is the case's own name
plan = '''
[piece]
glass = "canal-batch"       # in the plan too
form = "flat-face"
surface = "sawn"
finish = "ground"
[[step]]
mineral = "silicon-carbide"
grade = "F220"
hold = "loose"
carrier = "flat-lap"
wet = true
'''
clean = true
"""
RULES = """
[[rule]]
id = "no-tin-here"
if = ["the piece has glass canal batch", "?option uses mineral tin oxide"]  # by its label
then = ["?option is ruled out"]
because = "The canal batch streaks under tin oxide."
basis = { kind = "studio" }

[[rule]]
id = "no-tripoli-here"
if = ["the piece has glass canal-batch", "?option uses mineral tripoli"]
then = ["?option is ruled out"]
because = "The canal batch streaks under tripoli."
basis = { kind = "studio" }
"""
JOB = {"at": "2026-03-01T10:00:00+00:00", "minutes": "9 min", "mineral": "silicon-carbide", "hold": "loose", "carrier": "flat-lap"}
JOB |= {"glass": "canal-batch", "grade": "F220", "note": "canal-batch"}
ASK = "Relief cast panel in {}, straight from the mould, to pre-polish"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The studio of the examples, with its glass in every kind of file."""
    made = Path(shutil.copytree(EXAMPLE, tmp_path / "studio"))
    with (made / "cases" / "ours.toml").open("a", encoding="utf-8") as cases:
        cases.write(PLAN)
    with (made / "rules" / "ours.toml").open("a", encoding="utf-8") as rules:
        rules.write(RULES)
    with (made / "log.jsonl").open("a", encoding="utf-8") as jobs:
        jobs.write(json.dumps(JOB) + "\n")
    return made


def answers(folder: Path, knowledge: Knowledge, called: str) -> list[dict[str, Any]]:
    """What is said to some questions about the glass."""
    held = read_studio(folder, knowledge).knowledge
    return [as_json(Dialogue(held).say(ask)) for ask in (ASK.format(called), f"flat face of {called}, sawn, to polish")]


def texts(folder: Path) -> dict[str, str]:
    """All files of a studio."""
    files = (file for file in sorted(folder.rglob("*")) if file.is_file() and not file.name.startswith("."))
    return {file.relative_to(folder).as_posix(): file.read_text(encoding="utf-8") for file in files}


def test_another_identifier(folder: Path, knowledge: Knowledge) -> None:
    """Rules, cases, plans, things and log name the new identifier; comments and a maker's words stay, and so do the answers."""
    before, old = answers(folder, knowledge, "canal batch"), texts(folder)
    rename(folder, "canal-batch", "lock-melt")
    new = texts(folder)
    again = json.loads(json.dumps(before).replace("canal-batch", "lock-melt"))
    assert answers(folder, knowledge, "canal batch") == again
    assert "canal-batch" not in new["rules/ours.toml"] + new["things/ours.ttl"] + new["cases/ours.toml"]
    assert '"glass": "lock-melt"' in new["log.jsonl"] and '"note": "canal-batch"' in new["log.jsonl"]
    assert 'if = ["the piece has glass canal batch"' in new["rules/ours.toml"]  # a sentence with the label says it still
    for file, text in old.items():
        assert [line.partition("#")[2] for line in text.splitlines() if "#" in line and "onto#" not in line and "source#" not in line] == [
            line.partition("#")[2] for line in new[file].splitlines() if "#" in line and "onto#" not in line and "source#" not in line
        ]
    rename(folder, "lock-melt", "canal-batch")
    back = texts(folder)
    assert {file: text for file, text in back.items() if file != "log.jsonl"} == {file: text for file, text in old.items() if file != "log.jsonl"}


def test_another_label(folder: Path, knowledge: Knowledge) -> None:
    """Sentences and questions say the new label, the identifier stays, and the answers are the same but for it."""
    before = answers(folder, knowledge, "canal batch")
    rename(folder, "canal batch", "lock melt")
    new, after = texts(folder), answers(folder, knowledge, "lock melt")
    # A reason is somebody's own words, and stays.
    expected = json.dumps(before).replace("canal batch", "lock melt").replace("lock melt streaks", "canal batch streaks")
    assert json.loads(expected) == after
    assert "the piece has glass lock melt" in new["rules/ours.toml"] and "canal batch, straight" not in new["cases/ours.toml"]
    assert "The canal batch streaks" in new["rules/ours.toml"]
    assert main(["studio", "check", "--studio", str(folder)]) == 0


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("float-glass", "ours", "no thing"),
        ("pumice", "bims", "no thing"),
        ("canal-batch", "lead-crystal", "taken"),
        ("canal-batch", "Lock Melt", "small letters"),
        ("canal batch", "lead crystal", "lead crystal"),
        ("canal batch", " ", "another"),
    ],
)
def test_what_is_refused(folder: Path, old: str, new: str, told: str) -> None:
    """What is shipped, a name that is taken and one that is no name are refused; not a letter is then changed."""
    before = texts(folder)
    with pytest.raises(StudioError, match=told):
        rename(folder, old, new)
    assert texts(folder) == before


def test_a_cut_in_the_middle_is_made_good(folder: Path, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """If the program is killed between two files, the next that reads the studio finds all of the change."""
    before, real, done = answers(folder, knowledge, "canal batch"), writing.replace_file, list[Path]()

    def killed(file: Path, text: str) -> None:
        if len(done) == 2:  # what is to be done is written down, and one file is in its place
            raise KeyboardInterrupt
        real(file, text)
        done.append(file)

    monkeypatch.setattr(writing, "replace_file", killed)
    with pytest.raises(KeyboardInterrupt):
        rename(folder, "canal-batch", "lock-melt")
    monkeypatch.setattr(writing, "replace_file", real)
    assert writing.is_pending(folder)
    assert answers(folder, knowledge, "canal batch") == json.loads(json.dumps(before).replace("canal-batch", "lock-melt"))
    assert not writing.is_pending(folder)
