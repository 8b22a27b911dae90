"""The studio: its own rules, things, shelf and bench log, what is to be looked at in them, and forms that add to them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from textwrap import TextWrapper
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from finishing_kg_tui import keeping
from finishing_kg_tui.actions import KeysProvider
from finishing_kg_tui.keeping import SECTIONS, TO_LOOK_AT, Entry, Kept
from finishing_kg_tui.library import Reports, why
from finishing_kg_tui.plain import clean, one_line
from finishing_kg_tui.screens.choose import ChooseScreen
from finishing_kg_tui.screens.decide import DecideScreen
from finishing_kg_tui.screens.form import FormScreen
from finishing_kg_tui.widgets.keys import Keys

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge

_NONE_YET = (
    "There is no studio here yet. A studio is a folder with what you know and the shipped rules do not: rules of your own, things such as a "
    "local glass, what is on the shelf, and how long jobs took. Press A to make one."
)
_EMPTY = {
    "Rules": "No rules.",
    "Things": "No things of your own yet. Press A to add one.",
    "Shelf": "Nothing is on the shelf yet. Press A to put something there.",
    "Bench log": "Nothing is written down yet. Press A to write what was done and how long it took.",
    TO_LOOK_AT: "○ looking at the rules …",
}


class StudioScreen(Reports, Screen[None]):
    """A section at a time: its entries, and all of the chosen one."""

    COMMANDS = {KeysProvider}  # noqa: RUF012 - the toolkit declares it so
    CSS_PATH = "studio.tcss"
    AUTO_FOCUS = "#entries"
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (100, "-wide")]  # noqa: RUF012 - the toolkit declares it so
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "section(-1)", "Section", key_display="← →", priority=True),
        Binding("right", "section(1)", "Section", show=False, priority=True),
        *(Binding(str(number), f"section_at({number - 1})", name, show=False) for number, name in enumerate(SECTIONS, 1)),
        Binding("a", "add", "Add", key_display="A"),
        Binding("d,delete", "drop", "Take out", key_display="D"),
        Binding("r", "read", "Read anew", key_display="R"),
        Binding("escape", "back", "Back", key_display="Esc"),
    ]

    @dataclass
    class _Read(Message, bubble=False):
        kept: Kept | None
        why: str = ""
        none: bool = False

    @dataclass
    class _Health(Message, bubble=False):
        entries: tuple[Entry, ...]
        of: Kept

    @dataclass
    class _Done(Message, bubble=False):
        said: str
        failed: bool = False

    def __init__(self) -> None:
        super().__init__()
        self._kept: Kept | None = None
        self._shipped: Knowledge | None = None
        self._health: tuple[Entry, ...] | None = None
        self._section, self._state, self._none = 0, "○ reading the studio …", False

    @property
    def section(self) -> str:
        """The section shown."""
        return SECTIONS[self._section]

    def compose(self) -> ComposeResult:
        """The studio's name, the sections, the entries and the chosen one."""
        yield Static(id="studio-state", markup=False)
        yield Static(id="sections", markup=False)
        with Horizontal(id="studio-room"):
            with Vertical(id="studio-list"):
                yield Static(id="studio-empty", markup=False)
                yield OptionList(id="entries", markup=False, compact=True)
            with VerticalScroll(id="studio-entry", can_focus=False) as entry:
                entry.border_title = "In full"
                yield Static(id="entry-text", markup=False)
        yield Keys()

    def on_mount(self) -> None:
        """Read the studio once the first picture stands."""
        self._show()
        self.call_after_refresh(self.action_read)

    # Reading

    def action_read(self) -> None:
        """Read the studio's files anew."""
        self._say("○ reading the studio …")
        self._read()

    @work(thread=True, exclusive=True, exit_on_error=False, group="studio")
    def _read(self) -> Message:
        try:
            from finishing_kg.engine import Knowledge
            from finishing_kg.studio import find

            self._shipped = self._shipped or Knowledge.shipped()
            folder = find()
            kept = keeping.read(folder, self._shipped) if folder is not None else None
        except Exception as error:
            return self._Read(None, str(error))
        else:
            return self._Read(kept, none=kept is None)

    @on(_Read)
    def _came(self, message: _Read) -> None:
        self._kept, self._health, self._none = message.kept, None, message.none
        if message.why:
            self._say("× the studio's files are not in order")
            self.query_one("#entry-text", Static).update(Content(clean(message.why)))
        elif message.kept is not None:
            count = len(message.kept.studio.own_rules)
            self._say(f"● {count} rule{'s' * (count != 1)} of our own")
            self._look_at_health(message.kept)
        else:
            self._say("no studio yet")
        self._show(told=not message.why)

    @work(thread=True, exclusive=True, exit_on_error=False, group="studio-health")
    def _look_at_health(self, kept: Kept) -> Message:
        try:
            entries = keeping.health(kept.studio)
        except Exception as error:
            entries = (Entry("", f"× {why(error)}"),)
        return self._Health(entries, kept)

    @on(_Health)
    def _healthy(self, message: _Health) -> None:
        if message.of is self._kept:
            self._health = message.entries
            if self.section == TO_LOOK_AT:
                self._show()

    # What is shown

    def _say(self, text: str) -> None:
        self._state = text
        name = one_line(self._kept.studio.settings.name) if self._kept else "studio"
        title = f" {self.app.TITLE}: {name}"
        gap = " " * max(2, self.size.width - len(title) - len(text) - 1)
        self.query_one("#studio-state", Static).update(Content.assemble((title, "bold"), gap, clean(text)))

    def on_resize(self) -> None:
        """Put the state to the right edge, and break the lines of the chosen entry anew."""
        self._say(self._state)
        self.call_after_refresh(self._tell)

    def _entries(self) -> tuple[Entry, ...]:
        if self._kept is None:
            return ()
        return (self._health or ()) if self.section == TO_LOOK_AT else self._kept.entries[self.section]

    def _show(self, *, told: bool = True) -> None:
        named = [_named(number, name, chosen=name == self.section) for number, name in enumerate(SECTIONS, 1)]
        self.query_one("#sections", Static).update(Content.assemble(*named))
        entries = self._entries()
        self.query_one("#studio-list").border_title = "Rules: ● our own, then the shipped" if self.section == "Rules" else self.section
        listed = self.query_one("#entries", OptionList)
        place = listed.highlighted or 0
        listed.set_options(Option(Content(one_line(entry.line) if self.section == TO_LOOK_AT else clean(entry.line))) for entry in entries)
        listed.highlighted = min(place, len(entries) - 1) if entries else None
        empty = self.query_one("#studio-empty", Static)
        empty.display = not entries
        empty.update(_NONE_YET if self._none else _EMPTY[self.section] if self._kept else self._state)
        if told:
            self._tell()

    @on(OptionList.OptionHighlighted, "#entries")
    def _moved(self) -> None:
        self._tell()

    def _tell(self) -> None:
        entry = self._chosen()
        room = max(20, self.query_one("#studio-entry").scrollable_content_region.width)
        breaking = TextWrapper(room, subsequent_indent=" " * (entry.hangs if entry else 0), break_on_hyphens=False)
        lines = (entry.detail or (entry.line,)) if entry else ()
        told = [part for line in lines for part in breaking.wrap(clean(line)) or [""]]
        self.query_one("#entry-text", Static).update(Content("\n".join(told)))
        self.query_one("#studio-entry").scroll_home(animate=False)

    def _chosen(self) -> Entry | None:
        place, entries = self.query_one("#entries", OptionList).highlighted, self._entries()
        return entries[place] if place is not None and place < len(entries) else None

    def action_section(self, by: int) -> None:
        """Go to the section before (-1) or after (1)."""
        self.action_section_at((self._section + by) % len(SECTIONS))

    def action_section_at(self, place: int) -> None:
        """Go to a section."""
        self._section = place
        self.query_one("#entries", OptionList).highlighted = 0
        self._show()

    # Changes

    def action_add(self) -> None:
        """Open the form of this section; where there is no studio, make one."""
        if self._none:
            self._make()
        elif self._kept is not None:
            self._fill(self._kept)

    def _make(self) -> None:
        from finishing_kg.studio import usual_folder

        hint = "The folder to make it in. It is found again from the usual place, or from the folder you start in."
        self.app.push_screen(ChooseScreen("Make a studio in", [], written=lambda _: "", now=usual_folder(), hint=hint), self._make_in)

    def _make_in(self, folder: str | None) -> None:
        from finishing_kg.studio import init

        if folder:
            try:
                init(Path(folder).expanduser())
            except Exception as error:
                self.notify(clean(str(error)), severity="error", markup=False)
            else:
                self.action_read()

    def _fill(self, kept: Kept) -> None:
        from finishing_kg_tui.studio_forms import form_for

        form = form_for(self.section, kept)
        if form is None:
            self.notify("What is to be looked at follows from the rules; nothing is added to it.", markup=False)
        else:
            self.app.push_screen(FormScreen(form), lambda kept: self.action_read() if kept else None)

    def action_drop(self) -> None:
        """Take the chosen entry out of the studio's files."""
        entry, kept = self._chosen(), self._kept
        if entry is None or kept is None:
            return
        if not entry.id:
            shipped = "A shipped rule stays; a rule of your own can win over it." if self.section == "Rules" else "This is not taken out here."
            self.notify(shipped, markup=False)
        else:
            folder, section = kept.studio.folder, self.section
            question = DecideScreen(f"Take out {entry.id}", [entry.line, *entry.detail], "take it out")

            def take(yes: bool | None) -> None:
                if yes:
                    self._take_out(folder, section, entry)

            self.app.push_screen(question, take)

    @work(thread=True, exclusive=True, exit_on_error=False, group="studio")
    def _take_out(self, folder: Path, section: str, entry: Entry) -> Message:
        try:
            return self._Done(keeping.taken_out(folder, section, entry))
        except Exception as error:
            return self._Done(str(error), failed=True)

    @on(_Done)
    def _was_done(self, message: _Done) -> None:
        self.notify(clean(message.said), severity="error" if message.failed else "information", markup=False)
        if not message.failed:
            self.action_read()

    def action_back(self) -> None:
        """Back to the conversation."""
        self.dismiss()


def _named(number: int, name: str, *, chosen: bool) -> tuple[str, str]:
    """A section in the line of sections; the chosen one stands in brackets, so that it does not rest on colour."""
    return (f" [{number} {name}]", "bold") if chosen else (f"  {number} {name} ", "")
