"""Names made of names, sentences that show a form, and statements that are filled."""

import pytest
from strategies import INVENTED

from finishing_kg.measure import Quantity
from finishing_kg.statements import Language, Statement, StatementError, Variable
from finishing_kg.statements.names import one_of
from finishing_kg.statements.next_words import NextWords
from finishing_kg.statements.repair import example
from finishing_kg.vocabulary import Name, Vocabulary

MADE = [
    "loose pumice on brush wheel for pre-polish is ruled out",
    "step 2 runs wet",
    "step 2 of route 3 runs wet",
    "?other suits the work",
]


def _about_rules(language: Language) -> list[str]:
    return [phrase.words for phrase in language.plain_phrases() if "rule" in phrase.subjects and phrase.shape == "trait"]


def test_every_made_name_is_a_path(language: Language) -> None:
    """An option by its parts, a step by its number, of a route too, and a rule: each word of them leads on, and only then."""
    sentences = [*MADE, *(f"rule bristles-for-relief {words}" for words in _about_rules(language))]
    following = NextWords(language)
    for sentence in sentences:
        words = sentence.split()
        assert language.readable(sentence)
        assert language.graph.understood(words)[0] == len(words) and following.whole(words), sentence
        for at in range(len(words)):
            assert following.begins(words[:at]), words[:at]
    for wrong in ("loose pumice at", "pumice loose on", "loose pumice on brush wheel to", "step two", "step 0", "step 2 of step", "rule ?x"):
        assert not following.begins(wrong.split()), wrong


@pytest.mark.parametrize(
    ("slip", "mended"),
    [
        ("losse pumice on brush wheel for pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("loose pumise on brush wheel for pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("loose pumice on brsh wheel for pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("loose pumice on brush wheel fr pre-polish is ruled out", "loose pumice on brush wheel for pre-polish is ruled out"),
        ("stp 2 runs wet", "step 2 runs wet"),
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
        assert language.readable(shown) and shown.count("?") == (1 if language.parse(shown).object is None else 2)
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
