"""Random statements, rules and facts, over a small invented vocabulary and over any other.

The invented one is about parcels and shelves, so that nothing can pass by knowing the trade.
"""

from decimal import Decimal
from random import Random

from hypothesis import strategies as st

from finishing_kg.measure import Quantity, Unit, Units
from finishing_kg.proofs import Fact
from finishing_kg.rules import Rule
from finishing_kg.statements import Comparison, Language, Statement, Term, Variable, option_id, rule_id, step_id
from finishing_kg.vocabulary import Basis, Name, Phrase, Vocabulary

BASIS = Basis("common practice")
FACT = Fact(BASIS)
_UNITS = Units(
    [
        Unit("µm", ("um", "micron"), "length", Decimal("0.000001")),
        Unit("mm", ("millimetre",), "length", Decimal("0.001")),
        Unit("kg", (), "weight", Decimal(1)),
    ]
)
PARCELS = tuple(f"p{number}" for number in range(4))
SHELVES = tuple(f"shelf-{number}" for number in range(2))


def invented(*more: Phrase) -> Vocabulary:
    """A vocabulary of parcels, which may lie on each other, and shelves; further phrases can be added."""
    names = [Name(parcel, parcel, "parcel", f"parcel {parcel}") for parcel in PARCELS]
    names += [Name(shelf, shelf, "shelf", shelf.replace("-", " ")) for shelf in SHELVES]
    names += [Name("the-box", "the-box", "box", "the box", ("the big box",))]
    phrases = [
        Phrase("on", "lies on", "relation", ("parcel",), ("parcel",)),
        Phrase("over", "is somewhere over", "relation", ("parcel",), ("parcel",)),
        Phrase("kept", "is kept on", "relation", ("parcel",), ("shelf",)),
        Phrase("moved", "is moved to", "relation", ("parcel",), ("shelf",)),
        Phrase("open", "is open", "trait", ("parcel", "box")),
        Phrase("safe", "is safe", "trait", ("parcel", "box")),
        Phrase("sent", "is sent", "trait", ("parcel",)),
        Phrase("lost", "is lost", "trait", ("parcel",)),
        Phrase("width", "width", "quantity", ("parcel", "box"), (), ("µm", "mm")),
        Phrase("depth", "depth", "quantity", ("parcel", "shelf"), (), ("µm", "mm"), by_middle=True),
        Phrase("weight", "weight", "quantity", ("parcel",), (), ("kg",)),
        Phrase("place", "best place", "naming", ("parcel",), ("shelf",)),
        *more,
    ]
    order = ("standard", "common practice", "from memory")
    return Vocabulary({name.id: name for name in names}, {phrase.id: phrase for phrase in phrases}, {}, _UNITS, (), order)


INVENTED = invented()


def quantities(units: tuple[str, ...], most: int = 2000) -> st.SearchStrategy[Quantity]:
    """Single values, ranges, and ranges with a middle of their own."""
    number = st.integers(1, most).map(lambda thousandths: Decimal(thousandths) / 100)
    ends = st.lists(number, min_size=3, max_size=3).map(sorted)
    unit = st.sampled_from(units)
    return st.one_of(
        st.builds(Quantity.of, number, unit),
        st.builds(lambda three, unit: Quantity.between(three[0], three[2], unit), ends, unit),
        st.builds(lambda three, unit: Quantity.between(three[0], three[2], unit, three[1]), ends, unit),
    )


_VARIABLES = st.from_regex(r"[a-z][a-z0-9-]{0,6}", fullmatch=True).map(Variable)


def names_of(vocabulary: Vocabulary, kinds: tuple[str, ...]) -> st.SearchStrategy[str]:
    """Names of things that fit a slot, made names (options, steps, rules) among them."""
    known = [name.id for name in vocabulary.names.values() if vocabulary.fits(name.kind, kinds)]
    ways = [st.sampled_from(known)] if known else []
    if vocabulary.fits("option", kinds):
        parts = [[name.id for name in vocabulary.names.values() if name.kind == kind] for kind in ("mineral", "hold", "carrier", "finish")]
        ways.append(st.builds(option_id, *(st.sampled_from(part) for part in parts)))
    if vocabulary.fits("step", kinds):
        ways.append(st.builds(step_id, st.integers(1, 30), st.integers(1, 5)))
    if vocabulary.fits("rule", kinds):
        ways.append(st.from_regex(r"[a-z0-9]{1,6}(-[a-z0-9]{1,6}){0,3}", fullmatch=True).map(rule_id))
    return st.one_of(ways)


@st.composite
def statements(draw: st.DrawFn, language: Language) -> Statement:
    """Any sentence that a vocabulary can say, with and without variables."""
    vocabulary = language.vocabulary
    phrase = draw(st.sampled_from(sorted(vocabulary.phrases.values(), key=lambda phrase: phrase.id)))
    subject = draw(st.one_of(_VARIABLES, names_of(vocabulary, phrase.subjects)))
    if phrase.shape == "trait":
        return Statement(phrase.id, subject)
    if phrase.shape != "quantity":
        return Statement(phrase.id, subject, draw(st.one_of(_VARIABLES, names_of(vocabulary, phrase.objects))))
    comparisons: tuple[Comparison, ...] = ("is", "above", "below", "at least", "at most")
    comparison = draw(st.sampled_from(comparisons))
    return Statement(phrase.id, subject, draw(st.one_of(_VARIABLES, quantities(phrase.units))), comparison)


# Predicates by layer: a rule concludes in one layer from that layer and the ones before, and denies only what lies before.
LAYERS = (("on", "kept", "open", "width", "depth"), ("over", "safe"), ("moved", "sent"), ("lost",))
_SHAPE = {phrase.id: phrase.shape for phrase in INVENTED.phrases.values()}
_X, _Y, _Z = Variable("x"), Variable("y"), Variable("z")
_SHELF, _SIZE = Variable("s"), Variable("v")


def _size(chance: Random) -> Quantity:
    low, mid, high = sorted(Decimal(chance.randrange(1, 601)) / 100 for _ in range(3))
    unit = chance.choice(("µm", "mm"))
    return chance.choice((Quantity.of(mid, unit), Quantity.between(low, high, unit), Quantity.between(low, high, unit, mid)))


def _sentence(chance: Random, predicate: str, subject: str | Variable, parcels: list[Term], shelves: list[Term]) -> Statement:
    if _SHAPE[predicate] == "trait":
        return Statement(predicate, subject)
    return Statement(predicate, subject, chance.choice(shelves if predicate in ("kept", "moved") else parcels))


def _comparing(chance: Random, subject: str | Variable, measured: bool) -> Statement:
    predicate = chance.choice(("width", "depth"))
    return Statement(predicate, subject, _SIZE if measured else _size(chance), chance.choice(("above", "below", "at least", "at most")))


def _conditions(chance: Random, layer: int, below: list[str]) -> list[Statement]:
    made = [chance.choice([Statement("on", _X, _Y), Statement("over", _X, _Y), Statement("open", _X), Statement("kept", _X, _SHELF)])]
    if layer == 1 and chance.random() < 0.4:  # recursion, through this layer
        made = [Statement(chance.choice(("on", "on", "over")), _X, _Z), Statement("over", _Z, _Y)]
    if measured := chance.random() < 0.25:
        whose: str | Variable = _X if chance.random() < 0.5 else PARCELS[0]
        made.append(Statement(chance.choice(("width", "depth")), whose, _SIZE))
    if chance.random() < 0.4:
        subject: str | Variable = chance.choice((_X, _X, _Y, Variable("w"), _X)) if chance.random() < 0.8 else PARCELS[1]
        made.append(_sentence(chance, chance.choice([*below, *LAYERS[layer]]), subject, [_X, _Y, _Z, PARCELS[2]], [_SHELF, *SHELVES]))
    if chance.random() < 0.4:
        made.append(_comparing(chance, chance.choice((_X, _X, _Y)), measured))
    chance.shuffle(made)
    return made


def _exception(chance: Random, number: int, below: list[str], measured: bool) -> Statement:
    """What blocks a rule; its own variables are named apart from those of others."""
    loose, shelf = Variable(f"any-{number}"), Variable(f"shelf-{number}")
    if chance.random() < 0.25:
        return _comparing(chance, chance.choice((_X, loose)), measured)
    predicate = chance.choice(below)
    if predicate in ("on", "over") and chance.random() < 0.2:
        return Statement(predicate, loose, loose)
    return _sentence(chance, predicate, chance.choice((_X, _X, loose)), [_X, Variable(f"thing-{number}"), PARCELS[3]], [*SHELVES, shelf])


def _rule(number: int, seed: int) -> Rule:
    chance = Random(seed)
    layer = chance.randrange(1, len(LAYERS))
    below = [p for earlier in LAYERS[:layer] for p in earlier if _SHAPE[p] != "quantity"]
    conditions = _conditions(chance, layer, below)
    bound = {name for condition in conditions if condition.comparison == "is" for name in condition.variables()}
    bound |= {condition.subject.name for condition in conditions if isinstance(condition.subject, Variable)}
    exceptions = [_exception(chance, number, below, "v" in bound) for number in range(chance.choice((0, 0, 1, 2)))]
    parcels = [variable for variable in (_X, _Y, _Z) if variable.name in bound]
    shelves: list[Term] = [_SHELF, *SHELVES] if "s" in bound else list(SHELVES)
    heads = [_sentence(chance, chance.choice(LAYERS[layer]), chance.choice(parcels), list(parcels), shelves)]
    if chance.random() < 0.25:
        heads.append(Statement("lost", chance.choice(parcels)))
    safety = chance.random() < 0.5
    return Rule(f"rule-{number}", "test", "test.toml", 1, tuple(conditions), tuple(exceptions), tuple(heads), "Because it is so.", BASIS, (), safety)


def rule_sets(most: int = 8) -> st.SearchStrategy[list[Rule]]:
    """Rules that can be put into an order: with recursion, comparisons, and loose variables in ``unless``.

    Rules and facts are made from seeds: drawn part by part they come out so bare that hardly a rule fires.
    A rule set still shrinks by leaving out rules.
    """
    seeds = st.integers(0, 2**32)
    return st.lists(seeds, min_size=1, max_size=most).map(lambda found: [_rule(number, seed) for number, seed in enumerate(found)])


def _facts(seed: int) -> dict[Statement, Fact]:
    chance = Random(seed)

    def some(most: int) -> range:
        return range(chance.randrange(most // 3, most + 1))

    held = [Statement(chance.choice(("on", "on", "on", "over")), chance.choice(PARCELS), chance.choice(PARCELS)) for _ in some(9)]
    held += [Statement("kept", chance.choice(PARCELS), chance.choice(SHELVES)) for _ in some(4)]
    held += [Statement(chance.choice(("open", "open", "safe")), chance.choice(PARCELS)) for _ in some(3)]
    held += [Statement(chance.choice(("width", "depth")), chance.choice(PARCELS), _size(chance)) for _ in some(8)]
    return dict.fromkeys(held, FACT)


def fact_sets() -> st.SearchStrategy[dict[Statement, Fact]]:
    """Facts for such rules, some of which rules could also derive."""
    return st.integers(0, 2**32).map(_facts)


def slip(word: str, chance: Random) -> str:
    """A word with one letter dropped, doubled, exchanged with its neighbour, or mistaken."""
    at = chance.randrange(len(word))
    kind = chance.randrange(4)
    if kind == 0:
        return word[:at] + word[at + 1 :]
    if kind == 1:
        return word[: at + 1] + word[at:]
    if kind == 2 and at + 1 < len(word):
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    return word[:at] + chance.choice("aeiourst") + word[at + 1 :]
