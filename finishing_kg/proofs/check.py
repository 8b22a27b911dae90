"""The proof checker: it re-checks a proof against facts and rules, sharing no code with the engine.

It recomputes every step from the rule and the facts; what a proof claims to be absent is looked for again, backwards
from the rules that could conclude it.
"""

from collections.abc import Callable, Iterator, Mapping

from finishing_kg.measure import Quantity
from finishing_kg.proofs.backward import BackwardSearch, RulesFor, rules_for
from finishing_kg.proofs.facts import Facts
from finishing_kg.proofs.model import Compared, Fact, Proof
from finishing_kg.rules.model import Rule
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Vocabulary

Computations = Mapping[str, Callable[[tuple[Quantity, ...]], Quantity]]


class ProofChecker:
    """Checks proofs against one set of facts and rules.

    Args:
        vocabulary: for units and properties.
        rules: by their ids.
        facts: all that is given.
        computations: by their names.
        concluding: the same rules by what they conclude, where somebody made that table before.
    """

    def __init__(
        self,
        vocabulary: Vocabulary,
        rules: Mapping[str, Rule],
        facts: Mapping[Statement, Fact],
        computations: Computations,
        concluding: RulesFor | None = None,
    ) -> None:
        self.vocabulary, self.rules, self.computations = vocabulary, rules, computations
        self.facts = facts if isinstance(facts, Facts) else Facts(facts)
        self._accepted: set[int] = set()
        self._kept: list[Proof] = []  # keeps accepted proofs alive, so that their identities stay theirs
        self._search = BackwardSearch(vocabulary, concluding or rules_for(rules.values()), self.facts)

    def fault(self, proof: Proof) -> str | None:
        """What is wrong with a proof, or ``None`` if it is right."""
        # A walk with a list, since a proof may be deeper than Python's stack. A node is left after its premises.
        work, above = [(proof, False)], dict[Statement, None]()
        while work:
            here, leaving = work.pop()
            if leaving:
                del above[here.statement]
                self._accepted.add(id(here))
                self._kept.append(here)
            elif id(here) not in self._accepted:
                if here.statement in above:
                    return f"{here.statement} rests on itself."
                fault = self._fact_fault(here) if here.rule is None else next(self._rule_faults(here), None)
                if fault is not None:
                    return fault
                above[here.statement] = None
                work += [(here, True), *((premise, False) for premise in reversed(here.premises))]
        return None

    def _fact_fault(self, proof: Proof) -> str | None:
        if proof.bindings or proof.premises or proof.compared or proof.absent:
            return f"{proof.statement} is given as a fact and yet has a derivation."
        held = self.facts.get(proof.statement)
        if held is None:
            return f"{proof.statement} is not among the facts."
        if held != proof.fact:
            return f"{proof.statement} rests on something else than is said."
        if held.computation is not None:
            function = self.computations.get(held.computation.function)
            if function is None or function(held.computation.inputs) != proof.statement.object:
                return f"{proof.statement} is not what {held.computation.function} gives."
        return None

    def _rule_faults(self, proof: Proof) -> Iterator[str]:
        """What is wrong with one step; a later check may rely on the earlier ones, so only the first counts."""
        rule = self.rules.get(proof.rule or "")
        if rule is None or proof.fact is not None:
            yield f"There is no rule {proof.rule!r}, or a derived statement is given as a fact."
            return
        bindings = dict(proof.bindings)
        variables = {name for sentence in (*rule.conditions, *rule.conclusions) for name in sentence.variables()}
        if set(bindings) != variables or len(bindings) != len(proof.bindings):
            yield f"The bindings are not those of rule {rule.id}."
        if proof.statement not in [conclusion.filled(bindings) for conclusion in rule.conclusions]:
            yield f"{proof.statement} is not what rule {rule.id} concludes."
        if len(proof.premises) != len(rule.conditions):
            yield f"Rule {rule.id} has {len(rule.conditions)} conditions, the proof {len(proof.premises)}."
        if len(proof.compared) != sum(condition.comparison != "is" for condition in rule.conditions):
            yield f"The comparisons are not those that rule {rule.id} makes."
        compared = iter(proof.compared)
        for condition, premise in zip(rule.conditions, proof.premises, strict=True):
            wanted = condition.filled(bindings)
            if condition.comparison != "is":
                yield from self._comparison_faults(wanted, premise.statement, next(compared), uncertain=rule.safety)
            elif premise.statement != wanted:
                yield f"{premise.statement} is not the condition {wanted}."
        if proof.absent != tuple(exception.filled(bindings) for exception in rule.exceptions):
            yield f"The absent statements are not those of rule {rule.id}."
        yield from (f"{exception} is said to be absent and yet holds." for exception in proof.absent if self._search.holds(exception))

    def _comparison_faults(self, wanted: Statement, held: Statement, made: Compared, *, uncertain: bool) -> Iterator[str]:
        if held.comparison != "is" or (held.predicate, held.subject) != (wanted.predicate, wanted.subject):
            yield f"{held} is not what {wanted} compares."
        if not isinstance(held.object, Quantity) or not isinstance(wanted.object, Quantity):
            yield f"{wanted} does not compare two quantities."
            return
        if (made.predicate, made.left, made.operator, made.right) != (wanted.predicate, held.object, wanted.comparison, wanted.object):
            yield f"The comparison of {wanted} is not the one recorded."
        outcome = self._search.compares(wanted.predicate, held.object, wanted.comparison, wanted.object)
        if made.outcome != {True: "holds", None: "unknown"}.get(outcome) or (outcome is None and not uncertain):
            yield f"{wanted} does not hold."
