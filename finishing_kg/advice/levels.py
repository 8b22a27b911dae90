"""A proof told at three lengths: one line, a short tree, and with it what the whole of it leaves open.

Every line belongs to one node of the proof; nothing is said that no node says.
"""

from collections.abc import Iterator
from typing import Literal

from finishing_kg.advice.contract import Absence, Answer, Compared, NearRule, Reason, ReasonLine
from finishing_kg.advice.reasons import Grounds, ReasonBook
from finishing_kg.engine import Model, could_follow, minimal_reasons
from finishing_kg.proofs import Proof
from finishing_kg.record import replace
from finishing_kg.statements import Language, Statement

Level = Literal["line", "short", "whole"]

MOST_LINES = 7
_MOST_SETS, _MOST_NEAR, _MOST_ABSENCES = 5, 3, 40
_SAID = ("you said", "assumed", "bench log")
# What is there only so that the rules have something to judge says nothing to a maker.
_BOOKKEEPING = ("verdicts",)


def explained(answer: Answer, book: ReasonBook, level: Level) -> Answer:
    """An answer to *why* with its reasoning at the length asked for.

    Args:
        answer: with ``reason``, the root.
        book: that the root is in.
        level: ``"line"``, ``"short"`` or ``"whole"``.
    """
    root = answer.reason
    if root is None or root not in book.proved:
        return answer
    every = list(lines(book, root))
    shown = every[:1] if level == "line" else every[:MOST_LINES]
    sets, more = reason_sets(book, root)
    return replace(
        answer,
        lines=shown,
        more_lines=len(book_below(book, root)) - len(shown),
        reason_sets=sets,
        more_reasons=more,
        absences=list(absences(book, root)) if level == "whole" else [],
    )


def book_below(book: ReasonBook, root: str) -> list[str]:
    """The ids of a reason and all below it, each once, nearest first."""
    found, work = dict.fromkeys([root]), [root]
    while work:
        below = [each for each in book.reasons[work.pop(0)].from_ if each not in found]
        found.update(dict.fromkeys(below))
        work += below
    return list(found)


def lines(book: ReasonBook, root: str) -> Iterator[ReasonLine]:
    """The nodes of a proof as lines, the most telling first: what speaks for it, each with what it rests on.

    The first line is the strongest rule that speaks for the root, or the root itself where it follows directly.
    """
    heads = list(dict.fromkeys([*_speaking(book, root), root]))
    seen: set[str] = set()
    for rid in heads:
        if rid not in seen:
            seen.add(rid)
            yield ReasonLine(depth=0, text=told(book.reasons[rid]), reason=rid)
        for below in _telling(book, rid):
            if below not in seen:
                seen.add(below)
                yield ReasonLine(depth=1, text=told(book.reasons[below]), reason=below)


def _speaking(book: ReasonBook, root: str) -> list[str]:
    """The nodes at which a rule proposes the verdict that the root rests on; preferences first."""
    found = [rid for rid in book_below(book, root) if (proof := book.proved[rid][1]).rule and proof.statement.predicate.startswith("isProposedAs")]
    return sorted(found, key=lambda rid: (book.proved[rid][1].statement.predicate != "isProposedAsPreferredBy", int(rid[1:])))


def _telling(book: ReasonBook, root: str) -> list[str]:
    """What a node rests on, without bookkeeping: what was said or assumed first, then comparisons, then the rest."""
    found: list[tuple[str, int]] = []
    work, seen = [(rid, 1) for rid in book.reasons[root].from_], {root}
    while work:
        rid, depth = work.pop(0)
        if rid in seen:
            continue
        seen.add(rid)
        reason = book.reasons[rid]
        work += [(below, depth + 1) for below in reason.from_]
        if not unsaid(*book.proved[rid]):
            found.append((rid, depth))

    def rank(each: tuple[str, int]) -> tuple[int, int]:
        reason = book.reasons[each[0]]
        kind = 0 if not reason.rule and reason.basis.kind in _SAID else 1 if reason.comparison else 2
        return kind, each[1]

    return [rid for rid, _ in sorted(found, key=rank)]


def unsaid(grounds: Grounds, proof: Proof) -> bool:
    """Whether a node is only there so that something can be judged, and says nothing to a maker."""
    if proof.rule is None:
        return proof.fact is not None and proof.fact.basis.kind == "computed" and proof.fact.computation is None
    return grounds.knowledge.base.by_id[proof.rule].subject in _BOOKKEEPING


def told(reason: Reason) -> str:
    """One node as a line: a step with its rule's reason and its comparisons, a leaf with where it comes from."""
    compared = [compared_words(made) for made in (reason.comparison, *reason.further_comparisons) if made]
    if reason.rule:
        return f"{reason.statement}: {reason.because}" + "".join(f" ({each})" for each in compared)
    return f"{reason.statement} ({standing(reason)})"


def standing(reason: Reason) -> str:
    """What a leaf rests on, in words: the maker, the ontology with its source, an assumption, the bench log, or a computation."""
    basis = reason.basis
    if basis.kind == "you said":
        return f"you said {basis.locator!r}" if basis.locator else "you said"
    if basis.kind == "assumed":
        return f"assumed: {reason.because}" if reason.because else "assumed"
    if basis.kind == "bench log":
        return ", ".join(filter(None, ["from the bench log", basis.source, basis.locator]))
    if reason.computed:
        return f"computed by {reason.computed.function} from {' and '.join(reason.computed.inputs)}"
    if basis.kind == "computed":
        return ", ".join(filter(None, ["computed", basis.locator]))
    return "the ontology holds, " + ", ".join(filter(None, [basis.kind, basis.source, basis.locator]))


def compared_words(made: Compared) -> str:
    """A comparison with both values as written, both in the common unit where that is another, and the margin."""

    def both(written: str, common: str) -> str:
        return written if written == common else f"{written}, that is {common},"

    outcome = {"holds": "is", "fails": "is not", "unknown": "is not known to be"}[made.outcome]
    return f"{both(made.left, made.left_common)} {outcome} {made.operator} {both(made.right, made.right_common)}; the margin is {made.margin}"


def reason_sets(book: ReasonBook, root: str) -> tuple[list[list[str]], bool]:
    """The minimal reasons of a node as sentences, counting only what was said or assumed; and whether there are more."""
    grounds, proof = book.proved[root]
    facts = grounds.model.facts

    def counts(statement: Statement) -> bool:
        return facts[statement].basis.kind in _SAID

    found = minimal_reasons(grounds.prover, proof.statement, counts, most=_MOST_SETS)
    printed = grounds.knowledge.language.print
    return [sorted(map(printed, each)) for each in found.sets if each], not found.complete


def absences(book: ReasonBook, root: str) -> Iterator[Absence]:
    """What a proof needs to be absent, each once, with the rules that could have made it present and what they lack."""
    seen: set[Statement] = set()
    for rid in book_below(book, root):
        grounds, proof = book.proved[rid]
        for absent in proof.absent:
            if absent not in seen and len(seen) < _MOST_ABSENCES:
                seen.add(absent)
                yield _absence(grounds.knowledge.language, grounds.model, absent)


def _absence(language: Language, model: Model, absent: Statement) -> Absence:
    near = could_follow(model, absent)
    by_rule = {each.rule.id: each for each in reversed(near)}  # of one rule's ways the nearest
    ways = [each for each in near if by_rule[each.rule.id] is each]
    near_ones = [NearRule(rule=each.rule.id, lacking=language.print(each.lacking), blocked=each.blocked) for each in ways[:_MOST_NEAR]]
    return Absence(statement=language.print(absent), could_follow=near_ones, more=max(0, len(ways) - _MOST_NEAR))
