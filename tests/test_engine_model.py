"""Whatever is asked of a model is asked of the same statements: from every side, in layers, in whatever order all was given."""

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import FACT, INVENTED, PARCELS, SHELVES, fact_sets, rule_sets
from test_engine import LANGUAGE, conclude, knowing, naive, rule
from test_engine_laws import fires

from finishing_kg import places
from finishing_kg.compiled import Sections
from finishing_kg.engine import Ground, Knowledge, Model, Prover, evaluate, margin, minimal_reasons
from finishing_kg.engine.join import Join
from finishing_kg.engine.kept import Kept
from finishing_kg.engine.layer import Layer
from finishing_kg.engine.names import NOTHING, Names
from finishing_kg.engine.program import Program, sizes
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Column, Fact, Facts
from finishing_kg.record import replace
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Language, Statement
from finishing_kg.vocabulary import Claim

THINGS = (*PARCELS, *SHELVES, "the-box", "nobody")


def _agrees(model: Model, held: set[Statement]) -> None:
    """Whether a model tells these statements and no others, however it is asked, each once."""
    for predicate in INVENTED.phrases:
        pairs = {(str(one.subject), one.object) for one in held if one.predicate == predicate}
        assert sorted(model.every_subject(predicate)) == sorted({subject for subject, _ in pairs})
        assert sorted(map(str, model.every_object(predicate))) == sorted(str(obj) for obj in {obj for _, obj in pairs})
        for thing in THINGS:
            objects = {obj for subject, obj in pairs if subject == thing}
            assert set(model.objects(predicate, thing)) == objects and len(model.objects(predicate, thing)) == len(objects)
            assert model.count(predicate, thing) == len(objects)
            assert model.quantity(predicate, thing) in ([each for each in objects if isinstance(each, Quantity)] or [None])
        for obj in {obj for _, obj in pairs} | {None, "nobody", "shelf-0", Quantity.of(7, "mm")}:
            subjects = {subject for subject, other in pairs if other == obj}
            assert sorted(model.subjects(predicate, obj)) == sorted(subjects)
            assert {thing for thing in THINGS if model.holds(predicate, thing, obj)} == subjects


@given(rule_sets(), fact_sets(), st.randoms(use_true_random=False))
def test_a_model_is_the_same_from_every_side_and_in_any_order(rules: list[Rule], given_facts: dict[Statement, Fact], chance: Random) -> None:
    """Subjects, objects, counts, rules that fired and things used are those of the statements that follow by trying everything."""
    held = naive(rules, set(given_facts))
    model = evaluate(INVENTED, make_base(rules), given_facts)
    _agrees(model, held)
    assert model.fired() == {one.id for one in rules if fires(one, held)}
    derived = [one for one in held if one not in given_facts]
    assert {term for one in derived for term in (one.subject, one.object) if isinstance(term, str)} <= model.things_used() <= set(THINGS)
    shuffled = list(given_facts.items())
    chance.shuffle(shuffled)
    other = evaluate(INVENTED, make_base(rules[::-1]), dict(shuffled))
    for predicate in INVENTED.phrases:
        assert other.every_subject(predicate) == model.every_subject(predicate)
        assert other.every_object(predicate) == model.every_object(predicate)
        assert [other.objects(predicate, thing) for thing in THINGS] == [model.objects(predicate, thing) for thing in THINGS]
        assert [other.subjects(predicate, thing) for thing in (*THINGS, None)] == [model.subjects(predicate, thing) for thing in (*THINGS, None)]


@given(rule_sets(), fact_sets(), fact_sets(), fact_sets())
def test_layers_are_asked_as_one_and_tell_what_the_question_brought(
    rules: list[Rule], first: dict[Statement, Fact], second: dict[Statement, Fact], question: dict[Statement, Fact]
) -> None:
    """Over what is known and what many questions share, a model tells all; what is new with the question is what did not follow without it."""
    knowledge = knowing(rules, first)
    model = knowledge.evaluate(question, upon=Ground(("shared",), lambda: Facts(second)))
    held = naive(rules, {*first, *second, *question})
    _agrees(model, held)
    lower = [layer for layer in model.layer.layers() if layer is not model.layer]
    for depth, layer in enumerate(model.layer.layers()):
        assert layer.depth == depth and all(map(len, layer.own.values())) and all(layer.log.values()), "something is held or logged of nothing"
        assert all(layer.names.value(obj) not in model.objects(predicate, "nobody") for predicate, _, obj in layer.rounds)
    names = model.layer.names
    relations = [(predicate, own) for layer in lower for predicate, own in layer.own.items()]
    below = {Statement(predicate, str(names.value(one)), names.value(other)) for predicate, own in relations for one, other in own}
    for predicate in INVENTED.phrases:
        for obj in (None, *THINGS):
            new = {str(one.subject) for one in held - below if (one.predicate, one.object) == (predicate, obj)}
            assert sorted(model.new_subjects(predicate, obj)) == sorted(new)


def test_things_come_in_the_order_of_their_names_and_before_sizes() -> None:
    """Where several things are related to one, the order is that of their names, whatever came first."""
    model = conclude([], "parcel p0 lies on parcel p2", "parcel p0 lies on parcel p1", "parcel p3 lies on parcel p1", "parcel p2 lies on parcel p1")
    assert model.objects("on", "p0") == ["p1", "p2"]
    assert model.subjects("on", "p1") == ["p0", "p2", "p3"]
    assert model.every_subject("on") == ["p0", "p2", "p3"]


def test_a_rank_grows_from_what_was_given_to_what_rests_on_it() -> None:
    """What was given stands first; what follows stands behind all that it follows from, also where a rule feeds itself."""
    over = [rule("lies", "?x lies on ?y", "?x is somewhere over ?y"), rule("far", "?x lies on ?y;?y is somewhere over ?z", "?x is somewhere over ?z")]
    last = rule("last", "?x is somewhere over parcel p3", "?x is sent")
    model = conclude([*over, last], "parcel p0 lies on parcel p1", "parcel p1 lies on parcel p2", "parcel p2 lies on parcel p3")
    on, near, middle, far, sent = (
        model.rank(LANGUAGE.parse(sentence))
        for sentence in (
            "parcel p2 lies on parcel p3",
            "parcel p2 is somewhere over parcel p3",
            "parcel p1 is somewhere over parcel p3",
            "parcel p0 is somewhere over parcel p3",
            "parcel p0 is sent",
        )
    )
    assert on < near < middle < far < sent
    assert model.rank(Statement("open", "p0")) < near


@pytest.mark.parametrize(
    ("left", "right", "apart"),
    [("2 mm", "500 µm", "1500 µm"), ("500 µm", "2 mm", "1500 µm"), ("1 mm", "1 mm", "0 µm"), ("1 to 3 mm", "1 mm", "1000 µm")],
)
def test_a_margin_is_from_middle_to_middle_in_the_common_unit(left: str, right: str, apart: str) -> None:
    """2 mm and 500 µm are 1500 µm apart, from either side; of a range the middle counts."""
    one, other, wanted = (LANGUAGE.parse(f"the width of parcel p0 is {text}").object for text in (left, right, apart))
    assert isinstance(one, Quantity) and isinstance(other, Quantity)
    assert margin(INVENTED.phrases["width"], INVENTED.units, one, other) == wanted


@given(st.lists(st.lists(st.sampled_from([*THINGS, Quantity.of(1, "mm"), Quantity.of(2, "mm")]), max_size=6), min_size=1, max_size=4))
def test_numbers_lead_back_to_their_values_through_tables_that_add_to_each_other(tables: list[list[str | Quantity]]) -> None:
    """Each value has one number, the same from every table above the one that gave it; no value and no number but these are known."""
    names, given_numbers, added = Names(), dict[str | Quantity | None, int](), list[str | Quantity]()
    for number, values in enumerate(tables):
        if number:
            names, added = Names(names), []
        for value in values:
            if value not in given_numbers:
                assert names.find(value) is None
                added.append(value)
            assert names.number(value) == given_numbers.setdefault(value, len(given_numbers) + 1)
        assert names.own() == added and names.begins([*added, "more"]) and names.begins(added)
        assert not names.begins(["something else", *added]) or not added
        assert len(names) == len(given_numbers) + 1
    assert [names.value(number) for number in given_numbers.values()] == list(given_numbers)
    assert [names.find(value) for value in given_numbers] == list(given_numbers.values())
    assert names.value(NOTHING) is None and names.find(None) == NOTHING and names.find("never named") is None


@pytest.mark.parametrize("unless", ["", "?x is lost"])
@pytest.mark.parametrize("lost", [False, True])
@pytest.mark.parametrize("shared", [False, True])
def test_a_rule_that_feeds_itself_over_what_is_known(unless: str, lost: bool, shared: bool) -> None:
    """A stack that is known, and a parcel on top that many questions share: what lies over what, unless the question has lost a parcel."""
    rules = [
        rule("lies", "?x lies on ?y", "?x is somewhere over ?y"),
        rule("far", "?x lies on ?y;?y is somewhere over ?z", "?x is somewhere over ?z", unless),
    ]
    stack = tuple(Claim("on", one, other, FACT.basis) for one, other in (("p1", "p2"), ("p2", "p3"), ("p3", "the-box")))
    knowledge = Knowledge(replace(INVENTED, claims=stack), LANGUAGE, make_base(rules))
    question = {Statement("lost", "p2"): FACT} if lost else {}
    top = {Statement("on", "p0", "p1"): FACT}
    model = knowledge.evaluate(question if shared else {**question, **top}, upon=Ground(("top",), lambda: Facts(top if shared else {})))
    whole = {"p0": ["p1", "p2", "p3", "the-box"], "p1": ["p2", "p3", "the-box"], "p2": ["p3", "the-box"], "p3": ["the-box"]}
    cut = {"p0": ["p1", "p2", "p3"], "p1": ["p2", "p3"], "p2": ["p3"], "p3": ["the-box"]}
    logged = [
        (index, slots, member)
        for layer in model.layer.layers()
        for index, groups in layer.log.items()
        for slots, group in groups
        for member in group or (NOTHING,)
    ]
    assert len(logged) == len(set(logged)), "of a rule that needs one statement of its own kind each firing is found once"
    for parcel, below in (cut if lost and unless else whole).items():
        assert model.objects("over", parcel) == below
    assert model.new_subjects("lost") == (["p2"] if lost else []) and (model.new_subjects("on", "p1") == []) is shared


def test_knowledge_is_read_from_a_folder_and_rule_files(language: Language) -> None:
    """What stands in the files holds, in the words of the same language, by these rules and no others."""
    known = Knowledge.load(places.shipped("ontology"), [places.shipped("rules") / "verdicts.toml"])
    cuts = Statement("cutsGlass", "silicon-carbide")
    assert known.language.parse("silicon carbide cuts glass") == language.parse("silicon carbide cuts glass") == cuts
    assert cuts in known.evaluate({}).statements()
    assert {Path(one.file).name for one in known.base.rules} == {"verdicts.toml"}


def test_what_a_question_names_is_forgotten_with_it() -> None:
    """A thing that only a question speaks of leaves nothing behind in what is known, so that many questions take no more room than one."""
    knowledge = Knowledge(INVENTED, LANGUAGE, make_base([rule("opened", "?x lies on ?y;?y is open", "?x is open")]))
    asked = {Statement("on", "nobody", "no-one"): FACT, Statement("open", "no-one"): FACT}
    model = knowledge.evaluate(asked)
    assert model.holds("open", "nobody")
    assert [layer.names.find("nobody") is None for layer in model.layer.layers()] == [True] * model.layer.depth + [False]
    assert knowledge.evaluate({}).layer.names.find("nobody") is None and not knowledge.evaluate({}).holds("open", "nobody")


def test_a_proof_can_be_asked_for_by_what_a_variable_stands_for() -> None:
    """Where a conclusion follows in two ways, the way through a given thing is shown; there is none through another, and none of what is not so."""
    model = conclude([rule("leans", "?x lies on ?y", "?x is sent")], "parcel p0 lies on parcel p1", "parcel p0 lies on parcel p2")
    prover, sent = Prover(model), Statement("sent", "p0")
    for through in ("p1", "p2"):
        proof = prover.proof_with(sent, "y", through)
        assert proof.premises[0].statement == Statement("on", "p0", through) and dict(proof.bindings) == {"x": "p0", "y": through}
    given_only = Statement("on", "p0", "p1")
    for statement, variable, value in ((sent, "y", "p3"), (sent, "z", "p1"), (Statement("sent", "p1"), "y", "p1"), (given_only, "y", "p1")):
        with pytest.raises(KeyError) as told:
            prover.proof_with(statement, variable, value)
        assert told.value.args[0] in ((statement, variable, value), statement)
    nothing = Statement("sent", "p3")
    for ask in (prover.proof, prover.proofs, lambda statement: minimal_reasons(prover, statement)):
        with pytest.raises(KeyError) as told:
            ask(nothing)
        assert told.value.args == (nothing,)


# A rule that names a thing in one place, a question in which another thing stands there, and what would follow if the two were taken for one.
NAMED = [
    ("?x is kept on shelf 0", "?x is sent", "", "parcel p0 is kept on shelf 1", "parcel p0 is sent", False),
    ("?x is kept on shelf 0", "?x is sent", "", "parcel p0 is kept on shelf 0", "parcel p0 is sent", True),
    ("parcel p1 lies on ?x", "?x is sent", "", "parcel p2 lies on parcel p0", "parcel p0 is sent", False),
    ("?x is open", "?x is sent", "?x is kept on shelf 0", "parcel p0 is open;parcel p0 is kept on shelf 1", "parcel p0 is sent", True),
    ("?x is open", "?x is sent", "parcel p1 is lost", "parcel p0 is open;parcel p2 is lost", "parcel p0 is sent", True),
    ("?x is open", "?x is sent", "parcel p1 is lost", "parcel p0 is open;parcel p1 is lost", "parcel p0 is sent", False),
    ("?x is open", "?x is moved to shelf 0", "", "parcel p0 is open;parcel p0 is kept on shelf 1", "parcel p0 is moved to shelf 0", True),
    ("?x is open", "?x is moved to shelf 0", "", "parcel p0 is open;parcel p0 is kept on shelf 1", "parcel p0 is moved to shelf 1", False),
    ("?x is open", "parcel p3 is sent", "", "parcel p0 is open", "parcel p3 is sent", True),
    ("?x is open", "parcel p3 is sent", "", "parcel p0 is open", "parcel p0 is sent", False),
    ("the width of ?x is above 2 mm", "?x is sent", "", "the width of parcel p0 is 1 mm", "parcel p0 is sent", False),
    ("the width of ?x is above 2 mm", "?x is sent", "", "the width of parcel p0 is 3 mm", "parcel p0 is sent", True),
]


@pytest.mark.parametrize(("parts", "asked", "statement", "follows"), [(one[:3], *one[3:]) for one in NAMED])
def test_what_a_rule_names_is_not_taken_for_what_a_question_names(parts: tuple[str, str, str], asked: str, statement: str, follows: bool) -> None:
    """Though nothing known names either, and nothing of the rule was worked out before the question came."""
    knowledge = Knowledge(INVENTED, LANGUAGE, make_base([rule("named", *parts)]))
    for shared in ({}, {Statement("safe", "the-box"): FACT}):
        question = {LANGUAGE.parse(sentence): FACT for sentence in asked.split(";")}
        model = knowledge.evaluate(question, upon=Ground(("shared", str(len(shared))), lambda shared=shared: Facts(shared)))  # type: ignore[misc]
        assert (LANGUAGE.parse(statement) in model.statements()) is follows


def _on(*pairs: tuple[str, str]) -> tuple[Claim, ...]:
    return tuple(Claim("on", one, other, FACT.basis) for one, other in pairs)


RULES = [
    rule("lies", "?x lies on ?y", "?x is somewhere over ?y"),
    rule("far", "?x lies on ?y;?y is somewhere over ?z", "?x is somewhere over ?z"),
    rule("wide", "the width of ?x is above 1 mm;?x lies on ?y", "?x is sent", "?x is kept on ?s"),
]
STACK = _on(("p1", "p2"), ("p2", "the-box"))
TOP = {Statement("on", "p0", "p1"): FACT, Statement("width", "p0", Quantity.between(2, 3, "mm")): FACT}


def _layers(kept: Kept, claims: tuple[Claim, ...], derived: list[str]) -> tuple[Layer, Layer]:
    """What follows from some claims, and from a top above them; what had to be derived is noted."""
    facts = {"ground": Facts({Statement(claim.predicate, claim.subject, claim.object): FACT for claim in claims}), "top": Facts(TOP)}

    def given_of(name: str) -> Iterator[Column]:
        derived.append(name)
        return facts[name].columns()

    ground = kept.layer("ground", lambda: given_of("ground"))
    return ground, kept.layer("top", lambda: given_of("top"), ground)


def _program(rules: list[Rule], claims: tuple[Claim, ...] = STACK) -> Program:
    vocabulary, base = replace(INVENTED, claims=claims), make_base(rules)
    return Program(vocabulary, base, sizes(vocabulary, base))


def _contents(layer: Layer) -> list[object]:
    """All that a layer tells, in names."""
    value = layer.names.value
    held = {(predicate, value(one), value(other)) for predicate, own in layer.own.items() for one, other in own}
    rounds = {(predicate, value(one), value(other)): turn for (predicate, one, other), turn in layer.rounds.items()}
    log = {
        index: [([value(each) for each in slots], {value(each) for each in group or ()}) for slots, group in found]
        for index, found in layer.log.items()
    }
    return [held, rounds, log, layer.names.own(), layer.depth, layer.top, layer.program.learnt()]


def test_layers_that_are_kept_are_taken_and_not_derived_again() -> None:
    """Where they can be kept they are derived once, by whichever program of the same rules, and are the same afterwards; else each time."""
    sections, derived = Sections(), list[str]()
    first = _layers(Kept(_program(RULES), sections), STACK, derived)
    assert derived == ["ground", "top"]
    second = _layers(Kept(_program(RULES), sections), STACK, derived)
    assert derived == ["ground", "top"], "what was kept was derived anew"
    assert list(map(_contents, first)) == list(map(_contents, second))
    assert _contents(second[1])[0] >= {("over", "p0", "the-box"), ("over", "p0", "p1"), ("width", "p0", Quantity.between(2, 3, "mm"))}  # type: ignore[operator]
    for layers in (first, second):
        question = Layer(layers[0].program, Facts({Statement("on", "the-box", "p9"): FACT}).columns(), layers[1], top=True)
        assert Model(question, Facts({})).objects("over", "p0") == ["p1", "p2", "p9", "the-box"]
        assert Model(question, Facts({})).subjects("sent") == ["p0"]
    for _ in range(2):
        derived.clear()
        _layers(Kept(_program(RULES), None), STACK, derived)
        assert derived == ["ground", "top"]


def test_a_layer_above_another_one_than_it_was_derived_over_is_derived_anew() -> None:
    """Names are kept as numbers: where what lies below has numbered other things, or the rules name others, what was kept is of no use."""
    sections, derived = Sections(), list[str]()
    _layers(Kept(_program(RULES), sections), STACK, derived)
    alone = Sections()
    alone.give("top", sections.get("top"))
    for rules, claims, held in (
        (RULES, _on(("p1", "p3")), alone),  # fewer things below
        (RULES, (*STACK, *_on(("p2", "p3"))), alone),  # more things below
        ([*RULES, rule("named", "?x is lost", "parcel p3 is sent")], STACK, sections),  # the rules name what they did not
    ):
        derived.clear()
        kept = Sections()
        for name in ("ground", "top"):
            if (plain := held.get(name)) is not None:
                kept.give(name, plain)
        layers = _layers(Kept(_program(rules, claims), kept), claims, derived)
        assert derived == ["ground", "top"]
        anew = _layers(Kept(_program(rules, claims), None), claims, [])
        assert list(map(_contents, layers)) == list(map(_contents, anew))


@pytest.mark.parametrize("place", range(7))
def test_a_kept_layer_in_another_shape_is_derived_anew(place: int) -> None:
    """Whichever part of it is of another kind, and where a name is no text, the layer is the one that is derived."""
    sections, derived = Sections(), list[str]()
    first, _ = _layers(Kept(_program(RULES), sections), STACK, derived)
    plain = sections.get("ground")
    assert isinstance(plain, tuple) and len(plain) == 7
    for spoilt in (None, "text", [7]):
        derived.clear()
        held = Sections()
        held.give("ground", (*plain[:place], spoilt, *plain[place + 1 :]))
        again, _ = _layers(Kept(_program(RULES), held), STACK, derived)
        assert derived[0] == "ground" and _contents(again) == _contents(first)


def test_how_many_facts_there_are_of_each_predicate() -> None:
    """Claims of the ontology and facts that rules bring are counted together; of what there is none there is no number."""
    claims = (*STACK, Claim("open", "p1", None, FACT.basis))
    assert sizes(replace(INVENTED, claims=claims), make_base(RULES)) == {"on": 2, "open": 1}
    assert sizes(INVENTED, make_base(RULES)) == {}
    brought = (Statement("on", "p3", "p2"), Statement("lost", "p3"), Statement("lost", "p2"))
    counted = replace(make_base(RULES), facts=dict.fromkeys(brought, FACT.basis))
    assert sizes(replace(INVENTED, claims=claims), counted) == {"on": 3, "open": 1, "lost": 2}


def test_entries_are_found_by_what_they_conclude() -> None:
    """Of two rules that move to two shelves, each shelf has the entry of its own rule; of a shelf that no rule names there is none."""
    rules = [
        rule("first", "?x is open", "?x is moved to shelf 0"),
        rule("second", "?x is open", "?x is moved to shelf 1"),
        rule("third", "?x is kept on ?s", "?x is moved to ?s"),
    ]
    model = conclude(rules, "parcel p0 is open", "parcel p1 is kept on shelf 1", "parcel p0 lies on parcel p2")
    number = model.layer.names.number
    by = {shelf: [model.base.rules[index].id for index, _, _ in model.layer.entries("moved", number(shelf))] for shelf in (*SHELVES, "p2")}
    assert by == {"shelf-0": ["first"], "shelf-1": ["second", "third"], "p2": []}
    assert model.layer.entries("sent", number("shelf-0")) == [] == model.layer.entries("on", number("p2"))


@pytest.mark.parametrize(
    ("unless", "claims", "waits", "relied"),
    [
        ("?x is kept on shelf 0", STACK, True, set()),  # nothing is known of it, so a question may bring it
        ("?x is kept on shelf 0", (*STACK, Claim("kept", "p3", "shelf-0", FACT.basis)), False, {"kept"}),
        ("?x is safe", STACK, True, set()),
        ("?x is somewhere over parcel p3", (*STACK, Claim("over", "p3", "the-box", FACT.basis)), False, {"over", "on"}),  # and what it follows from
        ("", STACK, False, set()),
    ],
)
def test_a_rule_waits_for_a_question_that_may_forbid_it(unless: str, claims: tuple[Claim, ...], waits: bool, relied: set[str]) -> None:
    """What is known beforehand, and cannot be said in a question, is relied on; a question that says it all the same is answered from nothing."""
    rules = [*RULES[:2], rule("send", "?x lies on ?y", "?x is sent", unless)]
    knowledge = Knowledge(replace(INVENTED, claims=claims), LANGUAGE, make_base(rules))
    model = knowledge.evaluate({})
    settled, deferred = model.layer.program.learnt()
    assert (settled, {model.base.rules[index].id for index in deferred}) == (relied, {"send"} if waits else set())
    assert model.subjects("sent") == ["p1", "p2"] and model.new_subjects("sent") == (["p1", "p2"] if waits else [])
    for predicate in relied:
        said = Statement(predicate, "p1", "shelf-0" if predicate == "kept" else "p3")
        other = knowledge.evaluate({said: FACT})
        assert other.layer.depth == 0 and other.subjects("sent") == ["p2"]


def test_what_is_said_again_is_held_once() -> None:
    """A question, and what many questions share, may say what is known: it is held below and nowhere else, and nothing of it is new."""
    rules = [*RULES[:2], rule("leans", "?x lies on ?y", "?x is safe")]
    knowledge = Knowledge(replace(INVENTED, claims=STACK), LANGUAGE, make_base(rules))
    known = {Statement(claim.predicate, claim.subject, claim.object): FACT for claim in STACK}
    said = {**known, Statement("safe", "p1"): FACT, Statement("over", "p1", "the-box"): FACT}
    model = knowledge.evaluate({**said, Statement("on", "p0", "p1"): FACT}, upon=Ground(("again",), lambda: Facts(said)))
    pairs = [(predicate, *pair) for layer in model.layer.layers() for predicate, own in layer.own.items() for pair in own]
    assert len(pairs) == len(set(pairs)) == len(model.statements())
    assert model.new_subjects("on", "p2") == model.new_subjects("over", "the-box")[1:] == [] and model.new_subjects("safe") == ["p0"]
    assert [model.count("on", "p1"), model.count("over", "p1"), model.count("over", "p0")] == [1, 2, 3]
    assert [sorted(layer.own) for layer in model.layer.layers()] == [["on", "over", "safe"], [], ["on", "over", "safe"]]
    again = knowledge.evaluate({Statement("on", "p1", "p3"): FACT})  # a second reason for what is safe already
    assert sorted(again.layer.own) == ["on", "over"] and len(again.firings(Statement("safe", "p1"))) == 2


def test_knowledge_that_tells_nobody_or_checks_nothing_goes_on_from_the_same_layers() -> None:
    """What was derived before any question, and what many questions share, is there once for all of them; only the one with a listener tells it."""
    told, made = list[Model](), list[str]()
    knowledge = replace(knowing(RULES, [Statement("on", "p1", "p2")]), listener=told.append)

    def shared() -> Facts:
        made.append("shared")
        return Facts(dict(TOP))

    upon = Ground(("shared",), shared)
    first = knowledge.evaluate({}, upon)
    assert told == [first] and knowledge.checking
    for other in (knowledge.unheard, knowledge.unchecked, knowledge.share_with(replace(knowledge, listener=None))):
        model = other.evaluate({Statement("lost", "p0"): FACT}, upon)
        assert model.layer.layers()[:2] == first.layer.layers()[:2] and other.facts is knowledge.facts
        assert model.statements() == first.statements() | {Statement("lost", "p0")}
    assert made == ["shared"] and len(told) == 2, "derived or told more often than once"
    assert knowledge.unheard is knowledge.unheard and knowledge.unheard.unheard is knowledge.unheard
    assert knowledge.unheard.listener is None and knowledge.unheard.checking and not knowledge.unchecked.checking
    assert knowledge.unchecked.unchecked is knowledge.unchecked and knowledge.unchecked.listener == knowledge.listener


def test_facts_that_questions_share_are_told_apart_by_their_names() -> None:
    """Two names, two tables, whichever comes first, and also where one is the beginning of the other; a name that is known is not made anew."""
    knowledge = knowing(RULES, [Statement("on", "p1", "p2")])
    on, wide = {Statement("on", "p0", "p1"): FACT}, dict(TOP)
    grounds = [Ground(("a",), lambda: Facts(on)), Ground(("a", "b"), lambda: Facts(wide)), Ground(("a",), lambda: Facts(wide))]
    assert [knowledge.evaluate({}, upon).subjects("sent") for upon in grounds] == [[], ["p0"], []]
    assert knowledge.evaluate({}).subjects("on") == [] and knowledge.evaluate({}).every_subject("on") == ["p1"]


class Watched(Program):
    """A program that notes which of its rules are made ready to be run."""

    def __post_init__(self) -> None:
        super().__post_init__()
        self.ready: set[str] = set()

    def join(self, index: int) -> Join:
        self.ready.add(self.base.rules[index].id)
        return super().join(index)


@pytest.mark.parametrize(
    ("question", "ready"),
    [
        ([], {"forbidden"}),
        (["parcel p3 is open"], {"forbidden"}),
        (["parcel p3 is lost"], {"forbidden", "no-such"}),
        (["parcel p3 is kept on shelf 0"], {"forbidden", "moves"}),
        (["parcel p3 is kept on shelf 1"], {"forbidden", "moves", "not-there"}),
        (["parcel p3 lies on parcel p0"], {"forbidden", "lies", "far"}),
    ],
)
def test_only_rules_that_may_fire_are_made_ready(question: list[str], ready: set[str]) -> None:
    """Not those that need what there is nothing of; after a question not those for which it brings nothing, save where it may forbid something."""
    rules = [
        *RULES[:2],
        rule("no-such", "?x lies on ?y;?z is lost", "?x is sent"),
        rule("not-there", "?x lies on ?y;?z is kept on shelf 1", "?x is sent"),
        rule("forbidden", "?x lies on ?y", "?x is sent", "?x is safe"),
        rule("moves", "?x is kept on ?s", "?x is moved to ?s"),
    ]
    vocabulary = replace(INVENTED, claims=(*STACK, Claim("kept", "p1", "shelf-0", FACT.basis)))
    base = make_base(rules)
    program = Watched(vocabulary, base, sizes(vocabulary, base))
    known = Facts({Statement(claim.predicate, claim.subject, claim.object): FACT for claim in vocabulary.claims})
    ground = Layer(program, known.columns(), top=False)
    assert program.ready == {"lies", "far", "moves"}
    program.ready.clear()
    asked = Facts({LANGUAGE.parse(sentence): FACT for sentence in question}, known)
    model = Model(Layer(program, asked.columns(), ground, top=True), asked)
    assert program.ready == ready
    assert model.statements() == evaluate(INVENTED, base, {**known, **asked}).statements()
