"""What must hold of every answer, looked for with the ontology's facts and the answer alone.

None of these reads a rule or what the rules derived: a rule that is wrong must not be able to hide itself.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import NamedTuple

from finishing_kg.advice.contract import Answer, Route, RouteStep
from finishing_kg.quantities import grain
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary


class Asked(NamedTuple):
    """A case with its answer.

    Attributes:
        vocabulary: the ontology.
        case: with what was supposed.
        answer: of the program.
    """

    vocabulary: Vocabulary
    case: Case
    answer: Answer

    def id(self, notation: str | None, kind: str) -> str:
        """The thing that a printed identifier names; empty for nothing."""
        name = self.vocabulary.identify(notation, kind) if notation else None
        return name.id if name else ""

    def stage(self, step: RouteStep) -> str:
        """The stage of a step, which an answer tells by its purpose."""
        return next((stage.id for stage in self.vocabulary.things("finish") if stage.texts.get("purpose") == step.purpose), "")

    def steps(self) -> Iterator[tuple[Route, int, RouteStep]]:
        """All steps of all routes, with their numbers."""
        for route in self.answer.routes:
            for number, step in enumerate(route.steps, 1):
                yield route, number, step

    def starts_at(self) -> float | None:
        """How coarse the piece is, in µm, by its grade or else by its surface."""
        size = grain(self.vocabulary, self.case.surface_grade) if self.case.surface_grade else None
        if size is None and self.case.surface:
            size = self.vocabulary.quantity(self.case.surface, "surfaceGrain")
        return float(size.mid) if size else None


Found = Iterator[str]


def has_its_reasons(asked: Asked) -> Found:
    """An answer is a route, a question or a no; each says why."""
    answer = asked.answer
    if answer.kind not in ("route", "question", "no_route"):
        yield f"an answer of the kind {answer.kind}"
    if not answer.text or (answer.kind == "route") != bool(answer.routes) or (answer.kind == "question" and not answer.ask_back):
        yield f"a {answer.kind} without what makes it one"
    shown = [step.reason for _, _, step in asked.steps()] + [note.reason for note in answer.cautions] + [out.reason for out in answer.ruled_out]
    for rid in (*shown, *(below for reason in answer.reasons.values() for below in reason.from_)):
        if rid not in answer.reasons:
            yield f"reason {rid} is missing"
    if any(not route.steps for route in answer.routes):
        yield "a route without steps"


def nothing_ruled_out(asked: Asked) -> Found:
    """No step uses what the same answer rules out for its stage."""
    for route, number, step in asked.steps():
        stage = asked.vocabulary.names[asked.stage(step)].notation if asked.stage(step) else ""
        used = (step.mineral, step.hold, step.carrier)
        for out in asked.answer.ruled_out:
            named = (out.mineral, out.hold, out.carrier)
            if out.stage == stage and any(named) and all(part in (None, use) for part, use in zip(named, used, strict=True)):
                yield f"{route.name}, step {number}: {' '.join(used)} is ruled out for {stage}"


def never_coarser(asked: Asked) -> Found:
    """The surface gets no coarser, unless the finish is rougher than a sound surface or the shape must be made first."""
    vocabulary, case = asked.vocabulary, asked.case
    surface, finish = case.surface or "", case.finish or ""
    rougher = vocabulary.holds(surface, "isSound") and vocabulary.holds(finish, "isRougherThanASoundSurface")
    shaping = vocabulary.holds(surface, "isOutOfShape") or (vocabulary.holds(finish, "worksRough") and not vocabulary.related(finish, "comesAfter"))
    for route in asked.answer.routes:
        before = None if rougher or shaping else asked.starts_at()
        for number, step in enumerate(route.steps, 1):
            left = step.leaves.effective_um
            if left is not None and before is not None and left.mid > before:
                yield f"{route.name}, step {number}: leaves {left.mid:g} µm after {before:g} µm"
            before = left.mid if left is not None else before


def takes_what_was_left(asked: Asked) -> Found:
    """Each step takes off at least the damage that the step before it left, where both are known."""
    for route in asked.answer.routes:
        for number, (before, step) in enumerate(pairwise(route.steps), 2):
            owed, taken = before.leaves.damage_um, step.removal_um
            if owed is not None and taken is not None and taken.mid < owed.mid:
                yield f"{route.name}, step {number}: takes {taken.mid:g} µm of the {owed.mid:g} µm that it owes"


def soft_grain_takes_no_stock(asked: Asked) -> Found:
    """No grain that does not cut glass, or is softer than this glass, is to take stock; of a glass that nobody named the softest counts."""
    vocabulary = asked.vocabulary
    glasses = [asked.case.glass] if asked.case.glass else [glass.id for glass in vocabulary.things("glass")]
    known = [hardness.lowest for glass in glasses if (hardness := vocabulary.quantity(glass, "hardness"))]
    for route, number, step in asked.steps():
        mineral = asked.id(step.mineral, "mineral")
        hardness = vocabulary.quantity(mineral, "hardness")
        softer = bool(hardness and known and hardness.highest < min(known))
        if vocabulary.holds(asked.stage(step), "takesStock") and (softer or not vocabulary.holds(mineral, "cutsGlass")):
            yield f"{route.name}, step {number}: {step.mineral} is too soft to take stock from this glass"


def grain_is_held_as_it_comes(asked: Asked) -> Found:
    """A mineral comes in the hold, the carrier takes the hold, and loose grain has a carrier and no bond."""
    vocabulary = asked.vocabulary
    for route, number, step in asked.steps():
        mineral, hold, carrier = asked.id(step.mineral, "mineral"), asked.id(step.hold, "hold"), asked.id(step.carrier, "carrier")
        place = f"{route.name}, step {number}: {step.hold} {step.mineral} on {step.carrier or 'nothing'}"
        if hold not in vocabulary.related(mineral, "comesAs"):
            yield f"{place}: the mineral does not come so"
        if not carrier or hold not in vocabulary.related(carrier, "takesHold"):
            yield f"{place}: the carrier does not take it"
        if vocabulary.holds(carrier, "needsLooseGrain") and not vocabulary.holds(hold, "isFed"):
            yield f"{place}: the carrier has no grain of its own"


def tool_fits_the_form(asked: Asked) -> Found:
    """No flat stiff face works a relief, and every carrier reaches the form."""
    vocabulary, form = asked.vocabulary, asked.case.form
    if form is None:
        return
    planes = [
        plane.id for plane in vocabulary.things("form") if vocabulary.holds(plane.id, "isPlane") and not vocabulary.holds(plane.id, "isEdgeLike")
    ]
    for route, number, step in asked.steps():
        carrier = asked.id(step.carrier, "carrier")
        reached, place = vocabulary.related(carrier, "reaches"), f"{route.name}, step {number}: {step.carrier}"
        flat = vocabulary.holds(carrier, "isStiff") and any(plane in reached for plane in planes)
        if flat and vocabulary.holds(form, "hasRecesses"):
            yield f"{place} is flat and stiff, the form has recesses"
        if form not in reached and not vocabulary.holds(asked.stage(step), "needsNoForm"):
            yield f"{place} does not reach the form"


def tool_is_narrow_enough(asked: Asked) -> Found:
    """Of the tools that the named machine usually turns, the narrowest goes into the opening of a hollow form, where its width is known."""
    vocabulary, case = asked.vocabulary, asked.case
    opening = case.measures.get("diameter") if case.form and vocabulary.holds(case.form, "isHollow") else None
    if opening is None:
        return
    for route, number, step in asked.steps():
        tool = vocabulary.quantity(asked.id(step.machine, "machine"), "usualTool")
        spins = vocabulary.holds(asked.id(step.carrier, "carrier"), "spins")
        if spins and tool and vocabulary.units.convert(tool, "mm").lowest >= vocabulary.units.convert(opening, "mm").highest:
            yield f"{route.name}, step {number}: {step.carrier} on {step.machine} is wider than the opening"


def nothing_is_ground_dry(asked: Asked) -> Found:
    """Every step runs wet, but for grain in a jet of air."""
    for route, number, step in asked.steps():
        if not step.wet and asked.id(step.hold, "hold") != "air-borne":
            yield f"{route.name}, step {number}: {step.mineral} runs dry"


def no_silica_in_the_jet(asked: Asked) -> Found:
    """Grain that holds crystalline silica, quartz sand above all, is never blasted."""
    for route, number, step in asked.steps():
        if asked.id(step.hold, "hold") == "air-borne" and asked.vocabulary.holds(asked.id(step.mineral, "mineral"), "holdsCrystallineSilica"):
            yield f"{route.name}, step {number}: {step.mineral} is blasted"


def under_every_limit(asked: Asked) -> Found:
    """No step's speed is above the greatest working speed of its carrier, nor above a limit that is marked on it."""
    units = asked.vocabulary.units
    for route, number, step in asked.steps():
        limit, speed = asked.vocabulary.quantity(asked.id(step.carrier, "carrier"), "greatestSpeed"), step.surface_speed_m_s
        if speed and (limit is None or (speed.high or speed.mid) > float(units.convert(limit, "m/s").highest)):
            yield f"{route.name}, step {number}: {step.carrier} runs above its greatest speed"


def lead_is_told(asked: Asked) -> Found:
    """Lead glass brings its caution with every answer that is no question; a glass that nobody named brings it with an if."""
    if asked.answer.kind == "question":
        return
    glass, told = asked.case.glass, [caution.text for caution in asked.answer.cautions if caution.id == "lead-dust"]
    plain = [text for text in told if not text.startswith("If it applies")]
    if glass and asked.vocabulary.holds(glass, "containsLead") and not plain:
        yield "lead glass without its caution"
    if glass is None and not told:
        yield "a glass that nobody named, without the caution that it may hold lead"


INVARIANTS: dict[str, Callable[[Asked], Found]] = {
    made.__name__.replace("_", "-"): made
    for made in (
        has_its_reasons,
        nothing_ruled_out,
        never_coarser,
        takes_what_was_left,
        soft_grain_takes_no_stock,
        grain_is_held_as_it_comes,
        tool_fits_the_form,
        tool_is_narrow_enough,
        nothing_is_ground_dry,
        no_silica_in_the_jet,
        under_every_limit,
        lead_is_told,
    )
}
"""By name, what an answer is looked at for; each yields what is wrong."""


def broken(asked: Asked) -> list[str]:
    """What is wrong with an answer, each with the name of the invariant that it breaks."""
    return [f"{name}: {fault}" for name, holds in INVARIANTS.items() for fault in holds(asked)]
