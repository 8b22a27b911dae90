"""In which cases a change to the rules has a say, and what it says there: told at once, from what is recorded, before anything is asked again.

A say is not yet another answer: what a rule concludes may be outweighed, or concern an option that is not chosen anyway.
"""

import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from finishing_kg.casebook.recorded import Library
from finishing_kg.casebook.told import Asked, Told
from finishing_kg.engine import Knowledge
from finishing_kg.statements import Statement
from finishing_kg.studio.trial import Trial

_TOLD = 3  # conclusions of one rule in one case; of more the number says enough
_NAMED = 3  # cases that conclude the same
_GROUPS = 5


@dataclass(frozen=True)
class Say:
    """What a rule says in a case.

    Attributes:
        case, rule: their ids.
        concludes: the first of its conclusions, as sentences.
        more: how many there are beside these.
        goes: whether the rule goes away, and says it only till then.
        supposed: whether it says it only where something is tried that nobody said, to see what would help to know.
    """

    case: str
    rule: str
    concludes: tuple[str, ...]
    more: int
    goes: bool
    supposed: bool


@dataclass(frozen=True)
class Account:
    """Where a change has a say.

    Attributes:
        rules: ids of the rules that come, go or are changed.
        says: one for each case and rule, in the order of the cases.
        cases: how many there are.
        left: ids of the cases for which there was no time.
    """

    rules: tuple[str, ...]
    says: tuple[Say, ...]
    cases: int
    left: tuple[str, ...]


def account_of(library: Library, trial: Trial, within: float) -> Account:
    """Where a change has a say in the cases of a library.

    Args:
        library: with what is recorded of today's answers.
        trial: the change.
        within: after how many seconds no further case is looked at; most rules need a small part of one for all.
    """
    began = time.monotonic()
    teller, says, left = _Teller(trial), list[Say](), list[str]()
    for case in library.cases:
        if time.monotonic() - began > within:
            left.append(case.id)
        else:
            says += teller.of(case.id, library.told[case.id])
    return Account(trial.rules, tuple(says), len(library.cases), tuple(left))


class _Teller:
    """Tells what the rules of a change say; each sentence is made once."""

    def __init__(self, trial: Trial) -> None:
        self._trial = trial
        phrases = trial.before.vocabulary.phrases.values()
        self._verdicts = {phrase.proposed_through: phrase.id for phrase in phrases if phrase.proposed_through}
        self._sentences: dict[Statement, str] = {}

    def of(self, case: str, told: Told) -> Iterator[Say]:
        """What they say in a case."""
        for rules, goes in ((self._trial.gone, True), (self._trial.come, False)):
            for rule in rules:
                knowledge = self._trial.before if goes else self._trial.after
                for asked, supposed in _in_order(told):
                    if concluded := self._trial.concluded(asked, rule, goes=goes):
                        said = [self._sentence(knowledge, each) for each in self._as_written(concluded)]
                        yield Say(case, rule.id, tuple(said[:_TOLD]), len(said[_TOLD:]), goes, supposed)
                        break

    def _as_written(self, concluded: Iterable[Statement]) -> list[Statement]:
        """Conclusions with verdicts where the loader made proposals of them."""
        made = (Statement(self._verdicts[each.predicate], each.subject) if each.predicate in self._verdicts else each for each in concluded)
        return [each for each in made if each.predicate != "isJudgedBy"]

    def _sentence(self, knowledge: Knowledge, statement: Statement) -> str:
        if statement not in self._sentences:
            self._sentences[statement] = knowledge.language.print(statement)
        return self._sentences[statement]


def _in_order(told: Told) -> Iterator[tuple[Asked, bool]]:
    """The evaluations on the way to an answer, those of the piece as it was told before those of what was only tried."""
    every = [(asked, any(each.first <= place < each.end for each in turn.worked)) for turn in told.turns for place, asked in enumerate(turn.asked)]
    yield from sorted(every, key=lambda each: each[1])


def lines_of_account(account: Account) -> list[str]:
    """An account in lines of plain text; none where no rule changes."""
    lines: list[str] = []
    for rule in account.rules:
        says = [say for say in account.says if say.rule == rule]
        where = {say.case for say in says}
        lines.append(f"{rule} has a say in {len(where)} of {account.cases - len(account.left)} cases{':' if where else '.'}")
        groups: dict[tuple[object, ...], list[Say]] = {}
        for say in says:
            groups.setdefault((say.goes, say.concludes, say.more), []).append(say)
        largest = sorted(groups.values(), key=len, reverse=True)
        lines += [f"  {_of_group(group)}" for group in largest[:_GROUPS]]
        if further := largest[_GROUPS:]:
            lines.append(f"  something else in {sum(map(len, further))}.")
    if account.left:
        lines.append(f"There was no time yet to see it of {len(account.left)} more.")
    return lines


def _of_group(group: list[Say]) -> str:
    say, names = group[0], [each.case for each in group]
    cases = ", ".join(names[:_NAMED]) + (f" and {len(names[_NAMED:])} more" if names[_NAMED:] else "")
    concluded = "; ".join(say.concludes) + (f"; and {say.more} more such" if say.more else "")
    supposed = sum(each.supposed for each in group)
    only = f", in {supposed} only if something is so that nobody said" if supposed else ""
    return f"{'no longer ' if say.goes else ''}in {len(names)} ({cases}{only}): {concluded}."
