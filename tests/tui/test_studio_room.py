"""The studio room, driven by keys alone: what it keeps, and forms that write a rule, a thing, the shelf and the bench log."""

from __future__ import annotations

import threading
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from effort import one_in
from finishing_kg_tui import studio_forms
from finishing_kg_tui.keeping import Kept, health, read
from finishing_kg_tui.screens.choose import ChooseScreen
from finishing_kg_tui.screens.decide import DecideScreen
from finishing_kg_tui.screens.form import Field, Form, FormScreen, Values
from finishing_kg_tui.screens.sentence import SentenceScreen
from finishing_kg_tui.screens.studio import StudioScreen
from finishing_kg_tui.widgets.fields import Fields
from syrupy.assertion import SnapshotAssertion
from textual.widgets import Input

from finishing_kg.engine import Knowledge
from finishing_kg.studio import init, read_studio
from finishing_kg.studio.add import add_rule, add_to_shelf
from finishing_kg.studio.say import Account, Say

from .conftest import NARROW, WIDE, Bench, OpenBench
from .fake_dialogue import FakeDialogue
from .test_screen_text import TextFile

SIZES = pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
A_SIZE = pytest.mark.parametrize("size", one_in(2, [NARROW, WIDE]), ids=lambda size: f"{size[0]}x{size[1]}")
RULE = {
    "id": "no-felt-on-reliefs",
    "if": ["?option uses carrier felt wheel", "the piece has form relief"],
    "then": ["?option is discouraged"],
    "because": "Felt rounds what the mould gave.",
    "basis": {"kind": "studio"},
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A studio that is found."""
    made = tmp_path / "studio"
    init(made, "The [b]glass[/b] shed")
    monkeypatch.setenv("FINISHING_KG_STUDIO", str(made))
    return made


@pytest.fixture
def kept(folder: Path, knowledge: Knowledge) -> Kept:
    """The same, read."""
    return read(folder, knowledge)


async def enter(bench: Bench, knowledge: Knowledge) -> StudioScreen:
    """Open the studio over the conversation."""
    screen = StudioScreen()
    screen._shipped = knowledge
    await bench.app.push_screen(screen)
    await bench.settle()
    return screen


async def write(bench: Bench, text: str) -> None:
    """Open the chosen field, write into it and take what is first."""
    await bench.press("enter")
    assert isinstance(bench.app.screen, ChooseScreen)
    await bench.press("ctrl+u")
    await bench.paste(text)
    await bench.press("enter")


async def say(bench: Bench, *pieces: str) -> None:
    """Open the chosen field and make a sentence, piece by piece."""
    await bench.press("enter")
    assert isinstance(bench.app.screen, SentenceScreen)
    for piece in pieces:
        await bench.paste(piece)
        await bench.press("enter")
    assert "● whole" in bench.screen_text()
    await bench.press("enter")


async def to_field(bench: Bench, label: str) -> None:
    """Go to a field by its label."""
    await bench.press("home")
    listed = bench.app.screen.query_one(Fields)
    for _ in range(listed.option_count):
        place = listed.highlighted or 0
        if str(listed.get_option_at_index(place).prompt).strip().startswith(label):
            return
        await bench.press("down")
    raise AssertionError(label)


@A_SIZE
async def test_a_rule_is_written_word_by_word(
    bench: OpenBench, knowledge: Knowledge, folder: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    """From an empty form to a saved rule by keys alone: what is written is the TOML that a hand would write; what it changes is seen before."""
    seen: list[Values] = []

    def foreseen(_kept: Kept) -> Callable[..., list[str]]:
        return lambda values, *_: seen.append(values) or ["1 of 2 cases answers otherwise."]

    monkeypatch.setattr(studio_forms, "_foreseen", foreseen)
    async with bench(FakeDialogue, size) as found:
        await enter(found, knowledge)
        await found.press("a")
        assert isinstance(found.app.screen, FormScreen)
        await found.press("s")
        assert "× Still needed: Name, If, Then, Because." in found.screen_text()
        await write(found, "no-felt-on-reliefs")
        await to_field(found, "If")
        await say(found, "?option", "uses carrier", "felt wheel")
        await found.press("down")
        await say(found, "the piece", "has form", "relief")
        await to_field(found, "Then")
        await say(found, "?option", "is discouraged")
        await to_field(found, "Because")
        await write(found, "Felt rounds what the mould gave.")
        await found.press("s")
        assert isinstance(found.app.screen, DecideScreen) and "1 of 2 cases" in found.screen_text()
        assert not read_studio(folder, knowledge).own_rules
        await found.press("enter")
        assert isinstance(found.app.screen, StudioScreen)
        assert "● ours  no-felt-on-reliefs" in " ".join(found.screen_text().split("   ")) or "no-felt-on-reliefs" in found.screen_text()
    entry = tomllib.loads((folder / "rules/ours.toml").read_text(encoding="utf-8"))["rule"][0]
    assert {**entry, "basis": {"kind": entry["basis"]["kind"]}} == {**RULE, "if": [RULE["if"][0], entry["if"][1]]}
    assert "relief" in entry["if"][1] and seen


async def test_a_rule_is_undone_by_taking_it_out(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """D asks, shows the rule, and takes it out; the file is then as it was. A shipped rule stays."""
    before = (folder / "rules/ours.toml").read_text(encoding="utf-8")
    add_rule(folder, RULE)
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        assert "Felt rounds what the mould gave." in found.screen_text()
        await found.press("d")
        assert isinstance(found.app.screen, DecideScreen)
        await found.press("escape")
        assert read_studio(folder, knowledge).own_rules
        await found.press("d", "enter")
        assert (folder / "rules/ours.toml").read_text(encoding="utf-8").strip() == before.strip()
        await found.press("d")
        assert isinstance(found.app.screen, StudioScreen)


async def test_the_preview_tries_the_rule_and_writes_nothing(kept: Kept, monkeypatch: pytest.MonkeyPatch) -> None:
    """What a rule would change comes from the studio with the rule in it, while the studio's files stay as they are."""
    from finishing_kg.studio import impact, library

    asked = []
    going: list[tuple[int, int, str]] = []

    def looked_at(*given: Any, first: Callable[[Account], None], progress: Callable[[int, int], None], **_: Any) -> str:
        asked.append(given)
        first(Account(("ours",), (Say("a-relief", "ours", ("felt is ruled out",), 0, goes=False, supposed=False),), 3, ()))
        progress(0, 2)
        return "what it changes"

    monkeypatch.setattr(library, "library_of", lambda *_, **__: "the library")
    monkeypatch.setattr(impact, "impact", looked_at)
    monkeypatch.setattr(impact, "lines_of", lambda found: [found])
    before = (kept.studio.folder / "rules/ours.toml").read_text(encoding="utf-8")
    form = studio_forms.rule_form(kept)
    assert form.foreseen is not None
    values: Values = {field.key: [] for field in form.fields} | {key: RULE[key] for key in ("if", "then")}  # type: ignore[misc]
    values |= {"id": ["no-felt-on-reliefs"], "because": ["Felt rounds what the mould gave."], "basis": ["studio"]}
    assert form.foreseen(values, lambda *went: going.append(went), lambda: False) == ["what it changes"]
    assert going == [(0, 2, "ours has a say in 1 of 3 cases:\n  in 1 (a-relief): felt is ruled out.")]
    assert asked[0][0] == "the library" and "no-felt-on-reliefs" in asked[0][1].base.by_id
    assert (kept.studio.folder / "rules/ours.toml").read_text(encoding="utf-8") == before


def _slow_form(saved: list[Values]) -> tuple[Form, threading.Event]:
    """A form whose preview tells of its first case and then waits until it is stopped; the event tells that it was."""
    stopped = threading.Event()

    def foreseen(_values: Values, progress: Callable[[int, int], None], stop: Callable[[], bool]) -> list[str]:
        progress(1, 266)
        while not stop():
            time.sleep(0.01)
        stopped.set()
        return ["not to be shown"]

    return Form("try it", (Field("note", "Note", "Anything."),), lambda values: saved.append(values) or "Saved.", foreseen), stopped  # type: ignore[func-returns-value]


@pytest.mark.parametrize("to_save", [False, True], ids=["escape", "save"])
async def test_a_preview_can_be_left_or_saved_without(bench: OpenBench, to_save: bool) -> None:
    """While it is worked out how far it has come is told; Escape leaves it and the form stays, S saves without it. Either way it stops."""
    saved: list[Values] = []
    form, stopped = _slow_form(saved)
    async with bench(FakeDialogue) as found:
        screen = FormScreen(form)
        await found.app.push_screen(screen)
        await found.pilot.press("p")
        while "1 of 266 cases" not in found.screen_text():
            await found.pilot.pause(0.01)
        if to_save:
            await found.pilot.press("s")
            await found.pilot.pause()
            assert isinstance(found.app.screen, DecideScreen) and not saved
            await found.pilot.press("enter")
        else:
            await found.pilot.press("escape")
        await found.settle()
        assert stopped.wait(5)
        assert len(saved) == to_save and (found.app.screen is screen) is not to_save
        assert "not to be shown" not in found.screen_text()


@A_SIZE
async def test_the_shelf(bench: OpenBench, knowledge: Knowledge, folder: Path, size: tuple[int, int]) -> None:
    """A mineral goes on the shelf with its grades, which are those of that mineral; it is taken off again."""
    async with bench(FakeDialogue, size) as found:
        await enter(found, knowledge)
        await found.press("3", "a")
        await write(found, "silicon carbide")
        await to_field(found, "Grades")
        await write(found, "F220")
        await found.press("down")
        await write(found, "F400")
        await found.press("s")
        assert "silicon carbide: F220, F400" in found.screen_text()
        assert [item.thing for item in read_studio(folder, knowledge).shelf.items] == ["silicon-carbide"]
        await found.press("d", "enter")
        assert "Nothing is on the shelf yet" in found.screen_text()


async def test_a_thing_with_what_is_held_of_it(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """A new wheel: what is held of it is said in sentences that begin with it; what the shapes miss is told, and nothing is written."""
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        await found.press("2", "a")
        await write(found, "carrier")
        await to_field(found, "Name")
        await write(found, "leather-wheel")
        await to_field(found, "Held of it")
        await found.press("enter")
        assert "First say" in found.screen_text()
        await to_field(found, "Called")
        await write(found, "leather wheel")
        await to_field(found, "Held of it")
        await say(found, "leather wheel", "takes", "loose")
        await found.press("s")
        assert isinstance(found.app.screen, FormScreen) and "× It cannot be kept like this." in found.screen_text()
        assert "leather-wheel" not in (folder / "things/ours.ttl").read_text(encoding="utf-8")
        await found.press("escape")
        assert isinstance(found.app.screen, DecideScreen)
        await found.press("enter")
        assert isinstance(found.app.screen, StudioScreen)


async def test_a_name_of_a_thing_that_is_there(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """A shipped thing gets the studio's own word for it, and loses it when that is taken out."""
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        await found.press("2", "a")
        await to_field(found, "Name")
        await write(found, "pumice")
        await to_field(found, "Also called")
        await write(found, "bims")
        await found.press("s")
        assert "pumice" in found.screen_text()
        assert "bims" in read_studio(folder, knowledge).knowledge.vocabulary.names["pumice"].alternatives
        await found.press("d", "enter")
        assert "bims" not in read_studio(folder, knowledge).knowledge.vocabulary.names["pumice"].alternatives


async def test_a_line_of_the_bench_log(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """A job is written down; a time without a unit is refused while it is typed."""
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        await found.press("4", "a", "enter")
        await found.pilot.press(*"12")
        await found.press("enter")
        assert isinstance(found.app.screen, ChooseScreen) and "min" in found.screen_text()
        await found.pilot.press(*" min")
        await found.press("enter")
        await to_field(found, "Note")
        await write(found, "[red]the tall bowl[/red]")
        await found.press("s")
        assert "took 12 min" in found.screen_text() and "[red]the tall bowl[/red]" in found.screen_text()
        assert [job.record.minutes for job in read_studio(folder, knowledge).jobs] == ["12 min"]


async def test_health_tells_what_is_to_be_looked_at(kept: Kept) -> None:
    """A rule that says what another says already is told under health; with no rules of its own there is nothing."""
    assert "no rules of our own" in health(kept.studio)[0].line
    add_rule(kept.studio.folder, RULE)
    told = health(add_rule(kept.studio.folder, {**RULE, "id": "once-more", "because": "The same in other words, for another maker."}))
    assert any("once-more" in line for entry in told for line in entry.detail), told


async def test_no_studio_yet(bench: OpenBench, knowledge: Knowledge, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is none, the screen says what a studio is, and A makes one."""
    monkeypatch.delenv("FINISHING_KG_STUDIO", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        assert "There is no studio here yet" in found.screen_text()
        await found.press("a", "enter")
        assert "0 rules of our own" in found.screen_text()
        assert (tmp_path / "finishing-kg/studio/studio.toml").exists()


async def test_spoilt_files_are_told(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """A studio that is not in order says where and what, as plain text, and nothing falls."""
    (folder / "rules/ours.toml").write_text('[[rule]]\nid = "[red]x[/red]"\n', encoding="utf-8")
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        text = found.screen_text()
        assert "not in order" in text and "ours.toml" in text
        await found.press("a", "d", "right", "left", "5")


async def test_hostile_words_of_a_studio_are_only_shown(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """Markup and escape codes in a studio's files are shown as they are, and steer nothing."""
    add_rule(folder, {**RULE, "because": "[red]Felt[/red] \x1b[31mrounds\u202e what the mould gave."})
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge)
        text = found.screen_text()
        assert "[red]Felt[/red]" in text and "The [b]glass[/b] shed" in text
        assert "\x1b" not in text and "\u202e" not in text


@SIZES
@pytest.mark.parametrize("keys", [(), ("3",), ("a",), ("a", "down", "enter", "enter")], ids=["rules", "shelf", "form", "sentence"])
async def test_screen(bench: OpenBench, kept: Kept, snapshot: SnapshotAssertion, size: tuple[int, int], keys: tuple[str, ...]) -> None:
    """Rules, shelf, the form of a rule and a sentence begun look as they did."""
    add_rule(kept.studio.folder, RULE)
    add_to_shelf(kept.studio.folder, "felt-wheel", [], "1400 rpm")
    async with bench(FakeDialogue, size) as found:
        await enter(found, kept.shipped)
        await found.press(*keys)
        for line in found.app.screen.query(Input):
            line.cursor_blink = False
        assert found.screen_text() == snapshot(extension_class=TextFile)


async def test_a_form_shows_what_things_are_called(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """What was chosen stands there by its name of the trade, with the identifier that is written beside it."""
    async with bench(FakeDialogue) as found:
        screen = await enter(found, knowledge)
        screen.action_section_at(2)
        await found.press("a")
        await to_field(found, "Thing")
        await write(found, "silicon carbide")
        form = found.app.screen
        assert isinstance(form, FormScreen) and form.values["thing"] == ["silicon-carbide"]
        assert "Thing       silicon carbide (mineral)  silicon-carbide" in found.screen_text()


async def test_the_short_name_of_a_thing_is_made_of_what_it_is_called(bench: OpenBench, knowledge: Knowledge, folder: Path) -> None:
    """Whoever has said how a thing is called takes its identifier with Enter; another can still be written."""
    async with bench(FakeDialogue) as found:
        screen = await enter(found, knowledge)
        screen.action_section_at(1)
        await found.press("a")
        form = found.app.screen
        assert isinstance(form, FormScreen)
        await write(found, "carrier")
        await to_field(found, "Called")
        await write(found, "Leather wheel")
        await to_field(found, "Name")
        await found.press("enter", "enter")
        assert form.values["id"] == ["leather-wheel"]
        await write(found, "hide-wheel")
        assert form.values["id"] == ["hide-wheel"]
