"""Chips and follow-ups: what was understood can be changed, and anything on the screen can be asked about, by key and by mouse."""

from __future__ import annotations

import threading

import pytest
from effort import one_in
from finishing_kg_tui.chips import chips_of, values_of
from finishing_kg_tui.dialogue import open_real
from finishing_kg_tui.knots import below, resting_on
from finishing_kg_tui.screens.around import AroundScreen
from finishing_kg_tui.screens.pick import PickScreen
from finishing_kg_tui.widgets.adviser import Adviser
from finishing_kg_tui.widgets.question import LONGEST, QuestionLine
from finishing_kg_tui.widgets.reasons import ReasonTree
from finishing_kg_tui.widgets.taken import Taken
from textual.events import Paste
from textual.widgets import Input, OptionList

from finishing_kg.advice.contract import Answer, Understood
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.statements import Language, Statement

from .conftest import NARROW, WIDE, Bench, OpenBench
from .fake_dialogue import ROUTE, UNDERSTOOD, FakeDialogue

ASKED = "Blown borosilicate beaker, rim cracked off, to a polish"
SIZES = pytest.mark.parametrize("size", one_in(2, [NARROW, WIDE]), ids=lambda size: f"{size[0]}x{size[1]}")


def _root(bench: Bench) -> str:
    return str(bench.app.screen.query_one(ReasonTree).root.label)


def test_chips_name_everything_that_was_understood() -> None:
    """Each statement has a chip that can be taken out; the parts of the piece can be changed, what was not used only read."""
    chips = chips_of(UNDERSTOOD, FakeDialogue().knowledge)
    assert [(chip.name, chip.value) for chip in chips] == [
        ("Glass", "borosilicate"),
        ("Make", "blown"),
        ("Form", "rim"),
        ("Surface", "broken"),
        ("Finish", "polish"),
        ("Without", "belt"),
        ("Wall thickness", "3 mm"),
        ("Not used", "“please”"),
    ]
    assert [chip.statement for chip in chips if chip.can_go] == UNDERSTOOD.statements
    assert [chip.name for chip in chips if chip.can_change] == ["Glass", "Make", "Form", "Surface", "Finish"]


def test_values_are_the_things_of_the_ontology() -> None:
    """What can be chosen for a part is every thing of that kind, each with the sentence that says it."""
    knowledge = FakeDialogue().knowledge
    for part in ("glass", "make", "form", "surface", "finish"):
        values = values_of(part, knowledge)
        assert {value.thing for value in values} == {name.id for name in knowledge.vocabulary.things(part)}
        assert all(knowledge.language.parse(value.statement).object == value.thing for value in values)


@SIZES
async def test_a_chip_is_changed_by_key(bench: OpenBench, size: tuple[int, int]) -> None:
    """Ctrl+G goes to the chips, Enter opens the values of the chosen one, typing narrows them, Enter says the new one."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue, size) as found:
        await found.ask(ASKED)
        await found.press("ctrl+g", "right", "right", "enter")
        assert isinstance(found.app.screen, PickScreen)
        assert "● rim  (now)" in found.screen_text()
        await found.press(*"edge", "enter")
        assert dialogue.heard[-1] == "correction: the piece has form edge"
        assert "› You: correction: the piece has form edge" in found.log_text()


async def test_a_chip_is_changed_by_mouse(bench: OpenBench) -> None:
    """A click on a chip opens its values, a click on a value says it."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask(ASKED)
        taken = next(each for each in found.app.screen.query(Taken) if each.region.area)
        line, first, _ = taken._places[0]
        await found.pilot.click(taken, offset=(first + 3, line + 1))
        await found.settle()
        assert isinstance(found.app.screen, PickScreen)
        await found.pilot.click(OptionList, offset=(4, 0))
        await found.settle()
        assert dialogue.heard[-1].startswith("correction: the piece has glass ")


async def test_a_chip_is_taken_out(bench: OpenBench) -> None:
    """Delete takes the chosen chip out; so does the last line of its values."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask(ASKED)
        await found.press("ctrl+g", "left", "left", "delete")
        assert dialogue.heard[-1] == "take back: the wall thickness of the piece is 3 mm"
        await found.press("ctrl+g", "left", "delete")
        assert dialogue.heard[-1] == "take back: belt is unwanted"
        found.app.screen.query_one("#side Taken", Taken).chosen = 0
        await found.press("ctrl+g", "enter", *"take it out", "enter")
        assert dialogue.heard[-1] == "take back: the piece has glass borosilicate"


async def test_leaving_the_values_says_nothing(bench: OpenBench) -> None:
    """Escape leaves the list, and a word that nothing has cannot be chosen."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask(ASKED)
        await found.press("ctrl+g", "enter", *"xyzzy", "enter")
        assert isinstance(found.app.screen, PickScreen)
        assert "Nothing has these words" in found.screen_text()
        await found.press("escape")
        assert not isinstance(found.app.screen, PickScreen)
        assert dialogue.heard == [ASKED]


async def test_a_question_back_is_answered_from_its_choices(bench: OpenBench) -> None:
    """Enter on a question back offers what may be answered, and says it in an exact sentence."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask("polish it")
        await found.press("ctrl+b", "down", "enter")
        assert isinstance(found.app.screen, PickScreen)
        shown = found.app.screen.query_one(OptionList)
        assert [str(shown.get_option_at_index(place).prompt).strip() for place in range(shown.option_count)] == ["flat face", "rim"]
        await found.press("down", "enter")
        assert dialogue.heard[-1] == "correction: the piece has form rim"


@SIZES
async def test_follow_ups_on_a_step(bench: OpenBench, size: tuple[int, int]) -> None:
    """On a step of the route w asks why; n asks which other tool; i asks which part; a shows what is known around its tools."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue, size) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "w")
        assert dialogue.heard[-1] == "why step 2"
        await found.press("f2", "n")
        assert isinstance(found.app.screen, PickScreen)
        await found.press(*"felt belt", "enter")
        assert dialogue.heard[-1] == "why not felt belt"
        await found.press("f2", "i", *"form", "enter", *"edge", "enter")
        assert dialogue.heard[-1] == "what if the form is edge"
        await found.press("f2", "a")
        assert isinstance(found.app.screen, AroundScreen)
        assert "silicon carbide" in found.screen_text()


async def test_why_of_another_route_is_about_that_route(bench: OpenBench) -> None:
    """The adviser tells of its first route only; of another the reasons of the step are opened."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask(ASKED)
        await found.press("f3", "f2", "down", "w")
        assert dialogue.heard == [ASKED]
        assert _root(found) == "Step 2: cerium oxide on felt wheel"


async def test_follow_ups_on_reasons(bench: OpenBench) -> None:
    """On a reason w opens it as a root and backspace goes back; n asks why something is ruled out; i leaves a rule out."""
    dialogue = FakeDialogue()
    async with bench(lambda: dialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter", "i")
        assert dialogue.heard[-1] == "what if rule clear-the-damage were left out"
        await found.press("f2", "enter", "down", "down", "w")
        assert _root(found) == "the piece has form rim"
        await found.press("backspace")
        assert _root(found) == "Step 2: silicon carbide F400 on plate"
        await found.press("f5")
        tree = found.app.screen.query_one(ReasonTree)
        ruled = tree.root.children[-1]
        ruled.expand()
        await found.settle()
        tree.move_cursor(ruled.children[0])
        await found.press("n")
        assert dialogue.heard[-1] == "why not felt belt"


async def test_a_line_is_copied(bench: OpenBench) -> None:
    """c copies the chosen line of a panel, without what only helps to ask about it."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter", "down", "c")
        assert found.app.clipboard == "Because: What the last grain cracked must be gone."
        await found.press("ctrl+b", "c")
        assert found.app.clipboard == ROUTE.text


async def test_what_rests_on_a_premise(bench: OpenBench) -> None:
    """From a premise u leads to every conclusion that rests on it, and step by step upwards; nothing else is listed."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter", "down", "down", "u")
        tree = found.app.screen.query_one(ReasonTree)
        assert _root(found) == "What rests on: the piece has form rim"
        concluded, directly = tree.root.children
        assert [str(node.label) for node in concluded.children] == [
            "Step 1: diamond D64 on flat lap",
            "Step 2: silicon carbide F400 on plate",
            "× felt belt is ruled out for polish",
        ]
        assert [str(node.label) for node in directly.children] == [
            "diamond metal bond on flat lap suits the form",
            "loose silicon carbide on plate clears the damage of step 1",
            "felt belt is ruled out",
        ]


def test_a_circle_of_reasons_ends() -> None:
    """Where reasons go round in a circle, going upwards ends too."""
    knot = resting_on(ROUTE, ROUTE.routes[0], "r7").members[1].members[0]
    assert knot.text == "the dust turns round"
    assert [each.text for each in below(knot)] == ["dry grinding raises dust (already above)"]


async def test_around_goes_on_and_back(bench: OpenBench) -> None:
    """From thing to thing by Enter, into a rule and on from it, and back by left to where one was."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("ctrl+g", "right", "right", "a")
        screen = found.app.screen
        assert isinstance(screen, AroundScreen)
        assert screen.here == "rim"
        near = screen.query_one("#near", OptionList)
        start = near.highlighted
        await found.press("enter")
        assert screen.here != "rim"
        await found.press("left")
        assert screen.here == "rim"
        assert near.highlighted == start
        rules = [place for place, goals in enumerate(screen._goals) if goals and goals[0].startswith("rule/")]
        near.highlighted = rules[0]
        await found.press("enter")
        assert screen.here.startswith("rule/")
        assert "The rule says:" in found.screen_text()
        await found.press("left", "escape")
        assert found.app.screen is not screen


async def test_around_the_words_that_are_being_written(bench: OpenBench) -> None:
    """Ctrl+R in the question line shows what is known around the words in it; without a known word it says so."""
    async with bench(FakeDialogue) as found:
        line = found.app.screen.query_one(QuestionLine)
        line.value = "what of pumice on a felt wheel"
        await found.press("ctrl+r")
        screen = found.app.screen
        assert isinstance(screen, AroundScreen)
        assert "→ pumice" in found.screen_text()
        assert "→ felt wheel" in found.screen_text()
        await found.press("escape")
        line.value = "xyzzy"
        await found.press("ctrl+r")
        assert not isinstance(found.app.screen, AroundScreen)


async def test_begun_words_are_offered_and_taken(bench: OpenBench) -> None:
    """The ontology's words go on behind the cursor; right takes them."""
    async with bench(FakeDialogue) as found:
        await found.press(*"A rim in borosil")
        assert "A rim in borosilicate" in found.screen_text()
        assert found.app.screen.query_one(Input).value == "A rim in borosil"
        await found.press("right")
        assert found.app.screen.query_one(Input).value == "A rim in borosilicate"


async def test_three_levels_of_detail(bench: OpenBench) -> None:
    """1 tells one line, 2 a short tree of at most seven, 3 the whole; the title says which it is."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter", "1")
        tree = found.app.screen.query_one(ReasonTree)
        assert [str(node.label) for node in tree.root.children] == ["the plate clears the damage: what the last grain cracked must be gone."]
        assert not tree.root.children[0].children
        assert "[1 one line]" in found.screen_text()
        await found.press("2")
        assert [str(node.label) for node in tree.root.children[0].children] == [
            "the piece has form rim (you said 'rim')",
            "the hardness of silicon carbide is 9.5 Mohs",
        ]
        await found.press("3")
        assert "Compared: 40 µm at least 0.03 mm" in found.screen_text()


async def test_short_reasons_keep_to_seven_lines(bench: OpenBench) -> None:
    """With the real knowledge a short reasoning has at most seven lines and says more than one."""
    async with bench(open_real) as found:
        await found.ask("Cast relief panel in studio soda-lime, straight from the mould, to pre-polish")
        await found.press("f2", "enter", "2")
        heads = found.app.screen.query_one(ReasonTree).root.children
        count = len(heads) + sum(len(head.children) for head in heads)
        assert 1 < count <= 7


async def test_leaves_show_what_they_rest_on(bench: OpenBench) -> None:
    """A leaf of the proof has its source and basis beside it; what follows by a rule has not, its rule stands below it."""
    async with bench(FakeDialogue, (160, 40)) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter")
        seen = found.screen_text()
        assert "the hardness of silicon carbide is 9.5 Mohs  [the ontology holds, handbook" in seen
        assert "the piece has form rim  [you said]" in seen


@SIZES
async def test_escape_gives_up_what_takes_long(bench: OpenBench, size: tuple[int, int]) -> None:
    """Work shows that it runs and for how long; Escape gives it up, the late answer is dropped, and the next is answered."""
    gate = threading.Event()
    dialogue = FakeDialogue(gate)
    async with bench(lambda: dialogue, size) as found:
        found.app.screen.query_one(Input).value = ASKED
        await found.pilot.press("enter")
        await found.pilot.pause(0.5)
        assert "Escape gives up" in found.screen_text()
        await found.pilot.press("escape")
        await found.pilot.pause()
        assert "× Given up" in found.log_text()
        assert found.app.screen.query_one(Adviser).doing == "letting go …"
        found.app.screen.query_one(Input).value = "why"
        await found.pilot.press("enter")
        gate.set()
        for _ in range(3):
            await found.settle()
        assert dialogue.heard == [ASKED, "why"]
        assert found.log_text().count("● ") == 1
        assert "Because of the damage." in found.log_text()
        assert found.app.screen.query_one(Adviser).doing == "ready"


async def test_a_turn_given_up_leaves_the_piece_as_it_was() -> None:
    """What is said to a fork is not heard by the dialogue that it was taken from."""
    dialogue = open_real()
    dialogue.say("Flat face in lead crystal, sawn, to a polish")
    before = dialogue.answer
    fork = dialogue.fork()
    fork.say("the glass is borosilicate")
    assert dialogue.answer is before
    assert fork.answer is not before
    assert dialogue.say("why step 1").understood.glass == "lead-crystal"


async def test_a_large_paste_survives(bench: OpenBench) -> None:
    """100 kB are cut to what a question can be, line breaks become spaces, and the maker is told."""
    async with bench(FakeDialogue) as found:
        line = found.app.screen.query_one(QuestionLine)
        line.value = "A rim: "
        line.cursor_position = len(line.value)
        line.post_message(Paste("felt wheel\nand [b]pumice[/b] \x1b[31m\n" * 3_200))
        await found.settle()
        assert line.value.startswith("A rim: felt wheel and [b]pumice[/b] ␛[31m felt wheel")
        assert len(line.value) == LONGEST
        assert ["Only the beginning was taken" in each.message for each in found.app._notifications] == [True]
        await found.press("enter")
        assert "› You: A rim: felt wheel" in found.log_text()


async def test_resizing_keeps_what_is_looked_at(bench: OpenBench) -> None:
    """From wide to narrow to tiny to very wide: the panel with the keyboard stays, and nothing falls over."""
    async with bench(FakeDialogue) as found:
        await found.ask(ASKED)
        await found.press("f2", "down", "enter")
        for width, height in ((80, 24), (20, 6), (200, 60), (100, 30), (120, 40)):
            await found.pilot.resize_terminal(width, height)
            await found.settle()
            assert isinstance(found.app.focused, ReasonTree)
            assert found.app.screen.query_one("#room").outer_size.width <= 160
        assert "Step 2: silicon carbide F400 on plate" in found.screen_text()


async def test_words_of_a_studio_are_never_markup(bench: OpenBench) -> None:
    """Brackets and escape codes in the names and sentences of knowledge stand on every screen as they are, made harmless."""
    shipped = FakeDialogue().knowledge
    rim = replace(shipped.vocabulary.names["rim"], label="[red]rim[/red] \x1b[31mx", note="[@click=app.quit]note[/] \u202eabc")
    vocabulary = replace(shipped.vocabulary, names={**shipped.vocabulary.names, "rim": rim})
    knowledge = Knowledge(vocabulary, Language(vocabulary), shipped.base)
    statement = knowledge.language.print(Statement("hasForm", "piece", "rim"))

    class Hostile(FakeDialogue):
        @property
        def knowledge(self) -> Knowledge:
            return knowledge

        def say(self, text: str) -> Answer:
            return replace(super().say(text), understood=Understood(form="rim", statements=[statement]))

    async with bench(Hostile, (160, 40)) as found:
        await found.ask(ASKED)
        for keys in (("ctrl+g",), ("right", "right", "enter", *"[red]"), ("escape", "a"), ("escape",)):
            await found.press(*keys)
            seen = found.screen_text()
            assert "[red]rim[/red] ␛[31mx" in seen
            assert not {"\x1b", "\u202e"} & set(seen)
            assert "[@click=app.quit]note[/] �abc" in seen or not isinstance(found.app.screen, PickScreen | AroundScreen)
