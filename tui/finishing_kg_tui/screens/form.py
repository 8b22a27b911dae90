"""A form: fields below each other, each filled by choosing, writing, or making a sentence; kept when it is whole and in order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, Protocol

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import OptionList, Static

from finishing_kg_tui.actions import KeysProvider
from finishing_kg_tui.library import Reports, why
from finishing_kg_tui.plain import clean
from finishing_kg_tui.screens.choose import Choice, ChooseScreen
from finishing_kg_tui.screens.decide import DecideScreen
from finishing_kg_tui.screens.sentence import SentenceScreen
from finishing_kg_tui.widgets.fields import Fields
from finishing_kg_tui.widgets.keys import Keys

if TYPE_CHECKING:
    from finishing_kg.statements import Language
    from finishing_kg.statements.next_words import Place

Values = dict[str, list[str]]
"""What was put into a form: for each field its values, none where it is empty."""


@dataclass(frozen=True)
class Field:
    """One field.

    Attributes:
        key: by which its values are kept.
        label: its name on the screen.
        hint: a word on what is wanted.
        kind: how it is filled.
        needed: whether it must not be empty.
        many: whether it takes several values.
        choices: what there is to choose from, given what was put in so far.
        refusal: why a written text will not do; empty where it will.
        suggested: what a text begins with, given what was put in so far.
        sentence: for a sentence its language, place and subject, given what was put in so far without the sentence itself.
    """

    key: str
    label: str
    hint: str
    kind: Literal["choice", "text", "sentence"] = "text"
    needed: bool = False
    many: bool = False
    choices: Callable[[Values], Sequence[Choice]] = lambda _: ()
    refusal: Callable[[Values, str], str] | None = None
    suggested: Callable[[Values], str] = lambda _: ""
    sentence: Callable[[Values], tuple[Language, Place, str]] | None = None


class Progress(Protocol):
    """Is told how far it has come, while it is worked out what would change."""

    def __call__(self, done: int, of: int, said: str = "") -> None:
        """How many cases are done, how many there are, and what was found last."""


@dataclass(frozen=True)
class Form:
    """A form with what becomes of it.

    Attributes:
        title: what it makes.
        fields: in their order.
        save: keeps it; raises an error with the reason where it will not do.
        foreseen: the lines of what it would change, before it is kept; called in a thread. ``None`` where nothing needs to be foreseen.
        begun: values that it begins with.
    """

    title: str
    fields: tuple[Field, ...]
    save: Callable[[Values], str]
    foreseen: Callable[[Values, Progress, Callable[[], bool]], list[str]] | None = None
    begun: tuple[tuple[str, str], ...] = ()


_MEANWHILE = "S saves without it, Escape leaves it"


class FormScreen(Reports, Screen[bool]):
    """The fields of a form. Hands back whether it was kept."""

    COMMANDS = {KeysProvider}  # noqa: RUF012 - the toolkit declares it so
    CSS_PATH = "form.tcss"
    AUTO_FOCUS = "#fields"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("s", "save", "Save", key_display="S"),
        Binding("p", "preview", "What it changes", key_display="P"),
        Binding("d,delete", "clear", "Take out", key_display="D"),
        Binding("escape", "leave", "Leave", key_display="Esc"),
    ]

    @dataclass
    class _Foreseen(Message, bubble=False):
        lines: list[str]
        to_save: bool
        failed: bool = False

    @dataclass
    class _Went(Message, bubble=False):
        done: int
        of: int
        found: str

    @dataclass
    class _Saved(Message, bubble=False):
        said: str
        failed: bool = False

    def __init__(self, form: Form) -> None:
        super().__init__()
        self._form = form
        self.values: Values = {field.key: [] for field in form.fields}
        for key, value in form.begun:
            self.values[key].append(value)
        self._rows: list[tuple[Field, int]] = []
        self._working = self._looking = False

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What it changes can be looked at only where the form tells it."""
        return False if action == "preview" and self._form.foreseen is None else super().check_action(action, parameters)

    def compose(self) -> ComposeResult:
        """The fields, a word on the chosen one, and what is going on."""
        yield Static(Content.assemble((f" {self.app.TITLE}: {self._form.title}", "bold")), id="form-title", markup=False)
        fields = Fields(id="fields")
        fields.border_subtitle = "Enter fills in the chosen line"
        yield fields
        with VerticalScroll(id="form-words", can_focus=False):
            yield Static(id="form-word", markup=False)
        yield Keys()

    def on_mount(self) -> None:
        """Show the empty form."""
        self._show()

    def _show(self) -> None:
        self._rows = [
            (field, place)
            for field in self._form.fields
            for place in range(len(self.values[field.key]) + (field.many or not self.values[field.key]))
        ]
        self.query_one(Fields).show([(self._named(field, place), *self._held(field, place)) for field, place in self._rows])
        self._tell()

    def _named(self, field: Field, place: int) -> str:
        return field.label if place == 0 else f"{' ' * (len(field.label) - 3)}and" if len(field.label) > 3 else "and"

    def _held(self, field: Field, place: int) -> tuple[str, ...]:
        """What stands in a row: the value, or what it is called with the value beside it; or that nothing does."""
        held = self.values[field.key]
        if place < len(held):
            value = held[place]
            called = next((choice.label for choice in field.choices({**self.values, field.key: []}) if choice.value == value), value)
            return (called,) if called == value else (called, value)
        return ("+ add" if field.many and held else "+ add (needed)" if field.many and field.needed else "○ needed" if field.needed else "—",)

    @on(OptionList.OptionHighlighted, "#fields")
    def _moved(self) -> None:
        self._tell()

    def _tell(self, text: str = "") -> None:
        place = self.query_one(Fields).highlighted
        hint = self._rows[place][0].hint if place is not None and place < len(self._rows) else ""
        self.query_one("#form-word", Static).update(Content(clean(text or hint)))

    # Filling

    @on(OptionList.OptionSelected, "#fields")
    def _wanted(self, event: OptionList.OptionSelected) -> None:
        if not self._working:
            self._fill(*self._rows[event.option_index])

    def _fill(self, field: Field, place: int) -> None:
        held = self.values[field.key]
        now = held[place] if place < len(held) else ""
        without = {**self.values, field.key: [value for at, value in enumerate(held) if at != place]}
        if field.kind == "sentence":
            assert field.sentence is not None
            try:
                language, where, subject = field.sentence(without)
            except Exception as error:
                self._tell(f"× {why(error)}")
                return
            screen: SentenceScreen | ChooseScreen = SentenceScreen(field.label, language, where, now, subject=subject)
        else:
            written = None
            if field.kind == "text":
                refusal = field.refusal
                written = (lambda text: refusal(without, text)) if refusal else (lambda _: "")
            none = "nothing" if now else ""
            begun = now or field.suggested(without)
            screen = ChooseScreen(field.label, field.choices(without), written=written, now=begun, none=none, hint=field.hint)

        def take(value: str | None) -> None:
            if value is not None:
                self.values[field.key] = [*held[:place], *([value] if value else []), *held[place + 1 :]]
                self._show()

        self.app.push_screen(screen, take)

    def action_clear(self) -> None:
        """Take the value of the chosen row out."""
        place = self.query_one(Fields).highlighted
        if place is not None:
            field, at = self._rows[place]
            held = self.values[field.key]
            self.values[field.key] = [*held[:at], *held[at + 1 :]]
            self._show()

    # Keeping

    def _missing(self) -> str:
        missing = [field.label for field in self._form.fields if field.needed and not self.values[field.key]]
        return f"× Still needed: {', '.join(missing)}." if missing else ""

    def action_preview(self) -> None:
        """Show what it would change."""
        self._foresee(to_save=False)

    def action_save(self) -> None:
        """Keep it; where it changes answers, show them first. While they are worked out, offer to keep it without seeing them."""
        if self._working and self._looking:
            lines = ["What it changes is still being looked at.", "", "Saved now, it counts at once; it can be taken out of the list again."]
            self.app.push_screen(DecideScreen("Save without looking", lines, "save it"), self._keep_unseen)
        else:
            self._foresee(to_save=True)

    def _keep_unseen(self, yes: bool | None) -> None:
        if yes and self._working and self._looking:
            self._looking = False
            self._tell("○ saving …")
            self._keep({key: list(held) for key, held in self.values.items()})

    def _foresee(self, *, to_save: bool) -> None:
        if self._working:
            return
        if missing := self._missing():
            self._tell(missing)
            return
        self._working = True
        if self._form.foreseen is not None:
            self._looking = True
            self._tell(f"○ looking at what changes; {_MEANWHILE} …")
            self._look({key: list(held) for key, held in self.values.items()}, to_save=to_save)
        else:
            self._tell("○ saving …")
            self._keep({key: list(held) for key, held in self.values.items()})

    @work(thread=True, exclusive=True, exit_on_error=False, group="form")
    def _look(self, values: Values, *, to_save: bool) -> Message:
        from textual.worker import get_current_worker

        worker = get_current_worker()
        assert self._form.foreseen is not None
        try:
            found = self._Foreseen(self._form.foreseen(values, self._going, lambda: worker.is_cancelled), to_save)
        except Exception as error:
            found = self._Foreseen([str(error)], to_save, failed=True)
        return found

    def _going(self, done: int, of: int, said: str = "") -> None:
        self.post_message(self._Went(done, of, said))

    @on(_Went)
    def _went(self, message: _Went) -> None:
        if self._working and self._looking:
            found = f"\n{message.found}" if message.found else ""
            self._tell(f"○ looking at what changes: {message.done} of {message.of} cases; {_MEANWHILE} …{found}")

    @on(_Foreseen)
    def _ready(self, message: _Foreseen) -> None:
        if not self._looking:
            return
        self._working = self._looking = False
        if message.failed:
            self._tell(f"× It cannot be kept like this. {' '.join(message.lines)}")
        else:
            self._tell()
            self._decide(message.lines, to_save=message.to_save)

    def _decide(self, lines: list[str], *, to_save: bool) -> None:
        def take(yes: bool | None) -> None:
            if yes and to_save:
                self._working = True
                self._tell("○ saving …")
                self._keep({key: list(held) for key, held in self.values.items()})

        self.app.push_screen(DecideScreen("What it changes", lines, "save it" if to_save else ""), take)

    def _left(self, yes: bool | None) -> None:
        if yes:
            self.dismiss(False)

    @work(thread=True, exclusive=True, exit_on_error=False, group="form")
    def _keep(self, values: Values) -> Message:
        try:
            return self._Saved(self._form.save(values))
        except Exception as error:
            return self._Saved(str(error) or type(error).__name__, failed=True)

    @on(_Saved)
    def _kept(self, message: _Saved) -> None:
        self._working = False
        if message.failed:
            self._tell(f"× It cannot be kept like this. {message.said}")
        else:
            self.notify(clean(message.said), markup=False)
            self.dismiss(True)

    def action_leave(self) -> None:
        """Leave off looking at what changes; else the form, after asking if anything stands in it."""
        if self._working and self._looking:
            self.workers.cancel_group(self, "form")
            self._working = self._looking = False
            self._tell("Left off; nothing was saved.")
        elif self._working:
            return  # what is being written is written to its end
        elif self.values == {field.key: [value for key, value in self._form.begun if key == field.key] for field in self._form.fields}:
            self.dismiss(False)
        else:
            question = DecideScreen("Leave the form", ["What stands in it is lost."], "leave it")
            self.app.push_screen(question, self._left)
