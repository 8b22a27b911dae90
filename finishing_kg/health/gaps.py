"""Questions to which an answer is owed and no rule has one: combinations of what advice distinguishes for which nothing is proposed."""

from collections.abc import Iterator
from itertools import product

from finishing_kg.health.fault import Fault
from finishing_kg.health.pairs import Proposal, proposals
from finishing_kg.health.solve import Search
from finishing_kg.health.state import Undecided
from finishing_kg.health.supply import Supply
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Variable

_FEWEST = 2  # rules of advice on a subject before it owes an answer to every question


def gaps(supply: Supply) -> Iterator[Fault]:
    """Combinations of values for which no rule of advice proposes anything.

    Advice is what speaks for an option; what speaks against one owes nobody an answer. A question is asked with the
    relations that are said once and that no maker can change at the bench, such as the form of the piece and the stage of
    the work: what can be changed is the answer. Only those that rules of advice look at count, and of their values those
    that no rule tells apart are taken together.
    """
    advice = [proposal for proposal in proposals(supply) if not supply.vocabulary.phrases[proposal.verdict].outweighs]
    if len({proposal.rule.id for proposal in advice}) < _FEWEST:
        return
    asked = _asked(supply, advice)
    groups = [_groups(supply, advice, predicate) for predicate in asked]
    for combination in product(*groups):
        question = {predicate: values[0] for predicate, values in zip(asked, combination, strict=True)}
        if not any(_answers(supply, proposal, question) for proposal in advice):
            yield _gap(supply, question, combination)


def _asked(supply: Supply, advice: list[Proposal]) -> list[str]:
    """The relations that a question is asked with."""
    looked_at = {condition.predicate for proposal in advice for condition in proposal.rule.conditions}
    phrases = [supply.vocabulary.phrases[predicate] for predicate in sorted(looked_at)]
    return [p.id for p in phrases if p.given and p.single and p.shape == "relation" and not p.changeable and not _joins_steps(supply, p.id)]


def _joins_steps(supply: Supply, predicate: str) -> bool:
    """Whether a relation leads to something that a question makes rather than to a known thing."""
    phrase = supply.vocabulary.phrases[predicate]
    return not any(supply.vocabulary.fits(name.kind, phrase.objects) for name in supply.vocabulary.names.values())


def _groups(supply: Supply, advice: list[Proposal], predicate: str) -> list[tuple[str, ...]]:
    """The values that a relation can lead to, those together that no rule of advice tells apart."""
    objects = supply.vocabulary.phrases[predicate].objects
    sentences = [s for proposal in advice for s in (*proposal.rule.conditions, *proposal.rule.exceptions)]
    named = {term for s in sentences for term in (s.subject, s.object) if isinstance(term, str)}
    looked_at = sorted({s.predicate for s in sentences})
    groups: dict[object, list[str]] = {}
    for name in supply.vocabulary.names.values():
        if supply.vocabulary.fits(name.kind, objects):
            apart = name.id if name.id in named else ""
            of = tuple((p, str(f.object)) for p in looked_at for f in supply.held_like(Statement(p, name.id)))
            to = tuple((p, str(f.subject)) for p in looked_at for f in supply.held_like(Statement(p, Variable("any"), name.id)))
            groups.setdefault((apart, of, to), []).append(name.id)
    return [tuple(group) for group in groups.values()]


def _answers(supply: Supply, proposal: Proposal, question: dict[str, str]) -> bool:
    """Whether a rule of advice can speak for some option under a question; an undecided search counts as yes."""
    rule = proposal.rule
    if _said_otherwise(rule, question):
        return False
    try:
        search = Search(supply, may_say=frozenset({*question, *_parts(supply)}))
        return search.case(rule.conditions, rule.exceptions, safety=rule.safety, more=_facts(supply, proposal, question)) is not None
    except Undecided:
        return True


def _parts(supply: Supply) -> list[str]:
    """What makes an option: it is found for whoever asks, while what the maker has or measured is not known."""
    return [phrase.id for phrase in supply.vocabulary.phrases.values() if "option" in phrase.given]


def _said_otherwise(rule: Rule, question: dict[str, str]) -> bool:
    """Whether a rule names another value than the question does: quick, and enough to leave it out."""
    return any(isinstance(c.object, str) and question.get(c.predicate, c.object) != c.object for c in rule.conditions)


def _facts(supply: Supply, proposal: Proposal, question: dict[str, str]) -> list[Statement]:
    """The question as sentences about the piece and the option that a rule judges."""
    facts = []
    for predicate, value in question.items():
        given = supply.vocabulary.phrases[predicate].given
        about: str | Variable = proposal.about
        if not supply.vocabulary.fits("step", given):
            about = next(name.id for kind in given for name in supply.vocabulary.things(kind))
        facts.append(Statement(predicate, about, value))
    return facts


def _gap(supply: Supply, question: dict[str, str], combination: tuple[tuple[str, ...], ...]) -> Fault:
    names = supply.language.names
    label = names.label
    parts = [f"{supply.vocabulary.phrases[p].words} {' or '.join(map(label, v))}" for p, v in zip(question, combination, strict=True)]
    about = ", ".join(question.values())
    step = Proposal(supply.base.rules[0], "", "step/1")
    text = f"No rule proposes anything where this is asked: {', '.join(parts)}. Write a rule, or waive it if there is no way."
    return Fault("gap", (), about, text, tuple(_facts(supply, step, question)), "nothing speaks for any option")
