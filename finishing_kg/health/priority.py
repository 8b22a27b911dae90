"""Who wins: overrides that can never apply, and verdicts that contradict each other with nothing to decide between them."""

from collections.abc import Iterator

from finishing_kg.health.fault import Fault
from finishing_kg.health.pairs import Proposal, always_with, case_of_both, case_together, proposals
from finishing_kg.health.solve import example
from finishing_kg.health.state import Undecided
from finishing_kg.health.supply import Supply
from finishing_kg.statements import Statement


def dead_overrides(supply: Supply, only: frozenset[str]) -> Iterator[Fault]:
    """Overrides of a rule that can never judge the same option, or that proposes just the same; one is among ``only``."""
    made: dict[str, list[Proposal]] = {}
    for proposal in proposals(supply):
        made.setdefault(proposal.rule.id, []).append(proposal)
    for winner in supply.base.rules:
        for loser in winner.overrides:
            if loser not in made or winner.id not in made or not only & {winner.id, loser}:
                continue  # the first two are refused when the rules are loaded
            about = f"{winner.id}, {loser}"
            try:
                cases = [case_of_both(supply, one, other) for one in made[winner.id] for other in made[loser]]
            except Undecided:
                continue
            met = next((case for case in cases if case is not None), None)
            if met is None:
                text = (
                    f"The rule {winner.id} overrides {loser}, but no option can be judged by both: what they need excludes each other. Take it out."
                )
                yield Fault("dead override", (winner.id, loser), about, text, example(supply, winner), f"{winner.id} fires, and {loser} does not")
            elif {one.verdict for one in made[winner.id]} >= {other.verdict for other in made[loser]}:
                text = f"The rule {winner.id} overrides {loser}, but proposes the same verdict, so nothing is overridden. Take the override out."
                yield Fault("dead override", (winner.id, loser), about, text, met.facts, "both fire, and say the same of the option")


def conflicts(supply: Supply, only: frozenset[str], own: frozenset[str] = frozenset()) -> Iterator[Fault]:
    """Contradictory verdicts on one option between which neither an override nor the order of verdicts decides.

    The order of verdicts decides where two rules merely meet: a discouraged option then comes last, whatever prefers it.
    It decides nothing where the rule that would win judges all that the other judges: the other would never count, so one of
    the two is wrong, or an ``overrides`` is missing. Between a rule base and what somebody adds to it the addition must also
    say so where it wins: an exception that it makes to a rule of the base needs an ``overrides``.

    Args:
        supply: the rules and where statements come from.
        only: one of the two is among these.
        own: ids of the rules that somebody adds; empty where all are of one hand.
    """
    every = list(proposals(supply))
    for winner in every:
        beaten = supply.vocabulary.phrases[winner.verdict].outweighs
        for loser in every:
            both = {winner.rule.id, loser.rule.id}
            if loser.verdict not in beaten or len(both) == 1 or not only & both or _decided(winner, loser):
                continue
            never_counts = always_with(supply, winner, loser) and not _freed(supply, every, winner, loser)
            unsaid = winner.rule.id in own and loser.rule.id not in own and always_with(supply, loser, winner)
            if not never_counts and not unsaid:
                continue
            case = case_together(supply, winner, loser)
            if case is not None:
                yield _conflict(supply, winner, loser, case.facts, never_counts)


def _decided(winner: Proposal, loser: Proposal) -> bool:
    """Whether somebody said which of two rules wins, or safety does."""
    return loser.rule.id in winner.rule.overrides or winner.rule.id in loser.rule.overrides or winner.rule.safety


def _freed(supply: Supply, every: list[Proposal], winner: Proposal, loser: Proposal) -> bool:
    """Whether a third rule overrides the winner wherever the loser fires."""
    return any(winner.rule.id in third.rule.overrides and always_with(supply, third, loser) for third in every)


def _conflict(supply: Supply, winner: Proposal, loser: Proposal, facts: tuple[Statement, ...], never_counts: bool) -> Fault:
    phrases = supply.vocabulary.phrases
    against, spoken = phrases[winner.verdict].words, phrases[loser.verdict].words
    first = f"By the rule {loser.rule.id} an option {spoken}, by {winner.rule.id} the same option {against}"
    if never_counts:
        text = f"{first}, and that wherever the first one fires, so it never counts. Let it override the other, or narrow or take out one."
    else:
        text = f"{first}; nothing says that this exception is meant. Let {winner.rule.id} override {loser.rule.id}."
    rules = (loser.rule.id, winner.rule.id)
    return Fault("conflict", rules, ", ".join(rules), text, facts, f"both fire on one option: it {spoken}, and it {against}")
