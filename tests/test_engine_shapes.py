"""Rules of every shape: each kind of condition with each kind of exception, beside the evaluator that tries everything."""

from collections.abc import Mapping, Sequence
from itertools import product

import pytest
from strategies import FACT, INVENTED
from test_engine import LANGUAGE, _naive_matches, naive, rule

from finishing_kg.engine import Model, Prover, evaluate
from finishing_kg.engine.join import Join, make_join
from finishing_kg.engine.links import Found
from finishing_kg.engine.names import NOTHING, Names
from finishing_kg.engine.relation import Relation
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Facts, ProofChecker
from finishing_kg.proofs.backward import BackwardSearch, rules_for
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement

CONDITIONS = [
    "?x is open",
    "?x lies on ?y",
    "?y lies on ?x",
    "?x lies on parcel p1",
    "parcel p0 lies on ?x",
    "?x lies on ?x",
    "?x lies on ?y;?y is open",
    "?x lies on ?y;?y lies on ?x",
    "?x lies on ?y;?y lies on ?z;?z lies on ?x",
    "?x lies on ?y;?x is kept on ?s;?y is kept on ?s",
    "?x is open;parcel p1 lies on parcel p2",
    "?x is open;?y lies on ?z",
    "the width of ?x is above 1 mm",
    "the width of ?x is ?v;the depth of ?x is below ?v",
    "?x lies on ?y;the width of ?x is ?v;the width of ?y is at most ?v",
    "?x is open;the width of ?x is at least 2 mm",
    "?x lies on ?y;the depth of ?y is ?v;the width of ?x is above ?v",
    "the depth of ?y is ?v;the width of ?x is at least ?v",
    "?x is kept on ?s;the width of parcel p1 is ?v;the depth of ?x is at least ?v",
]
EXCEPTIONS = [
    "",
    "?x is safe",
    "?x lies on ?any",
    "?any lies on ?x",
    "?any lies on ?any",
    "?x lies on ?x",
    "?any lies on ?other",
    "?any is lost",
    "parcel p3 is safe",
    "parcel p2 is safe",
    "?x lies on parcel p1",
    "parcel p1 lies on ?x",
    "?x is kept on shelf 0",
    "?any is kept on shelf 1",
    "the width of ?x is above 1 mm",
    "the depth of ?x is at most 1 mm",
    "the width of ?any is above 5 mm",
    "the width of parcel p1 is below 1 mm",
    "?x is safe;the width of ?x is below 1 mm",
]
# Conclusions that are about something else than what most conditions are about, or about no variable at all.
HEADS = [
    ("?x is open", "parcel p3 is somewhere over ?x"),
    ("?x is open", "?x is somewhere over ?x"),
    ("?x lies on ?y", "?y is somewhere over ?x;?x is sent"),
    ("?x lies on ?y;?y is open", "parcel p0 is sent"),
    ("?y is open", "parcel p2 is sent;?y is sent"),
    ("parcel p0 is open", "parcel p1 is sent;parcel p2 is moved to shelf 0"),
    ("the width of parcel p0 is ?v;the depth of parcel p1 is at most ?v", "parcel p0 is sent"),
    ("?x is kept on ?s", "parcel p0 is moved to ?s"),
    ("?x is kept on ?s;?y is kept on ?s", "?x is moved to ?s;?y is moved to ?s"),
    ("?y lies on ?z;?x is open", "?x is sent"),
    ("?x is open;?y lies on ?y", "?x is sent"),
    ("?x is open;the width of ?y is above 1 mm;?y lies on ?z", "?x is sent"),
    ("?x is open;?y lies on parcel p1;parcel p0 lies on ?z", "?x is sent"),
    ("?x is open;the width of parcel p1 is above 400 µm;parcel p3 lies on parcel p3", "?x is sent"),
]
# Exceptions about other things than what is judged: what a variable stands for that another condition has bound, a named thing, or anything.
ASIDE = [
    "", "?any is lost", "parcel p2 is safe", "?x is kept on shelf 1", "the width of parcel p1 is below 1 mm", "?z lies on ?y", "?any lies on ?y",
    "?y lies on ?any", "parcel p0 lies on ?y", "?y lies on parcel p1", "?y lies on ?y", "?y is safe", "the width of ?y is at least 2 mm",
]  # fmt: skip
# A stack with a circle, one that lies on itself, sizes that surely, possibly and never meet the limits, and things that are nowhere.
GIVEN = [
    [
        "parcel p0 lies on parcel p1", "parcel p1 lies on parcel p2", "parcel p2 lies on parcel p0", "parcel p3 lies on parcel p3",
        "parcel p0 is open", "parcel p1 is open", "parcel p3 is open", "parcel p1 is safe", "parcel p3 is safe",
        "parcel p0 is kept on shelf 0", "parcel p1 is kept on shelf 0", "parcel p3 is kept on shelf 1",
        "the width of parcel p0 is 2 mm", "the width of parcel p1 is 500 to 1500 µm", "the width of parcel p3 is 1 mm",
        "the depth of parcel p0 is 1 mm", "the depth of parcel p1 is 500 to 1500 µm", "the depth of parcel p3 is 3 mm",
    ],
    [
        "parcel p0 lies on parcel p1", "parcel p0 lies on parcel p2", "parcel p3 lies on parcel p1",
        "parcel p0 is open", "parcel p1 is open", "parcel p2 is open", "parcel p2 is safe", "parcel p0 is kept on shelf 1",
        "the width of parcel p0 is 3 mm", "the width of parcel p0 is 500 µm", "the width of parcel p1 is 700 µm", "the width of parcel p2 is 6 mm",
        "the depth of parcel p0 is 900 µm", "the depth of parcel p2 is 2 mm",
    ],
]  # fmt: skip


@pytest.mark.parametrize("conditions", CONDITIONS)
@pytest.mark.parametrize("sentences", GIVEN, ids=["circle", "tree"])
def test_a_rule_of_every_shape_concludes_what_trying_everything_does(conditions: str, sentences: list[str]) -> None:
    """With each exception and as a safety rule or not, the same follows, about the same things, with proofs that the checker accepts."""
    given_facts = {LANGUAGE.parse(sentence): FACT for sentence in sentences}
    for exception, safety in product(EXCEPTIONS, (False, True)):
        rules = [rule("shape", conditions, "?x is sent;?x is moved to shelf 1", exception, safety)]
        model = evaluate(INVENTED, make_base(rules), given_facts)
        assert model.statements() == naive(rules, set(given_facts)), (exception, safety)
        checker, prover = ProofChecker(INVENTED, model.base.by_id, given_facts, {}), Prover(model)
        derived = [statement for statement in model.statements() if statement not in given_facts]
        assert [checker.fault(proof) for statement in derived for proof in prover.proofs(statement)] == [None] * len(derived)


def _ways(one: Rule, held: set[Statement]) -> list[dict[str, str]]:
    """Every filling of a rule's variables under which it fires, by trying everything."""
    ways = _naive_matches(one.conditions, held, {}, one.safety)
    met = [known for known in ways if not any(True for unless in one.exceptions for _ in _naive_matches((unless,), held, known, False))]
    return [{name: str(value) for name, value in known.items()} for known in met]


def _firings(model: Model, statement: Statement) -> list[dict[str, str]]:
    """What the variables of a model's one rule stood for, each time that it concluded a statement."""
    names = model.layer.program.join(0).names
    return [{name: str(value) for name, value in zip(names, values, strict=True) if "#" not in name} for _, values in model.firings(statement)]


@pytest.mark.parametrize(("conditions", "then"), HEADS)
@pytest.mark.parametrize("sentences", GIVEN, ids=["circle", "tree"])
def test_a_rule_concludes_about_whatever_it_says(conditions: str, then: str, sentences: list[str]) -> None:
    """The same follows as by trying everything, in the same ways, with proofs that the checker accepts, whichever variable the conclusions name."""
    given_facts = {LANGUAGE.parse(sentence): FACT for sentence in sentences}
    for exception in ASIDE:
        one = rule("shape", conditions, then, exception)
        model, ways = evaluate(INVENTED, make_base([one]), given_facts), _ways(one, set(given_facts))
        assert model.statements() == naive([one], set(given_facts)), exception
        checker, prover = ProofChecker(INVENTED, model.base.by_id, given_facts, {}), Prover(model)
        for statement in model.statements():
            wanted = [way for way in ways if statement in (head.filled(way) for head in one.conclusions)]
            assert sorted(map(repr, map(sorted, map(dict.items, _firings(model, statement))))) == sorted(
                map(repr, map(sorted, map(dict.items, wanted)))
            )
            if wanted:
                assert [checker.fault(proof) for proof in prover.proofs(statement)] == [None]


@pytest.mark.parametrize("conditions", [*CONDITIONS, *(conditions for conditions, _ in HEADS if "?x" in conditions)])
@pytest.mark.parametrize("sentences", GIVEN, ids=["circle", "tree"])
def test_what_is_looked_for_backwards_is_what_trying_everything_finds(conditions: str, sentences: list[str]) -> None:
    """The checker's own search: each conclusion by itself, and asked for with variables, holds where it follows by trying everything."""
    given_facts = {LANGUAGE.parse(sentence): FACT for sentence in sentences}
    goals = [*(f"{subject} is sent" for subject in ("parcel p0", "parcel p1", "parcel p2", "parcel p3", "?any")), "parcel p0 is moved to ?s"]
    for exception, safety in (("", False), ("", True), ("?x is safe", False), ("the width of parcel p1 is below 1 mm", False)):
        rules = [rule("shape", conditions, "?x is sent;?x is moved to shelf 1", exception, safety)]
        held, search = naive(rules, set(given_facts)), BackwardSearch(INVENTED, rules_for(rules), Facts(given_facts))
        for goal in map(LANGUAGE.parse, goals):
            follows = any(True for _ in _naive_matches((goal,), held, {}, False))
            assert search.holds(goal) is follows, (goal, exception, safety)


# How a rule is run is seen from what it looks up: a relation that counts how often it is asked.


class Counted(Relation):
    """A relation that counts how often it is asked for what belongs to one thing."""

    asked = 0

    def subjects(self, obj: int) -> frozenset[int]:
        self.asked += 1
        return frozenset(super().subjects(obj))

    def objects(self, subject: int) -> frozenset[int]:
        self.asked += 1
        return frozenset(super().objects(subject))


_Held = Mapping[str, Sequence[tuple[str, str | Quantity | None]]]


def _run(one: Rule, held: _Held, sizes: dict[str, int] | None = None) -> tuple[list[Found], list[int], list[str]]:
    """What a rule finds, how often the relation of each of its conditions was asked, and which predicates were compared."""
    names = Names()
    tables: dict[str, Counted] = {}
    for predicate, pairs in held.items():
        tables[predicate] = Counted()
        for subject, obj in pairs:
            tables[predicate].add_all([names.number(subject)], NOTHING if obj is None else names.number(obj))
    told = sizes or {predicate: len(table) for predicate, table in tables.items()}
    join, compared = make_join(one, names, lambda predicate: told.get(predicate, 0)), list[str]()

    def holds(predicate: str, _operator: str, _left: int, _right: int) -> bool:
        compared.append(predicate)
        return True

    found = join.run([tables.get(condition.predicate, Counted()) for condition in one.conditions], [], holds)
    return found, [tables[condition.predicate].asked if condition.predicate in tables else 0 for condition in one.conditions], compared


def _group(join: Join) -> str:
    return join.names[join.group] if join.group >= 0 else ""


@pytest.mark.parametrize(
    ("conditions", "then", "group"),
    [
        ("?x lies on ?y", "?x is sent", "x"),
        ("?x lies on ?y", "?y is sent", "y"),
        ("?x lies on ?y;?y is open", "?x is sent;?y is sent", "x"),
        ("?x lies on ?y;?y is open;?y is safe", "parcel p0 is sent", "y"),
        ("?y is open;?x lies on ?y", "parcel p0 is sent", "y"),
        ("?x lies on ?y;?y is open", "parcel p0 is sent", "x"),
        ("?x is kept on ?s", "parcel p0 is moved to ?s", "x"),
        ("parcel p0 lies on ?x", "parcel p0 is sent", "x"),
        ("the width of ?x is ?v;the depth of ?y is above ?v;the depth of ?y is below ?v", "parcel p0 is sent", "y"),
        ("the width of parcel p0 is ?v;the depth of parcel p1 is above ?v", "parcel p0 is sent", ""),
        ("parcel p0 is open", "parcel p1 is sent", ""),
    ],
)
def test_what_a_rule_judges_is_carried_as_one_set(conditions: str, then: str, group: str) -> None:
    """What the first conclusion is about; else what most conditions are about, of equals the first; never what is compared with."""
    assert _group(make_join(rule("planned", conditions, then), Names(), lambda _: 1)) == group


def test_a_rule_that_judges_many_has_one_entry_for_all() -> None:
    """Of all that is open and lies on something one firing group is made for each thing that it lies on, and one for all that is open and safe."""
    held = {"open": [(f"p{number}", None) for number in range(9)], "safe": [(f"p{number}", None) for number in range(3, 12)]}
    found, _, _ = _run(rule("both", "?x is open;?x is safe", "?x is sent"), held)
    assert [len(group or ()) for _, group in found] == [6]
    on = {"on": [(f"p{number}", f"q{number % 2}") for number in range(9)]}
    found, _, _ = _run(rule("on", "?x is open;?x lies on ?y", "?x is sent"), {**held, **on})
    assert sorted(len(group or ()) for _, group in found) == [4, 5]


_MANY = [(f"a{number}", f"b{number}") for number in range(20)]
_FEW = [(f"c{number}", f"d{number}") for number in range(3)]
_OPEN = [("p0", None), ("p1", None)]


@pytest.mark.parametrize("conditions", ["?a lies on ?b;?c is somewhere over ?d;?x is open", "?x is open;?c is somewhere over ?d;?a lies on ?b"])
@pytest.mark.parametrize(("on", "over"), [(_MANY, _FEW), (_FEW, _MANY)])
def test_the_smaller_of_two_loops_is_the_outer(conditions: str, on: list[tuple[str, str]], over: list[tuple[str, str]]) -> None:
    """Wherever it is written; the larger is gone through once for each turn of it, and both together make every pair."""
    one = rule("planned", conditions, "?x is sent")
    found, asked, _ = _run(one, {"on": on, "over": over, "open": _OPEN})
    times = {condition.predicate: count for condition, count in zip(one.conditions, asked, strict=True)}
    assert len(found) == len(on) * len(over) and times["open"] == 1
    small, large = ("on", "over") if len(on) < len(over) else ("over", "on")
    assert (times[small], times[large]) == (3, 3 * 20)


@pytest.mark.parametrize("lacking", ["parcel p3 is open", "parcel p3 lies on parcel p3", "?x is open", "?x is kept on shelf 0"])
@pytest.mark.parametrize("last", [False, True])
def test_what_can_be_checked_is_checked_before_anything_is_gone_through(lacking: str, last: bool) -> None:
    """Where nothing meets a condition about named things or about what is judged, no loop is begun and nothing compared, wherever it is written."""
    loops = ["?a is somewhere over ?b", "the width of ?x is above 1 mm", "the width of ?a is above 1 mm"]
    one = rule("planned", ";".join([*loops, lacking] if last else [lacking, *loops]), "?x is sent")
    found, asked, compared = _run(one, {"over": _MANY, "width": [(f"a{number}", Quantity.of(number + 1, "mm")) for number in range(20)], "on": _FEW})
    assert found == [] and compared == []
    assert sum(asked) == asked[3 if last else 0]


@pytest.mark.parametrize(
    ("conditions", "outer", "inner"),
    [
        ("?a lies on ?b;?c is kept on shelf 0", "kept", "on"),  # one thing is open in this loop, in the other two
        ("?x is kept on ?s;?a lies on ?b", "on", "kept"),  # the other goes through what is judged as well
        ("?x is kept on ?s;?x lies on ?b", "on", "kept"),  # both do, and this is the smaller
    ],
)
@pytest.mark.parametrize("swapped", [False, True])
def test_which_loop_is_the_outer_one(conditions: str, outer: str, inner: str, swapped: bool) -> None:
    """A loop over one thing before one over two, and loops over what is judged at the end, there too the smaller first."""
    one = rule("planned", ";".join([*conditions.split(";")[:: -1 if swapped else 1], "?x is open"]), "?x is sent")
    kept = [("p0", "shelf-0"), ("p1", "shelf-0"), ("p0", "shelf-1"), ("p1", "shelf-2"), ("p1", "shelf-3")]
    on = [("p0", "q0"), ("p1", "q1")]
    sizes = {"on": 2, "kept": 5} if conditions.count("?x") != 1 else {"on": 9, "kept": 1}  # the kind of loop goes before how large it is
    found, asked, _ = _run(one, {"on": on, "kept": kept, "open": _OPEN}, sizes)
    times = {condition.predicate: count for condition, count in zip(one.conditions, asked, strict=True)}
    assert found and times[outer] < times[inner]


@pytest.mark.parametrize(
    ("loop", "held"),
    [
        ("?y is open", {"open": [(f"p{number}", None) for number in range(9)]}),
        ("parcel p0 is somewhere over ?y", {"over": [("p0", f"p{number}") for number in range(9)]}),
        ("?y is somewhere over ?z", {"over": [(f"p{number}", "p0") for number in range(9)]}),
        ("the width of ?y is above 1 mm", {"width": [(f"p{number}", Quantity.of(number + 2, "mm")) for number in range(9)]}),
    ],
)
@pytest.mark.parametrize("last", [False, True])
def test_nothing_is_tried_that_what_is_judged_has_nothing_of(loop: str, held: _Held, last: bool) -> None:
    """Of nine that a loop goes through only the two are tried on which something lies, and all that follows is found."""
    on = "?x lies on ?y"
    one = rule("planned", f"{on};{loop}" if last else f"{loop};{on}", "?x is sent")
    found, asked, _ = _run(one, {**held, "on": [("a", "p3"), ("b", "p3"), ("c", "p7"), ("d", "elsewhere")]})
    assert asked[0 if last else 1] == 2
    assert sorted(len(group or ()) for _, group in found) == [1, 2]
