"""Plan check: a plan written line by line, with what the rules find beside the line that causes it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static

from finishing_kg_tui import planning
from finishing_kg_tui.actions import KeysProvider
from finishing_kg_tui.library import OpenKnowledge, OpenShelf, Reports, shelf_here, why
from finishing_kg_tui.plain import called_by, clean
from finishing_kg_tui.planning import PIECE, STEP, Sheet, told
from finishing_kg_tui.screens.choose import ChooseScreen
from finishing_kg_tui.screens.decide import DecideScreen
from finishing_kg_tui.widgets.fields import Fields
from finishing_kg_tui.widgets.keys import Keys
from finishing_kg_tui.widgets.lines import PlanLines

if TYPE_CHECKING:
    from finishing_kg.advice.contract import FindingNote, PlanCheck
    from finishing_kg.engine import Knowledge
    from finishing_kg.routes import Case

_EMPTY = "Say what the piece is: choose the line Piece and press Enter. Then add a step with A."


class PlanScreen(Reports, Screen[None]):
    """The lines of the plan, and the parts of the chosen line."""

    COMMANDS = {KeysProvider}  # noqa: RUF012 - the toolkit declares it so
    CSS_PATH = "plan.tcss"
    AUTO_FOCUS = "#lines"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]  # noqa: RUF012 - the toolkit declares it so
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "Add", key_display="A"),
        Binding("d,delete", "drop", "Drop", key_display="D"),
        Binding("u", "shift(-1)", "Move", key_display="U J"),
        Binding("j", "shift(1)", "Move down", show=False),
        Binding("c", "correct", "Correct", key_display="C"),
        Binding("n", "notes", "Notes", key_display="N"),
        Binding("o", "open", "Open", key_display="O"),
        Binding("s", "save", "Save", key_display="S"),
        Binding("z", "undo", "Undo", key_display="Z"),
        Binding("escape", "back", "Back", key_display="Esc"),
    ]

    @dataclass
    class _Known(Message, bubble=False):
        knowledge: Knowledge | None
        shelf: Case | None = None
        why: str = ""

    @dataclass
    class _Checked(Message, bubble=False):
        check: PlanCheck | None
        sheet: Sheet
        why: str = ""

    @dataclass
    class _Corrected(Message, bubble=False):
        check: PlanCheck | None
        sheet: Sheet
        why: str = ""

    def __init__(self, open_knowledge: OpenKnowledge, sheet: Sheet | None = None, open_shelf: OpenShelf = shelf_here) -> None:
        """Make it.

        Args:
            open_knowledge: called in a thread.
            sheet: the plan to begin with; without it nothing is said yet.
            open_shelf: called in a thread too.
        """
        super().__init__()
        self._open_knowledge, self._knowledge = open_knowledge, None
        self._open_shelf, self._shelf = open_shelf, None
        self.sheet = sheet or Sheet()
        self._before: list[Sheet] = []
        self._findings: list[FindingNote] = []
        self._of: Sheet | None = None
        self._notes, self._place, self._file = False, 0, "plan.toml"
        self._doing, self._trouble = "reading the knowledge …", ""

    _knowledge: Knowledge | None
    _shelf: Case | None

    def compose(self) -> ComposeResult:
        """What is going on, the lines, and the parts of the chosen line."""
        yield Static(id="plan-state", markup=False)
        with Horizontal(id="plan-room"):
            with Vertical(id="plan-lines") as lines:
                lines.border_title = "Plan: what is found stands below the line that causes it"
                lines.border_subtitle = "Enter changes the chosen line"
                yield Static(_EMPTY, id="plan-empty", markup=False)
                yield PlanLines()
            with Vertical(id="plan-parts") as parts:
                parts.border_title = "Piece"
                parts.border_subtitle = "Enter: another value"
                yield Fields(id="parts")
        yield Keys()

    def on_mount(self) -> None:
        """Load the knowledge once the first picture stands."""
        self._show()
        self.call_after_refresh(self._load)

    # Work in threads

    @work(thread=True, exclusive=True, exit_on_error=False, group="plan-knowledge")
    def _load(self) -> Message:
        try:
            knowledge = self._open_knowledge()
            return self._Known(knowledge, self._open_shelf(knowledge))
        except Exception as error:
            return self._Known(None, why=why(error))

    @on(_Known)
    def _known(self, message: _Known) -> None:
        self._knowledge, self._shelf = message.knowledge, message.shelf
        if self._knowledge is None:
            self._trouble = f"× {message.why}"
            self._say("× not ready")
        self._show()
        self._check()

    @work(thread=True, exclusive=True, exit_on_error=False, group="plan-check")
    def _judge(self, knowledge: Knowledge, sheet: Sheet) -> Message:
        try:
            return self._Checked(planning.checked(knowledge, sheet, self._shelf), sheet)
        except Exception as error:
            return self._Checked(None, sheet, why(error))

    @work(thread=True, exclusive=True, exit_on_error=False, group="plan-correct")
    def _look_for_better(self, knowledge: Knowledge, sheet: Sheet) -> Message:
        try:
            return self._Corrected(planning.checked(knowledge, sheet, self._shelf, correcting=True), sheet)
        except Exception as error:
            return self._Corrected(None, sheet, why(error))

    def _check(self) -> None:
        if self._knowledge is not None and self.sheet.steps:
            self._say("○ checking …")
            self._judge(self._knowledge, self.sheet.copied())
        elif self._knowledge is not None:
            self._findings, self._of = [], self.sheet.copied()
            self._say("● nothing to check yet: the plan has no steps")

    @on(_Checked)
    def _told(self, message: _Checked) -> None:
        if message.sheet != self.sheet:
            return
        self._of = message.sheet
        if message.check is None:
            self._findings = []
            self._say(f"× {message.why}")
        else:
            self._findings = message.check.findings
            self._say(_summed_up(self._findings))
        self._show()

    # What is shown

    def _say(self, text: str) -> None:
        self._doing = text
        title = f" {self.app.TITLE}: plan check"
        gap = " " * max(2, self.size.width - len(title) - len(text) - 1)
        self.query_one("#plan-state", Static).update(Content.assemble((title, "bold"), gap, clean(text)))

    def on_resize(self) -> None:
        """Put the state to the right edge."""
        self._say(self._doing)

    def _show(self, place: int | None = None) -> None:
        if place is not None:
            self._place = place
        self._place = min(self._place, len(self.sheet.steps))
        empty = self.query_one("#plan-empty", Static)
        empty.display = bool(self._trouble) or not self.sheet.steps
        empty.update(Content(clean(self._trouble or _EMPTY)))
        called = called_by(self._knowledge)
        self.query_one(PlanLines).show(self.sheet, self._findings, self._place, called, notes=self._notes, old=self._of != self.sheet)
        self._show_parts()

    def _show_parts(self) -> None:
        names = PIECE if self._place == 0 else STEP
        self.query_one("#plan-parts").border_title = "Piece" if self._place == 0 else f"Step {self._place}"
        self.query_one(Fields).show(list(told(self.sheet.line(self._place), names, called_by(self._knowledge))))

    @on(OptionList.OptionHighlighted, "#lines")
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        if event.option_index != self._place:
            self._place = event.option_index
            self._show_parts()

    @on(OptionList.OptionSelected, "#lines")
    def _chosen(self) -> None:
        self.add_class("front-parts")
        self.call_after_refresh(self.query_one(Fields).focus)

    # Changes

    def _change(self, sheet: Sheet, place: int | None = None) -> None:
        self._before = [*self._before[-99:], self.sheet]
        self.sheet = sheet
        self._show(place)
        self._check()

    @on(OptionList.OptionSelected, "#parts")
    def _part_chosen(self, event: OptionList.OptionSelected) -> None:
        if self._knowledge is None:
            self.notify("The knowledge is still being read.", markup=False)
            return
        names = PIECE if self._place == 0 else STEP
        key = list(names)[event.option_index]
        self._edit(self._knowledge, key, names[key])

    def _edit(self, knowledge: Knowledge, key: str, name: str) -> None:
        place, line = self._place, self.sheet.line(self._place)
        offered = planning.choices(knowledge, key, line)
        written = None if offered and key != "grade" else lambda text: planning.refusal(knowledge, key, line, text)
        screen = ChooseScreen(name, offered, written=written, now=line.get(key, ""), none="not said", hint=planning.EXAMPLES.get(key, ""))

        def take(value: str | None) -> None:
            if value is not None and value != line.get(key, ""):
                sheet = self.sheet.copied()
                sheet.line(place).pop(key, None)
                if value:
                    sheet.line(place)[key] = value
                self._change(sheet)

        self.app.push_screen(screen, take)

    def action_add(self) -> None:
        """Put a step in below the chosen line, of the same kind as the one above, and go to it."""
        sheet = self.sheet.copied()
        above = {key: value for key, value in sheet.line(self._place).items() if key in ("hold", "carrier", "wet")} if self._place else {}
        sheet.steps.insert(self._place, above)
        self._change(sheet, self._place + 1)
        self._chosen()

    def action_drop(self) -> None:
        """Take the chosen step out."""
        if self._place:
            sheet = self.sheet.copied()
            del sheet.steps[self._place - 1]
            self._change(sheet, self._place - (self._place > len(sheet.steps)))

    def action_shift(self, by: int) -> None:
        """Move the chosen step up (-1) or down (1)."""
        here, there = self._place - 1, self._place - 1 + by
        if self._place and 0 <= there < len(self.sheet.steps):
            sheet = self.sheet.copied()
            sheet.steps[here], sheet.steps[there] = sheet.steps[there], sheet.steps[here]
            self._change(sheet, there + 1)

    def action_undo(self) -> None:
        """Take the last change back."""
        if self._before:
            self.sheet = self._before.pop()
            self._show()
            self._check()

    def action_notes(self) -> None:
        """Tell notes in full, or only count them."""
        self._notes = not self._notes
        self._show()

    def action_correct(self) -> None:
        """Look for the plan with the fewest changes in which nothing is wrong."""
        if self._knowledge is not None and self.sheet.steps:
            self._say("○ looking for a better plan · Escape stops")
            self._look_for_better(self._knowledge, self.sheet.copied())

    @on(_Corrected)
    def _better(self, message: _Corrected) -> None:
        if message.sheet != self.sheet or not self._doing.startswith("○ looking"):
            return
        self._say(_summed_up(self._findings))
        if message.check is None:
            self._say(f"× {message.why}")
        elif message.check.corrected is not None:
            self._offer(message.check)
        else:
            lines = message.check.changes or ["Nothing in this plan needs to be corrected."]
            self.app.push_screen(DecideScreen("Corrected plan", lines))

    def _offer(self, check: PlanCheck) -> None:
        assert check.corrected is not None
        corrected = planning.sheet_of(check.corrected)
        steps = [f"{number}. {planning.in_words(step, called_by(self._knowledge))}" for number, step in enumerate(corrected.steps, 1)]
        lines = ["What changes:", *(f"→ {change}" for change in check.changes), "", "The plan is then:", *steps]
        self.app.push_screen(DecideScreen("Corrected plan", lines, "take it"), lambda yes: self._change(corrected, 0) if yes else None)

    # Files

    def action_open(self) -> None:
        """Read a plan from a file."""
        knowledge = self._knowledge
        if knowledge is None:
            return
        read: list[Sheet] = []

        def refused(text: str) -> str:
            try:
                read[:] = [planning.opened(knowledge, text)]
            except Exception as error:
                where = getattr(error, "where", "")
                return f"{where}: {why(error)}" if where else why(error)
            return ""

        def take(file: str | None) -> None:
            if file:
                self._file = file
                self._change(read[0], 0)

        self.app.push_screen(ChooseScreen("Open a plan", [], written=refused, hint="The name of a plan file, TOML or CSV."), take)

    def action_save(self) -> None:
        """Write the plan to a file; one that is there is asked about first."""

        def take(file: str | None) -> None:
            if file and Path(file).expanduser().is_file():
                question = DecideScreen("There is a file of this name", [file, "", "Its text would be lost."], "replace it")
                self.app.push_screen(question, lambda yes: self._write(file, overwrite=True) if yes else None)
            elif file:
                self._write(file, overwrite=False)

        hint = "The name of the file: TOML, or CSV where it ends in .csv."
        self.app.push_screen(ChooseScreen("Save the plan", [], written=lambda _: "", now=self._file, hint=hint), take)

    def _write(self, file: str, *, overwrite: bool) -> None:
        try:
            planning.saved(self.sheet, file, overwrite=overwrite)
        except Exception as error:
            self.notify(why(error), severity="error", markup=False)
        else:
            self._file = file
            self.notify(f"Saved to {clean(file)}", markup=False)

    def action_back(self) -> None:
        """From the parts to the lines; from a search for a corrected plan back to the plan; else back to the conversation."""
        if self._doing.startswith("○ looking"):
            self.workers.cancel_group(self, "plan-correct")
            self._say(_summed_up(self._findings))
        elif self.focused is self.query_one(Fields):
            self.remove_class("front-parts")
            self.query_one(PlanLines).focus()
        else:
            self.dismiss()


def _summed_up(findings: list[FindingNote]) -> str:
    """How many findings there are, by how grave they are."""
    count = {level: sum(finding.level == level for finding in findings) for level in ("stop", "caution", "note")}
    told = [f"{number} {level}{'s' * (number > 1)}" for level, number in count.items() if number]
    mark = "×" if count["stop"] else "▲" if count["caution"] else "●"
    return f"{mark} {', '.join(told) if told else 'nothing found'}"
