"""Another identifier or another label for a thing of the studio, in all of its files at once; answers stay as they were."""

import json
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

from finishing_kg.record import replace
from finishing_kg.statements import Language, Statement, StatementError
from finishing_kg.studio.contents import Studio, read_studio
from finishing_kg.studio.edit import change_all
from finishing_kg.studio.errors import fault
from finishing_kg.vocabulary import Name, Vocabulary

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
# Comments come first, so that quotation marks in them begin nothing; then keys, then texts.
_TEXT = r"""\"{3}.*?\"{3}|'{3}.*?'{3}|\"(?:[^"\\\n]|\\.)*\"|'[^'\n]*'"""
_KEY = r"(?:^|(?<=[{,\n]))[ \t]*[A-Za-z_-]+(?=[ \t]*=)"
_TOKEN = re.compile(rf"(?P<comment>\#[^\n]*)|(?P<key>{_KEY})|(?P<text>{_TEXT})", re.DOTALL)
_FREE = ("ask", "turns")  # a maker's own words: what they call a thing is changed in them too
_KEPT = ("id", "because", "basis", "source", "locator", "note", "name", "reason")


def rename(folder: Path, old: str, new: str) -> Studio:
    """Give a thing of the studio another identifier or another label.

    Args:
        folder: the studio's.
        old: its identifier, or its label as it is now.
        new: the identifier, or the label, to be.

    Raises:
        StudioError: the studio has no such thing, the new name is taken or no name, or with it something would not be in order.
            Nothing was then changed.
    """
    studio = read_studio(folder)
    thing = _found(studio, old)
    vocabulary = studio.knowledge.vocabulary
    if not new.strip() or old == new:
        raise fault("The new name must be another, and hold a letter. Nothing was changed.", part=new[:60])
    if old == thing.id:
        if not _ID.fullmatch(new):
            raise fault("An identifier is small letters, digits and single hyphens, such as canal-batch. Nothing was changed.", part=new[:60])
        if new in vocabulary.names:
            raise fault(f"This identifier is taken by {vocabulary.names[new].label}. Take another. Nothing was changed.", part=new)
        return change_all(folder, _Renaming(studio, thing, replace_id=new))
    return change_all(folder, _Renaming(studio, thing, replace_label=new))


def _found(studio: Studio, old: str) -> Name:
    """The thing of the studio that goes by an identifier or a label; names that the studio only gives to a shipped thing do not count."""
    names = studio.knowledge.vocabulary.names
    own = [names[thing] for thing, (file, _) in studio.own_things.items() if thing in names and file.startswith("things/") and _is_own(studio, thing)]
    found = next((name for name in own if name.id == old), None) or next((name for name in own if name.label.casefold() == old.casefold()), None)
    if found is None:
        known = ", ".join(f"{name.id} ({name.label})" for name in own) or "none yet"
        raise fault(f"The studio has no thing {old[:60]!r}. Its own things are: {known}. What is shipped keeps its name.", part=old[:60])
    return found


def _is_own(studio: Studio, thing: str) -> bool:
    """Whether the studio makes a thing, and does not only name it anew."""
    file, _ = studio.own_things[thing]
    text = (studio.folder / file).read_text(encoding="utf-8")
    return re.search(rf"fk:{re.escape(thing)}(?![\w-])\s+a\s", text) is not None


class _Renaming:
    """What becomes of each file's text."""

    def __init__(self, studio: Studio, thing: Name, *, replace_id: str = "", replace_label: str = "") -> None:
        self.thing, self.new_id, self.new_label = thing, replace_id, replace_label
        self.before = studio.knowledge.language
        self.after = _renamed(studio.knowledge.vocabulary, thing, replace_id, replace_label)
        self.key = ""

    def __call__(self, file: str, text: str) -> str:
        if file.endswith(".ttl"):
            return self._turtle(text)
        return self._lines(text) if file.endswith(".jsonl") else self._toml(text)

    def _turtle(self, text: str) -> str:
        old = re.escape(self.thing.id)
        if self.new_id:
            return re.sub(
                rf"(?<![\w-])fk:{old}(?![\w-])|(?<=finishing-kg\.example/onto#){old}(?=>)", lambda m: _with(m, self.thing.id, self.new_id), text
            )
        label = re.compile(rf"(skos:prefLabel\s+)(['\"]){re.escape(self.thing.label)}\2")
        return label.sub(lambda match: match[1] + json.dumps(self.new_label, ensure_ascii=False), text)

    def _lines(self, text: str) -> str:
        return re.sub(r'(?<!"note")(:\s*)("(?:[^"\\\n]|\\.)*")', lambda match: match[1] + self._text(match[2], self._name), text)

    def _toml(self, text: str) -> str:
        self.key = ""
        return _TOKEN.sub(self._token, text)

    def _token(self, match: re.Match[str]) -> str:
        if match["key"]:
            self.key = match["key"].strip()
        return self._text(match["text"], self._value) if match["text"] else match[0]

    def _text(self, token: str, becomes: Callable[[str], str]) -> str:
        """A text in its quotation marks, with what it says made another; as it stands if it stays the same."""
        if token.startswith(('"""', "'''")):
            inner = token[3:-3]
            key, changed = self.key, self._toml(inner)
            self.key = key
            return token[:3] + changed + token[-3:]
        value = tomllib.loads(f"x = {token}")["x"]
        after = becomes(value)
        return token if after == value else json.dumps(after, ensure_ascii=False)

    def _value(self, value: str) -> str:
        if self.key in _KEPT:
            return value
        if self.key in _FREE:
            return self._in_words(value)
        try:
            said = self.before.parse(value, repair=False)
        except StatementError:
            return self._name(value)
        return self._sentence(value, said)

    def _name(self, value: str) -> str:
        """A value that is the thing's identifier or label alone."""
        if self.new_id:
            return self.new_id if value == self.thing.id else value
        return self.new_label if value.strip().casefold() == self.thing.label.casefold() else value

    def _in_words(self, value: str) -> str:
        old, new = (self.thing.id, self.new_id) if self.new_id else (self.thing.label, self.new_label)
        return re.sub(rf"(?<![\w-]){re.escape(old)}(?![\w-])", lambda _: new, value, flags=re.IGNORECASE)

    def _sentence(self, value: str, said: Statement) -> str:
        """A sentence that says the same with the new name, in the words that were there if they still say it."""
        if self.thing.id not in (said.subject, said.object):
            return value
        new = self.new_id or self.thing.id
        meant = said._replace(
            subject=new if said.subject == self.thing.id else said.subject,
            object=new if said.object == self.thing.id else said.object,
        )
        for words in (value, self._in_words(value)):
            try:
                if self.after.parse(words, repair=False) == meant:
                    return words
            except StatementError:
                continue
        return self.after.print(meant)


def _with(match: re.Match[str], old: str, new: str) -> str:
    return match[0].replace(old, new)


def _renamed(vocabulary: Vocabulary, thing: Name, new_id: str, new_label: str) -> Language:
    """The language in which the thing goes by its new name."""
    names = {key: name for key, name in vocabulary.names.items() if key != thing.id}
    notation = new_id if thing.notation == thing.id and new_id else thing.notation
    changed = replace(thing, id=new_id or thing.id, notation=notation, label=new_label or thing.label)
    return Language(replace(vocabulary, names={**names, changed.id: changed}))
