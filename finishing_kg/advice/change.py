"""The smallest change that would let something in: of what a maker can change at the bench, never of the glass or the form.

The changes that are tried are those that what blocks names: a thing that is not at hand, the surface that the piece has
before the step, the grade that left it, the finish. A limit of the bench is lifted by having the thing.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.blockers import SPEAKING_FOR
from finishing_kg.advice.contract import SmallestChange
from finishing_kg.advice.why import as_first_steps, cautioned, options_with
from finishing_kg.engine import Knowledge, Model, Prover, could_add
from finishing_kg.proofs import Compared, Proof
from finishing_kg.quantities import grain, scales_for, stocked
from finishing_kg.record import replace
from finishing_kg.routes import BENCH, PARTS, PIECE, Case, stages_to
from finishing_kg.statements import Statement, Variable, option_parts
from finishing_kg.vocabulary import Name

MOST = 3
"""How many changes are tried together; nobody changes more for one tool."""

_ORDER = ("isAtHand", "hasSurface", "surfaceGrade", "wantsFinish")
_VERDICTS = (("isRuledOut", "isProposedAsRuledOutBy"), ("isDiscouraged", "isProposedAsDiscouragedBy"))
_REACH = 1500  # changes tried before giving up, some ten seconds


def standing(advice: Advice, about: Sequence[Name]) -> int:
    """How the things named stand: 0 out, 1 usable but discouraged, 2 usable with nothing against it from this surface."""
    return _standing(advice, options_with(advice, about))


def _standing(advice: Advice, options: Sequence[str]) -> int:
    """The same, of some options."""
    model = advice.model
    offered = [option for option in options if model.holds("isOffered", option)]
    if not offered:
        return 0
    free = [option for option in offered if not model.holds("isDiscouraged", option)]
    if advice.case.surface is None:
        return 2 if free else 1
    judged = as_first_steps(advice, [*free, *(option for option in offered if option not in free)])
    usable = [cautioned(judged.model, steps[0]) is None for steps in judged.routes]
    return 2 if any(usable[: len(free)]) else 1 if any(usable) else 0


def smallest_change(advice: Advice, about: Sequence[Name]) -> SmallestChange | None:
    """The fewest changed facts that let something named in, or lift what discourages it.

    Returns:
        ``None`` where nothing speaks against it as it is, or no method uses what is named; without changes where there is no such change.
    """
    if advice.case.finish is None or not options_with(advice, about):
        return None
    now = standing(advice, about)
    if now == 2:
        return None
    printed, label = advice.knowledge.language.print, " and ".join(name.label for name in about)
    choices = candidates(advice, about)
    rank = {change: place for place, change in enumerate(choices)}
    by_option, tried = _by_option(advice, about), 0
    for size in range(1, MOST + 1):
        # An option is freed only by what blocks that option, so only that is put together.
        together: dict[tuple[Statement, ...], list[str]] = {}
        for option, named in by_option.items():
            for changes in combinations(sorted(named, key=rank.__getitem__), size):
                together.setdefault(changes, []).append(option)
        for changes in sorted(together, key=lambda each: [rank[change] for change in each]):
            case = changed(advice.knowledge, advice.case, changes)
            after = Advice(advice.knowledge, case, advice.whole) if case else None
            tried += 1
            if tried > _REACH:
                return SmallestChange(changes=[], text=f"I tried {_REACH} changes and found none that lets {label} in; I looked no further.")
            if after is not None and _standing(after, together[changes]) > now:
                sentences = [printed(each) for each in changes]
                return SmallestChange(changes=sentences, text=f"The smallest change: {_and(sentences)}. Then {label} can be used.")
    return SmallestChange(changes=[], text=_none(advice, label, choices))


def _none(advice: Advice, label: str, choices: list[Statement]) -> str:
    if not choices:
        return f"Nothing that a maker can change lets {label} in: what blocks it is not at hand, surface, grade or finish."
    tried = _and([advice.knowledge.language.print(each) for each in choices[:3]])
    return f"No change of up to {MOST} things lets {label} in; what blocks it names only {tried}{' and others' if len(choices) > 3 else ''}."


def _and(sentences: list[str]) -> str:
    return " and ".join(sentences)


def changed(knowledge: Knowledge, case: Case, changes: Sequence[Statement]) -> Case | None:
    """The case with facts changed; ``None`` if two of them contradict each other, or change nothing."""
    parts = {predicate: part for part, predicate in PARTS.items()}
    singles = [each.predicate for each in changes if each.predicate in parts]
    if len(singles) != len(set(singles)):
        return None
    before = case
    for each in sorted(changes, key=lambda change: _ORDER.index(change.predicate)):
        thing = str(each.subject)
        if each.predicate == "isAtHand":
            unwanted = tuple(other for other in case.unwanted if other != thing)
            case = replace(case, at_hand=tuple(dict.fromkeys((*case.at_hand, thing))), unwanted=unwanted)
            continue
        part, value = parts[each.predicate], str(each.object)
        if part == "surface_grade" and (case.surface is None or not knowledge.vocabulary.holds(case.surface, "isGraded")):
            return None
        assumed = {name: because for name, because in case.assumed.items() if name != part}
        cleared = {"surface_grade": None} if part == "surface" else {}
        case = replace(case, assumed=assumed, **{**cleared, part: value})
    return None if case == before else case


def candidates(advice: Advice, about: Sequence[Name]) -> list[Statement]:
    """The changes that what blocks names, likelier ones first: of every option that could be freed at all."""
    found = {change for named in _by_option(advice, about).values() for change in named}
    return sorted(found, key=lambda each: (_ORDER.index(each.predicate), str(each)))


def _by_option(advice: Advice, about: Sequence[Name]) -> dict[str, set[Statement]]:
    """By option the changes that what blocks it names.

    What stands behind a first obstacle shows once that is out of the way; so things are put at hand, and what blocks then is asked as well.
    """
    found = _named_now(advice, about)
    while True:
        at_hand = sorted({each for named in found.values() for each in named if each.predicate == "isAtHand"}, key=str)
        case = changed(advice.knowledge, advice.case, at_hand)
        further = _named_now(Advice(advice.knowledge, case, advice.whole), about) if case else {}
        if all(named <= found.get(option, set()) for option, named in further.items()):
            return found
        for option, named in further.items():
            found.setdefault(option, set()).update(named)


def _named_now(advice: Advice, about: Sequence[Name]) -> dict[str, set[Statement]]:
    """As ``_by_option``, by what blocks as things are."""
    found: dict[str, set[Statement]] = {}
    options, facts = options_with(advice, about), advice.case.facts()
    prover = Prover(advice.model)
    for option in options:
        named = _for_option(advice, prover, option)
        if named is not None:
            found[option] = set(named)
    offered = [option for option in options if advice.model.holds("isOffered", option)]
    if offered and advice.case.surface is not None:
        judged = as_first_steps(advice, offered)
        step_prover = Prover(judged.model)
        for option, steps in zip(offered, judged.routes, strict=True):
            fault = cautioned(judged.model, steps[0])
            if fault is not None:
                found.setdefault(option, set()).update(_named(advice, judged.model, step_prover.proof(fault), option_parts(option)[3]))
    return {option: {each for each in named if each not in facts} for option, named in found.items()}


def _for_option(advice: Advice, prover: Prover, option: str) -> list[Statement] | None:
    """What could free an option; ``None`` if something stands against it that no change lifts."""
    model, stage, found = advice.model, option_parts(option)[3], list[Statement]()
    for verdict, proposal in _VERDICTS:
        for rule in map(str, model.objects(proposal, option)):
            if not model.holds("isFreedFrom", option, rule):
                named = list(_named(advice, model, prover.proof_with(Statement(verdict, option), "rule", rule), stage))
                if not named and verdict == "isRuledOut":
                    return None
                found += named
    if not any(model.objects(predicate, option) for predicate in SPEAKING_FOR):
        speaking = [each for predicate in SPEAKING_FOR for each in _addable(model, Statement(predicate, option, Variable("rule")))]
        if not speaking:
            return None
        found += speaking
    return found


def _named(advice: Advice, model: Model, proof: Proof, stage: str) -> Iterator[Statement]:
    """Changes that a proof of what blocks names: of what was said or assumed, and of what it needs to be absent."""
    phrases = advice.knowledge.vocabulary.phrases
    compared = [made for step in proof.walk() for made in step.compared]
    for step in proof.walk():
        leaf = step.statement
        if step.fact is not None and step.fact.basis.kind in ("you said", "assumed") and phrases[leaf.predicate].changeable:
            yield from _instead(advice, leaf, stage, compared)
        for absent in step.absent:
            if absent.predicate == "surfaceGrade":
                yield from _grades(advice, compared)
            yield from _addable(model, absent)


def _instead(advice: Advice, leaf: Statement, stage: str, compared: list[Compared]) -> Iterator[Statement]:
    """What could be so instead of a fact."""
    vocabulary = advice.knowledge.vocabulary
    if leaf.predicate == "isUnwanted":
        yield Statement("isAtHand", leaf.subject)
    elif leaf.predicate == "hasSurface":
        # Only by working it: the surfaces that the stages before this one leave.
        for earlier in stages_to(vocabulary, stage)[:-1]:
            yield from (Statement("hasSurface", PIECE, surface) for surface in vocabulary.related(earlier, "leavesSurface"))
    elif leaf.predicate == "surfaceGrade":
        yield from _grades(advice, compared)
    elif leaf.predicate == "wantsFinish":
        yield from (Statement("wantsFinish", PIECE, finish.id) for finish in vocabulary.things("finish"))


def _grades(advice: Advice, compared: list[Compared]) -> Iterator[Statement]:
    """The loose grades that lie just on the other side of what was compared: only those are named by it."""
    vocabulary = advice.knowledge.vocabulary
    sizes = sorted((grain(vocabulary, grade).mid, grade) for scale in scales_for(vocabulary, None, "loose") for grade in stocked(vocabulary, scale))
    for made in compared:
        limit = vocabulary.units.convert(made.right, "µm").mid if made.right.unit in ("µm", "mm", "cm", "m", "in") else None
        if limit is None:
            continue
        beyond = [grade for size, grade in sizes if size <= limit][-1:] if made.operator in ("above", "at least") else []
        beyond += [grade for size, grade in sizes if size >= limit][:1] if made.operator in ("below", "at most") else []
        yield from (Statement("surfaceGrade", PIECE, grade) for grade in beyond)


def _addable(model: Model, wanted: Statement) -> Iterator[Statement]:
    """Facts a maker can bring about that could help something to follow."""
    for each in could_add(model, wanted, lambda predicate: predicate == "isAtHand"):
        if each.subject != BENCH:
            yield each
