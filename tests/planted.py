"""Rules with a fault planted in them, made by changing rules that have none; each generator gives as many as there are."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from random import Random

from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Comparison, Statement, Variable, rule_id
from finishing_kg.vocabulary import Basis, Vocabulary

SAID = Fact(Basis("you said"))
PREFERRED, DISCOURAGED = "isProposedAsPreferredBy", "isProposedAsDiscouragedBy"
AGAINST = (DISCOURAGED, "isProposedAsRuledOutBy")


@dataclass(frozen=True)
class Plant:
    """A rule with a fault, and the rule that it was made from."""

    rule: Rule
    source: Rule


def with_rules(knowledge: Knowledge, rules: Sequence[Rule]) -> Knowledge:
    """The same words with other rules; a rule that has the id of a shipped one stands in its place."""
    kept = {rule.id: rule for rule in (*knowledge.base.rules, *rules)}
    return Knowledge(knowledge.vocabulary, knowledge.language, make_base(kept.values()))


def fired(knowledge: Knowledge, facts: Sequence[Statement]) -> set[str]:
    """Ids of the rules that derive something from facts."""
    return knowledge.evaluate(dict.fromkeys(facts, SAID)).fired()


def copied(rule: Rule, name: str, **parts: object) -> Rule:
    """A rule under another name; its proposals then bear that name."""
    made = replace(rule, id=name, overrides=(), **parts)  # type: ignore[arg-type]
    own = tuple(c._replace(object=rule_id(name)) if c.object == rule_id(rule.id) else c for c in made.conclusions if c.predicate != "isJudgedBy")
    return replace(made, conclusions=own)


def plain_rules(knowledge: Knowledge, chance: Random) -> list[Rule]:
    """The shipped rules in random order, without those that make verdicts of proposals."""
    rules = [rule for rule in knowledge.base.rules if rule.subject != "verdicts"]
    chance.shuffle(rules)
    return rules


def named(plants: Iterator[tuple[Rule, dict[str, object]]], most: int = 60) -> list[Plant]:
    """Changed copies of rules under names of their own."""
    found = []
    for number, (source, parts) in enumerate(plants):
        if number == most:
            break
        found.append(Plant(copied(source, f"planted-{number}", **parts), source))
    return found


def _nowhere(vocabulary: Vocabulary, knowledge: Knowledge) -> Iterator[Statement]:
    """Sentences that nothing gives: phrases that nobody uses, and relations of the ontology to things that none leads to."""
    made = {conclusion.predicate for rule in knowledge.base.rules for conclusion in rule.conclusions}
    held = {claim.predicate for claim in vocabulary.claims}
    led_to = {(claim.predicate, claim.object) for claim in vocabulary.claims}
    for phrase in vocabulary.phrases.values():
        if phrase.given or phrase.id in made or phrase.shape == "quantity" or "rule" in phrase.subjects:
            continue
        if phrase.shape == "trait":
            if phrase.id not in held:
                yield Statement(phrase.id, Variable("planted"))
            continue
        for name in vocabulary.names.values():
            if vocabulary.fits(name.kind, phrase.objects) and (phrase.id, name.id) not in led_to:
                yield Statement(phrase.id, Variable("planted"), name.id)


def out_of_reach(knowledge: Knowledge, chance: Random) -> list[Plant]:
    """Rules that need, beside what they needed, something that nothing gives."""
    nowhere = list(_nowhere(knowledge.vocabulary, knowledge))
    chance.shuffle(nowhere)
    return named((rule, {"conditions": (*rule.conditions, lost)}) for rule, lost in zip(plain_rules(knowledge, chance), nowhere, strict=False))


def _quantity(chance: Random, millimetres: int) -> Quantity:
    """A length, in one of three units."""
    return chance.choice((Quantity.of(millimetres, "mm"), Quantity.of(millimetres * 1000, "µm"), Quantity.of(millimetres, "mm")))


def excluding(knowledge: Knowledge, chance: Random) -> list[Plant]:
    """Rules whose conditions exclude each other: numbers, two values of what has one, traits that no thing has together."""
    vocabulary = knowledge.vocabulary

    def numbers(rule: Rule) -> list[Statement]:
        high = chance.randrange(20, 500)
        pair: tuple[tuple[Comparison, int], tuple[Comparison, int]] = (("above", high), ("below", high - chance.randrange(0, 10)))
        return [Statement("diameter", "piece", _quantity(chance, size), comparison) for comparison, size in pair]

    def values(rule: Rule) -> list[Statement]:
        one, other = chance.sample([name.id for name in vocabulary.things("surface")], 2)
        return [Statement("hasSurface", "piece", one), Statement("hasSurface", "piece", other)]

    def traits(rule: Rule) -> list[Statement]:
        kinds = ("hasRecesses", "isPlane"), ("isCurved", "isPlane"), ("isEdgeLike", "isHollow"), ("cutsGlass", "onlyRubs"), ("isSound", "isGraded")
        apart = [p for p in kinds if not {n.id for n in vocabulary.names.values() if all(vocabulary.holds(n.id, trait) for trait in p)}]
        return [Statement(trait, Variable("planted")) for trait in chance.choice(apart)]

    def ontology(rule: Rule) -> list[Statement]:
        lead_free = [name.id for name in vocabulary.things("glass") if not vocabulary.holds(name.id, "containsLead")]
        return [Statement("containsLead", chance.choice(lead_free))]

    def impossible(rule: Rule) -> list[Statement]:
        return [Statement("hardness", Variable("planted"), Quantity.of(chance.randrange(11, 99), "Mohs"), "above")]

    ways: list[Callable[[Rule], list[Statement]]] = [numbers, values, traits, ontology, impossible]
    made = []
    for number, rule in enumerate(plain_rules(knowledge, chance)):
        way = values if rule.safety and number % len(ways) == 0 else ways[number % len(ways)]  # a range can overlap two limits of a safety rule
        more = [*rule.conditions, *way(rule)]
        chance.shuffle(more)
        if not any(condition.predicate in ("diameter", "hasSurface") for condition in rule.conditions):
            made.append((rule, {"conditions": tuple(more)}))
    return named(iter(made))


def always_blocked(knowledge: Knowledge, chance: Random) -> list[Plant]:
    """Rules with an exception that holds wherever their conditions do."""
    made: list[tuple[Rule, dict[str, object]]] = []
    for rule in plain_rules(knowledge, chance):
        blocking = chance.choice(rule.conditions)
        if blocking.comparison == "above" and isinstance(blocking.object, Quantity):
            blocking = blocking._replace(object=replace(blocking.object, mid=blocking.object.mid / 2))
        elif blocking.comparison != "is" or isinstance(blocking.object, Variable):
            continue
        made.append((rule, {"exceptions": (*rule.exceptions, blocking)}))
    return named(iter(made))


def same_again(knowledge: Knowledge, chance: Random) -> list[Plant]:
    """Rules in other words: other variables, another order, another unit."""
    units = knowledge.vocabulary.units

    def moved(statement: Statement) -> Statement:
        def term(found: object) -> object:
            if isinstance(found, Variable):
                return Variable(f"other-{found.name}")
            if isinstance(found, Quantity) and found.unit in ("mm", "µm"):
                return units.convert(found, "µm" if found.unit == "mm" else "mm")
            return found

        return statement._replace(subject=term(statement.subject), object=term(statement.object))  # type: ignore[arg-type]

    def shuffled(sentences: Sequence[Statement]) -> tuple[Statement, ...]:
        found = [moved(sentence) for sentence in sentences]
        chance.shuffle(found)
        return tuple(found)

    rules = [rule for rule in plain_rules(knowledge, chance) if not rule.overrides]
    parts = ("conditions", "exceptions", "conclusions")
    return named((rule, {part: shuffled(getattr(rule, part)) for part in parts}) for rule in rules)


def narrowed(knowledge: Knowledge, chance: Random) -> list[Plant]:
    """Rules that fire less often than their source and say the same: one more condition or exception, a tighter limit."""
    traits = ("isAVessel", "willHoldFood", "isCased", "holdsBubbles")
    overridden = {loser for rule in knowledge.base.rules for loser in rule.overrides}
    made: list[tuple[Rule, dict[str, object]]] = []
    for rule in plain_rules(knowledge, chance):
        if rule.overrides or rule.id in overridden:
            continue
        limit = next((c for c in rule.conditions if c.comparison in ("above", "below") and isinstance(c.object, Quantity)), None)
        said = {sentence.predicate for sentence in (*rule.conditions, *rule.exceptions)}
        extra = Statement(chance.choice([trait for trait in traits if trait not in said]), "piece")
        if limit is not None and isinstance(limit.object, Quantity):
            factor = Decimal(3 if limit.comparison == "above" else "0.9")
            tighter = limit._replace(object=Quantity(limit.object.mid * factor, limit.object.unit))
            made.append((rule, {"conditions": tuple(tighter if c is limit else c for c in rule.conditions)}))
        elif chance.random() < 0.3:
            made.append((rule, {"exceptions": (*rule.exceptions, extra)}))
        else:
            made.append((rule, {"conditions": (extra, *rule.conditions)}))
    made.sort(key=lambda entry: not any(c.comparison != "is" for c in entry[0].conditions))
    return named(iter(made))


def circles(knowledge: Knowledge, chance: Random) -> list[list[Rule]]:
    """Rules that conclude what they need, and rings of rules that only need each other."""
    step, made = Variable("step"), []
    free = [name.id for name in knowledge.vocabulary.things("surface")]
    derived = {conclusion.predicate for rule in knowledge.base.rules for conclusion in rule.conclusions}
    for number, rule in enumerate(plain_rules(knowledge, chance)[:60]):
        again = [c for c in rule.conditions if c.comparison == "is" and c.predicate not in derived]
        if again and not rule.exceptions:
            made.append([copied(rule, f"ring-{number}", conclusions=(chance.choice(again),))])
    for number in range(30):
        size, surface = chance.randrange(2, 4), chance.choice(free)
        links = [Statement("entersFrom", step, surface), Statement("reachesTheFinish", step), Statement("entersFrom", step, chance.choice(free))][
            :size
        ]
        ring = []
        for place, link in enumerate(links):
            source = knowledge.base.by_id["rinse-between-grades"]
            parts = {"conditions": (*source.conditions, link), "conclusions": (links[(place + 1) % size],)}
            ring.append(copied(source, f"ring-{number}-{place}", **parts))
        made.append(ring)
    return made


def judging(knowledge: Knowledge, *proposals: str) -> list[tuple[Rule, Statement]]:
    """Shipped rules that propose one of some verdicts on an option, each with the proposal."""
    found = []
    for rule in knowledge.base.rules:
        for made in rule.conclusions:
            if made.predicate in proposals and rule.subject != "verdicts" and isinstance(made.subject, Variable):
                found.append((rule, made))
    return found


def overriding(rule: Rule, loser: str, about: Statement) -> Rule:
    """A rule that overrides another, as the loader would make it."""
    judged = Statement("isJudgedBy", about.subject, rule_id(rule.id))
    return replace(rule, overrides=(*rule.overrides, loser), conclusions=(*(c for c in rule.conclusions if c != judged), judged))


def dead_overrides(knowledge: Knowledge, chance: Random) -> list[tuple[Rule, str]]:
    """Rules with an override that can never apply, each with the overridden rule: they name different stages, minerals or forms; or agree."""
    against, spoken = judging(knowledge, *AGAINST), judging(knowledge, PREFERRED)
    made: list[tuple[Rule, str]] = []
    for (winner, about), (loser, other) in ((w, x) for w in spoken for x in against):
        apart = {
            (c.predicate, d.predicate)
            for c in winner.conditions
            for d in loser.conditions
            if c.predicate == d.predicate in ("worksToward", "usesMineral", "hasForm")
            and {type(c.object), type(d.object)} == {str}
            and c.object != d.object
            if (c.subject == "piece" and d.subject == "piece") or (c.subject == about.subject and d.subject == other.subject)
        }
        if apart and not winner.overrides and not loser.safety:
            made.append((overriding(winner, loser.id, about), loser.id))
    chance.shuffle(made)
    one_each = list({rule.id: (rule, loser) for rule, loser in made}.values())
    for number, (source, about) in enumerate(spoken):
        if not source.overrides:
            rule = copied(source, f"planted-{number}", conditions=(*source.conditions, Statement("isCased", "piece")))
            made_about = next(c for c in rule.conclusions if c.predicate == about.predicate)
            one_each.append((overriding(rule, source.id, made_about), source.id))
    return one_each


def beaten(knowledge: Knowledge, chance: Random) -> list[Plant]:
    """Rules that override the rule that they were made from wherever that fires, some with an exception fewer."""
    made = []
    for number, (rule, proposal) in enumerate(judging(knowledge, *AGAINST)):
        # Were every such rule overridden, the rule that makes the verdict could never fire either, and that is reported too.
        if not rule.overrides and not rule.safety and number % 12:
            exceptions = rule.exceptions[: chance.randrange(len(rule.exceptions) + 1)]
            parts = {"conclusions": (proposal._replace(predicate=PREFERRED),), "exceptions": exceptions}
            winner = copied(rule, f"planted-{number}", **parts)
            made.append(Plant(overriding(winner, rule.id, winner.conclusions[0]), rule))
    return made


def contradicting(knowledge: Knowledge, chance: Random, sources: tuple[str, ...], verdict: str) -> list[Plant]:
    """Narrower copies of rules that propose some verdicts, with another verdict in its place."""
    found = judging(knowledge, *sources)
    chance.shuffle(found)
    made: list[tuple[Rule, dict[str, object]]] = []
    for rule, proposal in found:
        if not rule.overrides and not rule.safety:
            parts = {"conditions": (*rule.conditions, Statement("isCased", "piece")), "conclusions": (proposal._replace(predicate=verdict),)}
            made.append((rule, parts))
    return named(iter(made))
