"""Follow-ups: what can be asked about whatever is looked at, with the same keys everywhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widget import Widget

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Reason

Kind = Literal["why", "why_not", "what_if", "around", "rests_on_it"]

KEYS: tuple[tuple[str, Kind, str, str], ...] = (
    ("w", "why", "why", "Why is it so?"),
    ("n", "why_not", "why not", "Why not something else, or why is this ruled out?"),
    ("i", "what_if", "what if", "What if it were different?"),
    ("u", "rests_on_it", "rests on it", "Everything that rests on this"),
    ("a", "around", "around", "What is known around the things named here"),
)
"""Key, kind, short name, and what it asks."""


@dataclass(frozen=True)
class Subject:
    """What a follow-up is about. What is not known of it is empty.

    Attributes:
        text: In words, with all that it names.
        copied: What is copied of it, where that is not the same.
        step: The number of a step, from 1.
        rid: The id of a reason, and ``reasons`` where it is looked up.
        part: A part of the piece, such as ``form``.
        rule: The id of a rule.
        option: Words that name a tool or a method for *why not*.
        thing: The id of a thing of the ontology.
    """

    text: str = ""
    copied: str = ""
    step: int | None = None
    rid: str = ""
    reasons: Mapping[str, Reason] | None = None
    part: str = ""
    rule: str = ""
    option: str = ""
    thing: str = ""


NOTHING = Subject()
"""Nothing in particular."""


class FollowUp(Message):
    """A follow-up is wanted."""

    def __init__(self, kind: Kind, subject: Subject) -> None:
        super().__init__()
        self.kind, self.subject = kind, subject


def follow_bindings() -> list[BindingType]:
    """The follow-up keys, for a part of the screen in which letters type nothing."""
    keys: list[BindingType] = [Binding(key, f"follow('{kind}')", name, show=False, tooltip=says) for key, kind, name, says in KEYS]
    return [*keys, Binding("c", "copy_line", "copy", show=False, tooltip="Copy the chosen line")]


def keys_line(*kinds: Kind) -> str:
    """The keys with their short names in one line, for the edge of a panel."""
    return " · ".join(f"{key} {name}" for key, kind, name, _ in KEYS if kind in kinds)


class Follows:
    """Whatever has a chosen line that follow-ups can be asked about. Beside a widget among the bases."""

    def follow_subject(self) -> Subject | None:
        """What is chosen; None for nothing."""
        raise NotImplementedError

    def action_follow(self, kind: Kind) -> None:
        """Pass a follow-up about what is chosen up to the screen."""
        subject = self.follow_subject()
        if subject is not None and isinstance(self, Widget):
            self.post_message(FollowUp(kind, subject))

    def action_copy_line(self) -> None:
        """Put the chosen line on the clipboard."""
        subject = self.follow_subject()
        if subject is not None and isinstance(self, Widget):
            self.app.copy_to_clipboard(subject.copied or subject.text)
            self.notify("The line is on the clipboard.", markup=False)
