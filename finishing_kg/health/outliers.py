"""A rule that leaves out what nearly all rules like it look at."""

from collections import defaultdict
from collections.abc import Iterator

from finishing_kg.health.fault import Fault
from finishing_kg.health.solve import example
from finishing_kg.health.supply import Supply
from finishing_kg.rules import Rule, as_written

_MOST = 0.8  # share of the other rules that must look at it
_FEWEST = 7  # other rules; of fewer one or two more or less change the share too much


def outliers(supply: Supply, only: frozenset[str]) -> Iterator[Fault]:
    """Notes on those of some rules that lack a kind of condition that most rules of the same file and with the same conclusion have."""
    peers: dict[tuple[str, frozenset[str]], list[Rule]] = defaultdict(list)
    for rule in supply.base.rules:
        peers[rule.subject, frozenset(made.predicate for made in as_written(rule, supply.vocabulary))].append(rule)
    for (subject, _), group in sorted(peers.items(), key=lambda entry: entry[0][0]):
        for rule in group:
            others = [other for other in group if other is not rule]
            own = _looked_through(supply, rule)
            if rule.id not in only or len(others) < _FEWEST:
                continue
            for predicate in sorted({predicate for other in others for predicate in _looked_at(other)} - own):
                having = sum(predicate in _looked_at(other) for other in others)
                if having >= _MOST * len(others):
                    words = supply.vocabulary.phrases[predicate].words
                    text = f"{having} of {len(others)} other rules on {subject} that conclude the like also mention “{words}”; {rule.id} does not."
                    shown = f"{rule.id} fires, and nothing was said with “{words}”"
                    yield Fault("leaves out", (rule.id,), f"{rule.id}, {words}", text, example(supply, rule), shown, note=True)


def _looked_at(rule: Rule) -> set[str]:
    return {sentence.predicate for sentence in (*rule.conditions, *rule.exceptions)}


def _looked_through(supply: Supply, rule: Rule) -> set[str]:
    """What a rule looks at, and what is looked at by the rules that conclude that."""
    own = _looked_at(rule)
    return own | {predicate for sentence in own for maker, _ in supply.makers.get(sentence, ()) for predicate in _looked_at(maker)}
