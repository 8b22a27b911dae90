"""Reasons for people: the lines of a shortened reasoning, and whole proofs as indented lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from finishing_kg.advice.levels import compared_words, standing
from finishing_kg.cli.paper import Paper
from finishing_kg.cli.render import paragraph

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Absence, Answer, ProposedRule, ReasonLine

_DEEPEST = 40


def render_told(paper: Paper, answer: Answer) -> None:
    """The lines of a why, or of what differs between two things."""
    for head, lines in (("", answer.lines), ("Only the first:", answer.only_first), ("Only the second:", answer.only_second)):
        if head and lines:
            paragraph(paper, (head, "bold"))
        _render_lines(paper, lines, 2 if head else 0)
    if answer.more_lines:
        paragraph(paper, (f"and {answer.more_lines} more steps in the whole reasoning", "dim"))
    render_sets(paper, answer)


def _render_lines(paper: Paper, lines: Sequence[ReasonLine], indent: int) -> None:
    for each in lines:
        paragraph(paper, each.text, indent=indent + 2 * each.depth)


def render_proposed(paper: Paper, rules: Sequence[ProposedRule]) -> None:
    """Rules that would bring about what the maker wants, each with what else it would change and the command that saves it."""
    paper.blank()
    paragraph(paper, ("So that it is always so, one of these can be saved in the studio:", "bold"))
    for number, rule in enumerate(rules, 1):
        sentences = f"If {', and '.join(rule.conditions)}, then {' and '.join(rule.conclusions)}."
        wins = f" It wins over {', '.join(rule.overrides)}." if rule.overrides else ""
        paragraph(paper, (f"{number}. ", "bold"), f"{sentences}{wins}")
        if rule.cases is not None:
            paragraph(paper, f"It changes the advice in {rule.cases} cases of the library.", indent=3)
        for change in rule.changes:
            paragraph(paper, f"- {change}", indent=3)
        paragraph(paper, (rule.command, "dim"), indent=3)


def render_sets(paper: Paper, answer: Answer) -> None:
    """Of what was said or assumed, the fewest things that are enough; every way in which they are."""
    if not answer.reason_sets:
        return
    ways = "; or else: ".join(" and ".join(each) for each in answer.reason_sets)
    more = "; and in more ways" if answer.more_reasons else ""
    paragraph(paper, ("Of what was said or assumed, this is enough for it: ", "italic"), f"{ways}{more}.")


def render_reasons(answer: Answer, roots: Sequence[str]) -> None:
    """Proofs down to facts and their sources; what was shown once is not shown again."""
    paper = Paper()
    if answer.text:
        paragraph(paper, answer.text)
    tree = _Tree(paper, answer)
    for root in roots:
        paper.blank()
        tree.render(root, 0)
    if answer.reason_sets:
        paper.blank()
        render_sets(paper, answer)


class _Tree:
    def __init__(self, paper: Paper, answer: Answer) -> None:
        self.paper, self.reasons = paper, answer.reasons
        self.absences = {absence.statement: absence for absence in answer.absences}
        self.shown: set[str] = set()

    def render(self, rid: str, depth: int) -> None:
        """One node and what it rests on."""
        node = self.reasons[rid]
        again = rid in self.shown and bool(node.from_)
        self.shown.add(rid)
        how = f"  by rule {node.rule}" if node.rule else f"  [{standing(node)}]"
        paragraph(self.paper, (node.statement, "bold" if depth == 0 else ""), (how + (" (shown above)" if again else ""), "dim"), indent=2 * depth)
        if again or depth > _DEEPEST:
            return
        if node.because and node.rule:
            source = ", ".join(part for part in (node.basis.kind, node.basis.source, node.basis.locator) if part)
            paragraph(self.paper, (f"because {node.because} [{source}]", "italic"), indent=2 * depth + 2)
        for made in (node.comparison, *node.further_comparisons):
            if made:
                paragraph(self.paper, compared_words(made), indent=2 * depth + 2)
        for absent in node.absent:
            paragraph(self.paper, ("nothing here says that ", "italic"), absent, indent=2 * depth + 2)
            if (absence := self.absences.pop(absent, None)) is not None:
                self._could_follow(absence, 2 * depth + 4)
        for below in node.from_:
            self.render(below, depth + 1)

    def _could_follow(self, absence: Absence, indent: int) -> None:
        """The rules that could have said so, each with what it lacks."""
        if not absence.could_follow:
            paragraph(self.paper, ("no rule could say so", "dim"), indent=indent)
        for near in absence.could_follow:
            what = "is blocked, since" if near.blocked else "could say so, if"
            paragraph(self.paper, (f"rule {near.rule} {what} {near.lacking}", "dim"), indent=indent)
        if absence.more:
            paragraph(self.paper, (f"and {absence.more} rules further off", "dim"), indent=indent)
