"""Which of the things that nobody said would change the advice, and how much each decides.

The *advice* is the mineral, hold, carrier and band of grain of each step of the first route, and the cautions; not its minutes.
A part decides where two of its possible values lead to different advice, everything else being as it is. A caution that is given
with an *if* already is no difference: whoever reads it is warned whatever the value is.

Values that no rule tells apart are tried once. Of each the rules are asked, about the options and about the steps of the routes that are
there; a new route is searched only where the verdicts on the options could bring one.
"""

from __future__ import annotations

from functools import cached_property
from itertools import product
from math import gcd
from typing import TYPE_CHECKING, Literal

from finishing_kg.advice.complete import complete
from finishing_kg.advice.machine import planned_steps
from finishing_kg.advice.possible import possible
from finishing_kg.advice.telling_apart import OF_OPTIONS, OF_STEPS, measures_compared, profile, rules_behind, values_of
from finishing_kg.compiled.digest import blake2b
from finishing_kg.record import record, replace
from finishing_kg.routes import PARTS, PIECE, Case, Found, in_order, judge, stages_to
from finishing_kg.statements import option_parts

if TYPE_CHECKING:
    from finishing_kg.advice.ask import Advice
    from finishing_kg.engine import Model
    from finishing_kg.proofs import Fact
    from finishing_kg.statements import Statement

Steps = tuple[tuple[str, str, str, str], ...]
"""Mineral, hold, carrier and stage of each step; the stage stands for the band of grain that it is done with."""

NEEDED = ("finish", "form", "surface")
"""Without these no step can be judged: the end of the work, then each step, then its beginning; what decides most comes first."""

_WITH_IF = "mayCallForCaution"
_MOST_TRIED = 40  # combinations of several needed parts; where so many lead to the same advice, the question is asked all the same
_GOLDEN = 0.618  # steps of this share of a circle come nowhere twice for long
_ENOUGH = 1  # searches for a route after which the chance is reckoned; more are made only as long as all lead to the same advice


@record(frozen=True)
class Decided:
    """An unknown on which the advice hangs.

    Attributes:
        slot: a key of ``PARTS``, or the id of a measure.
        chance: of two values taken at random, how likely they lead to different advice, as far as that was looked into.
        steps: whether the steps differ, or a route is there only with some values; else only the cautions do.
    """

    slot: str
    chance: float
    steps: bool


@record(frozen=True)
class _Outcome:
    """What a group of values leads to; ``steps`` is any other object where only that they differ from the steps so far is known."""

    count: int
    steps: object
    cautions: frozenset[str]


def lacking(advice: Advice) -> list[str]:
    """What must be known before any route can be given, and is not."""
    case, vocabulary = advice.case, advice.knowledge.vocabulary
    no_form = case.finish is not None and vocabulary.holds(case.finish, "needsNoForm")
    return [part for part in NEEDED if case.part(part) is None and not (part == "form" and no_form)]


def settled(advice: Advice) -> Advice:
    """The same case, where something is lacking on which nothing hangs with that supposed, openly.

    So nobody is asked whether it is a rim or a face where their bench has no way for either, nor for the surface that is shaped away.
    """
    while True:
        parts, tries = lacking(advice), _Tries()
        free = next((part for part in parts if not tries.hangs_on(advice, part, parts)), None)
        if free is None:
            return advice
        value = possible(advice.knowledge.vocabulary, advice.case, free)[0]
        label = advice.knowledge.vocabulary.names[value].label
        because = f"Nobody said it, and the advice is the same whatever it is; it is told for {label}."
        advice = replace(advice, case=complete(advice.knowledge.vocabulary, advice.case.supposing(free, value, because)))


class _Tries:
    """What combinations of the needed parts lead to; each is looked into once, however many parts are lacking."""

    def __init__(self) -> None:
        self._first: dict[tuple[str | None, ...], Steps | None] = {}
        self._advised: dict[tuple[str | None, ...], object] = {}

    def hangs_on(self, advice: Advice, part: str, parts: list[str]) -> bool:
        """Whether two values of something that is lacking lead to different advice, for some values of all else that is."""
        others = [each for each in parts if each != part]
        for rest in _spread(list(product(*(possible(advice.knowledge.vocabulary, advice.case, each) for each in others)))):
            given = replace(advice.case, **dict(zip(others, rest, strict=True)))
            tries = [_with(advice, each) for each in values_of(advice.knowledge, given, part, ())]
            first: set[Steps | None] = set()
            for each in tries:
                first.add(self._steps(each))
                if len(first) > 1 or len(self._first) >= _MOST_TRIED:
                    return True
            if len(set(map(self._advice, tries))) > 1:
                return True
        return False

    def _steps(self, advice: Advice) -> Steps | None:
        key = _needed(advice.case)
        if key not in self._first:
            self._first[key] = None if lacking(advice) else _first_of(advice, ())
        return self._first[key]

    def _advice(self, advice: Advice) -> object:
        key = _needed(advice.case)
        if key not in self._advised:
            self._advised[key] = advised(advice)
        return self._advised[key]


def _needed(case: Case) -> tuple[str | None, ...]:
    return tuple(map(case.part, NEEDED))


def _spread(combinations: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """The same, neighbours far apart: among the first few are values of every part, and a difference shows sooner."""
    count = len(combinations)
    stride = next(each for each in range(round(count * _GOLDEN), 2 * count + 2) if gcd(each, count) == 1)
    return [combinations[place * stride % count] for place in range(count)]


def advised(advice: Advice) -> tuple[Steps | None, frozenset[str]]:
    """The advice: the steps of the first route, ``None`` where something is lacking for one, and the cautions but for those given with an *if*."""
    model = advice.knowledge.evaluate(advice.case.facts()) if lacking(advice) else advice.judged.model
    cautions = frozenset(map(str, model.objects("callsForCaution", PIECE)))
    return None if lacking(advice) else _shown(advice, advice.judged.model), cautions


def with_an_if(advice: Advice) -> frozenset[str]:
    """The cautions that are given with an *if* while something is not known; while no route can be given, those that will be."""
    if lacking(advice):
        return frozenset(str(each.object) for rule in advice.knowledge.base.rules for each in rule.conclusions if each.predicate == _WITH_IF)
    return frozenset(map(str, advice.judged.model.objects(_WITH_IF, PIECE)))


def deciding(advice: Advice) -> list[Decided]:
    """The unknowns on which the advice hangs beside what is lacking, the most deciding first.

    Measures come last: most pieces lie on the same side of a limit.
    """
    base = _Base(advice)
    waits = lacking(advice)
    slots = [part for part in PARTS if advice.case.part(part) is None and part not in waits]
    slots += [measure for measure in measures_compared(advice.knowledge, base.all_rules) if measure not in advice.case.measures]
    found = []
    for slot in slots:
        outcomes = base.outcomes(slot)
        if chance := _chance(outcomes):
            found.append(Decided(slot, chance, len({outcome.steps for outcome in outcomes}) > 1))
    return sorted(found, key=lambda each: (each.slot not in PARTS, -each.chance, each.slot))


def _pace(case: Case) -> tuple[str | None, str | None]:
    """What minutes hang on, and so which of two ways that the rules find equal comes first."""
    return case.glass, case.form


def _chance(outcomes: list[_Outcome]) -> float:
    """How likely two different values lead to different advice."""
    every = sum(outcome.count for outcome in outcomes)
    alike: dict[object, int] = {}
    for outcome in outcomes:
        key = outcome.steps, outcome.cautions
        alike[key] = alike.get(key, 0) + outcome.count
    return 1 - sum(count * (count - 1) for count in alike.values()) / (every * (every - 1)) if len(alike) > 1 else 0.0


@record(frozen=True)
class Stands:
    """How the options stand with another value.

    Attributes:
        how: whether the first route is the one that there is, some other, or must be looked for.
        key: the same for the same standings.
        searched: all that a search reads of them.
    """

    how: Literal["as before", "another", "open"]
    key: str
    searched: str


class _Base:
    """An answer's advice, with which that of other values is compared."""

    def __init__(self, advice: Advice) -> None:
        self.advice, knowledge = advice, advice.knowledge
        self.waits = bool(lacking(advice))
        self.rules = {what: rules_behind(knowledge, what) for what in (OF_OPTIONS, OF_STEPS)}
        self.all_rules = list({rule.id: rule for rules in self.rules.values() for rule in rules}.values())
        self.model = knowledge.unheard.evaluate(advice.case.facts()) if self.waits else advice.model
        self.conditional = with_an_if(advice)

    @cached_property
    def step_facts(self) -> dict[Statement, Fact]:
        """What was given of the steps of the route that is shown first, as far as a rule looks at it.

        What only a further route calls for decides nothing: where a value takes that route away, nobody goes it.
        """
        judged = self.advice.judged
        shown = next((steps for steps in judged.routes if in_order(judged.model, steps)), ())
        looked_at = {sentence.predicate for rule in self.all_rules for sentence in (*rule.conditions, *rule.exceptions)}
        return {each: judged.model.facts[each] for each in judged.model.facts.own_all() if each.predicate in looked_at and each.subject in shown}

    @cached_property
    def _hangs_on(self) -> str:
        """All of this advice that is compared with that of other values."""
        advice, facts = self.advice, sorted(map(str, self.step_facts))
        return f"{self.standings.key} {advice.wished} {advice.found} {advice.judged.routes} {facts}"

    @cached_property
    def standings(self) -> Standings:
        return standings(self.advice)

    @cached_property
    def steps(self) -> Steps | None:
        return _shown(self.advice, self.advice.judged.model)

    def outcomes(self, slot: str) -> list[_Outcome]:
        """What the values of a slot lead to, by groups; of some groups only, as soon as it is known that they differ."""
        values = values_of(self.advice.knowledge, self.advice.case, slot, self.all_rules)
        groups: dict[object, list[Case]] = {}
        for case in values:
            told = profile(self.advice.knowledge, self.model, case, slot, self.all_rules)
            groups.setdefault((told, None if self.waits else _pace(case)), []).append(case)  # while no route is told, no minutes are
        if self.waits:
            return self._waiting(list(groups.values()))
        self._searches = 0
        self._found: dict[object, Steps] = {}
        found: list[_Outcome] = []
        routes: dict[object, object] = {}
        for cases in _ends_first(list(groups.values())):
            told = profile(self.advice.knowledge, self.model, cases[0], slot, self.rules[OF_OPTIONS]), _pace(cases[0])
            if told not in routes:
                routes[told] = self._route(_with(self.advice, cases[0]))
            found.append(_Outcome(len(cases), *self._answered(cases[0], routes[told])))
            if self._searches >= _ENOUGH and _chance(found):
                break
        return found

    def _waiting(self, groups: list[list[Case]]) -> list[_Outcome]:
        """While something is lacking: whether it still would be, and the cautions that stand already; a route only where each value gives one."""
        completed = [_with(self.advice, complete(self.advice.knowledge.vocabulary, cases[0])) for cases in groups]
        waiting = [bool(lacking(each)) for each in completed]
        found = []
        for cases, each, waits in zip(groups, completed, waiting, strict=True):
            steps, cautions = self._advised(each) if waits or not any(waiting) else ("a route", frozenset())
            found.append(_Outcome(len(cases), steps, cautions - self.conditional))
        return found

    def _advised(self, other: Advice) -> tuple[object, frozenset[str]]:
        return other.knowledge.worked_out("advised", lambda: (other.case, other.wished), lambda: advised(other))

    def _route(self, other: Advice) -> object:
        """The first route as the options stand, searched only where it can be another."""
        knowledge, case = other.knowledge, other.case
        stands = knowledge.worked_out("standings", lambda: (case, self._hangs_on), lambda: self._stands(other))
        if stands.how == "as before":
            return self.steps
        if stands.how == "another":
            return stands.key  # which, nobody asks here
        key = stands.key, _pace(case)
        if key not in self._found:
            self._found[key] = _first_of(other, (stands.searched,))
            self._searches += 1
        return self._found[key]

    def _stands(self, other: Advice) -> Stands:
        here, there = self.standings, standings(other)
        used = set() if self.advice.first is None else {str(place.option) for place in self.advice.first.places}
        if here.grain == there.grain and _pace(self.advice.case) == _pace(other.case) and no_better(here, there, used):
            return Stands("as before", there.key, other.search.hangs_on)
        # Without one of its options the route is another.
        return Stands("open" if used <= there.offered.keys() else "another", there.key, other.search.hangs_on)

    def _answered(self, case: Case, steps: object) -> tuple[object, frozenset[str]]:
        knowledge = self.advice.knowledge.unheard
        shown, cautions = knowledge.worked_out("steps judged", lambda: (case, self._hangs_on), lambda: self._judged(case))
        return shown if steps == self.steps else steps, cautions - self.conditional

    def _judged(self, case: Case) -> tuple[Steps, frozenset[str]]:
        """Which of the routes that are there would be shown first with another value, and the cautions with it."""
        model = self.advice.knowledge.unheard.evaluate({**case.facts(), **self.step_facts})
        return _shown(self.advice, model), frozenset(map(str, model.objects("callsForCaution", PIECE)))


@record(frozen=True)
class Standings:
    """How the options stand that a search for routes weighs.

    Attributes:
        grain: how coarse the surface is.
        offered: by option what the rules make it cost, part by part; less is better.
    """

    grain: object
    offered: dict[str, tuple[int, ...]]

    @cached_property
    def key(self) -> str:
        """The same for the same standings, and for no others."""
        return blake2b(f"{self.grain} {sorted(self.offered.items())}".encode()).hexdigest()


def standings(advice: Advice) -> Standings:
    """How the options of a judged case stand."""
    search, finish = advice.search, advice.case.finish
    stages = stages_to(advice.knowledge.vocabulary, finish) if finish else []
    return Standings(
        search.start(), {option: search.standing(option) for stage in stages for option in search.offered(stage) if option not in advice.set_aside}
    )


def no_better(before: Standings, after: Standings, used: set[str]) -> bool:
    """Whether the cheapest route through some options cannot have changed: they stand as they did, and no option stands better."""
    return all(before.offered.get(option, ()) == after.offered.get(option) for option in used) and all(
        option in before.offered and all(new >= old for new, old in zip(parts, before.offered[option], strict=True))
        for option, parts in after.offered.items()
    )


def _with(advice: Advice, case: Case) -> Advice:
    return replace(advice, knowledge=advice.knowledge.unheard, case=case)


def _ends_first(groups: list[list[Case]]) -> list[list[Case]]:
    """The first and the last before those between: of grades the coarsest and the finest differ most."""
    return [*groups[:1], *groups[:0:-1][:1], *groups[1:-1]]


def _shown(advice: Advice, model: Model) -> Steps:
    """The first of the routes found whose steps are in order in a model; empty where there is no such route."""
    shown = (found for found, steps in zip(advice.found, advice.judged.routes, strict=True) if in_order(model, steps))
    return next(map(_steps, shown), ())


def _steps(found: Found) -> Steps:
    return tuple(option_parts(str(place.option)) for place in found.places)


def _first_of(advice: Advice, judged: tuple[str, ...]) -> Steps:
    """The same, and not worked out again where it was before.

    Args:
        advice: on a case.
        judged: what hangs on evaluations that were made of it already.
    """
    return advice.knowledge.worked_out("first route", lambda: (advice.case, advice.wished, *judged), lambda: _first(advice))


def _first(advice: Advice) -> Steps:
    """The first route that is shown, without looking for the others if it can be told without them."""
    first = advice.first
    if first is None:
        return ()
    judged = judge(advice.knowledge, advice.case, [planned_steps(advice.knowledge, advice.case, first)])
    return _steps(first) if in_order(judged.model, judged.routes[0]) else _shown(advice, advice.judged.model)
