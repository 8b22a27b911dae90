"""An answer as parts that can be read one after the other: for the conversation and for the clipboard alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from finishing_kg_tui.follow import NOTHING, Subject
from finishing_kg_tui.plain import clean, span, words

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, AskBack, ProposedRule

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

YES = "yes"
"""What is said to a story that was heard as it was meant."""

_LEVELS = {"stop": ("×", "Stop"), "caution": ("▲", "Caution"), "note": ("·", "Note")}


@dataclass(frozen=True)
class Part:
    """One paragraph of an answer.

    Attributes:
        role: What it is for the style sheet, such as ``caution``.
        mark: A sign that stands beside the word, so that neither rests on colour.
        word: The word that names the part.
        text: What it says, clean.
        subject: What a follow-up on it is about.
        asks: Of a question back, what it asks about.
        choices: Of a question back, what may be answered, as identifiers.
        turn: What entering the paragraph says to the adviser; empty where it says nothing.
        note: The id of the caution or hint that is told here in full.
        rule: Of a rule that is proposed, the rule, to be written from here.
    """

    role: str
    mark: str
    word: str
    text: str
    subject: Subject = NOTHING
    asks: str = ""
    choices: tuple[str, ...] = ()
    turn: str = ""
    note: str = ""
    rule: ProposedRule | None = None

    def __str__(self) -> str:
        return f"{self.mark} {self.word}: {self.text}"


def parts_of(answer: Answer, told: frozenset[str] = frozenset()) -> Iterator[Part]:
    """The answer's paragraphs: what it says, what is different, then hazards, what it rests on, and what is still to be said.

    Args:
        answer: any.
        told: the ids of cautions and hints that stand further up in the conversation in full; here cautions of these are only named.
    """
    yield _part(answer, ("answer", "●", KIND_WORDS.get(answer.kind, answer.kind)), answer.text.strip() or "nothing is said in words.", answer.reason)
    if answer.pieces_told:
        yield _part(answer, ("note", "→", "More than one piece"), answer.pieces_told)
    yield from _compared(answer)
    yield from _found(answer)
    yield from _hazards(answer, told)
    for taken in answer.assumed:
        yield _part(answer, ("assumed", "≈", "Assumed"), f"{taken.statement}. {taken.because}")
    for hint in (each for each in answer.hints if each.id not in told):
        yield replace(_part(answer, ("note", "·", "Worth knowing"), hint.text, hint.reason), note=hint.id)
    for asked in answer.ask_back:
        turn = YES if answer.heard else ""
        yield Part("question", "?", "Tell me", _asked(asked), Subject(text=clean(asked.text)), asked.about, tuple(asked.choices), turn)
    for rule in answer.proposed_rules:
        changes = f"It changes the advice in {rule.cases} cases of the library." if rule.cases is not None else ""
        sentence = f"If {', and '.join(rule.conditions)}, then {' and '.join(rule.conclusions)}."
        made = _part(answer, ("note", "+", "A rule for it"), " ".join(filter(None, [sentence, changes])))
        yield replace(made, rule=rule)
    if answer.where:
        yield _part(answer, ("note", "→", "Where"), answer.where)
    if answer.weakest_basis:
        yield _part(answer, ("note", "~", "Weakest basis"), answer.weakest_basis)


def _hazards(answer: Answer, told: frozenset[str]) -> Iterator[Part]:
    """The cautions: new ones in full, those that were told in this conversation by name."""
    for caution in answer.cautions:
        if caution.id not in told:
            yield replace(_part(answer, ("caution", "▲", "Caution"), caution.text, caution.reason), note=caution.id)
    if named := [words(caution.id) for caution in answer.cautions if caution.id in told]:
        yield _part(answer, ("caution", "▲", "Cautions as before"), f"{', '.join(named)}.")


def _found(answer: Answer) -> Iterator[Part]:
    """What was found in the maker's plan, and what a fault comes from."""
    for finding in answer.findings:
        mark, word = _LEVELS[finding.level]
        text = " ".join(filter(None, (finding.text, finding.remedy)))
        yield _part(answer, (f"finding-{finding.level}", mark, word), text, finding.reason)
    for cause in answer.diagnosis:
        told = f"{cause.text} To tell: {cause.tell_by} Then: {cause.remedy}"
        yield _part(answer, ("note", "◆", f"{cause.standing.capitalize()} cause"), told, cause.reason)
    if answer.way_back:
        yield _part(answer, ("note", "→", "Way back"), answer.way_back)


def _compared(answer: Answer) -> Iterator[Part]:
    """What is different, and what stands in the way."""
    for change in answer.changed:
        yield _part(answer, ("note", "→", "Changed"), change)
    if answer.differences:
        many = len(answer.differences) > 1
        yield _part(answer, ("note", "≠", "What differs"), "".join(f"\n  {each}" for each in answer.differences) if many else answer.differences[0])
    for word, lines in (("Only the first", answer.only_first), ("Only the second", answer.only_second)):
        for line in lines:
            yield _part(answer, ("note", "≠", word), line.text, line.reason)
    if answer.kind == "what_if" and len(answer.changed) == 1 and answer.changed[0].startswith("the piece "):
        text = "The piece is as it was; the route shown is what it would be."
        yield replace(_part(answer, ("note", "·", "Only supposed"), text), turn=f"correction: {answer.changed[0]}")
    if answer.blocker:
        yield _part(answer, ("note", "×", "Stands in the way"), answer.blocker, answer.reason)
    if answer.smallest_change and answer.smallest_change.text not in answer.text:
        yield _part(answer, ("note", "→", "Smallest change"), answer.smallest_change.text)


def _part(answer: Answer, head: tuple[str, str, str], text: str, rid: str | None = None) -> Part:
    shown = clean(text)
    return Part(*head, shown, Subject(text=shown, rid=rid or "", reasons=answer.reasons))


def _asked(asked: AskBack) -> str:
    choices = " / ".join(words(choice) for choice in asked.choices)
    return clean(asked.text) + (f"\n{choices}" if choices else "")


def as_text(answer: Answer) -> str:
    """The whole answer as plain text, its routes step by step."""
    lines = [line for part in parts_of(answer) for line in (str(part), clean(part.rule.command) if part.rule else "") if line]
    for number, route in enumerate(answer.routes, 1):
        lines += ["", clean(f"Route {number}: {route.name}. {route.chosen_because}")]
        lines += [clean(route.minutes_from_log)] if route.minutes_from_log else []
        for place, step in enumerate(route.steps, 1):
            what = " ".join(filter(None, (words(step.mineral), clean(step.grade or ""))))
            speed = span(step.surface_speed_m_s, "m/s")
            facts = [f"{what}, {words(step.hold)}", words(step.carrier), "wet" if step.wet else "dry", speed, f"leaves {words(step.leaves.state)}"]
            lines += [f"  {place}. " + ", ".join(filter(None, facts)), clean(f"     {step.how} Done when: {step.done_when}")]
    return "\n".join(lines)
