"""What was understood as chips: one statement each, with what to say to change it or to take it out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishing_kg_tui.plain import clean, one_line, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Understood
    from finishing_kg.engine import Knowledge
    from finishing_kg.statements import Statement

NOT_SAID = "—"
_PARTS = {"glass": "Glass", "make": "Make", "form": "Form", "surface": "Surface", "surface_grade": "Grade", "finish": "Finish",
          "goal_grade": "Last grade"}
_ALWAYS = ("glass", "make", "form", "surface", "finish")
_LIMITS = {"isAtHand": "Has", "isUnwanted": "Without", "isLimitedInMinerals": "Limits", "isLimitedInCarriers": "Limits"}


@dataclass(frozen=True)
class Chip:
    """One thing that was understood, or one of the five that every answer needs and nobody said.

    Attributes:
        name: What it is, such as *Glass*.
        value: What was understood; a dash where nobody said.
        statement: The sentence that says it, to take it back; empty where there is none.
        part: The part of the piece, where another value can be chosen for it.
        thing: The id of the value.
    """

    name: str
    value: str
    statement: str = ""
    part: str = ""
    thing: str = ""

    @property
    def can_change(self) -> bool:
        """Whether another value can be chosen."""
        return bool(self.part)

    @property
    def can_go(self) -> bool:
        """Whether it can be taken out."""
        return bool(self.statement)

    @property
    def taking_out(self) -> str:
        """The turn that takes it out."""
        return f"take back: {self.statement}"


@dataclass(frozen=True)
class Value:
    """A thing that can be chosen for a part: its id, what it is called, one sentence on it, and the words that choose it."""

    thing: str
    label: str
    note: str
    statement: str


def chips_of(understood: Understood, knowledge: Knowledge) -> list[Chip]:
    """The chips of what was understood: the five parts first, then all else that was said.

    Args:
        understood: of an answer.
        knowledge: reads its sentences, which are in the one grammar.
    """
    from finishing_kg.routes import PARTS, PIECE

    said = [(sentence, knowledge.language.parse(sentence)) for sentence in understood.statements]
    by_predicate = {predicate: part for part, predicate in PARTS.items()}
    parts: dict[str, Chip] = {part: Chip(_PARTS[part], NOT_SAID, part=part) for part in _ALWAYS}
    more: list[Chip] = []
    for sentence, statement in said:
        part = by_predicate.get(statement.predicate)
        if part is not None and statement.subject == PIECE and isinstance(statement.object, str):
            label = knowledge.language.names.label(statement.object)
            parts[part] = Chip(_PARTS[part], one_line(label), sentence, part, statement.object)
        else:
            more.append(Chip(*_named(knowledge, statement, sentence), sentence))
    ordered = [parts[part] for part in _PARTS if part in parts]
    if understood.planned:
        more.append(Chip("Planned", ", ".join(f"{words(name)} {words(value)}" for name, value in understood.planned.items())))
    if understood.unused_words:
        more.append(Chip("Not used", ", ".join(f"“{clean(word)}”" for word in understood.unused_words)))
    return ordered + more


def _named(knowledge: Knowledge, statement: Statement, sentence: str) -> tuple[str, str]:
    label = knowledge.language.names.label
    if statement.predicate in _LIMITS:
        value = label(str(statement.subject))
        return _LIMITS[statement.predicate], one_line("only what is at hand" if _LIMITS[statement.predicate] == "Limits" else value)
    phrase = knowledge.vocabulary.phrases[statement.predicate]
    if phrase.shape in ("quantity", "naming"):
        value = label(statement.object) if isinstance(statement.object, str) else str(statement.object)
        return one_line(phrase.words).capitalize(), one_line(value)
    return "Also", one_line(sentence.removeprefix("the piece "))


def values_of(part: str, knowledge: Knowledge) -> list[Value]:
    """All things of the ontology that can stand in a part of the piece, in the order of their names."""
    from finishing_kg.routes import PARTS, PIECE
    from finishing_kg.statements import Statement

    kind = "grade" if part == "surface_grade" else part
    found = knowledge.vocabulary.things(kind)
    made = (Value(name.id, name.label, name.note, knowledge.language.print(Statement(PARTS[part], PIECE, name.id))) for name in found)
    return sorted(made, key=lambda value: value.label.casefold())


def unsaid_chips() -> list[Chip]:
    """The five parts before anything was said."""
    return [Chip(_PARTS[part], NOT_SAID, part=part) for part in _ALWAYS]
