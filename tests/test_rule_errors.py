"""One wrong word in a rule: the place is named to the column, and what to write instead can be read."""

import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from effort import WHOLE
from strategies import slip

from finishing_kg.cli import main
from finishing_kg.rules import RuleFileError, load_rules
from finishing_kg.rules.positions import rule_places
from finishing_kg.statements import Language

ROOT = Path(__file__).parent.parent
FILES = [*sorted((ROOT / "rules").glob("*.toml")), ROOT / "examples" / "studio" / "rules" / "ours.toml"]
TRIED = 300 if WHOLE else 80


class Spoilt(NamedTuple):
    """A rule file in which one word is wrong: where it stands, counted from 1, and the text."""

    file: Path
    line: int
    first: int
    last: int
    text: str


def spoilt(number: int) -> Iterator[Spoilt]:
    """Rule files, each with one word of one sentence misspelt, doubled or followed by a stray word."""
    chance = random.Random(11)
    places = [
        (file, line, column)
        for file in FILES
        for place in rule_places(file.read_text(encoding="utf-8"))
        for key in ("if", "unless", "then")
        for line, column in zip(place.items.get(key, ()), place.columns.get(key, ()), strict=True)
    ]
    for file, line, column in chance.sample(places, number):
        lines = file.read_text(encoding="utf-8").split("\n")
        held = lines[line - 1]
        sentence = held[column - 1 : held.index('"', column - 1)]
        words = sentence.split(" ")
        at = chance.choice([index for index, word in enumerate(words) if len(word) > 3 and word.replace("-", "").isalpha()])
        way = chance.randrange(6)
        changed = words[at] if way == 4 else "really" if way == 5 else slip(words[at], chance)
        wrong = [*words[:at], changed, *words[at + (way < 4) :]]
        first = column + len(" ".join([*words[:at], ""]))
        lines[line - 1] = held[: column - 1] + " ".join(wrong) + held[column - 1 + len(sentence) :]
        # A word that stands twice is wrong in either place.
        yield Spoilt(file, line, first, first + len(changed) + (len(changed) + 1) * (way == 4), "\n".join(lines))


def test_a_wrong_word_is_found_and_repaired(language: Language, tmp_path: Path) -> None:
    """Of rule files with one wrong word all name file and line, 95 in 100 the word by its column, and as many a repair that can be read."""
    tried = placed = repaired = 0
    for each in spoilt(TRIED):
        file = tmp_path / each.file.name
        file.write_text(each.text, encoding="utf-8")
        try:
            load_rules([file], language)
            continue  # it happens to say something else
        except RuleFileError as error:
            # Rules that override the spoilt one, or that it overrides, are told as well where they stand in other files.
            faults = [fault for fault in error.faults if fault.part.partition(" ")[0] in ("if", "unless", "then")]
        assert faults and all((fault.file, fault.line) == (each.file.name, each.line) for fault in faults), faults
        tried += 1
        told = faults[0]
        mark = next((line for line in told.text.split("\n") if line.strip() and not line.strip("^ ")), "")
        placed += told.column < each.last and told.column + max(1, len(mark.strip())) > each.first
        repair = told.text.rpartition("Write: ")[2] if "Write: " in told.text else ""
        repaired += language.readable(repair)
    assert tried > 0.8 * TRIED, tried
    assert placed >= 0.95 * tried, f"{placed} of {tried} name the column"
    assert repaired >= 0.95 * tried, f"{repaired} of {tried} are repaired"


def test_the_studio_is_told_the_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`studio check` names file, line and column of the wrong word, shows it with a mark below, and says what to write."""
    folder = Path(shutil.copytree(ROOT / "examples" / "studio", tmp_path / "studio"))
    rules = folder / "rules" / "ours.toml"
    text = rules.read_text(encoding="utf-8")
    rules.write_text(text.replace("?option uses carrier brush wheel", "?option uses carier brush wheel", 1), encoding="utf-8")
    line = next(number for number, each in enumerate(text.split("\n"), 1) if "uses carrier brush wheel" in each)
    assert main(["studio", "check", "--studio", str(folder)]) == 2
    told = capsys.readouterr().err
    assert f"rules/ours.toml, line {line}, column " in told and "^" in told and "Write: ?option uses carrier brush wheel" in told


def test_many_broken_sentences_are_refused_soon(language: Language, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a file full of broken sentences ten are repaired, which takes long, each other has its place and the reason, and all are counted."""
    sought: list[str] = []
    monkeypatch.setattr("finishing_kg.statements.repair.nearest_sentences", lambda _, words: iter(sought.append(words[-1][0]) or ()))
    rule = '[[rule]]\nid = "r{0}"\nif = ["the piece hes form rim {0}"]\nthen = ["?option is ruled out"]\nbecause = "So it is here."\n'
    for number, file in enumerate(("a.toml", "b.toml")):
        texts = (rule.format(each) + 'basis = { kind = "studio" }\n' for each in range(150 * number, 150 * number + 150))
        (tmp_path / file).write_text("".join(texts), encoding="utf-8")
    with pytest.raises(RuleFileError) as caught:
        load_rules(sorted(tmp_path.glob("*.toml")), language)
    assert sought == [str(number) for number in range(10)]
    faults = caught.value.faults
    assert [(fault.file, fault.line, fault.column) for fault in faults] == [(f, 3 + 6 * n, 18) for f in ("a.toml", "b.toml") for n in range(150)]
    assert all("know no phrase that begins with 'hes'" in fault.text for fault in faults)
    assert ["Write: " in fault.text for fault in faults] == [True] * 10 + [False] * 290
    assert [number for number, fault in enumerate(faults) if "300 sentences cannot be read" in fault.text] == [10]
