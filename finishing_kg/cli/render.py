"""Answers for people: short, readable, coloured only on a terminal, complete without colour."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishing_kg.cli.output import visible
from finishing_kg.cli.paper import Paper

if TYPE_CHECKING:
    from finishing_kg.advice import Answer, PlanCheck
    from finishing_kg.advice.contract import GradeAnswer, GradeReading, Range, Reason, Route, RouteStep, RuleEntry, SpeedAnswer
    from finishing_kg.engine import Knowledge
    from finishing_kg.vocabulary import Vocabulary

_MARKS = {"stop": ("■ STOP", "bold red"), "caution": ("▲ caution", "yellow"), "note": ("· note", "dim")}
_MOST_RULED_OUT = 5
_MOST_NAMED = 6
_DEEPEST = 40
_LABELLED = ("mineral", "carrier", "hold", "machine", "surface", "finish", "form", "glass", "make")


def _line(paper: Paper, *parts: tuple[str, str] | str, indent: int = 0) -> None:
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
    elif answer.text and answer.kind != "question":
        paper.blank()
        _line(paper, answer.text)
    for change in answer.differences:
        _line(paper, f"- {change}", indent=2)
    for number, route in enumerate(answer.routes):
        paper.blank()
        _render_route(paper, route, labels, whole=number == 0)
    if answer.routes or answer.kind == "no_route":
        _render_ruled_out(paper, answer, labels)
    _render_hints(paper, answer)
    _render_cautions(paper, answer)
    _render_questions(paper, answer, labels)
    if answer.weakest_basis:
        paper.blank()
        why = 'The whole reasoning: finishing-kg why "…".'
        _line(paper, (f"Weakest basis in the reasons for the first choice: {answer.weakest_basis}. {why}", "dim"))


def _render_diagnosis(paper: Paper, answer: Answer) -> None:
    """The causes in order, each with what tells it from the others, then what to do with the piece."""
    paper.blank()
    for number, cause in enumerate(answer.diagnosis, 1):
        _line(paper, (f"{number}. {cause.standing}: ", "bold"), cause.text)
        for because in cause.because[:2]:
            _line(paper, ("Because: ", "italic"), because, indent=3)
        _line(paper, ("Tell it by this: ", "italic"), cause.tell_by, indent=3)
        _line(paper, ("Cure: ", "italic"), cause.remedy, indent=3)
    if answer.way_back:
        paper.blank()
        _line(paper, answer.way_back)


def _render_understood(paper: Paper, answer: Answer) -> None:
    if answer.understood.statements:
        told = (_with_words(statement, answer.understood.words.get(statement, "")) for statement in answer.understood.statements)
        _line(paper, ("Understood: ", "bold"), "; ".join(told) + ".")
    if answer.understood.unused_words:
        _line(paper, ("Not used: ", "bold"), ", ".join(answer.understood.unused_words) + ".")
    for assumption in answer.assumed:
        _line(paper, ("Taken for granted: ", "bold"), f"{assumption.statement}. {assumption.because}")


def _with_words(statement: str, words: str) -> str:
    """A statement with the maker's words that it was taken from, unless it repeats them."""
    return statement if not words or words.casefold() in statement.casefold() else f"{statement} (“{words}”)"


def _render_hints(paper: Paper, answer: Answer) -> None:
    if answer.hints:
        paper.blank()
    for hint in answer.hints:
        _line(paper, ("Worth knowing: ", "bold"), hint.text)


def _render_cautions(paper: Paper, answer: Answer) -> None:
    if answer.cautions:
        paper.blank()
        _line(paper, ("▲ Cautions", "bold yellow"), " (the usual ones; local codes and licensed practice decide)")
    for caution in answer.cautions:
        _line(paper, (f"{caution.id}: ", "bold"), caution.text, indent=2)


def _render_questions(paper: Paper, answer: Answer, labels: dict[str, str]) -> None:
    if answer.ask_back:
        paper.blank()
    for question in answer.ask_back:
        _line(paper, ("? ", "bold cyan"), question.text)
        if question.choices:
            _line(paper, ", ".join(labels.get(choice, choice) for choice in question.choices), indent=2)


def _render_route(paper: Paper, route: Route, labels: dict[str, str], *, whole: bool) -> None:
    _line(paper, (route.name[0].upper() + route.name[1:], "bold"), f". {route.chosen_because}")
    for number, step in enumerate(route.steps, 1):
        _line(paper, (f"{number}. ", "bold"), (_method(step, labels), "bold"), f" {_facts(step, labels)}", indent=2)
        if whole:
            _line(paper, step.purpose, indent=5)
            for because in step.because[:2]:
                _line(paper, ("Because: ", "italic"), because, indent=5)
            _line(paper, ("How: ", "italic"), step.how, indent=5)
            told = _done_so(route.steps[number - 2]) if number > 1 else {}
            for name, text in _done_so(step).items():
                if text and text != told.get(name):  # as for the step before, so it is not said again
                    _line(paper, (name, "italic"), text, indent=5)
            _line(paper, ("Done when: ", "italic"), step.done_when, indent=5)
            if step.before_next and number < len(route.steps):
                _line(paper, ("Before the next: ", "italic"), step.before_next, indent=5)


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
    _line(paper, ("Not here", "bold"), " (what this piece or bench rules out; --json has what holds of every piece as well)")
    for reason, things_out in list(told.items())[:_MOST_RULED_OUT]:
        named = list(dict.fromkeys(things_out))
        more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
        _line(paper, f"{', '.join(named[:_MOST_NAMED])}{more}: {reason}", indent=2)


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


def render_reasons(answer: Answer, roots: Sequence[str]) -> None:
    """Proofs as indented lines, down to facts and their sources; what was shown once is not shown again."""
    paper = Paper()
    if answer.text:
        _line(paper, answer.text)
    seen: set[str] = set()
    for root in roots:
        paper.blank()
        _render_node(paper, answer.reasons, root, 0, seen)


def _render_node(paper: Paper, reasons: dict[str, Reason], rid: str, depth: int, seen: set[str]) -> None:
    node = reasons[rid]
    again = rid in seen and bool(node.from_)
    seen.add(rid)
    source = ", ".join(part for part in (node.basis.kind, node.basis.source, node.basis.locator) if part)
    how = f"  by rule {node.rule}" if node.rule else f"  [{source}]"
    _line(paper, (node.statement, "bold" if depth == 0 else ""), (how + (" (shown above)" if again else ""), "dim"), indent=2 * depth)
    if again or depth > _DEEPEST:
        return
    if node.because and node.rule:
        _line(paper, (f"because {node.because} [{source}]", "italic"), indent=2 * depth + 2)
    if node.comparison:
        made = node.comparison
        _line(paper, f"{made.left} is {made.operator} {made.right}; the margin is {made.margin}", indent=2 * depth + 2)
    for absent in node.absent:
        _line(paper, ("nothing here says that ", "italic"), absent, indent=2 * depth + 2)
    for below in node.from_:
        _render_node(paper, reasons, below, depth + 1, seen)


def render_check(checked: PlanCheck) -> None:
    """The findings, the worst first, each with its remedy."""
    paper = Paper()
    if not checked.findings:
        _line(paper, "Nothing to find fault with.")
    for finding in checked.findings:
        mark, style = _MARKS[finding.level]
        where = f", step {finding.step}" if finding.step else ""
        _line(paper, (mark, style), (f"{where}: {finding.code}", "bold"))
        _line(paper, finding.text, indent=4)
        if finding.remedy:
            _line(paper, ("Instead: ", "italic"), finding.remedy, indent=4)
    paper.blank()
    stops, cautions, notes = (sum(finding.level == level for finding in checked.findings) for level in _MARKS)
    _line(paper, f"{stops} to stop for, {cautions} to be careful of, {notes} note{'s' * (notes != 1)}.")


def render_grade(answer: GradeAnswer, why: str) -> None:
    """One grade with its size, where that comes from, and what else the words could mean."""
    paper = Paper()
    spread = f" ({answer.low_um:g} to {answer.high_um:g} µm, {answer.range_kind})" if answer.low_um is not None and answer.high_um is not None else ""
    _line(paper, (answer.designation, "bold"), f" on the scale {answer.system}: {answer.mid_um:g} µm{spread}")
    _line(paper, (", ".join(part for part in (answer.basis.kind, answer.basis.source, answer.basis.locator) if part), "dim"), indent=2)
    if why and answer.other_readings:
        _line(paper, why, indent=2)
    for near in answer.nearest:
        _line(paper, f"Nearest on the scale {near.system}: {near.designation}, {near.mid_um:g} µm ({near.why}).", indent=2)
    for other in answer.other_readings:
        _line(paper, f"It could also be {other.designation} on the scale {other.system}: {other.mid_um:g} µm.", indent=2)


def render_grades(entries: Sequence[GradeReading]) -> None:
    """Grades or scales, a line each."""
    paper = Paper()
    for entry in entries:
        _line(paper, (f"{entry.designation:16}", "bold"), f"{entry.mid_um:>9g} µm  {entry.system}  {entry.why}")


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
    _line(paper, (f"{answer.diameter} across at {turning}: {surface}", "bold"), f" ({_range(answer.surface_sfpm, 'surface feet per minute')})")
    name = vocabulary.identify(answer.carrier, "carrier") if answer.carrier else None
    if name is not None:
        limits = f"{_range(answer.carrier_m_s, 'm/s')}, which is {_range(answer.carrier_rpm, 'rpm')} at this diameter"
        _line(paper, f"The working speed of a {name.label} is {limits}. {_SPEED_VERDICTS.get(answer.verdict or '', '')}".rstrip(), indent=2)
    _line(paper, ("The speed marked on a wheel is never passed, whatever this says.", "dim"), indent=2)


def render_rules(entries: Sequence[RuleEntry]) -> None:
    """The rules by subject, a line each."""
    paper = Paper()
    for subject in dict.fromkeys(entry.subject for entry in sorted(entries, key=lambda entry: entry.subject)):
        _line(paper, (subject, "bold"))
        for entry in entries:
            if entry.subject == subject:
                _line(paper, (entry.id, "cyan"), f"  {'(safety) ' if entry.safety else ''}{entry.because}", indent=2)


def render_rule(shown: dict[str, object]) -> None:
    """One rule, as it reads."""
    paper = Paper()
    _line(paper, (f"rule {shown['id']}", "bold"), f"  {shown['file']}, line {shown['line']}")
    for key in ("if", "unless", "then"):
        listed = shown[key]
        assert isinstance(listed, list)
        for each in listed:
            _line(paper, (f"{key:7}", "italic"), each, indent=2)
    _line(paper, ("because ", "italic"), str(shown["because"]), indent=2)
    basis = shown["basis"]
    assert isinstance(basis, dict)
    _line(paper, ("basis   ", "italic"), ", ".join(str(part) for part in basis.values() if part), indent=2)
    if shown["safety"]:
        _line(paper, "A safety rule: nothing overrides it.", indent=2)
