"""Names made of names, sentences that show a form, and statements that are filled."""

import pytest
from strategies import INVENTED

from finishing_kg.measure import Quantity
from finishing_kg.record import replace
from finishing_kg.statements import Language, Statement, StatementError, Variable, option_id, rule_id, step_id
from finishing_kg.statements.names import one_of
from finishing_kg.statements.next_words import NextWords
from finishing_kg.statements.repair import example
from finishing_kg.vocabulary import Name, Phrase, Vocabulary

MADE = [
    "loose pumice on brush wheel for pre-polish is ruled out",
    "step 2 runs wet",
    "step 2 of route 3 runs wet",
    "?other suits the work",
    "rule some-rule overrides rule bristles-for-relief",
    "step 2 is judged by rule 7",
    "step 3 of route 12 follows step 2 of route 12",
    "?other follows step 10",
]


def test_every_made_name_is_a_path(language: Language) -> None:
    """An option by its parts, a step by its number, of a route too, and a rule: each word of them leads on, and only then."""
    following = NextWords(language)
    for sentence in MADE:
        words = sentence.split()
        assert language.readable(sentence)
        assert language.graph.understood(words)[0] == len(words) and following.whole(words), sentence
        for at in range(len(words)):
            assert following.begins(words[:at]), words[:at]
    for wrong in ("loose pumice at", "pumice loose on", "loose pumice on brush wheel to", "step two", "step 0", "step 2 of step", "rule ?x"):
        assert not following.begins(wrong.split()), wrong
    offered = [
        following.after(begun.split())
        for begun in ("", "step 2", "step 2 of", "rule some-rule overrides", "loose pumice", "loose pumice on brush wheel")
    ]
    words = ("rule", "of", "route", "rule", "on", "for")
    assert all(each is not None and word in each.words for each, word in zip(offered, words, strict=True))


def test_names_within_each_other_are_read_in_every_way_that_leads_on() -> None:
    """Where a longer name leads nowhere a shorter one is tried, of each part of an option; where both lead on there are two readings."""
    named = (
        ("hold", "loose"), ("hold", "loose red"), ("mineral", "rouge"), ("mineral", "red rouge"), ("mineral", "rouge on felt"),
        ("carrier", "felt wheel"), ("carrier", "wheel"), ("carrier", "wheel for rim"), ("finish", "polish"), ("finish", "rim polish"),
    )  # fmt: skip
    names = {label.replace(" ", "-"): Name(label.replace(" ", "-"), "", kind, label) for kind, label in named}
    phrases = {"ready": Phrase("ready", "is ready", "trait", ("option", *dict(named)))}
    language = Language(Vocabulary(names, phrases, {}, INVENTED.units, (), INVENTED.basis_order))
    for option, parts in (
        ("loose rouge on felt wheel for polish", ("rouge", "loose", "felt-wheel", "polish")),
        ("loose rouge on felt on wheel for polish", ("rouge-on-felt", "loose", "wheel", "polish")),
        ("loose rouge on wheel for rim polish", ("rouge", "loose", "wheel", "rim-polish")),
        ("loose rouge on wheel for rim for polish", ("rouge", "loose", "wheel-for-rim", "polish")),
        ("loose red rouge on wheel for polish", None),
    ):
        if parts is not None:
            assert language.parse(f"{option} is ready") == Statement("ready", option_id(*parts))
        assert language.readable(f"{option} is ready") is (parts is not None)
        for begun in ("loose", "loose rouge", "loose rouge on felt", "rouge is", "loose loose"):
            assert not language.readable(f"{begun} is ready") or begun == "loose"


def test_the_kind_of_whatever_is_named(language: Language) -> None:
    """Of a thing the ontology's, of a made name what it was made as, and of what nobody knows an empty text, which no phrase is said of."""
    known = {
        "pumice": "mineral",
        option_id("pumice", "loose", "brush-wheel", "polish"): "option",
        step_id(2, 3): "step",
        rule_id("some-rule"): "rule",
    }
    unknown = dict.fromkeys(("nobody", "nobody/2", "", "2/step"), "")
    assert {each: language.names.kind(each) for each in (*known, *unknown)} == {**known, **unknown}
    for each in (*known, *unknown):
        assert isinstance(language.names.label(each), str)
    assert [language.names.label(each) for each in unknown] == list(unknown)


@pytest.mark.parametrize("written", ["Bristles_for_relief", "bristles--for-relief", "bristles.for.relief!", "-bristles-for-relief"])
def test_what_is_nearly_the_name_of_a_rule_is_mended(written: str, language: Language) -> None:
    """Whatever parts the words of a rule's name, hyphens are offered for it."""
    with pytest.raises(StatementError) as told:
        language.parse(f"rule {written} overrides rule some-rule")
    assert told.value.repair == "rule bristles-for-relief overrides rule some-rule"


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("losse pumice on brush wheel for pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("loose pumise on brush wheel for pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("loose pumice on brsh wheel for pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("loose pumice on brush wheel fr pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("stp 2 runs wet", "step 2 runs wet"),
        ("step runs wet", "step 2 runs wet"),
        ("step 2 of route runs wet", "step 2 of route 2 runs wet"),
        ("step 2 of rute 3 runs wet", "step 2 of route 3 runs wet"),
    ],
)
def test_a_slip_in_a_made_name_is_mended(slip: str, mended: str, language: Language) -> None:
    """One letter wrong in any part of a name made of names leads back to the sentence that was meant."""
    with pytest.raises(StatementError) as told:
        language.parse(slip)
    assert told.value.repair == mended


def test_every_phrase_has_a_sentence_that_shows_it(language: Language) -> None:
    """Whatever phrase was nearly written, the example is in it, has variables for its slots, and can be read."""
    for phrase in [*language.plain_phrases(), *language.nouns()]:
        shown = example(language, f"something {phrase.words} something")
        read = language.parse(shown)
        assert shown.count("?") == (1 if read.object is None else 2)
        shows = language.vocabulary.phrases[read.predicate]
        kinds = ({kind.replace(" ", "-") for kind in kinds} for kinds in (shows.subjects, shows.objects or ("value",)))
        assert all(name.removeprefix("other-") in of for name, of in zip(read.variables(), kinds, strict=False)), shown
        if phrase.shape in ("quantity", "naming"):
            assert shown.startswith("the ") and shown.endswith(language.print(language.parse(shown)).rsplit(" ", 1)[1])


@pytest.mark.parametrize(
    ("kinds", "said"),
    [
        (("piece",), "a piece"),
        (("option",), "an option"),
        (("a quantity of length",), "a quantity of length"),
        (("piece", "option"), "a piece or an option"),
        (("a piece", "option", "step"), "a piece, an option or a step"),
        ((), ""),
    ],
)
def test_kinds_in_a_sentence(kinds: tuple[str, ...], said: str) -> None:
    """With the right article each, commas between, and one *or*."""
    assert one_of(kinds) == said


def test_a_statement_is_filled_where_something_is_known() -> None:
    """Variables that are known are replaced, others stay; a size never becomes what a sentence is about; what it compares stays."""
    two, size = Statement("width", Variable("x"), Variable("v"), "above"), Quantity.of(2, "mm")
    assert list(two.variables()) == ["x", "v"]
    assert two.filled({"x": "p0", "v": size}) == Statement("width", "p0", size, "above")
    assert two.filled({"x": "p0"}) == Statement("width", "p0", Variable("v"), "above")
    assert two.filled({"v": "p1"}) == Statement("width", Variable("x"), "p1", "above")
    assert two.filled({"x": size}) == two == two.filled({})
    assert Statement("open", "p0").filled({"x": "p1"}) == Statement("open", "p0") and list(Statement("open", "p0").variables()) == []


def test_two_readings_are_told_with_what_each_is_about() -> None:
    """Where two things go by one name, both readings are told in full, and no repair is offered that could mean either."""
    twin = Name("p9", "p9", "parcel", "parcel p0")
    shared = Vocabulary({**INVENTED.names, "p9": twin}, INVENTED.phrases, {}, INVENTED.units, (), INVENTED.basis_order)
    on_another = "'lies on' of parcel parcel p0 and parcel parcel p1"
    for sentence, about in (("parcel p0 lies on parcel p1", on_another), ("parcel p0 is open", "'is open' of parcel parcel p0")):
        with pytest.raises(StatementError) as told:
            Language(shared).parse(sentence)
        assert told.value.why == f"This can be read in 2 ways: as {about}, and as {about}."
        assert (told.value.column, told.value.width, told.value.repair) == (1, len(sentence), "")
        assert (told.value.sentence, told.value.nearest) == (sentence, ())


def test_of_two_readings_those_are_offered_that_can_be_said_clearly() -> None:
    """Where a thing has a name of its own beside the shared one, the sentence with it is offered; with variables alone both readings look alike."""
    crate = Name("crate", "crate", "parcel", "crate", ("parcel p0", "parcel p1"))
    opened, on = INVENTED.phrases["open"], INVENTED.phrases["on"]
    twice = {"open": opened, "on": on, "opened": replace(opened, id="opened", subjects=("shelf",))}
    language = Language(Vocabulary({**INVENTED.names, "crate": crate}, twice, {}, INVENTED.units, (), INVENTED.basis_order))
    for sentence, first, second, clear in (
        ("parcel p0 is open", "'is open' of parcel crate", "'is open' of parcel parcel p0", ("crate is open",)),
        ("?x is open", "'is open' of variables", "'is open' of variables", ()),
        ("parcel p0 lies on ?x", "'lies on' of parcel crate", "'lies on' of parcel parcel p0", ("crate lies on ?x",)),
        ("?x lies on  parcel p1", "'lies on' of parcel crate", "'lies on' of parcel parcel p1", ("?x lies on crate",)),
    ):
        with pytest.raises(StatementError) as told:
            language.parse(sentence)
        why = f"This can be read in 2 ways: as {first}, and as {second}."
        assert told.value == StatementError(sentence, 1, len(sentence), why, clear[0] if clear else "", clear)
        assert all(map(language.readable, clear)) and not language.readable(sentence)
