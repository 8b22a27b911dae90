"""The command ``why``: the reasoning behind an answer at the length asked for, why not something, and without which rules."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from finishing_kg.advice.levels import Level, explained
from finishing_kg.chat import Dialogue
from finishing_kg.cli.errors import Unusable
from finishing_kg.cli.output import visible
from finishing_kg.record import replace

if TYPE_CHECKING:
    from finishing_kg.advice import Answer

_LEVELS: dict[Level, str] = {"line": "why step {}, in one line?", "short": "why step {}, in short?", "whole": "why step {}, in full?"}


def told_by(dialogue: Dialogue, options: argparse.Namespace) -> tuple[Answer, list[str]]:
    """What the options ask of the last answer of a conversation, and the reasons that are its roots.

    Raises:
        Unusable: there is no such step, or a rule that cannot be left out.
    """
    answer = dialogue.answer
    assert answer is not None
    if options.without_rule:
        told = dialogue.leaving_out(options.without_rule)
        if told.kind == "error":
            raise Unusable(told.text)
        return told, [step.reason for step in told.routes[0].steps] if told.routes else []
    if options.unused is not None:
        told = dialogue.say(f"why not {options.unused}?")
        return told, [told.reason] if told.reason else []
    steps = answer.routes[0].steps if answer.routes else []
    if options.step is not None and not 1 <= options.step <= len(steps):
        raise Unusable(f"There is no step {options.step}: the first route has {len(steps)} steps." if steps else f"There is no route: {answer.text}")
    level: Level = options.level or "whole"
    told = dialogue.say(_LEVELS[level].format(options.step) if options.step is not None else "why?" if level == "whole" else _LEVELS[level])
    if options.step is not None or not steps:
        return told, [told.reason] if told.reason else []
    return told, [step.reason for step in steps]


def in_full(dialogue: Dialogue, told: Answer, roots: list[str]) -> Answer:
    """An answer with what the whole proofs of its roots need to be absent."""
    found = {absence.statement: absence for root in roots for absence in explained(replace(told, reason=root), dialogue.book, "whole").absences}
    return replace(told, absences=list(found.values()))


def render(dialogue: Dialogue, told: Answer, roots: list[str], level: Level) -> None:
    """The answer for people, at the length asked for."""
    from finishing_kg.cli.paper import Paper
    from finishing_kg.cli.reasoning import render_reasons, render_told
    from finishing_kg.cli.render import paragraph, render_answer

    if told.kind == "what_if":
        render_answer(dialogue.knowledge, told)
    elif level == "whole" or told.kind != "why":
        render_reasons(told, roots if level == "whole" else [])
    else:
        paper = Paper()
        for number, root in enumerate(roots, 1):
            if len(roots) > 1:
                paragraph(paper, (f"Step {number}", "bold"))
            render_told(paper, explained(replace(told, reason=root), dialogue.book, level))


def write_proofs(dialogue: Dialogue, roots: list[str], file: str, form: str) -> str:
    """Write the proofs of some reasons to a file as PROV-O, and say so.

    Raises:
        Unusable: there is nothing to write, or no file can be written there.
    """
    from pathlib import Path

    from finishing_kg.export import CannotWrite, export_proofs, to_json_ld, to_turtle, write_whole

    proofs = [dialogue.book.proved[root][1] for root in roots if root in dialogue.book.proved]
    if not proofs:
        raise Unusable("There is no proof to write: nothing that was said rests on one.")
    graph = export_proofs(dialogue.knowledge, proofs)
    try:
        write_whole(Path(file), to_turtle(graph) if form == "turtle" else to_json_ld(graph))
    except CannotWrite as error:
        raise Unusable(str(error)) from error
    return f"Wrote {len(proofs)} proofs to {visible(file)}"
