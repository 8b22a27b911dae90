"""An answer as parts that can be read one after the other: for the conversation and for the clipboard alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from finishing_kg_tui.plain import clean, span, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, AskBack, Understood

KIND_WORDS = {
    "route": "Route",
    "question": "Question back",
    "no_route": "No route",
    "not_understood": "Not understood",
    "out_of_scope": "Outside this trade",
    "why": "Why",
    "why_not": "Why not",
    "what_if": "What if",
    "comparison": "Compared",
    "diagnosis": "What went wrong",
    "error": "Could not be used",
}


@dataclass(frozen=True)
class Part:
    """One paragraph of an answer.

    Attributes:
        role: What it is for the style sheet, such as ``caution``.
        mark: A sign that stands beside the word, so that neither rests on colour.
        word: The word that names the part.
        text: What it says, clean.
    """

    role: str
    mark: str
    word: str
    text: str

    def __str__(self) -> str:
        return f"{self.mark} {self.word}: {self.text}"


def parts_of(answer: Answer) -> Iterator[Part]:
    """The answer's paragraphs: what it says, then hazards, what it rests on, and what is still to be said."""
    yield Part("answer", "●", KIND_WORDS.get(answer.kind, answer.kind), clean(answer.text.strip()) or "nothing is said in words.")
    for caution in answer.cautions:
        yield Part("caution", "▲", "Caution", clean(caution.text))
    for change in answer.changed:
        yield Part("note", "→", "Changed", clean(change))
    for difference in answer.differences:
        yield Part("note", "≠", "Difference", clean(difference))
    if answer.blocker:
        yield Part("note", "×", "Stands in the way", clean(answer.blocker))
    if answer.smallest_change:
        yield Part("note", "→", "Smallest change", clean(answer.smallest_change.text))
    for taken in answer.assumed:
        yield Part("assumed", "≈", "Assumed", clean(f"{taken.statement}. {taken.because}"))
    for asked in answer.ask_back:
        yield Part("question", "?", "Tell me", _asked(asked))
    for rule in answer.proposed_rules:
        changes = f"It changes the advice in {rule.cases} cases of the library." if rule.cases is not None else ""
        sentence = f"If {', and '.join(rule.conditions)}, then {' and '.join(rule.conclusions)}."
        yield Part("note", "+", "A rule for it", clean("\n".join(filter(None, [sentence, changes, rule.command]))))
    if answer.where:
        yield Part("note", "→", "Where", clean(answer.where))
    if answer.weakest_basis:
        yield Part("note", "~", "Weakest basis", clean(answer.weakest_basis))


def _asked(asked: AskBack) -> str:
    choices = " / ".join(words(choice) for choice in asked.choices)
    return clean(asked.text) + (f"\n{choices}" if choices else "")


def as_text(answer: Answer) -> str:
    """The whole answer as plain text, its routes step by step."""
    lines = [str(part) for part in parts_of(answer)]
    for number, route in enumerate(answer.routes, 1):
        lines += ["", clean(f"Route {number}: {route.name}. {route.chosen_because}")]
        for place, step in enumerate(route.steps, 1):
            what = " ".join(filter(None, (words(step.mineral), clean(step.grade or ""))))
            speed = span(step.surface_speed_m_s, "m/s")
            facts = [f"{what}, {words(step.hold)}", words(step.carrier), "wet" if step.wet else "dry", speed, f"leaves {words(step.leaves.state)}"]
            lines += [f"  {place}. " + ", ".join(filter(None, facts)), clean(f"     {step.how} Done when: {step.done_when}")]
    return "\n".join(lines)


def taken_from(understood: Understood) -> list[tuple[str, str]]:
    """What was understood, as (name, value). The five things every answer needs are always there; a dash means not said."""
    surface = understood.surface
    state = " ".join(filter(None, (words(surface.state or ""), clean(surface.grade or "")))) if surface else ""
    needed = [("Glass", understood.glass), ("Make", understood.make), ("Form", understood.form)]
    found = [(name, words(value or "")) for name, value in needed] + [("Surface", state), ("Finish", words(understood.finish or ""))]
    rows = [(name, value or "—") for name, value in found]
    more = [(words(name).capitalize(), clean(value)) for name, value in understood.measures.items()]
    if understood.restrictions:
        more.append(("Limits", "; ".join(clean(text) for text in understood.restrictions)))
    if understood.planned:
        more.append(("Planned", ", ".join(f"{words(name)} {words(value)}" for name, value in understood.planned.items())))
    if understood.unused_words:
        more.append(("Not used", ", ".join(f"“{clean(word)}”" for word in understood.unused_words)))
    return rows + more
