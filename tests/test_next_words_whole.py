"""What may be written next, beside a list of all sentences that a small vocabulary can say in names alone."""

import ast
from decimal import Decimal

import pytest
from hypothesis import given
from strategies import INVENTED, statements

from finishing_kg.statements import Language, Statement, Variable
from finishing_kg.statements.next_words import NextWords, Place, Role, spoken
from finishing_kg.statements.plain import statement_as_plain, statement_from_plain
from finishing_kg.vocabulary import Phrase, Vocabulary

LANGUAGE = Language(INVENTED)


def _labels(kinds: tuple[str, ...]) -> list[str]:
    names = [name for name in INVENTED.names.values() if name.kind in kinds]
    return sorted({label for name in names for label in (name.id, name.label, *name.alternatives)})


def every_sentence() -> set[tuple[str, ...]]:
    """All sentences without variables and quantities, and the beginnings of those with a quantity, by the shapes that phrases have."""
    found = set()
    for phrase in INVENTED.phrases.values():
        for subject in _labels(phrase.subjects):
            if phrase.shape == "trait":
                found.add(f"{subject} {phrase.words}")
            for value in _labels(phrase.objects):
                found.add(f"{subject} {phrase.words} {value}" if phrase.shape == "relation" else f"the {phrase.words} of {subject} is {value}")
            if phrase.shape == "quantity":
                found |= {f"the {phrase.words} of {subject} is {comparison} …" for comparison in ("above", "below", "at least", "at most")}
    return {tuple(sentence.split()) for sentence in found}


SENTENCES = every_sentence()
BEGINNINGS = sorted({sentence[:length] for sentence in SENTENCES for length in range(len(sentence))} | SENTENCES)


def test_what_is_offered_is_what_the_list_goes_on_with() -> None:
    """After every beginning exactly the words are offered that some sentence goes on with, and its end where one ends."""
    following = NextWords(LANGUAGE)
    for words in (words for words in BEGINNINGS if "…" not in words):
        offered = following.after(words)
        assert offered is not None, words
        wanted = {sentence[len(words)] for sentence in SENTENCES if sentence[: len(words)] == words and len(sentence) > len(words)}
        assert set(offered.words) == wanted - {"…"}, words
        assert offered.complete is (words in SENTENCES), words
        assert following.whole(words) is (words in SENTENCES) and following.begins(words)
        assert {slot.name for slot in offered.slots} >= ({"number"} if "…" in wanted or {"above", "below", "at"} <= wanted else set())


def test_whole_pieces_are_names_and_phrases() -> None:
    """After a name whole phrases are offered, after a phrase whole names, and at the beginning names and the one word that begins a property."""
    following = NextWords(LANGUAGE)
    parcels, boxes = _labels(("parcel",)), _labels(("box",))
    beginning, named, related = (following.after(spoken(words)) for words in ("", "parcel p0", "p0 lies on"))
    assert beginning is not None and named is not None and related is not None
    assert set(related.pieces) == set(parcels)
    plain = [phrase for phrase in INVENTED.phrases.values() if phrase.shape in ("trait", "relation")]
    assert set(named.pieces) == {phrase.words for phrase in plain if "parcel" in phrase.subjects}
    nouns = {f"the {phrase.words} of" for phrase in INVENTED.phrases.values() if phrase not in plain}
    assert set(parcels) | set(boxes) <= set(beginning.pieces)
    assert all(piece in {*parcels, *boxes} or any(noun.startswith(piece) for noun in nouns) for piece in beginning.pieces)


@pytest.mark.parametrize("words", ["parcel p9", "p0 lies", "p0 lies on shelf", "p0 is", "the width of shelf", "open", "p0 open", "the box is sent"])
def test_what_begins_no_sentence_is_none(words: str) -> None:
    """Only what some sentence begins with can be gone on from."""
    whole = tuple(spoken(words))
    begins = whole in BEGINNINGS
    assert (NextWords(LANGUAGE).after(whole) is not None) is begins is NextWords(LANGUAGE).begins(whole)


@pytest.mark.parametrize(
    ("begun", "right", "wrong"),
    [
        ("the width of p0 is 5 to", ["5", "6", "5.5"], ["4", "4.9"]),
        ("the width of p0 is 60", ["(50", "(60", "(0.5"], ["(61", "(60.5", "(x", "60)"]),
        ("the width of p0 is 60 (50 to", ["60)", "70)"], ["59)", "59.9)", "70"]),
        ("the width of p0 is 60 (50", ["to"], ["70)", "mm"]),
        ("the width of p0 is", ["0.5", "7", "?size"], ["-1", "seven"]),
        ("the width of p0 is 7", ["mm", "µm", "to"], ["kg", "is"]),
        ("the weight of p0 is above 7", ["kg", "to"], ["mm"]),
        ("?x is kept on", ["shelf-0", "?shelf"], ["p0", "the"]),
        ("?x", ["is", "lies"], ["of", "?y"]),
    ],
)
def test_what_has_no_end_of_words_may_stand_there_or_not(begun: str, right: list[str], wrong: list[str]) -> None:
    """Numbers rise in a range, units are those of the property, and a variable stands where a name could."""
    following = NextWords(LANGUAGE)
    for word in right:
        assert following.begins([*begun.split(), word]), word
    for word in wrong:
        assert not following.begins([*begun.split(), word]), word


@pytest.mark.parametrize(
    ("begun", "bounds"),
    [
        ("the width of p0 is", {"number": (None, None), "number with µm": (None, None)}),
        ("the width of p0 is at least", {"number": (None, None), "number with µm": (None, None)}),
        ("the width of p0 is 60", {"opened": (None, Decimal(60))}),
        ("the width of p0 is 2.5 to", {"number": (Decimal("2.5"), None)}),
        ("the width of p0 is 60 (50 to", {"closed": (Decimal(60), None)}),
        ("p0 lies on", {}),
    ],
)
def test_a_number_has_the_bounds_that_the_numbers_before_it_set(begun: str, bounds: dict[str, tuple[Decimal | None, Decimal | None]]) -> None:
    """A spread begins below its middle and ends above it, a range ends above its beginning, and a first number is free."""
    offered = NextWords(LANGUAGE).after(spoken(begun))
    assert offered is not None
    assert {slot.name: (slot.least, slot.most) for slot in offered.slots if slot.name != "variable"} == bounds


def test_what_has_no_end_of_words_is_shown_by_a_word_of_its_own_kind(language: Language) -> None:
    """A variable is shown by the name of a kind that it can stand for, a size by *value*: ``?surface-state``, with hyphens for spaces."""
    for graph in (LANGUAGE.graph, language.graph):
        for sample, kinds in {(kind.sample, kind.kinds) for ways in graph.classes for kind, _ in ways if kind.name == "variable"}:
            sizes = all(kind.startswith("a quantity of") for kind in kinds)
            assert sample == "?value" if sizes else sample[1:] in {kind.replace(" ", "-") for kind in kinds}, (sample, kinds)


def test_what_is_whole_is_read_as_one_statement() -> None:
    """Every sentence of the list, a variable in the place of its first name too, is read; the same words in capitals say the same."""
    for words in (words for words in SENTENCES if "…" not in words):
        sentence = " ".join(words)
        assert LANGUAGE.parse(sentence) == LANGUAGE.parse(sentence.upper())
        assert LANGUAGE.parse(LANGUAGE.print(LANGUAGE.parse(sentence))) == LANGUAGE.parse(sentence)
    assert LANGUAGE.parse("?x lies on ?y").object == Variable("y")


def test_every_sentence_is_a_path_to_the_end_of_its_phrase() -> None:
    """All words of a sentence lead on, to the node where the phrase of its statement ends."""
    graph = LANGUAGE.graph
    for words in (words for words in SENTENCES if "…" not in words):
        nodes = {0}
        for word in words:
            nodes = {target for node in nodes for target in graph.words[node].get(word, ())}
        assert LANGUAGE.parse(" ".join(words)).predicate in {graph.ends[node] for node in nodes if node in graph.ends}
        assert graph.understood(list(words))[0] == len(words)
        assert graph.understood([*words, "xyzzy"]) == graph.understood(list(words))


def test_the_sample_of_a_class_of_words_is_one_of_them(language: Language) -> None:
    """Numbers, variables, counts and names of rules are shown by a word that may stand there; of two classes a common word is in both."""
    for graph in (LANGUAGE.graph, language.graph):
        classes = list({kind for ways in graph.classes for kind, _ in ways})
        assert {kind.name for kind in classes} >= {"variable", "number"}
        for one in classes:
            assert one.pattern.fullmatch(one.sample.casefold())
            for other in classes:
                both = [word for word in (one.sample, other.sample) if all(kind.pattern.fullmatch(word.casefold()) for kind in (one, other))]
                assert (one.common(other) in both) if both else (one.common(other) is None)
    assert {kind.name for ways in language.graph.classes for kind, _ in ways} >= {"rule", "count", "opened", "closed"}


@given(statements(LANGUAGE))
def test_statements_come_back_from_plain_data(statement: Statement) -> None:
    """Whatever the language can say is the same after it was plain data, through text too, and plain data holds nothing but plain values."""
    plain = statement_as_plain(statement)
    assert statement_from_plain(plain) == statement
    assert statement_from_plain(ast.literal_eval(repr(plain))) == statement


@pytest.mark.parametrize("spoilt", [None, (), ("on", "p0"), ("on", "p0", (), "is"), ("on", ("a", "b"), None, "is"), ("on", "p0", ("1", "2"), "is")])
def test_plain_data_of_another_shape_is_refused(spoilt: object) -> None:
    """What was not written as a statement is none."""
    with pytest.raises((TypeError, ValueError, ArithmeticError)):
        statement_from_plain(spoilt)


_PARCEL, _SHELF = frozenset({"parcel"}), frozenset({"shelf"})
_IN_USE = {"a": _PARCEL, "b": frozenset({"parcel", "box"}), "free": _PARCEL, "s": _SHELF, "v": frozenset({"a quantity of length"})}
_BOUND = frozenset({"a", "b", "s"})  # the conditions speak of these; ?free and ?v stand somewhere, and no condition says anything of them


@pytest.mark.parametrize(
    ("role", "right", "wrong"),
    [
        ("any", ["?free is open", "?new is open", "?a is kept on ?s", "the width of p0 is 2 mm", "the width of p0 is above ?v"], ["?s is open"]),
        ("fact", ["p0 is open", "the width of p0 is 2 mm"], ["?a is open", "?new is open", "the width of p0 is above 2 mm", "the width of p0 is ?v"]),
        (
            "condition",
            ["?free is open", "?new is open", "?b is kept on ?s", "the width of ?free is above 2 mm", "the width of ?a is ?new"],
            ["?s is open", "the width of ?a is 2 mm", "the width of ?a is above ?v", "the width of ?a is above ?new", "the width of ?a is ?v"],
        ),
        (
            "exception",
            ["?a is open", "?new is open", "?a is kept on ?new", "the width of ?new is above 2 mm"],
            ["?free is open", "?s is open", "the width of ?a is above ?v", "the width of ?a is above ?new", "the width of ?a is 2 mm"],
        ),
        (
            "conclusion",
            ["?a is open", "p0 is open", "?a is kept on ?s", "?a lies on ?a", "?b is kept on ?s", "the width of ?a is 2 mm"],
            ["?free is open", "?new is open", "?a is kept on ?new", "?s is open", "the width of ?a is above 2 mm", "the width of ?a is ?v"],
        ),
    ],
)
def test_each_part_of_a_rule_takes_its_own_sentences(role: Role, right: list[str], wrong: list[str]) -> None:
    """By hand, from what a rule means: a fact has no variables, a conclusion none that is not bound, and a condition never says a size just so."""
    form = NextWords(LANGUAGE, Place(role, _IN_USE, _BOUND))
    assert {sentence: form.whole(spoken(sentence)) for sentence in [*right, *wrong]} == {**dict.fromkeys(right, True), **dict.fromkeys(wrong, False)}
    closed = NextWords(LANGUAGE, Place(role, _IN_USE, _BOUND, frozenset({"open", "on"})))
    for sentence in right:
        assert closed.whole(spoken(sentence)) is ("open" not in sentence and "lies on" not in sentence), sentence


def _variables(place: Place, begun: str) -> tuple[tuple[str, ...], bool, frozenset[str]] | None:
    """The variables that may stand after a beginning, whether another may, and those that are taken; ``None`` if no variable may."""
    offered = NextWords(LANGUAGE, place).after(spoken(begun))
    assert offered is not None
    slots = [slot for slot in offered.slots if slot.name == "variable"]
    assert all(slot.variables or slot.new for slot in slots), "nothing fits what is offered"
    return (slots[0].variables, slots[0].new, slots[0].taken) if slots else None


@pytest.mark.parametrize(
    ("role", "begun", "variables", "new", "taken"),
    [
        ("any", "", ("a", "b", "free"), True, ""),
        ("any", "?a lies on", ("a", "b", "free"), True, ""),
        ("any", "?other lies on", ("a", "b", "free", "other"), True, "other"),
        ("any", "the width of ?other is", ("v",), True, "other"),
        ("any", "p0 is kept on", ("s",), True, ""),
        ("condition", "", ("a", "b", "free"), True, ""),
        ("condition", "?other is kept on", ("s",), True, "other"),
        ("exception", "", ("a", "b"), True, ""),
        ("exception", "?other lies on", ("a", "b", "other"), True, "other"),
        ("conclusion", "", ("a", "b"), False, ""),
        ("conclusion", "?a lies on", ("a", "b"), False, "a"),
    ],
)
def test_the_variables_of_a_place(role: Role, begun: str, variables: tuple[str, ...], new: bool, taken: str) -> None:
    """Those in use that fit, in their order, and whether another may stand there, which is none of those in use and not the subject's."""
    expected = (variables, new, frozenset(_IN_USE) | frozenset(taken.split()))
    assert _variables(Place(role, _IN_USE, _BOUND), begun) == expected


def test_where_nothing_is_in_use_no_variable_is_taken() -> None:
    """At the beginning of the first sentence every variable is new; behind its subject all but the subject's."""
    assert _variables(Place(), "") == ((), True, frozenset())
    assert _variables(Place(), "?x lies on") == (("x",), True, frozenset({"x"}))
    assert _variables(Place(), "?x is kept on") == ((), True, frozenset({"x"}))
    assert _variables(Place("fact"), "") is None and _variables(Place("fact"), "p0 lies on") is None
    assert Place() == Place("any", {}, frozenset(), frozenset())


def test_a_variable_is_offered_only_where_a_sentence_can_be_ended_with_one() -> None:
    """Trucks have no names: a conclusion says that something pulls one only where a variable stands for a truck."""
    phrases = {"pulls": Phrase("pulls", "pulls", "relation", ("truck", "box"), ("truck",))}
    language = Language(Vocabulary(INVENTED.names, phrases, {}, INVENTED.units, (), INVENTED.basis_order))
    box, truck = frozenset({"box"}), frozenset({"truck"})
    assert NextWords(language, Place("conclusion", {"b": box}, frozenset("b"))).after([]) is None
    offered = NextWords(language, Place("conclusion", {"b": box, "t": truck}, frozenset("bt"))).after([])
    assert (
        offered is not None and [slot.variables for slot in offered.slots] == [("b", "t")] and offered.pieces == ("the big box", "the box", "the-box")
    )
    assert NextWords(language, Place("conclusion", {"b": box, "t": truck}, frozenset("b"))).after([]) is None


def test_a_variable_is_offered_only_where_the_sentence_can_be_ended_after_it() -> None:
    """What is a truck or a crate, nobody knows which, is no truck that carries itself: only another truck can be said to carry it."""
    phrases = {"carries": Phrase("carries", "carries", "relation", ("truck",), ("crate",))}
    language = Language(Vocabulary(INVENTED.names, phrases, {}, INVENTED.units, (), INVENTED.basis_order))
    kinds = {"either": frozenset({"truck", "crate"}), "truck": frozenset({"truck"})}
    form = NextWords(language, Place("conclusion", kinds, frozenset(kinds)))
    offered, after = form.after([]), form.after(spoken("?truck carries"))
    assert offered is not None and [slot.variables for slot in offered.slots] == [("truck",)]
    assert after is not None and [slot.variables for slot in after.slots] == [("either",)]
    assert form.after(["?either"]) is None and form.whole(spoken("?truck carries ?either")) and not form.begins(spoken("?either carries"))
