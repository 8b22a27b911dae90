"""What one turn adds to a case: later words win, nothing else is lost."""

from finishing_kg.advice.contract import Answer
from finishing_kg.chat.reading import SLOTS, Doubt, Reading, Restriction, Slot
from finishing_kg.quantities import grain
from finishing_kg.record import replace
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

_MESH = "mesh"


def merge(vocabulary: Vocabulary, case: Case, reading: Reading) -> tuple[Case, list[Doubt]]:
    """The case with what a turn says, and what could not be taken for certain."""
    doubts = list(reading.doubts)
    changes: dict[str, object] = {}
    assumed, words = dict(case.assumed), dict(case.words)
    for part in SLOTS:
        slot = reading.slots.get(part)
        if slot is None or (part == "surface" and _only_a_grade(reading, slot) and case.surface is not None):
            continue
        assumed.pop(part, None)
        words[part] = slot.words
        if len(slot.ids) == 1:
            changes[part] = slot.ids[0]
            if part == "surface" and reading.surface_grade is None and slot.ids[0] != case.surface:
                changes["surface_grade"] = None
                words.pop("surface_grade", None)
    case = replace(case, **changes)
    for part in SLOTS:
        slot = reading.slots.get(part)
        if slot is not None and len(slot.ids) > 1 and not (part == "surface" and _only_a_grade(reading, slot) and case.surface is not None):
            case = _of_several(vocabulary, replace(case, assumed=assumed), part, slot, doubts)
            assumed = dict(case.assumed)
    case = _by_blasting(vocabulary, replace(case, assumed=assumed), reading, doubts)
    assumed = {part: because for part, because in assumed.items() if part not in reading.measures}
    case = replace(case, assumed=assumed, words=words, measures={**case.measures, **reading.measures})
    case = _surface_grade(vocabulary, _goal_grade(vocabulary, case, reading), reading, doubts)
    for restriction in reading.restrictions:
        case = _restricted(vocabulary, case, restriction)
    return case, doubts


def _only_a_grade(reading: Reading, slot: Slot) -> bool:
    """Whether nothing but a grade tells the surface; what was said of the surface in an earlier turn stands above that."""
    return reading.surface_grade is not None and slot.words == reading.surface_grade.words


def _by_blasting(vocabulary: Vocabulary, case: Case, reading: Reading, doubts: list[Doubt]) -> Case:
    """A finish that no jet gives, though it is to be done by blasting, is asked about: which of the two was meant?"""
    jet = next((name for name in reading.planned if name.kind == "carrier" and vocabulary.related(name.id, "takesHold") == ["air-borne"]), None)
    finish = case.finish
    if jet is None or "finish" not in reading.slots or finish is None or finish in vocabulary.related(jet.id, "serves"):
        return case
    blasts = tuple(name.id for name in vocabulary.things("finish") if vocabulary.holds(name.id, "isABlast"))
    words, label = reading.slots["finish"].words, vocabulary.names[finish].label
    text = f"{words!r} is not done by blasting. Should it end blasted, and how, or as {label} by other means?"
    doubts.append(Doubt("finish", text, (*blasts, finish)))
    return replace(case, finish=None)


def _of_several(vocabulary: Vocabulary, case: Case, part: str, slot: Slot, doubts: list[Doubt]) -> Case:
    """A word that fits several things: the one usual for the make, or any if they are worked alike, or a doubt."""
    names = [vocabulary.names[each] for each in slot.ids]
    others = " or ".join(name.label for name in names)
    if part == "glass":
        usual = [name for name in names if case.make and case.make in vocabulary.related(name.id, "isUsualFor")]
        if len(usual) == 1:
            because = f"{slot.words!r} can be {others}; a {vocabulary.names[str(case.make)].label} piece is usually {usual[0].label}."
            return case.supposing(part, usual[0].id, because)
        if len({_traits(vocabulary, name.id) for name in names}) == 1:
            return case.supposing(part, names[0].id, f"{slot.words!r} can be {others}; they are worked alike, so it makes no difference here.")
    if any(doubt.about == part and set(doubt.choices) == set(slot.ids) for doubt in doubts):
        return case  # the reader asks it already, in words of its own
    doubts.append(Doubt(part, f"{slot.words!r} can be {others}. Which is it?", tuple(slot.ids)))
    return case


def _traits(vocabulary: Vocabulary, thing: str) -> frozenset[str]:
    """What is held of a thing without an object: the traits that rules ask about."""
    return frozenset(phrase.id for phrase in vocabulary.phrases.values() if phrase.shape == "trait" and vocabulary.holds(thing, phrase.id))


def _surface_grade(vocabulary: Vocabulary, case: Case, reading: Reading, doubts: list[Doubt]) -> Case:
    """The grade that left the surface, read on the scale that its hold is graded in."""
    if reading.surface_grade is None:
        return case
    if case.surface is None and len(reading.slots["surface"].ids if "surface" in reading.slots else ()) > 1:
        return case  # which surface is meant is asked first; the grade is told again with it
    written = reading.surface_grade.words
    if case.surface is not None and not vocabulary.holds(case.surface, "isGraded"):
        label = vocabulary.names[case.surface].label
        doubts.append(
            Doubt("surface_grade", f"A surface that is {label} has no grade. Is it ground with {written} by now, or is {written} your plan?")
        )
        return case
    hold = "coated" if case.surface == "belt-ground" else "loose"
    from finishing_kg.quantities import nearest_of_size, read_grade

    reads = read_grade(vocabulary, written, None, hold)
    loosely = not reads and written.casefold().endswith(_MESH)
    if loosely:  # what is sold and spoken of as "220 mesh" is grit 220; a sieve of that number there is none
        reads = read_grade(vocabulary, written[: -len(_MESH)].strip(), None, hold)
    nearest = nearest_of_size(vocabulary, written) if not reads else None
    reads = [nearest] if nearest else reads
    if not reads:
        doubts.append(Doubt("surface_grade", f"I know no grade {written!r}. Which grade left the surface?"))
        return case
    first, others = reads[0], [read for read in reads[1:] if grain(vocabulary, read.grade).mid != grain(vocabulary, reads[0].grade).mid]
    assumed = {part: because for part, because in case.assumed.items() if part != "surface_grade"}
    if nearest:
        size = grain(vocabulary, first.grade).mid.normalize()
        assumed["surface_grade"] = f"No grade is {written!r}; it is taken as {vocabulary.names[first.grade].label}, {size:f} µm, which comes nearest."
    if (reading.surface_grade.bare or loosely) and others:
        label = vocabulary.names[first.grade].label
        further = ", ".join(
            f"{vocabulary.names[read.grade].label} would be {grain(vocabulary, read.grade).mid.normalize():f} µm" for read in others[:3]
        )
        assumed["surface_grade"] = f"{written!r} is taken as {label}, {grain(vocabulary, first.grade).mid.normalize():f} µm; {further}."
        grades = (first.grade, *(read.grade for read in others[:3]))
        listed = " or ".join(vocabulary.names[each].label for each in grades)
        doubts.append(Doubt("surface_grade", f"{written!r} can be {listed}, and the way differs. Which was it?", grades, tentative=True))
    case = replace(case, surface_grade=first.grade, words={**case.words, "surface_grade": written}, assumed=assumed)
    if case.surface is None:
        case = case.supposing("surface", "surface-ground", f"A grade was named, {written}, so the surface is taken as ground with it.")
    return case


def _goal_grade(vocabulary: Vocabulary, case: Case, reading: Reading) -> Case:
    """Of the finishes that leave a ground surface, the one that a wanted grade belongs to: *ground to F400* is finely ground."""
    if reading.goal_grade is None or case.finish is None:
        return case if "finish" not in reading.slots else _without_goal_grade(case)
    from finishing_kg.quantities import read_grade

    reads = read_grade(vocabulary, reading.goal_grade.words, None, "loose")
    left = vocabulary.related(case.finish, "leavesSurface")
    if not reads or not any(vocabulary.holds(surface, "isGraded") for surface in left):
        return _without_goal_grade(case)
    wanted = case.finish
    case = replace(case, goal_grade=reads[0].grade, words={**case.words, "goal_grade": reading.goal_grade.words})
    size = grain(vocabulary, reads[0].grade).mid
    for name in vocabulary.things("finish"):
        coarsest, finest = (vocabulary.quantity(name.id, limit) for limit in ("coarsestResult", "finestResult"))
        alike = vocabulary.related(name.id, "leavesSurface") == left
        # A finish is named by its grade only within its own range; the usual one for a grade is the finest that still takes it.
        if alike and coarsest and finest and finest.mid <= size <= coarsest.mid and not _rougher(vocabulary, name.id, wanted):
            words = f"{case.words.get('finish', name.label)} to {reading.goal_grade.words}"
            return replace(case, finish=name.id, words={**case.words, "finish": words})
    return case


def _without_goal_grade(case: Case) -> Case:
    """The case with no grade to end at: another finish takes back the one that the grade was said of."""
    return replace(case, goal_grade=None, words={part: words for part, words in case.words.items() if part != "goal_grade"})


def _rougher(vocabulary: Vocabulary, one: str, other: str) -> bool:
    """Whether a finish ends coarser than another."""
    first, second = vocabulary.quantity(one, "finestResult"), vocabulary.quantity(other, "finestResult")
    return first is not None and second is not None and first.mid > second.mid


def _restricted(vocabulary: Vocabulary, case: Case, restriction: Restriction) -> Case:
    ids = list(restriction.ids)
    if restriction.kind == "without":
        if restriction.together and len(ids) > 1:
            ids = [each for each in ids if vocabulary.names[each].kind == "carrier"] or ids
        at_hand = tuple(each for each in case.at_hand if each not in ids)
        return replace(case, unwanted=tuple(dict.fromkeys((*case.unwanted, *ids))), at_hand=at_hand)
    if any(vocabulary.names[each].kind == "mineral" for each in ids):
        ids = [each for each in ids if not vocabulary.holds(each, "isFed")]  # "loose carbide" is carbide; loose grain is no other thing
    limited = set(case.limited_in)
    if restriction.kind == "only":
        kinds = {vocabulary.names[each].kind for each in ids}
        limited |= {"mineral"} & kinds
        if kinds & {"carrier", "machine"}:
            limited.add("carrier")
    unwanted = tuple(each for each in case.unwanted if each not in ids)
    return replace(case, at_hand=tuple(dict.fromkeys((*case.at_hand, *ids))), unwanted=unwanted, limited_in=frozenset(limited))


def left_over(reading: Reading, answer: Answer, case: Case) -> list[str]:
    """A grade or a measure of the maker's plan that the answer makes nothing of is not passed over in silence."""
    taken = {*(answer.understood.planned or {}).values(), *case.words.get("finish", "").split(" to ")[1:], case.words.get("goal_grade")}
    words = [grade.words for grade in (reading.planned_grade, reading.goal_grade) if grade]
    words += [str(quantity) for quantity in reading.planned_measures.values()]
    return [each for each in words if each not in taken]
