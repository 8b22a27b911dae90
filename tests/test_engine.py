"""What follows from facts by rules: compared with an evaluator that knows no indexes, plans or rounds."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from decimal import Decimal, Inexact
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import FACT, INVENTED, LAYERS, fact_sets, invented, quantities, rule_sets

from finishing_kg.engine import Ground, Knowledge, Model, Prover, compare, could_follow, evaluate, margin
from finishing_kg.measure import Quantity, Unit, Units, read_quantity
from finishing_kg.proofs import Fact, Facts, ProofChecker
from finishing_kg.routes import Case, options_for
from finishing_kg.rules import NotStratifiable, Rule, load_rules, make_base
from finishing_kg.statements import Comparison, Language, Statement, Variable, option_id
from finishing_kg.vocabulary import Claim, Phrase, Vocabulary

LANGUAGE = Language(invented())
VERDICTS = Path(__file__).parent.parent / "rules" / "verdicts.toml"
Known = dict[str, str | Quantity]


def rule(name: str, conditions: str, then: str, unless: str = "", safety: bool = False) -> Rule:
    """A rule from sentences parted by semicolons."""
    parts = [tuple(LANGUAGE.parse(sentence) for sentence in part.split(";") if sentence) for part in (conditions, unless, then)]
    return Rule(name, "test", "test.toml", 1, *parts, "Because it is so.", FACT.basis, (), safety)


def facts(*sentences: str) -> dict[Statement, Fact]:
    """Facts from sentences."""
    return {LANGUAGE.parse(sentence): FACT for sentence in sentences}


def conclude(rules: list[Rule], *sentences: str) -> Model:
    """All that follows."""
    return evaluate(INVENTED, make_base(rules), facts(*sentences))


def knowing(rules: list[Rule], held: Iterable[Statement]) -> Knowledge:
    """Rules over a vocabulary that holds some statements."""
    claims = tuple(Claim(fact.predicate, str(fact.subject), fact.object, FACT.basis) for fact in held)  # type: ignore[arg-type]
    return Knowledge(replace(INVENTED, claims=claims), LANGUAGE, make_base(rules))


# The evaluator to compare with: it tries every held statement for every condition, again and again.


def _micrometres(value: Quantity, by_middle: bool) -> tuple[Fraction, Fraction]:
    factor = 1000 if value.unit == "mm" else 1
    low, high = (value.mid, value.mid) if by_middle or value.low is None or value.high is None else (value.low, value.high)
    return Fraction(low) * factor, Fraction(high) * factor


def outcome(predicate: str, left: Quantity, operator: Comparison, right: Quantity) -> bool | None:
    """A comparison by trying the ends of both ranges: all pairs, no pair, or some."""
    by_middle = INVENTED.phrases[predicate].by_middle
    pairs = [(a, b) for a in _micrometres(left, by_middle) for b in _micrometres(right, by_middle)]
    found = {{"above": a > b, "below": a < b, "at least": a >= b, "at most": a <= b}[operator] for a, b in pairs}
    return found.pop() if len(found) == 1 else None


def _naive_matches(conditions: tuple[Statement, ...], held: set[Statement], known: Known, safety: bool) -> Iterator[Known]:
    if not conditions:
        yield known
        return
    first, *rest = conditions
    for statement in held:
        if statement.predicate != first.predicate:
            continue
        more, fits = dict(known), True
        slots = [(first.subject, statement.subject)] + ([(first.object, statement.object)] if first.comparison == "is" else [])
        for term, value in slots:
            wanted = more.setdefault(term.name, value) if isinstance(term, Variable) and value is not None else term
            fits = fits and wanted == value
        if fits and first.comparison != "is":
            right = more.get(first.object.name) if isinstance(first.object, Variable) else first.object
            assert isinstance(statement.object, Quantity) and isinstance(right, Quantity)
            result = outcome(first.predicate, statement.object, first.comparison, right)
            fits = bool(result) or (result is None and safety)
        if fits:
            yield from _naive_matches(tuple(rest), held, more, safety)


def naive(rules: list[Rule], given_facts: set[Statement]) -> set[Statement]:
    """Everything that holds."""
    held = set(given_facts)
    for layer in LAYERS[1:]:
        before = -1
        while before != len(held):
            before = len(held)
            for one in rules:
                heads = [conclusion for conclusion in one.conclusions if conclusion.predicate in layer]
                ordered = tuple(sorted(one.conditions, key=lambda condition: condition.comparison != "is")) if heads else ()
                for known in list(_naive_matches(ordered, held, {}, one.safety)) if heads else ():
                    if not any(any(True for _ in _naive_matches((exception,), held, known, False)) for exception in one.exceptions):
                        held |= {head.filled(known) for head in heads}
    return held


@given(rule_sets(), fact_sets())
def test_equals_the_naive_evaluator(rules: list[Rule], given_facts: dict[Statement, Fact]) -> None:
    """The same statements follow as by trying everything."""
    assert evaluate(INVENTED, make_base(rules), given_facts).statements() == naive(rules, set(given_facts))


@given(rule_sets(), fact_sets(), st.randoms(use_true_random=False))
def test_order_does_not_matter(rules: list[Rule], given_facts: dict[Statement, Fact], chance: Random) -> None:
    """Rules and facts in another order give the same statements with the same proofs."""
    first = evaluate(INVENTED, make_base(rules), given_facts)
    mixed_rules, mixed_facts = list(rules), list(given_facts.items())
    chance.shuffle(mixed_rules)
    chance.shuffle(mixed_facts)
    second = evaluate(INVENTED, make_base(mixed_rules), dict(mixed_facts))
    assert first.statements() == second.statements()
    prove, prove_again = Prover(first), Prover(second)
    for statement in first.statements():
        assert prove.proof(statement) == prove_again.proof(statement)
        assert prove.proofs(statement) == prove_again.proofs(statement)


@given(rule_sets(), fact_sets())
def test_every_statement_has_a_proof_that_ends_in_facts(rules: list[Rule], given_facts: dict[Statement, Fact]) -> None:
    """A proof's leaves are given facts, no proof rests on itself, and there is one for each rule at most."""
    model = evaluate(INVENTED, make_base(rules), given_facts)
    prover = Prover(model)
    for statement in model.statements():
        for proof in prover.proofs(statement):
            assert proof.statement == statement
            assert all(node.statement in given_facts for node in proof.walk() if node.rule is None)
            assert not any(node.statement == statement for premise in proof.premises for node in premise.walk())
        names = [proof.rule for proof in prover.proofs(statement)]
        assert len(names) == len(set(names))
        assert prover.proof(statement) == prover.proofs(statement)[0]


@given(rule_sets(), fact_sets(), fact_sets(), fact_sets())
def test_layers_give_what_one_evaluation_gives(
    rules: list[Rule], first: dict[Statement, Fact], second: dict[Statement, Fact], third: dict[Statement, Fact]
) -> None:
    """What is known beforehand, what many questions share, and a question: derived in layers as if all were given at once."""
    knowledge = knowing(rules, first)
    for question in (third, {}, second):
        model = knowledge.evaluate(question, upon=Ground(("shared",), lambda: Facts(second)))
        assert model.statements() == evaluate(INVENTED, make_base(rules), {**first, **second, **question}).statements()
        checker, prover = ProofChecker(INVENTED, model.base.by_id, model.facts, {}), Prover(model)
        for statement in model.statements():
            assert [checker.fault(proof) for proof in prover.proofs(statement) if checker.fault(proof)] == []


def test_the_shipped_rules_are_mostly_derived_beforehand(knowledge: Knowledge) -> None:
    """What a question brings is left open, what the ontology holds is settled, and a question takes nothing of it away."""
    upon, case = options_for(knowledge.vocabulary, "polish"), Case(glass="lead-crystal", form="rim", surface="ground", finish="polish")
    layered = knowledge.evaluate(case.facts(), upon=upon)
    assert layered.layer.depth == 2, "the layers were not used"
    before = {predicate: len(relation) for layer in layered.layer.layers()[:2] for predicate, relation in layer.own.items()}
    whole = evaluate(knowledge.vocabulary, knowledge.base, {**knowledge.facts, **upon.facts(), **case.facts()})
    assert layered.statements() == whole.statements()
    assert {predicate: len(relation) for layer in layered.layer.layers()[:2] for predicate, relation in layer.own.items()} == before


def test_a_question_about_the_world_itself_is_answered(knowledge: Knowledge) -> None:
    """A question may deny what was taken as known: then everything is derived anew, and the next question is as before."""
    plain = knowledge.evaluate({})
    settled = sorted(layered_absences(knowledge))
    assert settled, "no rule rests on the absence of something known, so nothing is tried"
    name = next(iter(knowledge.vocabulary.names))
    fact = Statement(settled[0], name, name)
    assert knowledge.evaluate({fact: FACT}).layer.depth == 0
    assert knowledge.evaluate({}).statements() == plain.statements()


def layered_absences(knowledge: Knowledge) -> frozenset[str]:
    """The predicates whose absence was relied on before any question."""
    return knowledge.evaluate({}).layer.program.settled_by_absence


OVER = [
    rule("lies", "?x lies on ?y", "?x is somewhere over ?y"),
    rule("lies-over", "?x lies on ?y;?y is somewhere over ?z", "?x is somewhere over ?z"),
]


def test_recursion() -> None:
    """A rule that feeds itself runs until nothing is added, also around a circle."""
    model = conclude(OVER, "parcel p0 lies on parcel p1", "parcel p1 lies on parcel p2", "parcel p2 lies on parcel p0")
    assert len(model.layer.pairs("over")) == 9


def test_long_chains_prove() -> None:
    """A chain longer than Python's stack is derived and proved."""
    names = [f"q{number}" for number in range(1200)]
    chain = {Statement("on", name, after): FACT for name, after in pairwise(names)}
    chain[Statement("open", names[-1])] = FACT
    model = evaluate(INVENTED, make_base([rule("opened", "?x lies on ?y;?y is open", "?x is open")]), chain)
    assert sum(1 for _ in Prover(model).proof(Statement("open", names[0])).walk()) == 2 * len(names) - 1


def test_loose_variables_in_unless_mean_any() -> None:
    """A variable that stands in one unless only means anything; the same variable twice means one thing."""
    alone = [rule("alone", "?x is open", "?x is safe", "?any lies on ?x")]
    assert not conclude(alone, "parcel p0 is open", "parcel p1 lies on parcel p0").holds("safe", "p0")
    assert conclude(alone, "parcel p0 is open", "parcel p0 lies on parcel p1").holds("safe", "p0")
    itself = [rule("itself", "?x is open", "?x is safe", "?any lies on ?any")]
    assert conclude(itself, "parcel p0 is open", "parcel p1 lies on parcel p0").holds("safe", "p0")
    assert not conclude(itself, "parcel p0 is open", "parcel p1 lies on parcel p1").holds("safe", "p0")


SIZES = quantities(("µm", "mm"))


@given(SIZES, st.sampled_from(("above", "below", "at least", "at most")), SIZES, st.sampled_from(("width", "depth")))
def test_comparisons(left: Quantity, operator: Comparison, right: Quantity, predicate: str) -> None:
    """A comparison holds if all of both ranges agree, fails if none does, else is unknown; by middles where the phrase says so."""
    phrase = INVENTED.phrases[predicate]
    found = compare(phrase, INVENTED.units, left, operator, right)
    assert found == outcome(predicate, left, operator, right)
    assert found is not None or not phrase.by_middle


@pytest.mark.parametrize("thousandths", range(1, 1000, 7))
def test_boundaries_across_units(thousandths: int) -> None:
    """n µm is exactly n/1000 mm: at least and at most hold, above and below do not, and the margin is nothing."""
    phrase, small = INVENTED.phrases["width"], Quantity.of(thousandths, "µm")
    large = read_quantity(f"{Decimal(thousandths) / 1000:f} mm")
    for left, right in ((small, large), (large, small)):
        found = [compare(phrase, INVENTED.units, left, operator, right) for operator in ("at least", "at most", "above", "below")]
        assert found == [True, True, False, False]
        assert margin(phrase, INVENTED.units, left, right) == Quantity.of(0, "µm")
    assert compare(phrase, INVENTED.units, large, "above", Quantity(Decimal(thousandths) - Decimal("0.0001"), "µm"))


def test_the_longest_numbers_are_compared_to_their_last_digit(vocabulary: Vocabulary) -> None:
    """Of twelve digits before the point and twelve behind it, in every two units of a dimension: nothing is rounded, whichever way it is put."""
    long = [Quantity(Decimal(f"{before}.{behind}"), "") for before in ("999999999999", "123456789012") for behind in ("999999999999", "999999999998")]
    phrase, units = replace(INVENTED.phrases["width"], by_middle=False), vocabulary.units.by_symbol
    for left, right in ((left, right) for left in units for right in units if units[left].dimension == units[right].dimension):
        for one, other in ((replace(one, unit=left), replace(other, unit=right)) for one in long for other in long):
            apart = Fraction(one.mid) * Fraction(units[left].factor) - Fraction(other.mid) * Fraction(units[right].factor)
            assert compare(phrase, vocabulary.units, one, "above", other) is (apart > 0)
            assert compare(phrase, vocabulary.units, one, "at most", other) is (apart <= 0)


def test_a_unit_of_many_digits_is_multiplied_exactly_or_not_at_all() -> None:
    """A factor of thirty digits takes nothing away from a number of twenty-four; with one of a hundred it is said that something would be lost."""
    phrase = INVENTED.phrases["width"]
    for digits, exact in ((30, True), (100, False)):
        units = Units([Unit("mm", (), "length", Decimal("0.001")), Unit("ell", (), "length", Decimal("1." + "7" * (digits - 1)))])
        one, other = (Quantity(Decimal(f"123456789012.12345678901{last}"), "ell") for last in (2, 1))
        if exact:
            assert compare(phrase, units, one, "above", other) and not compare(phrase, units, one, "at most", other)
        else:
            with pytest.raises(Inexact):
                compare(phrase, units, one, "above", other)


def test_middles_against_whole_ranges() -> None:
    """A depth of 3 to 19 µm is above 10 µm by its middle, 11 µm; a width of the same is not known to be."""
    rules = [rule("deep", "the depth of ?x is above 10 µm", "?x is safe"), rule("wide", "the width of ?x is above 10 µm", "?x is sent")]
    model = conclude(rules, "the depth of parcel p0 is 3 to 19 µm", "the width of parcel p0 is 3 to 19 µm")
    assert model.holds("safe", "p0") and not model.holds("sent", "p0")
    assert conclude(rules, "the width of parcel p0 is 11 to 19 µm").holds("sent", "p0")


@pytest.mark.parametrize(("width", "fires"), [("9 to 20 µm", True), ("11 to 20 µm", True), ("5 to 10 µm", False)])
def test_a_safety_rule_takes_the_dangerous_side(width: str, fires: bool) -> None:
    """Where ranges overlap a safety rule goes on, and its proof says that this is unknown; another rule does not."""
    for safety in (True, False):
        guard = rule("guard", "the width of ?x is above 10 µm", "?x is lost", safety=safety)
        model = conclude([guard], f"the width of parcel p0 is {width}")
        unknown = width.startswith("9")
        assert model.holds("lost", "p0") == (fires and (safety or not unknown))
        if model.holds("lost", "p0"):
            (made,) = Prover(model).proof(Statement("lost", "p0")).compared
            assert made.outcome == ("unknown" if unknown else "holds")


@pytest.mark.parametrize("safety", [True, False])
def test_unknown_never_satisfies_unless(safety: bool) -> None:
    """An exception whose comparison is unknown does not block."""
    rules = [rule("guard", "?x is open", "?x is lost", "the width of ?x is above 10 µm", safety)]
    assert conclude(rules, "parcel p0 is open", "the width of parcel p0 is 9 to 20 µm").holds("lost", "p0")
    assert not conclude(rules, "parcel p0 is open", "the width of parcel p0 is 11 to 20 µm").holds("lost", "p0")


def test_comparison_with_a_value_held() -> None:
    """A property can be compared with another one's value, in any order of the conditions."""
    for conditions in ("the width of ?x is above ?v;the depth of ?y is ?v", "the depth of ?y is ?v;the width of ?x is above ?v"):
        wider = rule("wider", conditions, "?x is somewhere over ?y")
        model = conclude([wider], "the width of parcel p0 is 2 mm", "the depth of parcel p1 is 1999 µm")
        assert model.holds("over", "p0", "p1")
        assert len(model.layer.pairs("over")) == 1


def test_a_circle_through_unless_is_refused() -> None:
    """Rules that rest on the absence of what follows from themselves have no order."""
    itself = rule("itself", "?x lies on ?y;?y is open", "?x is open", "?any is open")
    with pytest.raises(NotStratifiable):
        make_base([itself])
    with pytest.raises(NotStratifiable) as caught:
        make_base([rule("a", "?x is open", "?x is safe", "?x is sent"), rule("b", "?x is safe", "?x is lost"), rule("c", "?x is lost", "?x is sent")])
    assert [one.id for one, _, _ in caught.value.cycle] == ["a", "c", "b"]
    assert "needs that nothing says ?x is sent" in caught.value.spelt(LANGUAGE)


def test_a_given_fact_needs_no_derivation() -> None:
    """What is given stays a leaf, also where a rule concludes it too."""
    model = conclude([rule("opened", "?x is safe", "?x is open")], "parcel p0 is safe", "parcel p0 is open")
    prover = Prover(model)
    assert prover.proofs(Statement("open", "p0")) == [prover.proof(Statement("open", "p0"))]
    assert prover.proof(Statement("open", "p0")).rule is None


@given(rule_sets(), fact_sets())
def test_what_does_not_hold_lacks_something_of_each_rule(rules: list[Rule], given_facts: dict[Statement, Fact]) -> None:
    """For what does not hold, each rule that could conclude it names a condition that does not hold, or an exception that does."""
    model = evaluate(INVENTED, make_base(rules), given_facts)
    for absent in (Statement("lost", "p0"), Statement("over", "p1", "p2"), Statement("moved", "p3", Variable("where"))):
        if any(_fits(absent, statement) for statement in model.statements()):
            continue
        lacked = could_follow(model, absent)
        able = [each for each in rules if any(_fits_loosely(c, absent) for c in each.conclusions)]
        assert {each.rule.id for each in lacked} == {each.id for each in able}
        for each in lacked:
            exception = each.lacking.comparison == "is" and any(_fits(each.lacking, statement) for statement in model.statements())
            assert exception == each.blocked or each.lacking.comparison != "is"


def _fits(pattern: Statement, statement: Statement) -> bool:
    pairs = ((pattern.subject, statement.subject), (pattern.object, statement.object))
    return pattern.predicate == statement.predicate and all(isinstance(a, Variable) or a == b for a, b in pairs)


def _fits_loosely(pattern: Statement, other: Statement) -> bool:
    pairs = ((pattern.subject, other.subject), (pattern.object, other.object))
    if pattern.subject == pattern.object and not isinstance(other.object, Variable):
        return pattern.predicate == other.predicate and other.subject == other.object
    return pattern.predicate == other.predicate and all(isinstance(a, Variable) or isinstance(b, Variable) or a == b for a, b in pairs)


def test_what_does_not_hold_has_no_proof() -> None:
    """Asking for the proof of what does not hold is an error."""
    with pytest.raises(KeyError):
        Prover(conclude(OVER, "parcel p0 lies on parcel p1")).proof(Statement("over", "p1", "p0"))


# Proposals, overrides and verdicts, with the shipped words and rules/verdicts.toml.

OPTION = option_id("pumice", "loose", "brush-wheel", "pre-polish")


def verdicts(tmp_path: Path, language: Language, *rules: tuple[str, str, str, str]) -> Model:
    """What follows about one option from rules given as id, if, then and further lines."""
    reason = 'because = "Only here to be tried."\nbasis = { kind = "studio" }'
    text = "".join(f'[[rule]]\nid = "{name}"\nif = ["{condition}"]\nthen = ["{then}"]\n{reason}\n{more}\n' for name, condition, then, more in rules)
    (tmp_path / "some.toml").write_text(text, encoding="utf-8")
    base = load_rules([tmp_path / "some.toml", VERDICTS], language)
    held = {Statement("usesCarrier", OPTION, "brush-wheel"): FACT, Statement("usesMineral", OPTION, "pumice"): FACT}
    return evaluate(language.vocabulary, base, held)


OUT, SUITS, LIKED, POOR = "?option is ruled out", "?option suits the work", "?option is preferred", "?option is discouraged"
BRUSH = "?option uses carrier brush-wheel"


@pytest.mark.parametrize(("then", "predicate"), [(OUT, "isRuledOut"), (SUITS, "suitsTheWork"), (LIKED, "isPreferred"), (POOR, "isDiscouraged")])
def test_a_proposal_that_nothing_blocks_becomes_the_verdict(tmp_path: Path, language: Language, then: str, predicate: str) -> None:
    """Each of the four verdicts follows from its proposal, and each kind of proposal can free from any other."""
    assert verdicts(tmp_path, language, ("shipped", BRUSH, then, "")).holds(predicate, OPTION)
    for other in (OUT, SUITS, LIKED, POOR):
        model = verdicts(tmp_path, language, ("shipped", BRUSH, then, ""), ("studio", BRUSH, other, 'overrides = ["shipped"]'))
        assert model.holds("isFreedFrom", OPTION, "rule/shipped")
        assert model.holds(predicate, OPTION) == (other == then)


def test_an_override_blocks_that_proposal_and_nothing_else(tmp_path: Path, language: Language) -> None:
    """The same verdict proposed by a third rule stands; both proposals stay to be shown."""
    model = verdicts(tmp_path, language, ("one", BRUSH, OUT, ""), ("two", BRUSH, OUT, ""), ("studio", BRUSH, SUITS, 'overrides = ["one"]'))
    assert model.holds("isRuledOut", OPTION)
    assert set(model.objects("isProposedAsRuledOutBy", OPTION)) == {"rule/one", "rule/two"}
    assert {proof.bindings[1] for proof in Prover(model).proofs(Statement("isRuledOut", OPTION))} == {("rule", "rule/two")}


def test_an_override_that_does_not_apply_blocks_nothing(tmp_path: Path, language: Language) -> None:
    """Only a rule that makes its own proposal for the option overrides."""
    elsewhere = ("studio", "?option uses carrier felt-wheel", SUITS, 'overrides = ["shipped"]')
    model = verdicts(tmp_path, language, ("shipped", BRUSH, OUT, ""), elsewhere)
    assert model.holds("isRuledOut", OPTION)
    assert not model.holds("isFreedFrom", OPTION, "rule/shipped")


def test_a_studio_rule_wins_only_where_it_says_so(tmp_path: Path, language: Language) -> None:
    """Without a declared override both verdicts stand."""
    model = verdicts(tmp_path, language, ("shipped", BRUSH, OUT, ""), ("studio", BRUSH, SUITS, ""))
    assert model.holds("isRuledOut", OPTION) and model.holds("suitsTheWork", OPTION)


def test_a_new_phrase_needs_no_code() -> None:
    """The engine knows no phrase by name."""
    vocabulary: Vocabulary = invented(Phrase("hums", "hums", "trait", ("parcel",)))
    language = Language(vocabulary)
    rules = [Rule("r", "t", "t.toml", 1, (language.parse("?x hums"),), (), (language.parse("?x is safe"),), "So.", FACT.basis)]
    assert evaluate(vocabulary, make_base(rules), {language.parse("parcel p0 hums"): FACT}).holds("safe", "p0")
