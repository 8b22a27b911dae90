"""A conversation that is saved and opened again."""

import json
from pathlib import Path
from typing import Any

import pytest

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.chat.session import FORMAT, VERSION, SessionError, as_data, from_data, load, save
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge

pytestmark = pytest.mark.usefixtures("shipped_once")

TURNS = (
    "cast lead crystal relief, straight from the mould, I only have pumice and a brush wheel",
    "to a pre-polish",
    "sorry, it is borosilicate",
    "what if it were a flat face?",
    "orange peel on it after the felt wheel",
)
AFTERWARDS = ("why?", "it was ground with F400", "next piece: float rim, sawn", "polish")


def spoken(knowledge: Knowledge) -> Dialogue:
    """A conversation of a few turns."""
    dialogue = Dialogue(knowledge)
    for turn in TURNS:
        dialogue.say(turn)
    return dialogue


def test_an_opened_conversation_answers_alike(knowledge: Knowledge, tmp_path: Path) -> None:
    """After saving and opening, every further turn gets the answer that it would have got."""
    before, file = spoken(knowledge), tmp_path / "talk.json"
    save(before, file)
    after = load(knowledge, file)
    assert after.case == before.case
    for turn in AFTERWARDS:
        assert as_json(after.say(turn)) == as_json(before.say(turn)), turn


def test_data_goes_through_json_unchanged(knowledge: Knowledge) -> None:
    """The data of a conversation is plain JSON, and the conversation made of it gives the same data."""
    data = as_data(spoken(knowledge))
    assert json.loads(json.dumps(data)) == data
    assert as_data(from_data(knowledge, data)) == data


DAMAGED = [
    pytest.param([], "no saved conversation", id="a list"),
    pytest.param({"turns": []}, "no saved conversation", id="another format"),
    pytest.param({"format": FORMAT, "version": VERSION + 1, "settings": {"whole": True}, "turns": []}, "later release", id="later"),
    pytest.param({"format": FORMAT, "version": "1", "settings": {"whole": True}, "turns": []}, "version", id="version"),
    pytest.param({"format": FORMAT, "version": VERSION, "settings": {}, "turns": []}, "settings", id="settings"),
    pytest.param({"format": FORMAT, "version": VERSION, "settings": {"whole": True}, "turns": [1]}, "turns", id="turns"),
    pytest.param({"format": FORMAT, "version": VERSION, "settings": {"whole": True}, "turns": ["a"] * 9999}, "too long", id="long"),
]


@pytest.mark.parametrize(("data", "word"), DAMAGED)
def test_a_damaged_or_later_file_is_refused(knowledge: Knowledge, tmp_path: Path, data: Any, word: str) -> None:
    """A file of another kind, a later format or a damaged one is refused with the reason and the file's name."""
    file = tmp_path / "talk.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(SessionError, match=word) as told:
        load(knowledge, file)
    assert told.value.where == str(file)


@pytest.mark.parametrize("raw", [b"", b"{", b"\xff\xfe\x00", b"[" * 200_000], ids=["empty", "cut", "not UTF-8", "deep"])
def test_a_cut_file_is_refused(knowledge: Knowledge, tmp_path: Path, raw: bytes) -> None:
    """A file that was cut short or is no text is refused as damaged."""
    file = tmp_path / "talk.json"
    file.write_bytes(raw)
    with pytest.raises(SessionError, match="damaged"):
        load(knowledge, file)


def test_a_failed_save_leaves_what_was_there(knowledge: Knowledge, tmp_path: Path) -> None:
    """A conversation that cannot be written leaves nothing half done."""
    with pytest.raises(SessionError):
        save(spoken(knowledge), tmp_path / "missing" / "talk.json")
    assert list(tmp_path.iterdir()) == []


def test_the_command_saves_and_goes_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One run saves the piece; the next run opens it and only needs what is missing."""
    file = str(tmp_path / "talk.json")
    assert main(["ask", "--save", file, "sawn float glass, flat face"]) == 3
    capsys.readouterr()
    assert main(["ask", "--json", "--open", file, "--save", file, "to fine grind"]) == 0
    assert json.loads(capsys.readouterr().out)["understood"]["glass"] == "soda-lime-float"
    assert json.loads(Path(file).read_text(encoding="utf-8"))["turns"] == ["sawn float glass, flat face", "to fine grind"]


def test_the_command_tells_what_is_wrong(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A conversation that is not there ends with status 2 and names the file."""
    assert main(["ask", "--open", str(tmp_path / "none.json"), "polish"]) == 2
    assert "none.json" in capsys.readouterr().err
