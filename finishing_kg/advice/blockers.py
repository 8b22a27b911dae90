"""What keeps something out: the nearest rule instance that would have let it in, or that ruled it out, and its condition that blocks."""

from collections.abc import Sequence
from typing import Literal

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.contract import Blocker
from finishing_kg.advice.findings import finding_proof
from finishing_kg.advice.levels import compared_words
from finishing_kg.advice.reasons import compared_note
from finishing_kg.advice.why import as_first_steps, cautioned, nearest_rule, options_with, plainest
from finishing_kg.engine import Knowledge, Model, Prover, Shortfall, compare
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Proof
from finishing_kg.rules import Rule
from finishing_kg.statements import Language, Statement
from finishing_kg.vocabulary import Name

Kind = Literal["missing", "false comparison", "unless", "overridden", "unknown", "speaks against"]
SPEAKING_FOR = ("isProposedAsPreferredBy", "isProposedAsSuitingBy")


def blocker_of(advice: Advice, about: Sequence[Name]) -> Blocker | None:
    """What keeps everything that uses the things named out of the work; ``None`` where nothing does, or no method uses them.

    The blocker is that of the option which came nearest to being used.
    """
    options = options_with(advice, about) if advice.case.finish else []
    if not options:
        return None
    model = advice.model
    if offered := [option for option in options if model.holds("isOffered", option)]:
        return _of_offered(advice, offered)
    if ruled_out := [option for option in options if model.holds("isRuledOut", option)]:
        rule, option = plainest(advice, ruled_out)
        return _by_rule(advice.knowledge.language, "unless", advice.knowledge.base.by_id[rule], Statement("isRuledOut", option), option)
    if freed := next((found for option in options if (found := _overridden(advice, option))), None):
        return freed
    nearest = nearest_rule(advice, options)
    return of_shortfall(advice.knowledge.language, model, nearest, option_of(advice, nearest, options))


def option_of(advice: Advice, nearest: Shortfall, options: Sequence[str]) -> str:
    """Which of some options came as near as the shortfall says."""
    return next(option for option in options if nearest_rule(advice, [option]) == nearest)


def _of_offered(advice: Advice, offered: list[str]) -> Blocker | None:
    """What speaks against things that could be used as such: the surface as it is, or a rule that discourages them."""
    model, language, rules = advice.model, advice.knowledge.language, advice.knowledge.base.by_id
    if all(model.holds("isDiscouraged", option) for option in offered):
        option = min(offered, key=lambda each: (-len(model.objects("isProposedAsPreferredBy", each)), each))
        standing = [str(rule) for rule in model.objects("isProposedAsDiscouragedBy", option) if not model.holds("isFreedFrom", option, rule)]
        rule = rules[min(standing).removeprefix("rule/")]
        return _by_rule(language, "speaks against", rule, Statement("isDiscouraged", option), option)
    if advice.case.surface is None:
        return None
    open_to = [option for option in offered if not model.holds("isDiscouraged", option)]
    judged = as_first_steps(advice, open_to)
    faults = [cautioned(judged.model, steps[0]) for steps in judged.routes]
    if None in faults:
        return None
    fault = faults[0]
    assert fault is not None
    return objection_to(advice.knowledge, Prover(judged.model).proof(fault), language.names.label(open_to[0]))


def objection_to(knowledge: Knowledge, proof: Proof, about: str) -> Blocker:
    """What a rule holds against a judged step, as the exception that keeps it from being in order, with what the rule compared."""
    proof = finding_proof(knowledge, proof)
    rule, sentence = knowledge.base.by_id[str(proof.rule)], knowledge.language.print(proof.statement)
    if not proof.compared:
        return Blocker(kind="unless", rule=rule.id, statement=sentence, about=about, text=f"Rule {rule.id} stands in the way: {rule.because}")
    made = proof.compared[0]
    wanted = Statement(made.predicate, str(proof.statement.subject), made.right, made.operator)
    note = compared_note(knowledge.vocabulary, made.left, wanted, made.outcome)
    kind: Kind = "unless" if made.outcome == "holds" else "unknown"
    text = f"Rule {rule.id} stands in the way: {rule.because} {_upper(compared_words(note))}."
    return Blocker(kind=kind, rule=rule.id, statement=sentence, about=about, comparison=note, text=text)


def _overridden(advice: Advice, option: str) -> Blocker | None:
    """That a rule speaks for an option and another, which overrides it, applies as well."""
    model, language, rules = advice.model, advice.knowledge.language, advice.knowledge.base.by_id
    for predicate in SPEAKING_FOR:
        for proposed in map(str, model.objects(predicate, option)):
            if model.holds("isFreedFrom", option, proposed):
                rule = rules[proposed.removeprefix("rule/")]
                return _by_rule(language, "overridden", rule, Statement("isFreedFrom", option, proposed), option)
    return None


def _by_rule(language: Language, kind: Kind, rule: Rule, statement: Statement, option: str) -> Blocker:
    sentence = language.print(statement)
    words = {
        "unless": f"Rule {rule.id} stands in the way: {rule.because}",
        "overridden": f"Rule {rule.id} speaks for it, and a rule that overrides it applies as well: {sentence}.",
        "speaks against": f"Rule {rule.id} speaks against it: {rule.because}",
    }[kind]
    return Blocker(kind=kind, rule=rule.id, statement=sentence, about=language.names.label(option), text=words)


def of_shortfall(language: Language, model: Model, lacked: Shortfall, option: str) -> Blocker:
    """What a rule lacked: a statement that nothing says, a comparison that does not come out, or an exception that holds."""
    sentence, about = language.print(lacked.lacking), language.names.label(option)
    if lacked.blocked:
        text = f"Rule {lacked.rule.id} would speak for it, unless this holds, and it does: {sentence}."
        return Blocker(kind="unless", rule=lacked.rule.id, statement=sentence, about=about, text=text)
    wanted = lacked.lacking
    held = [value for value in model.objects(wanted.predicate, str(wanted.subject)) if isinstance(value, Quantity)]
    if wanted.comparison != "is" and isinstance(wanted.object, Quantity) and held:
        phrase, units = model.vocabulary.phrases[wanted.predicate], model.vocabulary.units
        outcome = compare(phrase, units, held[0], wanted.comparison, wanted.object)
        note = compared_note(model.vocabulary, held[0], wanted, "unknown" if outcome is None else "fails")
        kind: Kind = "unknown" if outcome is None else "false comparison"
        text = f"Rule {lacked.rule.id} would speak for it if {sentence}; {compared_words(note)}."
        return Blocker(kind=kind, rule=lacked.rule.id, statement=sentence, about=about, comparison=note, text=text)
    text = f"Rule {lacked.rule.id} would speak for it, and nothing here says that {sentence}."
    return Blocker(kind="missing", rule=lacked.rule.id, statement=sentence, about=about, text=text)


def _upper(words: str) -> str:
    return words[0].upper() + words[1:]
