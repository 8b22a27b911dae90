"""What on the shelf comes nearest to something that a planned step uses and that is not there."""

from collections.abc import Callable, Iterable
from decimal import Decimal

from finishing_kg.advice.plan_writing import spelling
from finishing_kg.engine import Knowledge
from finishing_kg.quantities import grain
from finishing_kg.routes import Case, PlannedStep, grades_for
from finishing_kg.vocabulary import Vocabulary


def nearest_on_the_shelf(knowledge: Knowledge, case: Case, step: PlannedStep) -> str:
    """What to take instead, as a sentence: of each part that is not there the nearest that is; else that nothing like it is there."""
    vocabulary = knowledge.vocabulary
    told = [*_mineral(vocabulary, case, step), *_carrier(vocabulary, case, step), *_grade(vocabulary, case, step)]
    return " ".join(told) or "Get it, or take another option from the shelf."


def _mineral(vocabulary: Vocabulary, case: Case, step: PlannedStep) -> Iterable[str]:
    mineral = step.mineral
    if mineral is None or "mineral" not in case.limited_in or mineral in case.at_hand:
        return
    own = vocabulary.quantity(mineral, "hardness")

    def apart(other: str) -> tuple[bool, bool, Decimal]:
        hardness = vocabulary.quantity(other, "hardness")
        far = abs(hardness.mid - own.mid) if hardness and own else Decimal("Infinity")
        return not _serves(vocabulary, other, step), bool(step.hold) and step.hold not in vocabulary.related(other, "comesAs"), far

    yield _told(vocabulary, mineral, _nearest(vocabulary, case, "mineral", apart))


def _carrier(vocabulary: Vocabulary, case: Case, step: PlannedStep) -> Iterable[str]:
    carrier = step.carrier
    if carrier is None or "carrier" not in case.limited_in or carrier in case.at_hand or _driven_at_hand(vocabulary, case, carrier):
        return

    def apart(other: str) -> tuple[bool, bool, bool, int]:
        reaches = case.form is None or case.form in vocabulary.related(other, "reaches")
        takes = step.hold is None or step.hold in vocabulary.related(other, "takesHold")
        traits = ("isSoft", "isStiff", "spins", "isPowered", "needsLooseGrain", "conformsToRecesses")
        unlike = sum(vocabulary.holds(other, trait) != vocabulary.holds(carrier, trait) for trait in traits)
        return not reaches, not takes, not _serves(vocabulary, other, step), unlike

    yield _told(vocabulary, carrier, _nearest(vocabulary, case, "carrier", apart))


def _driven_at_hand(vocabulary: Vocabulary, case: Case, carrier: str) -> bool:
    """As the rules have it: a carrier counts as there with a machine that drives it."""
    return any(machine in case.at_hand for machine in vocabulary.related(carrier, "isDrivenBy"))


def _grade(vocabulary: Vocabulary, case: Case, step: PlannedStep) -> Iterable[str]:
    if step.grade is None or step.mineral is None or step.hold is None:
        return
    listed = {thing for thing, _ in case.stock} & {step.mineral, step.hold, step.carrier}
    there = grades_for(vocabulary, case, step.mineral, step.hold, step.carrier)
    if not listed or any(grade == step.grade for thing, grade in case.stock if thing in listed):
        return
    size = grain(vocabulary, step.grade).mid
    sized = [(max(own / size, size / own), grade) for grade in there if (own := grain(vocabulary, grade).mid)]
    words = spelling(vocabulary, step.grade, step.mineral, step.hold)
    if not sized:
        yield f"No grade of it is on the shelf in this hold, neither {words} nor another."
        return
    nearest = min(sized)[1]
    held = grain(vocabulary, nearest)
    yield f"Instead of {words} the nearest on the shelf is {spelling(vocabulary, nearest, step.mineral, step.hold)}, about {held.mid} {held.unit}."


def _serves(vocabulary: Vocabulary, thing: str, step: PlannedStep) -> bool:
    return step.stage is None or step.stage in vocabulary.related(thing, "serves")


def _nearest(vocabulary: Vocabulary, case: Case, kind: str, apart: Callable[[str], tuple[object, ...]]) -> str:
    return min((thing for thing in case.at_hand if vocabulary.names[thing].kind == kind), key=lambda thing: (apart(thing), thing))


def _told(vocabulary: Vocabulary, thing: str, other: str) -> str:
    names = vocabulary.names
    return f"Instead of {names[thing].label} the nearest on the shelf is {names[other].label}."
