"""A conversation as plain data, so that it can be saved and opened again.

What is kept are the turns as they were typed and the settings. Opening says the turns again, so that an answer can never
disagree with the rules that are in force when it is read.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from finishing_kg.chat.dialogue import Dialogue
from finishing_kg.engine import Knowledge

FORMAT, VERSION = "finishing-kg conversation", 1
MOST_TURNS = 2_000
"""Turns that a saved conversation may hold; a longer one is no conversation."""

LONGEST_TURN = 100_000
"""Characters that a saved turn may hold, as many as one typed turn."""

_LARGEST_FILE = 20_000_000


class SessionError(Exception):
    """A saved conversation that cannot be opened.

    Attributes:
        text: what is wrong and what to do.
        where: the file.
    """

    def __init__(self, text: str, where: str) -> None:
        super().__init__(text)
        self.text, self.where = text, where


def as_data(dialogue: Dialogue) -> dict[str, Any]:
    """A conversation as values that JSON knows."""
    return {"format": FORMAT, "version": VERSION, "settings": {"whole": dialogue.whole}, "turns": list(dialogue.turns)}


def from_data(knowledge: Knowledge, data: object, where: str = "the saved conversation", *, whole: bool | None = None) -> Dialogue:
    """The conversation that some data tells, as it stood after its last turn.

    Args:
        knowledge: ontology and rules.
        data: as ``as_data`` makes it.
        where: the file, for what is told of a fault.
        whole: stands for the saved setting, if it is given.

    Raises:
        SessionError: the data is of another format or of a later version, or is damaged.
    """
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise SessionError("This file holds no saved conversation. Open one that was written with --save.", where)
    version = data.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise SessionError("The saved conversation is damaged: its version is no number.", where)
    if version > VERSION:
        raise SessionError(
            f"The conversation was saved by a later release (its format is {version}, this release reads up to {VERSION}). "
            "Open it with that release, or ask anew.",
            where,
        )
    settings, turns = data.get("settings"), data.get("turns")
    if not isinstance(settings, dict) or not isinstance(settings.get("whole"), bool):
        raise SessionError("The saved conversation is damaged: its settings are missing.", where)
    if not isinstance(turns, list) or not all(isinstance(turn, str) for turn in turns):
        raise SessionError("The saved conversation is damaged: its turns are missing or are no texts.", where)
    if len(turns) > MOST_TURNS or any(len(turn) > LONGEST_TURN for turn in turns):
        raise SessionError(f"The saved conversation is too long: at most {MOST_TURNS} turns of {LONGEST_TURN} characters are opened.", where)
    dialogue = Dialogue(knowledge, whole=settings["whole"] if whole is None else whole)
    for turn in turns:
        dialogue.say(turn)
    return dialogue


def save(dialogue: Dialogue, file: Path) -> None:
    """Write a conversation to a file, whole or not at all.

    Raises:
        SessionError: the file cannot be written; what was there is then as it was.
    """
    from finishing_kg.files import CannotWrite, write_whole

    try:
        write_whole(file, json.dumps(as_data(dialogue), ensure_ascii=True, indent=1) + "\n")
    except CannotWrite as error:
        raise SessionError(str(error), str(file)) from error


def load(knowledge: Knowledge, file: Path, *, whole: bool | None = None) -> Dialogue:
    """Open a conversation that was saved.

    Raises:
        SessionError: there is no such file, it cannot be read, or it holds no conversation that can be opened.
    """
    try:
        with file.open("rb") as stream:
            raw = stream.read(_LARGEST_FILE + 1)
    except OSError as error:
        raise SessionError(f"The saved conversation cannot be read ({error.strerror or error}).", str(file)) from error
    if len(raw) > _LARGEST_FILE:
        raise SessionError("The file is too large for a saved conversation.", str(file))
    try:
        data = json.loads(raw.decode("utf-8"))
    except (ValueError, RecursionError) as error:
        raise SessionError("The saved conversation is damaged: it is no JSON text. Was the file cut short or edited?", str(file)) from error
    return from_data(knowledge, data, str(file), whole=whole)
