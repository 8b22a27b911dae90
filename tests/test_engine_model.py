"""Whatever is asked of a model is asked of the same statements: from every side, in layers, in whatever order all was given."""

from pathlib import Path
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import FACT, INVENTED, PARCELS, SHELVES, fact_sets, rule_sets
from test_engine import LANGUAGE, conclude, knowing, naive, rule
from test_engine_laws import fires

from finishing_kg import places
from finishing_kg.engine import Ground, Knowledge, Model, Prover, evaluate, margin
from finishing_kg.engine.names import NOTHING, Names
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact, Facts
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
        with pytest.raises(KeyError):
            prover.proof_with(statement, variable, value)
