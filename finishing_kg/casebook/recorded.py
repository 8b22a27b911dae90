"""The case library with its answers, and beside each answer what the engine was asked on the way to it.

An answer hangs on nothing but the ontology, the rules that fire and what follows. So if a new rule fires in none of the
evaluations that a case needed, the case answers as before: it need not be run again to know that.
"""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from dataclasses import replace as changed
from functools import cached_property
from typing import Any

from finishing_kg.advice import Answer, PlanCheck, as_json
from finishing_kg.casebook.cases import Case, advice_in, check_setup
from finishing_kg.casebook.expect import answers_to, conversation_faults, setup_faults
from finishing_kg.engine import Ground, Knowledge, Model
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact
from finishing_kg.record import replace
from finishing_kg.statements import Statement
from finishing_kg.statements.plain import statement_as_plain

Marks = dict[str, frozenset[str | None]]
"""For each predicate the things of which something holds; quantities are left out, since no rule names one there."""

# Kinds of answer that look at rules which do not fire: those that came nearest, or that could let something in.
_LOOK_AT_RULES = frozenset({"why", "why_not", "comparison"})
_LEFT_OUT = "left out"


class Stopped(Exception):
    """Somebody wants no answer any more."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One evaluation on the way to an answer.

    Attributes:
        upon: the name of the facts that many questions share, empty if there are none.
        facts: of the question, as plain data.
        marks: what the question brought about.
    """

    upon: tuple[str, ...]
    facts: tuple[Any, ...]
    marks: Marks


@dataclass(frozen=True)
class Told:
    """What the program says to a case.

    Attributes:
        answers: one for each turn, as JSON without reasons.
        kinds: of the answers; and that a rule was left out, where one was asked to be.
        short: how it falls short of what the case expects.
        fired: ids of the rules that derived something on the way.
        asked: the evaluations.
    """

    answers: tuple[str, ...]
    kinds: frozenset[str]
    short: tuple[str, ...]
    fired: frozenset[str]
    asked: tuple[Asked, ...]

    @cached_property
    def plain(self) -> list[dict[str, Any]]:
        """The answers as tables."""
        return [json.loads(answer) for answer in self.answers]

    def looks_at(self, conclusions: Iterable[str]) -> bool:
        """Whether an answer looks at rules of some conclusions even where they do not fire."""
        return not self.kinds.isdisjoint({*_LOOK_AT_RULES, _LEFT_OUT}) or ("diagnosis" in self.kinds and "pointsToCause" in conclusions)


class Recorder(Knowledge):
    """Some knowledge that writes down each evaluation, those that are only tried out too.

    Args:
        knowledge: to be used through this.
        hear: is told of each evaluation.
    """

    def __init__(self, knowledge: Knowledge, hear: Callable[[Model], None]) -> None:
        super().__init__(knowledge.vocabulary, knowledge.language, knowledge.base, None, knowledge.compiled, checking=False)
        knowledge.share_with(self)
        self.__dict__.update(fired=set(), asked=[], hear=hear)

    fired: set[str]
    asked: list[Asked]
    hear: Callable[[Model], None]

    def evaluate(self, facts: Mapping[Statement, Fact], upon: Ground | None = None) -> Model:
        """As of any knowledge."""
        model = super().evaluate(facts, upon)
        self.fired.update(model.fired())
        value = model.layer.names.value
        marks = {
            predicate: frozenset(obj for obj in map(value, relation.by_object) if not isinstance(obj, Quantity))
            for predicate, relation in model.layer.own.items()
        }
        self.asked.append(Asked(upon.name if upon else (), tuple(map(statement_as_plain, facts)), marks))
        self.hear(model)
        return model


def tell(knowledge: Knowledge, case: Case, hear: Callable[[Model], None] = lambda _model: None) -> Told:
    """Run a case and write down what is said and what it hangs on.

    The reasons are not kept, so the proof checker is not asked about them.

    Args:
        knowledge, case: what is asked, and what knows the answer.
        hear: is told of each evaluation on the way.
    """
    recorder = Recorder(knowledge, hear)
    said: Sequence[Answer | PlanCheck]
    if case.sort == "setup":
        checked = check_setup(recorder, case)
        said, short = [checked], list(setup_faults(case.table, checked))
    else:
        said = answers_to(recorder, case)
        short = conversation_faults(case, said)
    answers = tuple(json.dumps(_plain(each), sort_keys=True, ensure_ascii=False) for each in said)
    kinds = {each.kind for each in said} | {_LEFT_OUT for each in said if isinstance(each, Answer) and each.left_out}
    return Told(answers, frozenset(kinds), tuple(short), frozenset(recorder.fired), tuple(recorder.asked))


def _plain(answer: Answer | PlanCheck) -> dict[str, Any]:
    """An answer as a table, without reasons; what two rules rule out alike stands there once."""
    found: dict[str, Any] = advice_in(as_json(replace(answer, reasons={})))
    for key in ("ruled_out", "discouraged"):
        if key in found:
            found[key] = list({tuple(sorted(entry.items(), key=str)): entry for entry in found[key]}.values())
    return found


@dataclass(frozen=True)
class Library:
    """Cases with what is said to them.

    Attributes:
        knowledge: by which it is said.
        cases: in their order.
        told: by the case's id.
    """

    knowledge: Knowledge
    cases: tuple[Case, ...]
    told: dict[str, Told] = field(repr=False)

    @classmethod
    def of(
        cls,
        knowledge: Knowledge,
        cases: Sequence[Case],
        progress: Callable[[int, int], None] = lambda _done, _of: None,
        stop: Callable[[], bool] = lambda: False,
    ) -> "Library":
        """Run all cases once; with the shipped ones that takes about half a minute.

        Raises:
            Stopped: ``stop`` became true.
        """
        told = {}
        for done, case in enumerate(cases):
            if stop():
                raise Stopped
            progress(done, len(cases))
            told[case.id] = tell(knowledge, case)
        progress(len(cases), len(cases))
        return cls(knowledge, tuple(cases), told)

    def with_told(self, knowledge: Knowledge, more: Mapping[str, Told]) -> "Library":
        """The same cases after a change to the knowledge, some of them told anew."""
        return changed(self, knowledge=knowledge, told={**self.told, **more})
