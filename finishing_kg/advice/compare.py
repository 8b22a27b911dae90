"""Why one thing and not another: what the rules hold for and against each, with all that is common to both left out."""

from collections.abc import Sequence

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.contract import Answer, ReasonLine
from finishing_kg.advice.levels import told, unsaid
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.advice.why import as_first_steps, cautioned, options_with
from finishing_kg.proofs import Proof
from finishing_kg.record import record, replace
from finishing_kg.routes import Judged
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Name

_PROPOSALS = ("isProposedAsRuledOutBy", "isProposedAsDiscouragedBy", "isProposedAsPreferredBy", "isProposedAsSuitingBy")
_IT = "it"

Key = tuple[object, ...]


@record(frozen=True)
class _Side:
    """One of the two things compared.

    Attributes:
        label: what it is called.
        option: the method that stands best of those that use it, or ``None`` if there is no such method.
        points: what is concluded and held about it, each known by what it says with the option replaced; those that speak for or
            against it each with what they rest on.
    """

    label: str
    option: str | None
    points: dict[Key, list[tuple[Key, str, int]]]


def contrast(advice: Advice, last: Answer, first: Sequence[Name], second: Sequence[Name], book: ReasonBook | None = None) -> Answer:
    """What speaks for and against each of two things, without what they share.

    Args:
        advice: the judged case.
        last: the answer that is asked about.
        first, second: what is named on either side; swapping them swaps what is told, and changes nothing else.
        book: takes the reasons.
    """
    book = ReasonBook() if book is None else book
    options = [_best(advice, side) for side in (first, second)]
    present = sorted(option for option in options if option and advice.model.holds("isOffered", option))
    judged = as_first_steps(advice, present) if advice.case.surface is not None else None
    reasons = Reasons(advice.knowledge, advice.model, book)
    of_steps = Reasons(advice.knowledge, judged.model, book) if judged else None
    sides = []
    for named, option in zip((first, second), options, strict=True):
        points = _points(reasons, option) if option else {}
        if judged and of_steps and option in present:
            points |= _first_step(of_steps, judged, judged.routes[present.index(option)][0])
        sides.append(_Side(" and ".join(name.label for name in named), option, points))
    only = [_only(book, side, other) for side, other in (sides, sides[::-1])]
    return replace(
        last,
        kind="comparison",
        about=", ".join(name.notation for name in (*first, *second)),
        text=_text(advice, book, sides, only),
        reasons=book.ordered(),
        only_first=only[0],
        only_second=only[1],
        routes=[],
        ruled_out=[],
        discouraged=[],
        cautions=[],
        hints=[],
        findings=[],
    )


def _best(advice: Advice, about: Sequence[Name]) -> str | None:
    """Of the methods that use what is named the one in the route, or the one that stands best."""
    if advice.case.finish is None:
        return None
    model, options = advice.model, options_with(advice, about)
    used = [place.option for found in advice.found for place in found.places if place.option in options]
    if used:
        return used[0]

    def rank(option: str) -> tuple[object, ...]:
        against, grudging, preferred, suiting = (len(model.objects(proposal, option)) for proposal in _PROPOSALS)
        return not model.holds("isOffered", option), against, grudging, -preferred, -suiting, option

    return min(options, key=rank, default=None)


def _points(reasons: Reasons, option: str) -> dict[Key, list[tuple[Key, str, int]]]:
    """The proposals about an option that stand, each with the nodes it rests on."""
    found = {}
    for predicate in _PROPOSALS:
        for rule in map(str, reasons.model.objects(predicate, option)):
            if not reasons.model.holds("isFreedFrom", option, rule):
                proof = reasons.prover.proof(Statement(predicate, option, rule))
                found[_key(proof, option)] = _nodes(reasons, proof, option)
    return found


def _first_step(reasons: Reasons, judged: Judged, step: str) -> dict[Key, list[tuple[Key, str, int]]]:
    """What stands against a method as the first step over this surface."""
    fault = cautioned(judged.model, step)
    if fault is None:
        return {}
    proof = reasons.prover.proof(fault)
    return {_key(proof, step): _nodes(reasons, proof, step)}


def _nodes(reasons: Reasons, proof: Proof, about: str) -> list[tuple[Key, str, int]]:
    """A proof's nodes, each with its reason and its depth; what is only there to be judged is left out."""
    reasons.add(proof)
    found: list[tuple[Key, str, int]] = []
    work, seen = [(proof, 0)], set[int]()
    while work:
        here, depth = work.pop(0)
        if id(here) not in seen:
            seen.add(id(here))
            if not unsaid(reasons.grounds, here):
                found.append((_key(here, about), reasons.add(here), depth))
            work += [(premise, depth + 1) for premise in here.premises]
    return found


def _key(proof: Proof, about: str) -> Key:
    """What a node says, with the thing that is compared replaced, so that both sides can be held against each other."""
    made = proof.statement
    subject, obj = (_IT if term == about else term for term in (made.subject, made.object))
    return made.predicate, subject, obj, made.comparison, proof.rule


def _only(book: ReasonBook, side: _Side, other: _Side) -> list[ReasonLine]:
    """What holds of one side alone: every point that the other has not, and below it what the other does not rest on either."""
    shared = {key for nodes in other.points.values() for key, _, _ in nodes}
    lines: dict[str, ReasonLine] = {}
    for point, nodes in side.points.items():
        if point not in other.points:
            for key, rid, depth in nodes:
                if key not in shared:
                    lines.setdefault(rid, ReasonLine(depth=depth, text=told(book.reasons[rid]), reason=rid))
    return list(lines.values())


def _text(advice: Advice, book: ReasonBook, sides: list[_Side], only: list[list[ReasonLine]]) -> str:
    """Both sides in a sentence each; the words are those of the rules that differ."""
    sentences = []
    for side, lines in zip(sides, only, strict=True):
        if side.option is None:
            sentences.append(f"I know no way to use {side.label} on glass.")
        elif lines:
            heads = [line for line in lines if line.depth == 0]
            becauses = dict.fromkeys(str(book.reasons[line.reason].because) for line in heads)
            sentences.append(f"{side.label[0].upper()}{side.label[1:]}, {_standing(advice, side.option, heads, book)}: {' '.join(becauses)}")
        else:
            sentences.append(f"{side.label[0].upper()}{side.label[1:]}: nothing holds of it that does not hold of the other.")
    return " ".join(sentences)


def _standing(advice: Advice, option: str, heads: list[ReasonLine], book: ReasonBook) -> str:
    model = advice.model
    stage = advice.knowledge.vocabulary.names[str(model.objects("worksToward", option)[0])].label
    words = next(
        (
            word
            for predicate, word in (
                ("isRuledOut", "ruled out"),
                ("isDiscouraged", "discouraged"),
                ("isPreferred", "preferred"),
                ("suitsTheWork", "suited"),
            )
            if model.holds(predicate, option)
        ),
        "with nothing that speaks for it",
    )
    if any(" is cautioned for " in book.reasons[head.reason].statement for head in heads):
        words += ", but not from this surface"
    return f"{words} for {stage}"
