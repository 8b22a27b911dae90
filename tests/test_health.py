"""What is wrong with rules shows without running a case: every fault that was planted is found, with a case that shows it."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from random import Random

import planted
import pytest
from planted import Plant, fired, with_rules

from finishing_kg.engine import Knowledge
from finishing_kg.health import KINDS, Fault, faults_of_base
from finishing_kg.rules import Rule, as_written, make_base
from finishing_kg.statements import Language, Statement, StatementError, Variable
from finishing_kg.vocabulary import Phrase

Generator = Callable[[Knowledge, Random], list[Plant]]


@pytest.fixture
def chance() -> Random:
    """The same choices at every run."""
    return Random(20)


def audited(knowledge: Knowledge, own: frozenset[str] = frozenset()) -> dict[str, list[Fault]]:
    """The faults of a knowledge's rules, by kind."""
    found: dict[str, list[Fault]] = defaultdict(list)
    for fault in faults_of_base(knowledge.language, knowledge.base, own):
        found[fault.fault].append(fault)
    return found


def only(kind: str, knowledge: Knowledge, own: frozenset[str] = frozenset()) -> list[Fault]:
    """The faults of one kind, for which the others need not be looked for."""
    return faults_of_base(knowledge.language, knowledge.base, own, {kind})


def test_what_is_not_asked_for_changes_nothing_else(knowledge: Knowledge, chance: Random) -> None:
    """Asked for one kind of fault, the same is found of it as among all kinds."""
    plants = [*planted.out_of_reach(knowledge, chance)[:4], *planted.excluding(knowledge, chance)[:4], *planted.always_blocked(knowledge, chance)[:4]]
    plants += [*planted.same_again(knowledge, chance)[:4], *planted.narrowed(knowledge, chance)[:4], *planted.beaten(knowledge, chance)[:4]]
    rules = [replace(plant.rule, id=f"{plant.rule.id}-{number}") for number, plant in enumerate(plants)]
    grown = with_rules(knowledge, [rule for ring in planted.circles(knowledge, chance)[-2:] for rule in ring] + rules)
    found = audited(grown)
    assert len(found) >= 5
    assert {kind: only(kind, grown) for kind in KINDS} == {kind: found[kind] for kind in KINDS}


def about_planted_alone(found: dict[str, list[Fault]], planted_ids: set[str]) -> bool:
    """Whether no fault is reported that has nothing to do with what was planted."""
    return all(planted_ids & set(fault.rules) for faults in found.values() for fault in faults if not fault.note)


def test_the_shipped_rules_have_none(knowledge: Knowledge) -> None:
    """Nothing is found in the rules as they are shipped, whatever its kind."""
    assert faults_of_base(knowledge.language, knowledge.base) == []


@pytest.mark.parametrize("make", [planted.out_of_reach, planted.excluding, planted.always_blocked])
def test_rules_that_can_never_fire_are_found(knowledge: Knowledge, chance: Random, make: Generator) -> None:
    """Fifty rules that need what nothing gives, exclude or block themselves are all found; in the case shown all but the fault is so."""
    plants = make(knowledge, chance)
    assert len(plants) >= 50
    grown = with_rules(knowledge, [plant.rule for plant in plants])
    found = audited(grown)
    faults = {fault.about: fault for kind in ("unreachable", "never true") for fault in found[kind]}
    assert {plant.rule.id for plant in plants} == set(faults)
    assert about_planted_alone(found, set(faults))
    for plant in plants[:12]:
        facts = faults[plant.rule.id].facts
        assert plant.rule.id not in fired(grown, facts)
        mended = [replace(plant.rule, exceptions=plant.source.exceptions)]
        mended += [replace(mended[0], conditions=tuple(c for c in plant.rule.conditions if c is not left)) for left in plant.rule.conditions]
        nearest = [plant.rule.id in fired(with_rules(knowledge, [rule]), facts) for rule in mended if rule.conditions]
        assert any(nearest) or not facts


def test_the_same_rule_twice_is_found(knowledge: Knowledge, chance: Random) -> None:
    """Fifty copies with other variables, orders and units are called duplicates; both rules fire on the case shown."""
    plants = planted.same_again(knowledge, chance)
    assert len(plants) >= 50
    grown = with_rules(knowledge, [plant.rule for plant in plants])
    found = audited(grown)
    pairs = {frozenset(fault.rules): fault for fault in found["duplicate"]}
    assert {frozenset((plant.rule.id, plant.source.id)) for plant in plants} == set(pairs)
    assert about_planted_alone(found, {plant.rule.id for plant in plants})
    for plant in plants[:10]:
        both = {plant.rule.id, plant.source.id}
        assert both <= fired(grown, pairs[frozenset(both)].facts)


def test_a_rule_that_adds_nothing_is_found(knowledge: Knowledge, chance: Random) -> None:
    """Fifty narrower copies are called subsumed by their source, which fires too on the case shown."""
    plants = planted.narrowed(knowledge, chance)
    assert len(plants) >= 50
    grown = with_rules(knowledge, [plant.rule for plant in plants])
    found = audited(grown)
    pairs = {fault.rules: fault for fault in found["subsumed"]}
    assert {(plant.rule.id, plant.source.id) for plant in plants} == set(pairs)
    assert about_planted_alone(found, {plant.rule.id for plant in plants})
    for plant in plants[:10]:
        assert {plant.rule.id, plant.source.id} <= fired(grown, pairs[plant.rule.id, plant.source.id].facts)


def test_a_wider_rule_does_not_mask_what_differs(knowledge: Knowledge) -> None:
    """A rule is not subsumed by one that may be blocked where it is not, may be overridden, or does not guard as safety does."""
    source = knowledge.base.by_id["keep-one-to-compare"]
    narrow = planted.copied(source, "narrow", conditions=(*source.conditions, Statement("isCased", "piece")))
    for wider in (
        replace(source, exceptions=(Statement("isAVessel", "piece"),)),
        replace(source, conditions=(*source.conditions, Statement("isToughened", "piece"))),
    ):
        assert not only("subsumed", with_rules(knowledge, [narrow, wider]))
    assert not only("subsumed", with_rules(knowledge, [replace(narrow, safety=True)]))
    assert only("subsumed", with_rules(knowledge, [replace(narrow, exceptions=(Statement("isAVessel", "piece"),))]))
    pitch = knowledge.base.by_id["pitch-is-for-optical-flats"]
    unspared = planted.copied(pitch, "unspared", conditions=(*pitch.conditions, Statement("isCased", "piece")))
    assert not only("subsumed", with_rules(knowledge, [unspared]))


def test_circles_are_found(knowledge: Knowledge, chance: Random) -> None:
    """Fifty rules that conclude what they need, and rings that only feed each other, are found; on the case shown they say nothing new."""
    rings = planted.circles(knowledge, chance)
    assert len(rings) >= 50
    rules = [rule for ring in rings for rule in ring]
    grown = with_rules(knowledge, rules)
    found = audited(grown)
    faults = {fault.about: fault for fault in found["circular"]}
    assert {rule.id for rule in rules} == set(faults)
    assert about_planted_alone(found, set(faults))
    for ring in rings[:4] + rings[-4:]:
        facts = faults[ring[0].id].facts
        before, after = (k.evaluate(dict.fromkeys(facts, planted.SAID)).statements() for k in (knowledge, grown))
        assert facts
        assert before == after


def test_an_override_that_can_never_apply_is_found(knowledge: Knowledge, chance: Random) -> None:
    """Fifty overrides of rules that judge other options, or say the same, are found; no more of the base is, and a real override is not."""
    plants = planted.dead_overrides(knowledge, chance)
    assert len(plants) >= 50
    grown = with_rules(knowledge, [rule for rule, _ in plants])
    found = audited(grown)
    faults = {fault.rules: fault for fault in found["dead override"]}
    assert {(rule.id, loser) for rule, loser in plants} == set(faults)
    assert about_planted_alone(found, {rule.id for rule, _ in plants})
    for rule, loser in plants[:5] + plants[-5:]:
        seen = fired(grown, faults[rule.id, loser].facts)
        assert rule.id in seen
        assert (loser in seen) == rule.id.startswith("planted")


@pytest.mark.parametrize(
    ("sources", "verdict", "of_the_studio"), [(planted.AGAINST, planted.PREFERRED, False), ((planted.PREFERRED,), planted.DISCOURAGED, True)]
)
def test_verdicts_that_contradict_each_other_are_found(
    knowledge: Knowledge, chance: Random, *, sources: tuple[str, ...], verdict: str, of_the_studio: bool
) -> None:
    """A preference that never counts, and an addition that beats the base without saying so, are found; both rules fire on the case shown."""
    plants = planted.contradicting(knowledge, chance, sources, verdict)
    assert len(plants) >= 30
    grown = with_rules(knowledge, [plant.rule for plant in plants])
    own = frozenset(plant.rule.id for plant in plants)
    faults = {frozenset(fault.rules): fault for fault in only("conflict", grown, own)}
    assert {frozenset((plant.rule.id, plant.source.id)) for plant in plants} <= set(faults)
    assert of_the_studio != bool(only("conflict", grown))
    for plant in plants[:10]:
        fault = faults[frozenset((plant.rule.id, plant.source.id))]
        model = grown.evaluate(dict.fromkeys(fault.facts, planted.SAID))
        proposed = {name: {c.predicate for c in grown.base.by_id[name].conclusions} for name in fault.rules}
        judged = [{s for p in proposed[name] for s in model.subjects(p, f"rule/{name}")} for name in fault.rules]
        assert judged[0] & judged[1]


def test_what_is_decided_or_agreed_is_no_conflict(knowledge: Knowledge, chance: Random) -> None:
    """An override settles a conflict; rules that meet and agree, or that the order of verdicts parts, are not reported."""
    plant = planted.contradicting(knowledge, chance, (planted.DISCOURAGED,), planted.PREFERRED)[0]
    about = next(c for c in plant.rule.conclusions if c.predicate == planted.PREFERRED)
    said = planted.overriding(plant.rule, plant.source.id, about)
    assert only("conflict", with_rules(knowledge, [plant.rule]))
    assert not only("conflict", with_rules(knowledge, [said]))
    agreeing = planted.contradicting(knowledge, chance, (planted.PREFERRED,), planted.PREFERRED)
    assert not only("conflict", with_rules(knowledge, [plant.rule for plant in agreeing]), frozenset(plant.rule.id for plant in agreeing))


def test_a_verdict_that_is_always_overridden_is_masked(knowledge: Knowledge, chance: Random) -> None:
    """Fifty rules that another overrides wherever they fire are reported, and are freed on the case shown."""
    plants = planted.beaten(knowledge, chance)
    assert len(plants) >= 50
    grown = with_rules(knowledge, [plant.rule for plant in plants])
    found = audited(grown)
    faults = {fault.rules: fault for fault in found["masked"]}
    assert {(plant.source.id, plant.rule.id) for plant in plants} == set(faults)
    assert about_planted_alone(found, {plant.rule.id for plant in plants})
    for plant in plants[:10]:
        facts = faults[plant.source.id, plant.rule.id].facts
        assert {plant.rule.id, plant.source.id} <= fired(grown, facts)
        assert grown.evaluate(dict.fromkeys(facts, planted.SAID)).subjects("isFreedFrom", f"rule/{plant.source.id}")


def test_phrases_that_share_a_sentence_are_found(knowledge: Knowledge, chance: Random) -> None:
    """Fifty phrases that repeat another, alone or with a name after it, are found, with a sentence that cannot be read for certain."""
    vocabulary = knowledge.vocabulary
    phrases = [phrase for phrase in vocabulary.phrases.values() if phrase.subjects != ("rule",)]
    chance.shuffle(phrases)
    extra: dict[str, Phrase] = {}
    for phrase in phrases[:50]:
        names = [name.label for name in vocabulary.names.values() if phrase.shape == "relation" and vocabulary.fits(name.kind, phrase.objects)]
        again = replace(phrase, id=f"{phrase.id}Again", verdict=False, proposed_through="", given=())
        extra[again.id] = replace(again, words=f"{phrase.words} {chance.choice(names)}", shape="trait", objects=()) if names else again
    language = Language(replace(vocabulary, phrases={**vocabulary.phrases, **extra}))
    found = only("shared sentence", Knowledge(language.vocabulary, language, knowledge.base))
    assert {f"{phrase.id}, {phrase.id}Again" for phrase in phrases[:50]} <= {fault.about for fault in found}
    for fault in found:
        with pytest.raises(StatementError, match=r"in \d ways"):
            language.parse(fault.shown.partition(": ")[2])


def _grid(knowledge: Knowledge, skipped: set[tuple[str, str]], proposal: str) -> Knowledge:
    """One rule for each stage and form, some left out."""
    source = knowledge.base.by_id["flat-tool-keeps-flat"]
    option, rules = Variable("option"), []
    for finish in knowledge.vocabulary.things("finish"):
        for form in knowledge.vocabulary.things("form"):
            if (finish.id, form.id) not in skipped:
                name = f"{finish.id}-{form.id}"
                conditions = (Statement("worksToward", option, finish.id), Statement("hasForm", "piece", form.id))
                rules.append(replace(source, id=name, conditions=conditions, conclusions=(Statement(proposal, option, f"rule/{name}"),)))
    return Knowledge(knowledge.vocabulary, knowledge.language, make_base(rules))


def test_gaps_are_found_where_advice_is_owed(knowledge: Knowledge, chance: Random) -> None:
    """Of a grid of advice fifty missing places are found and no other; a grid of prohibitions owes nothing."""
    vocabulary = knowledge.vocabulary
    places = [(finish.id, form.id) for finish in vocabulary.things("finish") for form in vocabulary.things("form")]
    skipped = set(chance.sample(places, 50))
    grown = _grid(knowledge, skipped, planted.PREFERRED)
    faults = only("gap", grown)
    asked = [{fact.predicate: fact.object for fact in fault.facts} for fault in faults]
    assert {(str(each["worksToward"]), str(each["hasForm"])) for each in asked} == skipped
    assert all(not grown.evaluate(dict.fromkeys(fault.facts, planted.SAID)).subjects("isPreferred") for fault in faults)
    for verdict in planted.AGAINST:
        assert not only("gap", _grid(knowledge, skipped, verdict))


def test_gaps_of_the_shipped_rules_equal_what_the_engine_says(knowledge: Knowledge) -> None:
    """With the rules for the usual tools taken out, the stages and forms without advice are those for which no method is spoken for."""
    from finishing_kg.routes.options import Options

    left = [rule for rule in knowledge.base.rules if not rule.id.startswith("right-tools") and rule.subject != "shelf"]
    bare = Knowledge(knowledge.vocabulary, knowledge.language, make_base(left))
    found = {(f.object, fault.facts[0].object) for fault in only("gap", bare) for f in fault.facts if f.predicate == "worksToward"}
    finishes = [name.id for name in bare.vocabulary.things("finish")]
    options = dict.fromkeys(Options(bare.vocabulary, finishes), planted.SAID)
    for form in bare.vocabulary.things("form"):
        model = bare.evaluate({**options, Statement("hasForm", "piece", form.id): planted.SAID})
        spoken = {option.split("/")[4] for verdict in ("isPreferred", "suitsTheWork") for option in model.subjects(verdict)}
        ours = {finish for finish in finishes if (finish, form.id) not in found}
        assert spoken == ours, form.id


def test_a_condition_that_was_forgotten_is_noticed(knowledge: Knowledge) -> None:
    """Where four in five of the others like it look at something, a rule that no longer does is noted, in at least 80 % of the cases."""
    groups: dict[tuple[str, frozenset[str]], list[Rule]] = defaultdict(list)
    for rule in knowledge.base.rules:
        groups[rule.subject, frozenset(made.predicate for made in as_written(rule, knowledge.vocabulary))].append(rule)
    ought: list[Rule] = []
    for group in groups.values():
        for rule in group:
            others = [other for other in group if other is not rule]
            for dropped in rule.conditions:
                looking = sum(any(c.predicate == dropped.predicate for c in other.conditions) for other in others)
                kept = tuple(c for c in rule.conditions if c is not dropped)
                if kept and len(others) >= 5 and looking >= 0.8 * len(others) and not any(c.predicate == dropped.predicate for c in kept):
                    ought.append(replace(rule, conditions=kept))
    assert len(ought) >= 50
    noticed = [rule.id in _told(knowledge, rule) for rule in ought[::3]]
    assert sum(noticed) >= 0.8 * len(noticed)


def _told(knowledge: Knowledge, rule: Rule) -> set[str]:
    bound = {name for condition in rule.conditions for name in condition.variables()}
    if any(name not in bound for conclusion in rule.conclusions for name in conclusion.variables()):
        return {rule.id}  # refused when it is loaded
    return {name for fault in faults_of_base(knowledge.language, with_rules(knowledge, [rule]).base, frozenset({rule.id})) for name in fault.rules}


def test_what_a_safety_rule_takes_for_possible_is_not_called_impossible(knowledge: Knowledge) -> None:
    """A range can overlap both limits of a safety rule, so two limits that part single numbers do not part it."""
    source = knowledge.base.by_id["thin-walls-under-the-jet"]
    limits = [
        Statement("wallThickness", "piece", planted.Quantity.of(size, "mm"), how) for size, how in ((Decimal(5), "above"), (Decimal(3), "below"))
    ]
    rule = planted.copied(source, "both", conditions=(*source.conditions[:1], *limits))
    assert not only("never true", with_rules(knowledge, [rule]))
    assert only("never true", with_rules(knowledge, [replace(rule, safety=False)]))


def test_only_what_concerns_an_addition_is_told(knowledge: Knowledge, chance: Random) -> None:
    """Asked about the rules that somebody adds, nothing is told that concerns none of them; the kinds come in their order."""
    plants = [*planted.same_again(knowledge, chance)[:3], *planted.narrowed(knowledge, chance)[10:13]]
    rules = [replace(plant.rule, id=f"{plant.rule.id}-{number}") for number, plant in enumerate(plants)]
    grown = with_rules(knowledge, rules)
    own = frozenset({rules[0].id})
    found = faults_of_base(grown.language, grown.base, own)
    assert {fault.fault for fault in found} == {"duplicate"}
    assert all(own & set(fault.rules) for fault in found)
    every = [KINDS.index(fault.fault) for fault in faults_of_base(grown.language, grown.base)]
    assert every == sorted(every)
    assert len(set(every)) > 1
