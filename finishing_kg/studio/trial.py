"""A change to the rules, held against what the engine was asked on the way to the answers of today."""

from collections.abc import Iterable, Iterator
from functools import cached_property

from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.casebook.told import Asked, Told, Turn
from finishing_kg.engine import Ground, Knowledge, Model, Prover
from finishing_kg.engine.firing import would_conclude, would_fire
from finishing_kg.proofs import Fact, Proof
from finishing_kg.routes import PARTS
from finishing_kg.routes.options import Options
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Variable, option_parts
from finishing_kg.statements.plain import statement_from_plain
from finishing_kg.studio.apart import Apart, newly_told_apart
from finishing_kg.vocabulary import Basis, Vocabulary

_GIVEN = Fact(Basis("you said"))
_MOST = 1000  # conclusions of one rule to look through for the one that matters
_LINES = 12  # of a proof; what is longer is read with `why`


class Trial:
    """A change from one knowledge to another.

    Attributes:
        before, after: what is held now, and what would be.
        gone, come: rules of the one that are not the same in the other; a rule that is changed is among both.
        same_things: whether both speak of the same things.
    """

    def __init__(self, before: Knowledge, after: Knowledge) -> None:
        self.before, self.after = before.unheard, after.unheard
        self.gone, self.come = _without(before.base.rules, after.base.rules), _without(after.base.rules, before.base.rules)
        self.same_things = speak_alike(before, after)
        self._shared: dict[tuple[str, ...], Model] = {}
        self._as_before: dict[int, bool] = {}  # by the identity of an evaluation in the library, which outlives this
        self._concluded = {conclusion.predicate for rule in (*self.gone, *self.come) for conclusion in rule.conclusions}

    @cached_property
    def rules(self) -> tuple[str, ...]:
        """Ids of the rules that come, go or are changed."""
        return tuple(sorted({rule.id for rule in (*self.gone, *self.come)}))

    def changing(self, told: Told) -> list[bool]:
        """For each turn of a case whether it must be said again; if not, and the conversation stands as it did, its answer is the same."""
        return [self._may_change(turn) for turn in told.turns]

    def _may_change(self, turn: Turn) -> bool:
        if not self.same_things:
            return True
        if not self.rules:
            return False
        if any(rule.id in turn.fired for rule in self.gone) or turn.looks_at(self._concluded):
            return True
        if turn.known is not None and any(self._may_help(turn, slot) for slot in self._apart.keys() - turn.known):
            return True
        return not all(map(self.is_as_before, turn.asked))

    def is_as_before(self, asked: Asked) -> bool:
        """Whether an evaluation on the way to an answer of today comes out as it did."""
        found = self._as_before.get(id(asked))
        if found is None:
            found = self._as_before[id(asked)] = self.same_things and not self._fired_then(asked) and not self._may_fire_now(asked)
        return found

    def concluded(self, asked: Asked, rule: Rule, *, goes: bool) -> list[Statement]:
        """What a rule that comes would conclude in an evaluation, or what one that goes concluded; nothing where it does not fire."""
        if not (self._fired(asked, rule) if goes else self._may_fire(asked, rule)):
            return []
        return would_conclude(self._seen_by(rule, asked), rule)

    def _fired_then(self, asked: Asked) -> bool:
        return any(self._fired(asked, rule) for rule in self.gone)

    def _fired(self, asked: Asked, rule: Rule) -> bool:
        return rule.id in asked.fired or rule.id in self._of_all(asked.upon).fired()

    def _may_fire_now(self, asked: Asked) -> bool:
        return any(self._may_fire(asked, rule) for rule in self.come)

    @cached_property
    def _apart(self) -> Apart:
        return newly_told_apart(self.before, self.after)

    def _may_help(self, turn: Turn, slot: str) -> bool:
        """Whether it may help otherwise than before to know a part of which other values are told apart.

        It does not where it did not help, so that all values that could be told apart were tried, and no rule that comes fires if one of
        those that it names stands in place of one that was tried.
        """
        values, predicate = self._apart[slot], PARTS.get(slot)
        tried = [asked for asked in turn.asked if any(fact[0] == predicate for fact in asked.facts)]
        if self.gone or None in values or not tried or slot in turn.asks_for:
            return True
        others = (asked.instead(predicate, value) for asked in tried for value in values if value is not None)
        return any(self._may_fire(other, rule, brings_more=True) for other in others for rule in self.come)

    def _may_fire(self, asked: Asked, rule: Rule, *, brings_more: bool = False) -> bool:
        """Whether a rule would fire in an evaluation.

        Args:
            asked: the evaluation.
            rule: that comes.
            brings_more: whether the evaluation may bring about more than is marked, by rules.
        """
        shared = self._of_all(asked.upon)
        concluded = shared.layer.program.concluding if brings_more else {}
        if not all(condition.predicate in concluded or _is_met(condition, asked, shared) for condition in rule.conditions):
            return False
        return would_fire(self._seen_by(rule, asked, brings_more=brings_more), rule)

    def _seen_by(self, rule: Rule, asked: Asked, *, brings_more: bool = False) -> Model:
        """An evaluation as far as a rule looks at it.

        Where the rule looks at nothing that follows from the question, what is given says it all, and nothing need be derived.
        """
        concluding = self._of_all(asked.upon).layer.program.concluding
        looks_at = {sentence.predicate for sentence in (*rule.conditions, *rule.exceptions)}
        if not any(predicate in concluding and (brings_more or predicate in asked.marks) for predicate in looks_at):
            facts, upon = _question(self.before, asked)
            if (given := self.before.unheard.as_given(facts, upon)) is not None:
                return given
        return evaluated(self.before, asked)

    def _of_all(self, upon: tuple[str, ...]) -> Model:
        """What holds whatever is asked upon some facts that questions share."""
        found = self._shared.get(upon)
        if found is None:
            found = self._shared[upon] = shared_by(self.before, upon)
        return found

    def fired(self, told: Told) -> Iterator[tuple[Model, Rule]]:
        """Each rule that comes and fires on the way to an answer, with the model it fires in."""
        if any(rule.id in told.fired for rule in self.come):
            yield from self._fired_in(evaluated(self.after, asked) for asked in told.asked)

    def _fired_in(self, models: Iterable[Model]) -> Iterator[tuple[Model, Rule]]:
        come = {rule.id: rule for rule in self.come}
        for model in models:
            for name in sorted(model.fired() & come.keys()):
                yield model, come[name]

    def proof(self, models: Iterable[Model], steps: Iterable[str] = ()) -> list[str]:
        """The reasoning by which a rule that comes has a say in an answer, a line a reason; none where no such rule fires.

        Args:
            models: the evaluations on the way to the answer.
            steps: mineral, hold and carrier of steps that are looked at before others, each as ``mineral hold carrier``.
        """
        meant = set(steps)
        found = [(model, rule, made) for model, rule in self._fired_in(models) for made in conclusions(model, rule)[:_MOST]]
        if not found:
            return []
        return _lines(self.after, *min(found, key=lambda each: self._method(each[2]) not in meant))

    def _method(self, statement: Statement) -> str:
        """The method of the option or of the step that a statement is about, in the words of an answer."""
        names, subject = self.after.vocabulary.names, str(statement.subject)
        parts = option_parts(subject)[:3] if subject.startswith("option/") else ()
        return " ".join(names[part].notation for part in parts)


def speak_alike(one: Knowledge, other: Knowledge) -> bool:
    """Whether two pieces of knowledge hold the same of the same things; of the rules nothing is asked."""
    first, second = one.vocabulary, other.vocabulary
    return first is second or (_content_of(first), first.units.by_symbol) == (_content_of(second), second.units.by_symbol)


def _content_of(vocabulary: Vocabulary) -> tuple[object, ...]:
    """What a vocabulary is made of, apart from its units and what was compiled of it."""
    return vocabulary.names, vocabulary.phrases, vocabulary.parents, vocabulary.claims, vocabulary.basis_order


def _without(these: Iterable[Rule], others: Iterable[Rule]) -> list[Rule]:
    """The rules that are not the same among the others; where they stand in a file does not count."""
    known = {rule.id: _content(rule) for rule in others}
    return [rule for rule in these if known.get(rule.id) != _content(rule)]


def _content(rule: Rule) -> tuple[object, ...]:
    return rule.subject, rule.conditions, rule.exceptions, rule.conclusions, rule.because, rule.basis, rule.overrides, rule.safety


def _is_met(condition: Statement, asked: Asked, shared: Model) -> bool:
    """Whether a condition can hold of anything: quick, and enough to rule most rules out."""
    own, pairs = asked.marks.get(condition.predicate), shared.layer.pairs(condition.predicate)
    if condition.comparison != "is" or isinstance(condition.object, Variable):
        return own is not None or bool(len(pairs))
    number = shared.layer.names.find(condition.object)
    return (own is not None and condition.object in own) or (number is not None and bool(pairs.subjects(number)))


def evaluated(knowledge: Knowledge, asked: Asked) -> Model:
    """All that follows in an evaluation on the way to an answer."""
    return knowledge.unheard.evaluate(*_question(knowledge, asked))


def shared_by(knowledge: Knowledge, upon: tuple[str, ...]) -> Model:
    """What holds in all evaluations upon some facts that questions share."""
    nothing = Asked(upon, (), {})
    given = knowledge.unheard.as_given(*_question(knowledge, nothing))
    return given if given is not None else evaluated(knowledge, nothing)


def _question(knowledge: Knowledge, asked: Asked) -> tuple[dict[Statement, Fact], Ground | None]:
    upon = Ground(asked.upon, lambda: Options(knowledge.vocabulary, asked.upon[1:])) if asked.upon else None
    return dict.fromkeys(map(statement_from_plain, asked.facts), _GIVEN), upon


def conclusions(model: Model, rule: Rule) -> list[Statement]:
    """What a rule concludes in a model, in a fixed order."""
    index = next(place for place, each in enumerate(model.base.rules) if each.id == rule.id)
    found: set[Statement] = set()
    for conclusion in rule.conclusions:
        value = None if isinstance(conclusion.object, Variable) else conclusion.object
        if isinstance(conclusion.object, Variable):
            pairs = [(subject, obj) for subject in model.every_subject(conclusion.predicate) for obj in model.objects(conclusion.predicate, subject)]
        else:
            pairs = [(subject, value) for subject in model.subjects(conclusion.predicate, value)]
        for subject, obj in pairs:
            if isinstance(conclusion.subject, Variable) or conclusion.subject == subject:
                statement = Statement(conclusion.predicate, subject, obj)
                if any(place == index for place, _ in model.firings(statement)):
                    found.add(statement)
    return sorted(found, key=str)


def _lines(knowledge: Knowledge, model: Model, rule: Rule, statement: Statement) -> list[str]:
    reasons = Reasons(knowledge, model, ReasonBook())
    proof = next((each for each in Prover(model).proofs(statement) if each.rule == rule.id), reasons.prover.proof(statement))
    reasons.add(proof)  # nothing is shown that the checker has not accepted
    lines: list[str] = []
    _tell(knowledge, proof, 0, lines)
    return lines[:_LINES] + (["…"] if len(lines) > _LINES else [])


def _tell(knowledge: Knowledge, proof: Proof, depth: int, lines: list[str]) -> None:
    said = knowledge.language.print(proof.statement)
    why = f"rule {proof.rule}: {knowledge.base.by_id[proof.rule].because}" if proof.rule else proof.fact.basis.kind if proof.fact else ""
    lines.append(f"{'  ' * depth}{said} ({why})")
    for premise in proof.premises:
        _tell(knowledge, premise, depth + 1, lines)
