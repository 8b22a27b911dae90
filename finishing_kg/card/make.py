"""An answer turned into a route card: the first route in full, the others in a line each, and what it all rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from finishing_kg.card.model import Card, CardStep, Labelled, NoRoute, Rung
from finishing_kg.measure import two_figures

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, BasisNote, CautionNote, Range, Reason, Route, RouteStep
    from finishing_kg.vocabulary import Vocabulary


def card_of(answer: Answer, vocabulary: Vocabulary) -> Card:
    """The card of an answer's first route.

    Args:
        answer: of any kind that holds routes.
        vocabulary: names the identifiers in the answer; one that it does not know stands for itself.

    Raises:
        NoRoute: there is none.
    """
    if not answer.routes:
        raise NoRoute(answer.text or "There is no route to put on a card.")
    route, others = answer.routes[0], answer.routes[1:]
    name = _Names(vocabulary)
    numbered = list(enumerate(route.steps, 1))
    finish = answer.understood.finish
    return Card(
        title=f"Route card: {name('finish', finish)}" if finish else "Route card",
        understood=list(answer.understood.statements),
        supposed=[Labelled(label="Taken for granted", text=f"{each.statement}. {each.because}") for each in answer.assumed],
        unused=list(answer.understood.unused_words),
        open=[each.text for each in [*answer.ask_back, *route.ask_back]],
        steps=[_step(number, step, name) for number, step in numbered],
        rungs=rungs_of(route, vocabulary),
        cautions=list(_notes(answer.cautions, answer.reasons)),
        hints=list(_notes(answer.hints, answer.reasons)),
        others=[Labelled(label=each.name, text=_in_a_line(each, name), basis=each.chosen_because) for each in others],
        reasons=list(_reasons(route, answer.reasons)),
        values=list(_values(route, answer.reasons)),
        chosen_because=route.chosen_because,
        weakest_basis=answer.weakest_basis,
    )


def rungs_of(route: Route, vocabulary: Vocabulary) -> list[Rung]:
    """The steps of a route as a drawing of the ladder shows them."""
    name = _Names(vocabulary)
    return [_rung(number, step, name) for number, step in enumerate(route.steps, 1)]


class _Names:
    """Labels of identifiers."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._vocabulary = vocabulary

    def __call__(self, kind: str, identifier: str) -> str:
        found = self._vocabulary.identify(identifier, kind)
        return found.label if found is not None else identifier


def amount(value: Range, unit: str) -> str:
    """A range with its unit; the middle alone where no spread is known."""
    if value.low is None or value.high is None or value.low == value.high:
        return f"{value.mid:g} {unit}"
    return f"{value.low:g} to {value.high:g} {unit}"


def roughly(value: Range, unit: str) -> str:
    """A reckoned range: its middle as well as it is known, to two figures, with the ends behind it."""
    middle, *ends = (None if each is None else two_figures(each) for each in (value.mid, value.low, value.high))
    return f"about {middle} {unit}" + (f" ({ends[0]} to {ends[1]})" if None not in ends else "")


def _called(step: RouteStep, name: _Names) -> str:
    """The abrasive of a step and what carries it."""
    grain = " ".join([name("mineral", step.mineral), *([step.grade] if step.grade else [])])
    return f"{grain}, {name('hold', step.hold)}, on {name('carrier', step.carrier)}"


def _step(number: int, step: RouteStep, name: _Names) -> CardStep:
    known = [
        ("Mineral", name("mineral", step.mineral)),
        ("Grade", step.grade),
        ("Grain", step.grain_um and amount(step.grain_um, "µm")),
        ("Hold", name("hold", step.hold)),
        ("Carrier", name("carrier", step.carrier)),
        ("Machine", name("machine", step.machine) if step.machine else None),
        ("Water", "wet" if step.wet else "dry"),
        ("Speed", step.surface_speed_m_s and amount(step.surface_speed_m_s, "m/s")),
        ("Minutes", step.minutes and roughly(step.minutes, "min")),
        ("Take off", step.removal_um and roughly(step.removal_um, "µm")),
        ("Leaves", name("surface", step.leaves.state)),
    ]
    told = [("How", step.how), ("Feed", step.mix), ("Pressure", step.pressure), ("Costs", step.loses)]
    return CardStep(
        number=number,
        name=_called(step, name),
        purpose=step.purpose,
        facts=[Labelled(label=label, text=text) for label, text in known if text],
        advice=[Labelled(label=label, text=text) for label, text in told if text],
        checks=[check for check in (step.done_when, step.before_next) if check],
    )


def _rung(number: int, step: RouteStep, name: _Names) -> Rung:
    leaves = step.leaves
    return Rung(
        number=number,
        name=step.grade or name("mineral", step.mineral),
        grain=step.grain_um,
        left=leaves.effective_um,
        cracks=leaves.damage_um,
    )


def _in_a_line(route: Route, name: _Names) -> str:
    return "; then ".join(_called(step, name) for step in route.steps)


def basis_of(basis: BasisNote) -> str:
    """Kind, source and place in the source, as far as they are known."""
    return ", ".join(part for part in (basis.kind, basis.source, basis.locator) if part)


def _notes(notes: Iterable[CautionNote], reasons: dict[str, Reason]) -> Iterator[Labelled]:
    for note in notes:
        proof = reasons.get(note.reason)
        yield Labelled(label=note.id.replace("-", " "), text=note.text, basis=basis_of(proof.basis) if proof else "")


def _reasons(route: Route, reasons: dict[str, Reason]) -> Iterator[Labelled]:
    """What speaks for the steps, each reason once with the steps that it belongs to.

    The basis is that of the rule which says so; it is not told where no proof in the answer uses that rule.
    """
    said: dict[str, list[int]] = {}
    for number, step in enumerate(route.steps, 1):
        for because in step.because:
            said.setdefault(because, []).append(number)
    bases = {reason.because: basis_of(reason.basis) for reason in reasons.values() if reason.rule and reason.because}
    for because, numbers in said.items():
        yield Labelled(label=_steps(numbers), text=because, basis=bases.get(because, ""))


def _values(route: Route, reasons: dict[str, Reason]) -> Iterator[Labelled]:
    """Facts that the steps' proofs end at and that come from a named source, each once."""
    found: dict[tuple[str, str], list[int]] = {}
    for number, step in enumerate(route.steps, 1):
        for leaf in _leaves(step.reason, reasons):
            if leaf.basis.source:
                steps = found.setdefault((leaf.statement, basis_of(leaf.basis)), [])
                if number not in steps:
                    steps.append(number)
    for (statement, basis), numbers in found.items():
        yield Labelled(label=_steps(numbers), text=statement, basis=basis)


def _leaves(root: str, reasons: dict[str, Reason]) -> Iterator[Reason]:
    """The nodes of a proof that rest on no others, from left to right."""
    work, seen = [root], set[str]()
    while work:
        here = work.pop()
        if here in seen or here not in reasons:
            continue
        seen.add(here)
        node = reasons[here]
        work += reversed(node.from_)
        if not node.from_:
            yield node


def _steps(numbers: list[int]) -> str:
    return f"Step{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"
