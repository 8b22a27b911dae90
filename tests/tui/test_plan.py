"""The plan check, driven by keys alone: lines, pickers, findings beside the line that causes them, the corrected plan, files."""

from __future__ import annotations

from pathlib import Path

import pytest
from effort import one_in
from finishing_kg_tui import planning
from finishing_kg_tui.planning import Sheet, sheet_of, sheet_of_route
from finishing_kg_tui.screens.choose import ChooseScreen
from finishing_kg_tui.screens.decide import DecideScreen
from finishing_kg_tui.screens.plan import PlanScreen
from finishing_kg_tui.widgets.fields import Fields
from syrupy.assertion import SnapshotAssertion

from finishing_kg.advice.plan_file import read_plan
from finishing_kg.engine import Knowledge
from finishing_kg.routes import on_the_shelf

from .conftest import NARROW, WIDE, Bench, OpenBench
from .fake_dialogue import ROUTE, FakeDialogue
from .test_screen_text import TextFile

PIECE = {"glass": "lead-crystal", "form": "flat-face", "surface": "ground", "surface_grade": "F80", "finish": "ground"}
ROUGH = {"mineral": "silicon-carbide", "grade": "F80", "hold": "loose", "carrier": "plate", "wet": "wet"}
DRY = {"mineral": "silicon-carbide", "grade": "F220", "hold": "loose", "carrier": "plate", "wet": "dry"}
SIZES = pytest.mark.parametrize("size", [NARROW, WIDE], ids=["80x24", "120x40"])
A_SIZE = pytest.mark.parametrize("size", one_in(2, [NARROW, WIDE]), ids=lambda size: f"{size[0]}x{size[1]}")


async def enter(bench: Bench, knowledge: Knowledge, sheet: Sheet | None = None) -> PlanScreen:
    """Open the plan check over the conversation."""
    bench.app.open_knowledge = lambda: knowledge
    screen = PlanScreen(lambda: knowledge, sheet)
    await bench.app.push_screen(screen)
    await bench.settle()
    return screen


async def choose(bench: Bench, text: str) -> None:
    """Type into the open picker and take the first."""
    assert isinstance(bench.app.screen, ChooseScreen)
    await bench.paste(text)
    await bench.press("enter")


@A_SIZE
async def test_a_plan_is_written_and_its_findings_stand_below_the_line(bench: OpenBench, knowledge: Knowledge, size: tuple[int, int]) -> None:
    """By keys alone a step is added and filled with pickers; running it dry is told below that step, and taking water mends it."""
    async with bench(FakeDialogue, size) as found:
        screen = await enter(found, knowledge, Sheet(dict(PIECE)))
        await found.press("down", "a", "enter")
        await choose(found, "silicon")
        await found.press("down", "enter")
        await choose(found, "loose")
        await found.press("down", "enter")
        await choose(found, "F80")
        await found.press("down", "enter")
        await choose(found, "plate")
        await found.press("down", "down", "enter")
        await choose(found, "dry")
        assert screen.sheet.steps == [{**ROUGH, "wet": "dry"}]
        text = found.screen_text()
        assert "× Stop: Dry grinding heats the glass" in text
        assert text.index("silicon carbide F80, loose, on plate, dry") < text.index("Dry grinding")
        await found.press("enter")
        await choose(found, "wet")
        assert "Dry grinding" not in found.screen_text()


async def test_grades_are_those_of_the_mineral(knowledge: Knowledge) -> None:
    """For pumice its own grades are offered and none of another scale; every grade offered is read as itself."""
    pumice = planning.choices(knowledge, "grade", {"mineral": "pumice", "hold": "loose"})
    assert {"2F", "4F"} <= {choice.value for choice in pumice} and not any(choice.value.startswith("P8") for choice in pumice)
    for mineral in ("pumice", "silicon-carbide", "diamond"):
        offered = planning.choices(knowledge, "grade", {"mineral": mineral})
        assert offered, mineral
        for choice in offered:
            assert planning.refusal(knowledge, "grade", {"mineral": mineral}, choice.value) == "", choice


async def test_what_does_not_go_together_comes_last_and_says_so(knowledge: Knowledge) -> None:
    """Holds that a mineral does not come in stand behind those that it does, with the reason."""
    holds = planning.choices(knowledge, "hold", {"mineral": "pumice"})
    assert holds[0].value == "loose"
    assert any("not known to come so" in choice.note for choice in holds[1:])
    assert not any("not known" in choice.note for choice in planning.choices(knowledge, "mineral", {}))


async def test_a_refused_text_says_what_to_write(bench: OpenBench, knowledge: Knowledge) -> None:
    """A speed without a unit is not taken; why, and what to write, is told while it is typed."""
    async with bench(FakeDialogue) as found:
        screen = await enter(found, knowledge, Sheet(dict(PIECE), [dict(ROUGH)]))
        await found.press("down", "enter", "end", "up", "up", "up")
        place = found.app.screen.query_one(Fields).highlighted
        assert place is not None and list(planning.STEP)[place] == "spindle_speed"
        await found.press("enter")
        await choose(found, "400")
        assert isinstance(found.app.screen, ChooseScreen)
        assert "400 rpm" in found.screen_text() or "unit" in found.screen_text()
        await found.pilot.press(*" rpm")
        await found.press("enter")
        assert screen.sheet.steps[0]["spindle_speed"] == "400 rpm"


@A_SIZE
async def test_the_corrected_plan_is_one_key_away(bench: OpenBench, knowledge: Knowledge, size: tuple[int, int]) -> None:
    """C shows what would change; Enter takes it, the findings are gone, and undoing brings the old plan back."""
    async with bench(FakeDialogue, size) as found:
        screen = await enter(found, knowledge, Sheet(dict(PIECE), [dict(DRY)]))
        assert "1 stop" in found.screen_text()
        await found.press("c")
        assert isinstance(found.app.screen, DecideScreen)
        assert "→ Step 1: run it wet." in found.screen_text()
        await found.press("enter")
        assert screen.sheet.steps[0]["wet"] == "wet" and "stop" not in found.screen_text()
        await found.press("z")
        assert screen.sheet.steps == [DRY]


async def test_steps_are_moved_and_dropped(bench: OpenBench, knowledge: Knowledge) -> None:
    """U and J move the chosen step, D takes it out, and each can be undone."""
    async with bench(FakeDialogue) as found:
        screen = await enter(found, knowledge, Sheet(dict(PIECE), [dict(ROUGH), dict(DRY)]))
        await found.press("down", "j")
        assert screen.sheet.steps == [DRY, ROUGH]
        await found.press("u")
        assert screen.sheet.steps == [ROUGH, DRY]
        await found.press("d")
        assert screen.sheet.steps == [DRY]
        await found.press("z", "z")
        assert screen.sheet.steps == [DRY, ROUGH]


@pytest.mark.parametrize("name", ["plan.toml", "plan.csv", "plan.tsv"])
async def test_saved_plans_open_again(bench: OpenBench, knowledge: Knowledge, tmp_path: Path, name: str) -> None:
    """What is saved is what the command checks, and opens as it was; a file that is there is asked about first."""
    file = tmp_path / name
    sheet = Sheet({**PIECE, "diameter": "180 mm"}, [{**DRY, "spindle_speed": "400 rpm"}, dict(ROUGH)])
    async with bench(FakeDialogue) as found:
        screen = await enter(found, knowledge, sheet.copied())
        await found.press("s")
        await found.press("ctrl+u")
        await choose(found, str(file))
        assert file.exists()
        plan = read_plan(knowledge, file)
        assert not [trouble for trouble in plan.troubles if trouble.code != "missing-fact"]
        await found.press("down", "d", "s", "enter")
        assert isinstance(found.app.screen, DecideScreen)
        await found.press("escape")
        assert planning.opened(knowledge, str(file)) == sheet
        await found.press("o")
        await choose(found, str(file))
        assert screen.sheet == sheet


async def test_a_spoilt_file_is_not_opened(bench: OpenBench, knowledge: Knowledge, tmp_path: Path) -> None:
    """A file that is no plan stays closed, and what is wrong with it is told."""
    file = tmp_path / "p.toml"
    file.write_text('[piece]\nglas = "x"\n', encoding="utf-8")
    async with bench(FakeDialogue) as found:
        screen = await enter(found, knowledge, Sheet(dict(PIECE)))
        await found.press("o")
        await choose(found, str(file))
        assert isinstance(found.app.screen, ChooseScreen) and "Write 'glass'" in found.screen_text()
        await found.press("escape")
        assert screen.sheet == Sheet(PIECE)


async def test_the_route_shown_is_taken_over(bench: OpenBench, knowledge: Knowledge) -> None:
    """F9 opens the plan check with the route of the conversation, and Escape goes back to it."""
    async with bench(FakeDialogue) as found:
        found.app.open_knowledge = lambda: knowledge
        await found.ask("Blown borosilicate beaker")
        await found.press("f9")
        screen = found.app.screen
        assert isinstance(screen, PlanScreen)
        assert [step["carrier"] for step in screen.sheet.steps] == ["flat-lap", "plate", "felt-wheel"]
        assert screen.sheet.piece == {"glass": "borosilicate", "make": "blown", "form": "rim", "surface": "broken", "finish": "polish"}
        await found.press("escape")
        assert not isinstance(found.app.screen, PlanScreen)


def test_sheet_and_tables_are_the_same_plan() -> None:
    """From a sheet to the tables of a file and back nothing is lost."""
    sheet = sheet_of_route(ROUTE, ROUTE.routes[0])
    assert sheet_of(sheet.tables()) == sheet
    graded = Sheet({"surface": "ground", "surface_grade": "F80"}, [DRY])
    assert sheet_of(graded.tables()) == graded


async def test_what_is_not_on_the_shelf_is_found(bench: OpenBench, knowledge: Knowledge) -> None:
    """With a shelf that holds another mineral the step that uses this one is cautioned; without a shelf it is not."""
    shelf = on_the_shelf(knowledge.vocabulary, [("diamond", (), None)])
    for known, seen in ((shelf, True), (None, False)):
        async with bench(FakeDialogue) as found:
            screen = PlanScreen(lambda: knowledge, Sheet(dict(PIECE), [dict(ROUGH)]), lambda _, known=known: known)  # type: ignore[misc]
            await found.app.push_screen(screen)
            await found.settle()
            assert any(finding.code == "not-on-shelf" for finding in screen._findings) is seen
            assert ("nearest on the shelf" in found.screen_text()) is seen


async def test_hostile_names_are_only_shown(bench: OpenBench, knowledge: Knowledge) -> None:
    """Markup and escape codes in a plan's words are shown as they are, and steer nothing."""
    hostile = "[red]x[/red]\x1b[31m\u202e"
    async with bench(FakeDialogue) as found:
        await enter(found, knowledge, Sheet({**PIECE, "glass": hostile}, [{**ROUGH, "carrier": hostile}]))
        text = found.screen_text()
        assert "[red]x[/red]" in text and "\x1b" not in text and "\u202e" not in text


async def test_knowledge_that_cannot_be_read_is_told(bench: OpenBench) -> None:
    """Where the knowledge cannot be loaded the screen says why and does not fall."""

    def broken() -> Knowledge:
        raise RuntimeError("the [bold]ontology[/bold] is missing")

    async with bench(FakeDialogue) as found:
        await found.app.push_screen(PlanScreen(broken, Sheet(dict(PIECE), [dict(ROUGH)])))
        await found.settle()
        assert "× the [bold]ontology[/bold] is missing" in found.screen_text()
        await found.press("down", "enter", "enter", "c", "o", "escape", "escape")


_TO_PARTS = ("down", "down", "enter")


@SIZES
@pytest.mark.parametrize("keys", [(), _TO_PARTS, (*_TO_PARTS, "down", "down", "enter")], ids=["lines", "parts", "picker"])
async def test_screen(bench: OpenBench, knowledge: Knowledge, snapshot: SnapshotAssertion, size: tuple[int, int], keys: tuple[str, ...]) -> None:
    """Lines with findings, the parts of a step, and a picker look as they did."""
    async with bench(FakeDialogue, size) as found:
        await enter(found, knowledge, Sheet(dict(PIECE), [dict(ROUGH), dict(DRY)]))
        await found.press(*keys)
        for line in found.app.screen.query("Input").results():
            line.cursor_blink = False  # type: ignore[attr-defined]
        assert found.screen_text() == snapshot(extension_class=TextFile)
