"""A sentence made word by word of what is legal next, shown as it grows."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.events import Key
from textual.widgets import Input, OptionList, Static

from finishing_kg_tui.plain import one_line
from finishing_kg_tui.screens.choose import MOST_SHOWN, Choice, NarrowingScreen, narrowed

if TYPE_CHECKING:
    from finishing_kg.statements import Language
    from finishing_kg.statements.next_words import Next, NextWords, Place, Slot

_LONGEST = 300
_WHOLE = "the sentence is whole: take it"
# New variables are named after what they are most often for.
_USUAL = ("step", "option", "carrier", "mineral", "grade", "hold", "form", "glass", "value", "other")
_MEANT = {
    "option": "a way to work at a stage: a mineral, its hold and a carrier",
    "step": "a step of a route or of a plan",
    "carrier": "what carries the grain over the glass, such as a felt wheel",
    "mineral": "what cuts, such as diamond",
    "grade": "a grade of grain, such as F400",
    "hold": "how the grain is held: loose, coated, bonded",
    "form": "where the work is, such as a rim",
    "glass": "a kind of glass",
}
_SLOTS = {"count": "a number of a step or route", "rule": "the name of a rule", "variable": "a variable, such as ?step"}


class SentenceScreen(NarrowingScreen):
    """Choose the next words until the sentence is whole. Hands back the sentence, an empty text to take it out, or None if it was left."""

    CSS_PATH = "sentence.tcss"
    AUTO_FOCUS = "#next-line"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+d", "dismiss('')", "Take out", show=False, priority=True),
    ]

    def __init__(self, title: str, language: Language, place: Place, begun: str = "", *, subject: str = "") -> None:
        """Make it.

        Args:
            title: what the sentence is for.
            language: of the sentence.
            place: where it is to stand.
            begun: a sentence to go on with or to change.
            subject: the one thing that it must be about; without it anything.
        """
        super().__init__()
        self._title, self._language, self._place, self._subject = title, language, place, subject
        self._pieces: list[str] = [begun] if begun else []
        self._form: NextWords | None = None
        self._next: Next | None = None
        self._others = frozenset[str]()

    def compose(self) -> ComposeResult:
        """The sentence so far, the line to type in, and what may follow."""
        with Vertical(id="sentence") as box:
            box.border_title = Content(one_line(self._title))
            box.border_subtitle = "Enter takes, Backspace goes back, ^D takes out, Escape leaves"
            yield Static(id="grown", markup=False)
            yield Input(id="next-line", max_length=_LONGEST, select_on_focus=False, compact=True, placeholder="type to find the next words")
            yield OptionList(id="next", markup=False, compact=True)
            yield Static(id="next-word", markup=False)

    def on_mount(self) -> None:
        """Work out what may come first; it takes a moment the first time."""
        from finishing_kg.statements.next_words import NextWords

        names = self._language.names.sayable
        labels = {name.label for name in names}
        self._others = frozenset(word for name in names for word in (name.notation, *name.alternatives)) - labels
        self._form = NextWords(self._language, self._place)
        self._go_on()

    @property
    def sentence(self) -> str:
        """The sentence so far."""
        return " ".join(self._pieces)

    def _go_on(self) -> None:
        assert self._form is not None
        self._next = self._form.after(self.sentence.split())
        line = self.query_one(Input)
        with self.prevent(Input.Changed):
            line.value = ""
        grown = Content.assemble(self.sentence, " " if self._pieces else "", ("▏", "bold"), " " if self._whole() else "")
        self.query_one("#grown", Static).update(Content.assemble(grown, ("● whole", "bold") if self._whole() else ("○ goes on …", "")))
        self._fill("")

    def _whole(self) -> bool:
        return self._next is not None and self._next.complete and self._about()

    def _about(self) -> bool:
        """Whether the sentence is about what it must be about."""
        if not self._subject:
            return True
        subject = self._language.parse(self.sentence).subject
        return isinstance(subject, str) and self._language.names.label(subject) == self._subject

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        event.stop()
        self._fill(event.value.strip())

    def _fill(self, typed: str) -> None:
        offered = list(self._offered(usual_only=not typed))
        shown = narrowed(offered, typed)[:MOST_SHOWN]
        if typed and not any(choice.value == typed for choice in shown) and self._leads_on(typed):
            shown.append(Choice(typed, typed, "as written"))
        if not typed and self._whole():
            shown.insert(0, Choice("", f"● {_WHOLE}"))
        self._list(shown)

    def _leads_on(self, typed: str) -> bool:
        """Whether words as they are typed may come next."""
        assert self._form is not None
        words = [*self.sentence.split(), *typed.split()]
        return self._form.begins(words) and (not self._subject or bool(self._pieces))

    def _offered(self, *, usual_only: bool) -> Iterator[Choice]:
        """What may follow: variables, then phrases and properties, then names; of names first only the usual ones."""
        if self._next is None:
            return
        if self._subject and not self._pieces:
            yield from self._beginnings()
            return
        for slot in self._next.slots:
            yield from _of_slot(slot)
        pieces = [piece for piece in self._next.pieces if not (usual_only and piece in self._others)]
        names = {name.label for name in self._language.names.sayable}
        for piece in sorted(pieces, key=lambda piece: (piece in names or piece in self._others, not piece.startswith("the "), piece)):
            yield Choice(piece, piece, "a name" if piece in names else "another name" if piece in self._others else "")

    def _beginnings(self) -> Iterator[Choice]:
        """The ways to begin a sentence about the one thing."""
        assert self._form is not None and self._next is not None
        yield Choice(self._subject, self._subject, "the thing itself")
        for piece in self._next.pieces:
            begun = f"{piece} {self._subject}"
            if piece.startswith("the ") and piece.endswith(" of") and self._form.begins(begun.split()):
                yield Choice(begun, begun, "a measure of it")

    def _tell(self) -> None:
        if chosen := self._chosen():
            self.query_one("#next-word", Static).update(Content(one_line(chosen.note)))
            return
        wanted = list(dict.fromkeys(_SLOTS.get(slot.name, "a number, such as 60") for slot in (self._next.slots if self._next else ())))
        if self.query_one(Input).value:
            what = f"Here may stand {', '.join(wanted)}, or a word of the list." if wanted else "Delete it to see what may."
            said = f"× That cannot come next. {what}"
        else:
            said = f"Write {' or '.join(wanted)}." if wanted else "Nothing can follow. Backspace goes back."
        self.query_one("#next-word", Static).update(Content(one_line(said)))

    def on_key(self, event: Key) -> None:
        """Backspace in the empty line takes back the last words chosen."""
        if event.key == "backspace" and not self.query_one(Input).value and self._pieces:
            event.stop()
            words = self._pieces.pop().split()
            if not self._pieces and len(words) > 1:  # a sentence that came whole goes back word by word
                self._pieces = [" ".join(words[:-1])]
            self._go_on()

    def _take(self, choice: Choice) -> None:
        if choice.value:
            self._pieces.append(choice.value)
            self._go_on()
        else:
            self.dismiss(self.sentence)


def _of_slot(slot: Slot) -> Iterator[Choice]:
    """What may be offered for a slot: the variables in use, and names for new ones."""
    if slot.name == "variable":
        for name in slot.variables:
            yield Choice(f"?{name}", f"?{name}", "in use in this rule")
        for name in dict.fromkeys((*_USUAL, slot.sample.removeprefix("?"))):
            if name not in slot.variables and slot.takes(f"?{name}"):
                meant = f"; by this name mostly {_MEANT[name]}" if name in _MEANT else ""
                yield Choice(f"?{name}", f"?{name}", f"a new variable: it can be anything that fits{meant}")
