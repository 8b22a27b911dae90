"""From the log of firings to a proof, opened only when somebody asks."""

from finishing_kg.engine.compare import compare
from finishing_kg.engine.evaluate import Firing, Model
from finishing_kg.engine.join import Join
from finishing_kg.engine.names import Value
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Compared, Proof
from finishing_kg.statements import Statement


class Prover:
    """Builds proofs from a model; each statement's proof is built once and shared."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self._proofs: dict[Statement, Proof] = {}
        self._firing: dict[Statement, Firing] = {}

    def proof(self, statement: Statement) -> Proof:
        """The proof of a statement that holds.

        Of several derivations the one by the first rule, in the order of their ids, is taken; what was given
        needs no derivation.

        Raises:
            KeyError: the statement does not hold.
        """
        work = [statement]  # and not recursion: a chain of steps may be longer than Python's stack
        while work:
            here = work[-1]
            if here in self._proofs:
                work.pop()
            elif (fact := self.model.facts.get(here)) is not None:
                self._proofs[here] = Proof(here, fact=fact)
            else:
                firing = self._chosen(here)
                if waiting := [premise for premise in self.premises(firing) if premise not in self._proofs]:
                    work += waiting
                else:
                    self._proofs[here] = self._from(here, firing)
        return self._proofs[statement]

    def proofs(self, statement: Statement) -> list[Proof]:
        """One proof for each rule that derives a statement, in the order of the rules' ids; of a given fact its one leaf.

        Raises:
            KeyError: the statement does not hold.
        """
        if statement in self.model.facts:
            return [self.proof(statement)]
        best: dict[int, Firing] = {}
        for firing in self._sound(statement):
            best.setdefault(firing[0], firing)
        return [self._from(statement, firing) for firing in best.values()]

    def proof_with(self, statement: Statement, variable: str, value: str) -> Proof:
        """The proof of a derived statement by a firing in which a variable stands for a given thing.

        Raises:
            KeyError: no such firing.
        """
        for firing in self._sound(statement):
            if _bindings(self._join(firing).names, firing[1]).get(variable) == value:
                return self._from(statement, firing)
        raise KeyError((statement, variable, value))

    def _sound(self, statement: Statement) -> list[Firing]:
        """The firings that do not rest on the statement itself, in a fixed order.

        Raises:
            KeyError: the statement does not hold.
        """
        found, rank = self.model.firings(statement), self.model.rank
        if not found:
            raise KeyError(statement)
        if len(found) == 1:
            return found
        own = rank(statement)
        return [firing for firing in found if all(rank(premise) < own for premise in self.premises(firing))]

    def premises(self, firing: Firing) -> list[Statement]:
        """The statements that a firing rests on, in the order of the rule's conditions."""
        join, slots = self._join(firing), firing[1]
        bindings = _bindings(join.names, slots)
        made = []
        for condition, held in zip(join.rule.conditions, join.held, strict=True):
            filled = condition.filled(bindings)
            made.append(filled if held < 0 else Statement(filled.predicate, filled.subject, slots[held]))
        return made

    def _join(self, firing: Firing) -> Join:
        return self.model.layer.program.join(firing[0])

    def _chosen(self, statement: Statement) -> Firing:
        found = self._firing.get(statement)
        if found is None:
            found = self._firing[statement] = self._sound(statement)[0]
        return found

    def _from(self, statement: Statement, firing: Firing) -> Proof:
        join, slots = self._join(firing), firing[1]
        bindings = _bindings(join.names, slots)
        premises = self.premises(firing)
        compared = []
        for condition, premise in zip(join.rule.conditions, premises, strict=True):
            if condition.comparison != "is":
                compared.append(self._compared(condition.filled(bindings), premise))
        variables = {name for sentence in (*join.rule.conditions, *join.rule.conclusions) for name in sentence.variables()}
        return Proof(
            statement,
            rule=join.rule.id,
            bindings=tuple((name, value) for name, value in sorted(bindings.items()) if name in variables),
            premises=tuple(self.proof(premise) for premise in premises),
            compared=tuple(compared),
            absent=tuple(exception.filled(bindings) for exception in join.rule.exceptions),
        )

    def _compared(self, wanted: Statement, premise: Statement) -> Compared:
        left, right = premise.object, wanted.object
        assert isinstance(left, Quantity) and isinstance(right, Quantity)
        phrase = self.model.vocabulary.phrases[wanted.predicate]
        outcome = compare(phrase, self.model.vocabulary.units, left, wanted.comparison, right)
        return Compared(wanted.predicate, left, wanted.comparison, right, "unknown" if outcome is None else "holds")


def _bindings(names: tuple[str, ...], slots: tuple[Value, ...]) -> dict[str, str | Quantity]:
    return {name: value for name, value in zip(names, slots, strict=True) if value is not None}
