"""Proofs as the numbered reasons of an answer; nothing is shown that the proof checker has not accepted."""

from functools import cached_property
from typing import Literal

from finishing_kg.advice.contract import BasisNote, Compared, ComputedBy, Reason
from finishing_kg.engine import Knowledge, Model, Prover, margin
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Compared as ComparedValues
from finishing_kg.proofs import Proof, ProofChecker
from finishing_kg.proofs.backward import RulesFor, rules_for
from finishing_kg.quantities import computations
from finishing_kg.quantities.computations import Computation
from finishing_kg.rules import RuleBase
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Vocabulary


def _functions(vocabulary: Vocabulary) -> dict[str, Computation]:
    return computations(vocabulary.units)


def _concluding(base: RuleBase) -> RulesFor:
    return rules_for(base.rules)


class ProofRejected(Exception):
    """The proof checker found fault with a proof: a defect of the program, never of the question."""


class Unreasoned(Exception):
    """Somebody looks at the reasons of an answer for which none were made, or kept."""


class Grounds:
    """One judged model, with what proves and what checks about it."""

    def __init__(self, knowledge: Knowledge, model: Model) -> None:
        self.knowledge, self.model = knowledge, model
        self.prover = Prover(model)

    @cached_property
    def checker(self) -> ProofChecker:
        """Checks proofs about the model."""
        vocabulary = self.knowledge.vocabulary
        base = self.knowledge.base
        return ProofChecker(vocabulary, base.by_id, self.model.facts, vocabulary.derived(_functions), base.derived(_concluding))


class Reasons:
    """Collects the proofs of one judged model and numbers them as an answer lists them."""

    def __init__(self, knowledge: Knowledge, model: Model, book: "ReasonBook") -> None:
        self.knowledge, self.model, self.book = knowledge, model, book
        self.grounds = Grounds(knowledge, model)
        self.prover = self.grounds.prover

    def of(self, statement: Statement) -> str:
        """The id of the reason for a statement that holds."""
        return self.add(self.prover.proof(statement)) if self.knowledge.reasoning else self.book.left_out()

    def of_firing(self, statement: Statement, variable: str, value: str) -> str:
        """The id of the reason for a statement by a firing in which a variable stands for a value."""
        return self.add(self.prover.proof_with(statement, variable, value)) if self.knowledge.reasoning else self.book.left_out()

    def add(self, proof: Proof) -> str:
        """The id of the reason that a proof makes.

        Raises:
            ProofRejected: the checker does not accept it.
        """
        if not self.knowledge.reasoning:
            return self.book.left_out()
        if self.knowledge.checking and (fault := self.grounds.checker.fault(proof)):
            raise ProofRejected(f"{self.knowledge.language.print(proof.statement)}: {fault}")
        return self._add(proof)

    def _add(self, proof: Proof) -> str:
        found = self.book.known(proof)
        if found is not None:
            return found
        rid = self.book.reserve(proof, self.grounds)
        below = [self._add(premise) for premise in proof.premises]
        if proof.fact and proof.fact.computation:
            below += [self._add(self.prover.proof(source)) for source in proof.fact.computation.sources]
        self.book.fill(rid, self._reason(proof, list(dict.fromkeys(below))))
        return rid

    def _reason(self, proof: Proof, below: list[str]) -> Reason:
        language = self.knowledge.language
        rule = self.knowledge.base.by_id[proof.rule] if proof.rule else None
        basis = rule.basis if rule else proof.fact.basis if proof.fact else None
        assert basis is not None
        computation = proof.fact.computation if proof.fact else None
        freed = self.model.objects("isFreedFrom", str(proof.statement.subject)) if rule and rule.subject == "verdicts" else []
        return Reason(
            statement=language.print(proof.statement),
            rule=rule.id if rule else None,
            because=rule.because if rule else (basis.locator if basis.kind == "assumed" else None),
            bindings={name: language.names.label(value) if isinstance(value, str) else str(value) for name, value in proof.bindings},
            comparison=self._compared(proof.compared[0]) if proof.compared else None,
            computed=ComputedBy(function=computation.function, inputs=[str(q) for q in computation.inputs], result=str(proof.statement.object))
            if computation
            else None,
            basis=BasisNote(kind=basis.kind, source=basis.source, locator=basis.locator),
            from_=below,
            absent=[language.print(statement) for statement in proof.absent],
            overridden=[str(value).removeprefix("rule/") for value in freed],
            further_comparisons=[self._compared(each) for each in proof.compared[1:]],
        )

    def _compared(self, made: ComparedValues) -> Compared:
        wanted = Statement(made.predicate, "", made.right, made.operator)
        return compared_note(self.knowledge.vocabulary, made.left, wanted, made.outcome)


def compared_note(vocabulary: Vocabulary, left: Quantity, wanted: Statement, outcome: Literal["holds", "fails", "unknown"]) -> Compared:
    """A comparison with both values as written, both in the property's common unit, and the margin between them.

    Args:
        vocabulary: for the units.
        left: the value that is held.
        wanted: the comparison, as the rule's condition makes it.
        outcome: how it came out.
    """
    right = wanted.object
    assert isinstance(right, Quantity)
    phrase, units = vocabulary.phrases[wanted.predicate], vocabulary.units
    return Compared(
        left=str(left),
        operator=wanted.comparison,
        right=str(right),
        left_common=str(units.convert(left, phrase.units[0])),
        right_common=str(units.convert(right, phrase.units[0])),
        margin=str(margin(phrase, units, left, right)),
        outcome=outcome,
    )


class ReasonBook:
    """The reasons of one answer, numbered in the order in which a walk from its roots meets them.

    Args:
        upon: the reasons that the answer has already, about another model; they are in this book too, and numbering goes on from there.
    """

    def __init__(self, upon: "ReasonBook | None" = None) -> None:
        self._reasons: dict[str, Reason] = dict(upon._reasons) if upon is not None else {}
        # A proof is known by its conclusion and the firing it follows by; hashing whole trees would take longer than building them.
        self._ids: dict[tuple[object, ...], str] = {}
        # Not the ``Reasons``, which have this book: a circle would keep an answer that nobody holds.
        self._proved: dict[str, tuple[Grounds, Proof]] = dict(upon._proved) if upon is not None else {}
        self._lacks_some: bool = upon is not None and upon._lacks_some

    @property
    def reasons(self) -> dict[str, Reason]:
        """The reasons by their ids.

        Raises:
            Unreasoned: some were left out.
        """
        self._must_be_whole()
        return self._reasons

    @property
    def proved(self) -> dict[str, tuple[Grounds, Proof]]:
        """By reason its proof, and what it is about.

        Raises:
            Unreasoned: some were left out.
        """
        self._must_be_whole()
        return self._proved

    def _must_be_whole(self) -> None:
        if self._lacks_some:
            raise Unreasoned

    def left_out(self) -> str:
        """What stands for the id of a reason that is not made; from then on nobody may look at any."""
        self._lacks_some = True
        return ""

    def known(self, proof: Proof) -> str | None:
        """The id of a proof that was entered in this book."""
        return self._ids.get((proof.statement, proof.rule, proof.bindings))

    def reserve(self, proof: Proof, grounds: Grounds) -> str:
        """A new id for a proof, before what it rests on gets theirs."""
        rid = f"r{len(self._proved) + 1}"
        self._proved[rid] = (grounds, proof)
        self._ids[proof.statement, proof.rule, proof.bindings] = rid
        return rid

    def fill(self, rid: str, reason: Reason) -> None:
        """Enter a reason under its id."""
        self._reasons[rid] = reason

    def ordered(self) -> dict[str, Reason]:
        """All reasons in the order of their numbers; those that were left out are not among them."""
        return dict(sorted(self._reasons.items(), key=lambda item: int(item[0][1:])))

    def weakest(self, rid: str, order: tuple[str, ...]) -> str | None:
        """The weakest basis at and below a reason; ``None`` where reasons were left out."""
        if self._lacks_some:
            return None
        seen, work, weakest = set[str](), [rid], 0
        while work:
            here = work.pop()
            if here not in seen:
                seen.add(here)
                kind = self._reasons[here].basis.kind
                weakest = max(weakest, order.index(kind) if kind in order else 0)
                work += self._reasons[here].from_
        return order[weakest]
