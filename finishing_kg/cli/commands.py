"""What each command does; each takes the parsed options and gives an exit status.

Heavy libraries are imported where they are needed, so that one command does not pay for another.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from itertools import chain, count
from typing import TYPE_CHECKING

from finishing_kg.cli.errors import OPEN, STOPPED, UNUSABLE, USED, Unusable
from finishing_kg.cli.output import print_data, print_json, print_parts, visible

if TYPE_CHECKING:
    from pathlib import Path

    from finishing_kg import casebook
    from finishing_kg.advice import Answer
    from finishing_kg.advice.contract import ProposedRule
    from finishing_kg.advice.levels import Level
    from finishing_kg.advice.proposing import Candidate
    from finishing_kg.chat import Dialogue
    from finishing_kg.engine import Knowledge
    from finishing_kg.routes import Case as Shelf
    from finishing_kg.vocabulary import Vocabulary

_LONGEST_TURN = 100_000
_ANSWERED = ("route", "no_route", "why", "why_not", "what_if", "comparison", "diagnosis")


def interface(_options: argparse.Namespace) -> int:
    """Open the terminal interface."""
    # A stream that was closed before we started is None.
    if not all(stream is not None and stream.isatty() for stream in (sys.stdin, sys.stdout)):
        raise Unusable('The terminal interface needs a terminal. In a script use: finishing-kg ask "your question".')
    from finishing_kg_tui import run

    return run()


def ask(options: argparse.Namespace) -> int:
    """One question, or a conversation from standard input, answered turn by turn."""
    turns = _turns(options.text)
    if options.plan is not None:
        from finishing_kg.cli.plans import may_write

        may_write(options.plan, overwrite=options.overwrite)
    dialogue = _opened(options) if options.opened else _dialogue(options)
    status = OPEN
    for number, turn in enumerate(turns):
        answer = dialogue.say(turn)
        if number and not options.json:
            print()
        _tell(dialogue.knowledge, answer, as_json=options.json)
        status = _status(answer)
        if options.save:
            _save(dialogue, options.save)  # after every turn, so that a conversation that breaks off is not lost
    if options.plan is not None:
        from finishing_kg.cli.plans import write_route

        write_route(options.plan, dialogue.advice if answer.routes else None, as_json=options.json)
    return status


def _opened(options: argparse.Namespace) -> Dialogue:
    """The conversation in a file; what is wrong with it is told like any unusable input."""
    from pathlib import Path

    from finishing_kg.chat.session import SessionError, load

    try:
        return load(_knowledge(options), Path(options.opened), whole=options.json)
    except SessionError as error:
        raise Unusable(error.text, error.where) from error


def _save(dialogue: Dialogue, name: str) -> None:
    from pathlib import Path

    from finishing_kg.chat.session import SessionError, save

    try:
        save(dialogue, Path(name))
    except SessionError as error:
        raise Unusable(error.text) from error


def _turns(words: list[str]) -> Iterator[str]:
    """The turns to answer, at least one.

    Raises:
        Unusable: there is none, or, while they are read, one that is too long or not UTF-8.
    """
    text = " ".join(words)
    turns = _lines_of_input() if words == ["-"] else iter([text] if text.strip() else [])
    first = next(turns, None)
    if first is None:
        where = "standard input" if words == ["-"] else None
        raise Unusable('The question is empty. Write for example: finishing-kg ask "sawn lead crystal, flat face, to polish"', where)
    if len(first) > _LONGEST_TURN:
        raise Unusable(f"The question has {len(first)} characters; at most {_LONGEST_TURN} are read.")
    return chain([first], turns)


def _lines_of_input() -> Iterator[str]:
    """Standard input line by line as it comes, so that a program can wait for each answer; empty lines are no turns."""
    stream = getattr(sys.stdin, "buffer", None)
    if stream is None:
        return
    for number in count(1):
        where = f"standard input, line {number}"
        line = stream.readline(4 * _LONGEST_TURN)
        if not line:
            return
        try:
            turn = line.decode("utf-8").strip()
        except UnicodeDecodeError as error:
            if len(line) < 4 * _LONGEST_TURN:
                raise Unusable(f"This is not text in UTF-8 (byte {error.start} of the line).", where) from error
            turn = " " * len(line)
        if len(turn) > _LONGEST_TURN:
            raise Unusable(f"A turn has at most {_LONGEST_TURN} characters.", where)
        if turn:
            yield turn


def _status(answer: Answer) -> int:
    """Answered, or open where a fact is missing or nothing was understood."""
    return USED if answer.kind in _ANSWERED and answer.verdict != "unknown" else UNUSABLE if answer.kind == "error" else OPEN


def _tell(knowledge: Knowledge, answer: Answer, *, as_json: bool) -> None:
    if as_json:
        print_parts(answer)
        return
    from finishing_kg.cli.render import render_answer

    render_answer(knowledge, answer)


def why(options: argparse.Namespace) -> int:
    """The reasoning behind an answer, or why something is not in it; of a conversation, behind its last answer."""
    from finishing_kg.cli import why as reasoning

    if options.unused is not None and not options.unused.strip():
        raise Unusable("Name what you have in mind, such as: --not 'felt wheel'")
    turns = _turns(options.text)
    dialogue = _dialogue(options)
    knowledge = dialogue.knowledge
    for turn in turns:
        answer = dialogue.say(turn)
    if answer.kind not in _ANSWERED:
        _tell(knowledge, answer, as_json=options.json)
        return _status(answer)
    told, roots = reasoning.told_by(dialogue, options)
    level: Level = options.level or "whole"
    if level == "whole":
        told = reasoning.in_full(dialogue, told, roots)
    if options.proof is not None:
        written = reasoning.write_proofs(dialogue, roots, options.proof, options.format)
    if options.json:
        _tell(knowledge, told, as_json=True)
    elif options.proof is not None:
        print(written)
    else:
        reasoning.render(dialogue, told, roots, level)
    return _status(told)


def check(options: argparse.Namespace) -> int:
    """The findings on a plan; status 1 where one is a stop."""
    from pathlib import Path

    from finishing_kg.advice import PlanError, check_plan
    from finishing_kg.cli.plans import may_write, write_corrected

    if options.corrected is not None:
        may_write(options.corrected, overwrite=options.overwrite)
    knowledge = _knowledge(options)
    try:
        checked = check_plan(knowledge, Path(options.plan), _shelf(options, knowledge))
    except PlanError as error:
        raise Unusable(str(error), error.where) from error
    if options.json:
        print_parts(checked)
    else:
        from finishing_kg.cli.render import render_check

        render_check(checked)
    if options.corrected is not None:
        write_corrected(options.corrected, checked, as_json=options.json)
    return STOPPED if any(finding.level == "stop" for finding in checked.findings) else USED


def grade(options: argparse.Namespace) -> int:
    """The size of one grade, the nearest to it on another scale, or the grades of a scale."""
    from finishing_kg.cli.grades import answer_for, listing

    vocabulary = _vocabulary()
    name = " ".join(options.name)
    if options.listed is not None:
        entries = listing(vocabulary, options.listed)
        if options.json:
            print_parts(entries)
        else:
            from finishing_kg.cli.render import render_grades

            render_grades(entries)
        return USED
    answer, why = answer_for(vocabulary, name, options.nearest)
    if options.json:
        print_parts(answer)
    else:
        from finishing_kg.cli.render import render_grade

        render_grade(answer, why)
    return USED


def speed(options: argparse.Namespace) -> int:
    """Turning speed and surface speed of a wheel, each from the other."""
    from finishing_kg.cli.speed import answer_for

    vocabulary = _vocabulary()
    answer = answer_for(vocabulary, options.diameter, options.turning, options.surface, options.carrier)
    if options.json:
        print_parts(answer)
    else:
        from finishing_kg.cli.render import render_speed

        render_speed(vocabulary, answer)
    return USED


def rules(options: argparse.Namespace) -> int:
    """``rules`` alone says which commands it has."""
    options.parser.print_help()
    return USED


def studio(options: argparse.Namespace) -> int:
    """What the studio's commands are."""
    options.parser.print_help()
    return USED


def rules_list(options: argparse.Namespace) -> int:
    """All rules, a line each."""
    from finishing_kg.advice.contract import BasisNote, RuleEntry

    rules = _knowledge(options).base.rules
    entries = [
        RuleEntry(
            id=rule.id,
            file=rule.file,
            subject=rule.subject,
            because=rule.because,
            basis=BasisNote(kind=rule.basis.kind, source=rule.basis.source, locator=rule.basis.locator),
            safety=rule.safety,
        )
        for rule in rules
    ]
    if options.json:
        print_parts(entries)
    else:
        from finishing_kg.cli.render import render_rules

        render_rules(entries)
    return USED


def rules_show(options: argparse.Namespace) -> int:
    """One rule with its sentences."""
    import difflib

    from finishing_kg.rules import as_written

    knowledge = _knowledge(options)
    rule = knowledge.base.by_id.get(options.id)
    if rule is None:
        near = difflib.get_close_matches(options.id, knowledge.base.by_id, 3, 0.4)
        raise Unusable(f"There is no rule {options.id[:80]!r}. " + (f"Near: {', '.join(near)}." if near else "See finishing-kg rules list."))
    printed = knowledge.language.print
    shown = {
        "id": rule.id,
        "file": rule.file,
        "line": rule.line,
        "if": [printed(sentence) for sentence in rule.conditions],
        "unless": [printed(sentence) for sentence in rule.exceptions],
        "then": [printed(sentence) for sentence in as_written(rule, knowledge.vocabulary)],
        "because": rule.because,
        "basis": {"kind": rule.basis.kind, "source": rule.basis.source, "locator": rule.basis.locator},
        "overrides": list(rule.overrides),
        "safety": rule.safety,
    }
    if options.json:
        print_json(shown)
    else:
        from finishing_kg.cli.render import render_rule

        render_rule(shown)
    return USED


def export(options: argparse.Namespace) -> int:
    """The whole knowledge as Turtle or JSON-LD, to a file or to standard output."""
    from pathlib import Path

    from finishing_kg.export import CannotWrite, export_graph, place_of, to_json_ld, to_turtle, write_whole
    from finishing_kg.vocabulary import OntologyError

    try:
        if options.output is not None:
            place_of(Path(options.output))  # before the work, not after it
        graph = export_graph(_knowledge())
        text = to_turtle(graph) if options.format == "turtle" else to_json_ld(graph)
        if options.output is None:
            print_data(text)
        else:
            write_whole(Path(options.output), text)
            print(f"Wrote {len(graph)} statements to {visible(options.output)}")
    except (CannotWrite, OntologyError) as error:
        raise Unusable(str(error)) from error
    return USED


def card(options: argparse.Namespace) -> int:
    """The route of an answer on a card; where there is no route the answer is told, and nothing is written."""
    from finishing_kg.chat import Dialogue
    from finishing_kg.cli.card import refuse_early, write_card

    turns = _turns(options.text)
    refuse_early(options)
    knowledge = _knowledge()
    dialogue = Dialogue(knowledge, whole=True)
    for turn in turns:
        answer = dialogue.say(turn)
    if not answer.routes:
        _tell(knowledge, answer, as_json=False)
        print("No card was written: this answer holds no route.", file=sys.stderr)
        return OPEN
    return write_card(knowledge.vocabulary, answer, options)


def serve(options: argparse.Namespace) -> int:
    """The interface in a browser."""
    from finishing_kg.cli.serve import serve_interface

    return serve_interface(options)


def rules_test(options: argparse.Namespace) -> int:
    """Run the cases against what they expect; with ``--mutate`` report the changes to rules that none of them notices."""
    from finishing_kg.cli.casebook import run_cases, run_mutations

    if options.rule and not options.mutate:
        raise Unusable("--rule goes with --mutate: the cases themselves always run whole.")
    knowledge = _knowledge(options)
    unknown = [rule for rule in options.rule if rule not in knowledge.base.by_id]
    if unknown:
        raise Unusable(f"There is no rule {unknown[0][:80]!r}. See finishing-kg rules list.")
    if options.mutate:
        return run_mutations(knowledge, options.cases, options.rule, as_json=options.json)
    cases, _ = _studio_cases(options)
    return run_cases(knowledge, options.cases, cases, as_json=options.json)


def rules_audit(options: argparse.Namespace) -> int:
    """Faults of the rule base, the studio's rules among the shipped, with or without those that the cases bring out; status 1 if there is one."""
    from finishing_kg.cli.casebook import run_audit

    cases, files = _studio_cases(options)
    return run_audit(_knowledge(options), cases, files, static=options.static, as_json=options.json)


def _studio_cases(options: argparse.Namespace) -> tuple[Sequence[casebook.Case], Sequence[Path]]:
    """The cases of the studio that a command takes in, and its case files; none where there is no studio."""
    from finishing_kg.studio import may_be_studio

    if not may_be_studio(options.studio):
        return (), ()
    from finishing_kg.cli.studio import studio_of
    from finishing_kg.engine import Knowledge

    studio = studio_of(options, Knowledge.shipped())
    return (studio.cases, sorted((studio.folder / "cases").glob("*.toml"))) if studio is not None else ((), ())


def rules_impact(options: argparse.Namespace) -> int:
    """What rules that are not there yet would change."""
    from finishing_kg.cli.impact import rules_impact

    return rules_impact(options)


def rules_sweep(options: argparse.Namespace) -> int:
    """Ask about all combinations and report what breaks an invariant; status 1 if something does that may not."""
    from finishing_kg.cli.sweep import run_sweep

    return run_sweep(_knowledge(), options.table, every=options.every, sample=options.sample, processes=options.processes, as_json=options.json)


def schema(options: argparse.Namespace) -> int:
    """The JSON Schemas of what the commands print."""
    from finishing_kg.advice.contract import SCHEMAS

    if options.name is not None and options.name not in SCHEMAS:
        raise Unusable(f"There is no schema {options.name[:60]!r}. Write one of: {', '.join(SCHEMAS)}.")
    from finishing_kg.advice.schema import json_schema

    wanted = [options.name] if options.name else list(SCHEMAS)
    print_json({name: json_schema(name) for name in wanted}, indent=2)
    return USED


def _dialogue(options: argparse.Namespace) -> Dialogue:
    """A new conversation over the studio's knowledge, or the shipped where there is no studio."""
    from finishing_kg.chat import Dialogue

    dialogue = Dialogue(_knowledge(options), whole=options.json)
    dialogue.rank = lambda found: _ranked(options, found)
    if options.from_shelf:
        from finishing_kg.cli.studio import shelf_of

        dialogue.case = shelf_of(options, dialogue.knowledge) or dialogue.case
    return dialogue


def _ranked(options: argparse.Namespace, found: Iterator[Candidate]) -> Sequence[ProposedRule]:
    """Proposed rules by what they would change in the case library, where that was recorded before; else the narrowest first."""
    from finishing_kg.cli.studio import studio_of
    from finishing_kg.engine import Knowledge
    from finishing_kg.studio import may_be_studio
    from finishing_kg.studio.ranking import ranked

    shipped = Knowledge.shipped()
    return ranked(studio_of(options, shipped) if may_be_studio(options.studio) else None, shipped, found)


def _shelf(options: argparse.Namespace, knowledge: Knowledge) -> Shelf | None:
    """What is on the studio's shelf, if there is anything."""
    from finishing_kg.studio import may_be_studio

    if not options.from_shelf and not may_be_studio(options.studio):
        return None
    from finishing_kg.cli.studio import shelf_of

    return shelf_of(options, knowledge, needed=options.from_shelf)


def _knowledge(options: argparse.Namespace | None = None) -> Knowledge:
    """The shipped ontology and rules, with the studio's where a command takes one; what is wrong is told like any unusable input."""
    from finishing_kg.engine import Knowledge
    from finishing_kg.places import DataMissing
    from finishing_kg.rules import RuleFileError
    from finishing_kg.vocabulary import OntologyError

    try:
        from finishing_kg.studio import may_be_studio

        if options is None or not may_be_studio(options.studio):
            return Knowledge.shipped()
        from finishing_kg.cli.studio import with_studio

        return with_studio(options, Knowledge.shipped())
    except (DataMissing, OntologyError) as error:
        raise Unusable(str(error)) from error
    except RuleFileError as error:
        if len(error.faults) > 1:
            raise Unusable(str(error), "rules") from error
        fault = error.faults[0]
        where = ", ".join(
            filter(None, [f"{fault.file}, line {fault.line}", f"column {fault.column}" if fault.column else "", fault.rule, fault.part])
        )
        raise Unusable(fault.text, where) from error


def _vocabulary() -> Vocabulary:
    """The shipped ontology alone, for what needs no rules."""
    from finishing_kg.places import DataMissing
    from finishing_kg.rules.shipped import shipped_sections
    from finishing_kg.vocabulary import OntologyError
    from finishing_kg.vocabulary.shipped import shipped_vocabulary

    try:
        return shipped_vocabulary(shipped_sections())
    except (DataMissing, OntologyError) as error:
        raise Unusable(str(error)) from error
