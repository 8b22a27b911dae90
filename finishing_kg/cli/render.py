"""Answers for people: short, readable, coloured only on a terminal, complete without colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishing_kg.cli.output import visible
from finishing_kg.cli.paper import Paper
from finishing_kg.measure import two_figures

if TYPE_CHECKING:
    from finishing_kg.advice import Answer, PlanCheck
    from finishing_kg.advice.contract import AskBack, GradeAnswer, GradeReading, Range, Reason, Route, RouteStep, RuleEntry, SpeedAnswer
    from finishing_kg.engine import Knowledge
    from finishing_kg.vocabulary import Vocabulary

_MARKS = {"stop": ("■ STOP", "bold red"), "caution": ("▲ caution", "yellow"), "note": ("· note", "dim")}
_MOST_RULED_OUT = 5
_MOST_NAMED = 6
_SPAN = "rough middles to compare ways by, with the ends in brackets far apart: watch the glass, not the clock."
_LABELLED = ("mineral", "carrier", "hold", "machine", "surface", "finish", "form", "glass", "make")


def paragraph(paper: Paper, *parts: tuple[str, str] | str, indent: int = 0) -> None:
    """One paragraph; text is never read as markup, control characters are shown as what they are."""
    pairs = [part if isinstance(part, tuple) else (part, "") for part in parts]
    paper.paragraph([(visible(words), style) for words, style in pairs], indent)


def _range(value: Range | None, unit: str) -> str:
    if value is None:
        return ""
    if value.low is None or value.high is None:
        return f"{value.mid:g} {unit}"
    return f"{value.low:g} to {value.high:g} {unit}"


def render_answer(knowledge: Knowledge, answer: Answer) -> None:
    """One answer: what was understood, the route with its reasons, cautions, questions back."""
    paper = Paper()
    labels = {name.notation: name.label for kind in _LABELLED for name in knowledge.vocabulary.things(kind)}
    _render_understood(paper, answer)
    if answer.kind == "diagnosis":
        _render_diagnosis(paper, answer)
    elif answer.text and (answer.kind != "question" or answer.findings):
        # The questions themselves come below; what is to be said of the maker's plan does not wait for their answers.
        paper.blank()
        paragraph(paper, _told_of_the_plan(answer) if answer.kind == "question" else answer.text)
    if answer.lines or answer.only_first or answer.only_second:
        from finishing_kg.cli.reasoning import render_told

        paper.blank()
        render_told(paper, answer)
    for change in answer.differences:
        paragraph(paper, f"- {change}", indent=2)
    for number, route in enumerate(answer.routes):
        paper.blank()
        _render_route(paper, route, labels, whole=number == 0)
        _render_questions(paper, route.ask_back if number == 0 else [], labels)
    if answer.routes or answer.kind == "no_route":
        _render_ruled_out(paper, answer, labels)
    _render_hints(paper, answer)
    _render_cautions(paper, answer)
    _render_questions(paper, answer.ask_back, labels)
    if answer.proposed_rules:
        from finishing_kg.cli.reasoning import render_proposed

        render_proposed(paper, answer.proposed_rules)
    if answer.weakest_basis:
        paper.blank()
        why = 'The whole reasoning: finishing-kg why "…".'
        paragraph(paper, (f"Weakest basis in the reasons for the first choice: {answer.weakest_basis}. {why}", "dim"))


def _told_of_the_plan(answer: Answer) -> str:
    """What is found in the maker's plan, without the questions that the text of such an answer ends with."""
    from finishing_kg.advice.planned import told

    return told(answer.findings)


def _render_diagnosis(paper: Paper, answer: Answer) -> None:
    """The causes in order, each with what tells it from the others, then what to do with the piece."""
    paper.blank()
    for number, cause in enumerate(answer.diagnosis, 1):
        paragraph(paper, (f"{number}. {cause.standing}: ", "bold"), cause.text)
        for because in cause.because[:2]:
            paragraph(paper, ("Because: ", "italic"), because, indent=3)
        paragraph(paper, ("Tell it by this: ", "italic"), cause.tell_by, indent=3)
        paragraph(paper, ("Cure: ", "italic"), cause.remedy, indent=3)
    if answer.way_back:
        paper.blank()
        paragraph(paper, answer.way_back)


def _render_understood(paper: Paper, answer: Answer) -> None:
    if answer.pieces_told:
        paragraph(paper, ("More than one piece: ", "bold"), answer.pieces_told)
    if answer.understood.statements:
        told = (_with_words(statement, answer.understood.words.get(statement, "")) for statement in answer.understood.statements)
        paragraph(paper, ("Understood: ", "bold"), "; ".join(told) + ".")
    if answer.understood.planned:
        paragraph(paper, ("You have in mind: ", "bold"), ", ".join(f"{kind} {thing}" for kind, thing in answer.understood.planned.items()) + ".")
    if answer.understood.unused_words:
        paragraph(paper, ("Not used: ", "bold"), ", ".join(answer.understood.unused_words) + ".")
    for assumption in answer.assumed:
        paragraph(paper, ("Taken for granted: ", "bold"), f"{assumption.statement}. {assumption.because}")


def _with_words(statement: str, words: str) -> str:
    """A statement with the maker's words that it was taken from, unless it repeats them."""
    return statement if not words or words.casefold() in statement.casefold() else f"{statement} (“{words}”)"


def _render_hints(paper: Paper, answer: Answer) -> None:
    if answer.hints:
        paper.blank()
    for hint in answer.hints:
        paragraph(paper, ("Worth knowing: ", "bold"), hint.text)


def _render_cautions(paper: Paper, answer: Answer) -> None:
    if answer.cautions:
        paper.blank()
        paragraph(paper, ("▲ Cautions", "bold yellow"), " (the usual ones; local codes and licensed practice decide)")
    for caution in answer.cautions:
        paragraph(paper, (f"{caution.id}: ", "bold"), caution.text, indent=2)


def _render_questions(paper: Paper, asked: Sequence[AskBack], labels: dict[str, str]) -> None:
    if asked:
        paper.blank()
    for question in asked:
        paragraph(paper, ("? ", "bold cyan"), question.text)
        if question.choices:
            paragraph(paper, ", ".join(labels.get(choice, choice) for choice in question.choices), indent=2)
    for told in dict.fromkeys(question.if_unknown for question in asked if question.if_unknown):
        paragraph(paper, told, indent=2)


def _render_route(paper: Paper, route: Route, labels: dict[str, str], *, whole: bool) -> None:
    paragraph(paper, (route.name[0].upper() + route.name[1:], "bold"), f". {route.chosen_because}")
    if whole and route.minutes_for:
        paragraph(paper, ("Minutes: ", "italic"), f"for {route.minutes_for}; {_SPAN}", indent=2)
    if route.minutes_from_log:
        paragraph(paper, route.minutes_from_log, indent=2)
    for number, step in enumerate(route.steps, 1):
        paragraph(paper, (f"{number}. ", "bold"), (_method(step, labels), "bold"), f" {_facts(step, labels)}", indent=2)
        if whole:
            paragraph(paper, step.purpose, indent=5)
            for because in step.because[:2]:
                paragraph(paper, ("Because: ", "italic"), because, indent=5)
            paragraph(paper, ("How: ", "italic"), step.how, indent=5)
            told = _done_so(route.steps[number - 2]) if number > 1 else {}
            for name, text in _done_so(step).items():
                if text and text != told.get(name):  # as for the step before, so it is not said again
                    paragraph(paper, (name, "italic"), text, indent=5)
            paragraph(paper, ("Takes: ", "italic"), _amounts(step), indent=5)
            paragraph(paper, ("Done when: ", "italic"), step.done_when, indent=5)
            if step.if_stopped:
                paragraph(paper, ("If stopped early: ", "italic"), step.if_stopped, indent=5)
            if step.before_next and number < len(route.steps):
                paragraph(paper, ("Before the next: ", "italic"), step.before_next, indent=5)


def _amounts(step: RouteStep) -> str:
    """Minutes and removal of a step in words, middles with their ends; what is not known says why."""
    told = []
    for value, unit in ((step.minutes, "minutes"), (step.removal_um, "µm off the face")):
        if value is not None:
            spread = f" ({two_figures(value.low)} to {two_figures(value.high)})" if value.low is not None and value.high is not None else ""
            told.append(f"about {two_figures(value.mid)}{spread} {unit}")
    told += [] if step.minutes else [f"how long is not known: {step.minutes_unknown}"]
    return ", ".join(told) + ("" if told[-1].endswith(".") else ".")


def _done_so(step: RouteStep) -> dict[str, str | None]:
    return {"Feed: ": step.mix, "Pressure: ": step.pressure, "Costs: ": step.loses}


def _method(step: RouteStep, labels: dict[str, str]) -> str:
    grade = f" {step.grade}" if step.grade else ""
    return f"{labels[step.mineral]}{grade}, {labels[step.hold]}, on {labels[step.carrier]}"


def _facts(step: RouteStep, labels: dict[str, str]) -> str:
    facts = [
        _range(step.grain_um, "µm grain"),
        "wet" if step.wet else "dry",
        _range(step.surface_speed_m_s, "m/s") if step.machine != "by-hand" else "",
    ]
    if step.machine:
        facts.append(labels[step.machine])
    leaves = _range(step.leaves.effective_um, "µm")
    facts.append(f"leaves it {labels[step.leaves.state]}" + (f" ({leaves})" if leaves else ""))
    return "(" + "; ".join(fact for fact in facts if fact) + ")"


def _becauses(reasons: dict[str, Reason], root: str) -> list[str]:
    """Why a step was chosen: the reasons of the rules that proposed its verdict, found below the verdict itself."""
    found: list[str] = []
    work = [root]
    while work:
        node = reasons[work.pop(0)]
        if node.rule and " is proposed as " in node.statement and node.because:
            found.append(node.because)
        elif len(found) < 2:
            work += node.from_
    return list(dict.fromkeys(found))[:2]


def _render_ruled_out(paper: Paper, answer: Answer, labels: dict[str, str]) -> None:
    """What this piece or bench rules out, by reason; what holds for every piece of glass is left to --json."""
    told: dict[str, list[str]] = {}
    for entry in answer.ruled_out:
        because = _becauses(answer.reasons, entry.reason)
        what = " ".join(labels[part] for part in (entry.hold, entry.mineral) if part)
        what = f"{what} on {labels[entry.carrier]}" if entry.carrier and what else what or labels.get(entry.carrier or "", "")
        if because and what and _particular(answer.reasons, entry.reason):
            told.setdefault(because[0], []).append(what)
    if not told:
        return
    paper.blank()
    paragraph(paper, ("Not here", "bold"), " (what this piece or bench rules out; --json has what holds of every piece as well)")
    for reason, things_out in list(told.items())[:_MOST_RULED_OUT]:
        named = list(dict.fromkeys(things_out))
        more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
        paragraph(paper, f"{', '.join(named[:_MOST_NAMED])}{more}: {reason}", indent=2)


def _particular(reasons: dict[str, Reason], root: str) -> bool:
    """Whether a reason rests on something that was said or supposed about this piece or bench."""
    work, seen = [root], set[str]()
    while work:
        here = work.pop()
        if here not in seen:
            seen.add(here)
            if reasons[here].basis.kind in ("you said", "assumed") and not reasons[here].rule:
                return True
            work += reasons[here].from_
    return False


def render_check(checked: PlanCheck) -> None:
    """The findings, the worst first, each with its remedy."""
    paper = Paper()
    if not checked.findings:
        paragraph(paper, "Nothing to find fault with.")
    for finding in checked.findings:
        mark, style = _MARKS[finding.level]
        where = f", step {finding.step}" if finding.step else ""
        paragraph(paper, (mark, style), (f"{where}: {finding.code}", "bold"))
        paragraph(paper, finding.text, indent=4)
        if finding.remedy:
            paragraph(paper, ("Instead: ", "italic"), finding.remedy, indent=4)
        for code, rid in finding.explains.items():
            paragraph(paper, ("It brings about: ", "italic"), f"{code}. {checked.reasons[rid].because or ''}", indent=4)
    if checked.changes:
        paper.blank()
        paragraph(paper, ("Corrected, with the fewest changes that were found, in this order:" if checked.corrected else "Not corrected:", "bold"))
        for change in checked.changes:
            paragraph(paper, f"- {change}", indent=4)
    paper.blank()
    stops, cautions, notes = (sum(finding.level == level for finding in checked.findings) for level in _MARKS)
    paragraph(paper, f"{stops} to stop for, {cautions} to be careful of, {notes} note{'s' * (notes != 1)}.")


def render_grade(answer: GradeAnswer, why: str) -> None:
    """One grade with its size, where that comes from, and what else the words could mean."""
    paper = Paper()
    spread = f" ({answer.low_um:g} to {answer.high_um:g} µm, {answer.range_kind})" if answer.low_um is not None and answer.high_um is not None else ""
    paragraph(paper, (answer.designation, "bold"), f" on the scale {answer.system}: {answer.mid_um:g} µm{spread}")
    paragraph(paper, (", ".join(part for part in (answer.basis.kind, answer.basis.source, answer.basis.locator) if part), "dim"), indent=2)
    if why and answer.other_readings:
        paragraph(paper, why, indent=2)
    for near in answer.nearest:
        paragraph(paper, f"Nearest on the scale {near.system}: {near.designation}, {near.mid_um:g} µm ({near.why}).", indent=2)
    for other in answer.other_readings:
        paragraph(paper, f"It could also be {other.designation} on the scale {other.system}: {other.mid_um:g} µm.", indent=2)


def render_grades(entries: Sequence[GradeReading]) -> None:
    """Grades or scales, a line each."""
    paper = Paper()
    for entry in entries:
        paragraph(paper, (f"{entry.designation:16}", "bold"), f"{entry.mid_um:>9g} µm  {entry.system}  {entry.why}")


_SPEED_VERDICTS = {
    "below": "That is below its working speed: it works slowly, and soft wheels grab.",
    "within": "That is within its working speed.",
    "above": "That is above its working speed: it heats the glass and throws water and slurry off.",
    "partly": "That is only partly within its working speed.",
}


def render_speed(vocabulary: Vocabulary, answer: SpeedAnswer) -> None:
    """Both speeds, and how they lie to the working speed of a carrier."""
    paper = Paper()
    turning, surface = _range(answer.turning_rpm, "rpm"), _range(answer.surface_m_s, "m/s")
    paragraph(paper, (f"{answer.diameter} across at {turning}: {surface}", "bold"), f" ({_range(answer.surface_sfpm, 'surface feet per minute')})")
    name = vocabulary.identify(answer.carrier, "carrier") if answer.carrier else None
    if name is not None:
        limits = f"{_range(answer.carrier_m_s, 'm/s')}, which is {_range(answer.carrier_rpm, 'rpm')} at this diameter"
        paragraph(paper, f"The working speed of a {name.label} is {limits}. {_SPEED_VERDICTS.get(answer.verdict or '', '')}".rstrip(), indent=2)
    paragraph(paper, ("The speed marked on a wheel is never passed, whatever this says.", "dim"), indent=2)


def render_rules(entries: Sequence[RuleEntry]) -> None:
    """The rules by subject, a line each."""
    paper = Paper()
    for subject in dict.fromkeys(entry.subject for entry in sorted(entries, key=lambda entry: entry.subject)):
        paragraph(paper, (subject, "bold"))
        for entry in entries:
            if entry.subject == subject:
                paragraph(paper, (entry.id, "cyan"), f"  {'(safety) ' if entry.safety else ''}{entry.because}", indent=2)


def render_rule(shown: dict[str, object]) -> None:
    """One rule, as it reads."""
    paper = Paper()
    paragraph(paper, (f"rule {shown['id']}", "bold"), f"  {shown['file']}, line {shown['line']}")
    for key in ("if", "unless", "then"):
        listed = shown[key]
        assert isinstance(listed, list)
        for each in listed:
            paragraph(paper, (f"{key:7}", "italic"), each, indent=2)
    paragraph(paper, ("because ", "italic"), str(shown["because"]), indent=2)
    basis = shown["basis"]
    assert isinstance(basis, dict)
    paragraph(paper, ("basis   ", "italic"), ", ".join(str(part) for part in basis.values() if part), indent=2)
    if shown["safety"]:
        paragraph(paper, "A safety rule: nothing overrides it.", indent=2)
