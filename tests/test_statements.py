"""Sentences: printed and read back, refused with a place and a repair, and never to be read in two ways."""

import random
import re
from collections.abc import Iterator

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from strategies import INVENTED, invented, slip, statements

from finishing_kg.statements import Language, Statement, StatementError, Variable, option_id, step_id
from finishing_kg.statements.confusable import confusable
from finishing_kg.vocabulary import Name, Phrase, Vocabulary

OPTION = option_id("pumice", "loose", "brush-wheel", "pre-polish")
PARCEL_LANGUAGE = Language(INVENTED)


def error_of(language: Language, sentence: str) -> StatementError:
    """The error that a sentence gives."""
    with pytest.raises(StatementError) as caught:
        language.parse(sentence)
    return caught.value


@given(data=st.data())
def test_round_trip(data: st.DataObject, language: Language) -> None:
    """Every sentence that the shipped words can make is read back as the same statement, in any letters."""
    for _ in range(8):
        statement = data.draw(statements(language))
        printed = language.print(statement)
        assert language.parse(printed) == statement
        assert language.parse("  " + printed.upper().replace(" ", "  ")) == statement


@given(statement=statements(PARCEL_LANGUAGE))
def test_round_trip_in_other_words(statement: Statement) -> None:
    """The same holds for a vocabulary of another trade."""
    assert PARCEL_LANGUAGE.parse(PARCEL_LANGUAGE.print(statement)) == statement


def test_every_name_reads_back(vocabulary: Vocabulary, language: Language) -> None:
    """Each label and notation names its thing wherever it fits; so does an alternative label, unless several things share it."""
    for phrase in vocabulary.phrases.values():
        if phrase.shape != "trait":
            continue
        for name in language.names.sayable:
            if vocabulary.fits(name.kind, phrase.subjects):
                for words in (name.label, name.notation):
                    assert language.parse(f"{words} {phrase.words}") == Statement(phrase.id, name.id), f"{words} {phrase.words}"
                for words in name.alternatives:
                    try:
                        assert language.parse(f"{words} {phrase.words}") == Statement(phrase.id, name.id), f"{words} {phrase.words}"
                    except StatementError as error:
                        assert f"{name.label} {phrase.words}" in error.nearest, str(error)


@pytest.mark.parametrize(
    ("sentence", "statement"),
    [
        ("loose pumice on brush wheel for pre-polish is ruled out", Statement("isRuledOut", OPTION)),
        ("step 2 of route 3 runs wet", Statement("runsWet", step_id(2, 3))),
        ("step 2 of route 1 runs wet", Statement("runsWet", step_id(2))),
        ("step 3 follows step 2", Statement("follows", step_id(3), step_id(2))),
        ("?option is freed from rule felt-on-relief", Statement("isFreedFrom", Variable("option"), "rule/felt-on-relief")),
    ],
)
def test_made_names(language: Language, sentence: str, statement: Statement) -> None:
    """Options, steps and rules are named by their parts."""
    assert language.parse(sentence) == statement


@pytest.mark.parametrize(
    ("sentence", "column", "width", "says", "repair"),
    [
        ("", 1, 1, "The sentence is empty", None),
        ("the piece has form flat-face " + "x" * 300, 1, 1, "at most 300 characters", None),
        ("the piece has frm bas-relief", 15, 3, "I read 'the piece has', then cannot go on with 'frm'", "the piece has form bas-relief"),
        ("?option use carrier ?c", 9, 3, "I read '?option', then know no phrase that begins with 'use'", "?option uses carrier ?c"),
        ("pumise cuts glass", 1, 6, "I know no name that begins with 'pumise'", "pumice cuts glass"),
        ("pumice has recesses", 1, 6, "'has recesses' is said of a form, and this is none", None),
        ("the piece has form pumice", 20, 6, "after 'has form' I expect a form, and this is none", None),
        ("the piece has form", 20, 1, "after 'has form' I expect a form", "the piece has form ?form"),
        ("pumice cuts glass well", 19, 4, "the sentence is complete; one sentence says one thing", "pumice cuts glass"),
        ("?2x is ruled out", 1, 3, "A variable is a question mark", "?x is ruled out"),
        ("the grane size of ?a is 60 µm", 5, 5, "'the'", "the grain size of ?a is 60 µm"),
        ("the grain size of ?a above 60 µm", 22, 5, "here I expect the word 'is'", "the grain size of ?a is above 60 µm"),
        ("the grain size of pumice is 60 µm", 19, 6, "the grain size is said of a grade or a step, and this is none", None),
        ("the grain size of ?a is above 60", 31, 2, "the number has no unit", "the grain size of ?a is above 60 µm"),
        ("the grain size of ?a is", 25, 1, "needs a number with a unit, such as 60 µm", None),
        ("the grain size of ?a is 1,5 mm", 25, 3, "a decimal comma", "the grain size of ?a is 1.5 mm"),
        ("the grain size of ?a is 60 furlongs", 25, 2, "I know no unit 'furlongs'", "the grain size of ?a is 60 µm"),
        ("the grain size of ?a is 60 rpm", 25, 2, "rpm measures turning speed, not length", "the grain size of ?a is 60 µm"),
        ("the grain size of ?a is 19 to 3 µm", 25, 2, "rising order", "the grain size of ?a is 3 to 19 µm"),
        ("the grain size of ?a is 9 (10 to 19) µm", 25, 1, "rising order", "the grain size of ?a is 10 to 19 µm"),
        ("the grain size of ?a is abve 60 µm", 25, 4, "not a number with a unit", "the grain size of ?a is above 60 µm"),
        ("step 0 runs wet", 6, 1, "I read 'step', then cannot go on with '0'", None),
        (
            "loose pumice on brush wheel for pre-polis is ruled out",
            33,
            9,
            "I read 'loose pumice on brush wheel for', then cannot go on with 'pre-polis'",
            "loose pumice on brush wheel for pre-polish is ruled out",
        ),
    ],
)
def test_errors(sentence: str, column: int, width: int, says: str, repair: str | None, *, language: Language) -> None:
    """Each kind of error names the place, what was understood, and a sentence that can be read."""
    error = error_of(language, sentence)
    assert (error.column, error.width) == (column, width), str(error)
    assert says in error.why
    assert language.readable(error.repair), str(error)
    if repair is not None:
        assert error.repair == repair
    assert str(error).splitlines()[1].index("^") == error.column + 1


def test_two_readings_are_refused() -> None:
    """A name that two things share is refused where both fit, and read where only one does."""
    twin = Name("p9", "p9", "parcel", "parcel p0")
    vocabulary = Vocabulary({**INVENTED.names, "p9": twin}, INVENTED.phrases, {}, INVENTED.units, (), INVENTED.basis_order)
    assert "in 2 ways" in error_of(Language(vocabulary), "parcel p0 is open").why
    other = Name("p9", "p9", "shelf", "parcel p0")
    vocabulary = Vocabulary({**INVENTED.names, "p9": other}, INVENTED.phrases, {}, INVENTED.units, (), INVENTED.basis_order)
    assert Language(vocabulary).parse("parcel p0 is open") == Statement("open", "p0")


_PIECES = ["the", "width", "of", "is", "above", "?x", "60", "µm", "step", "2", "rule", "parcel", "p0", "lies", "on", "(", "to", ",", "."]


@given(st.text(max_size=80) | st.lists(st.sampled_from(_PIECES), max_size=12).map(" ".join))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever is written gives a statement, or an error whose repair can be read."""
    try:
        statement = PARCEL_LANGUAGE.parse(text)
    except StatementError as error:
        assert PARCEL_LANGUAGE.readable(error.repair)
        assert 1 <= error.column <= len(text) + 2
    else:
        assert PARCEL_LANGUAGE.parse(PARCEL_LANGUAGE.print(statement)) == statement


def _mutations(language: Language, number: int) -> Iterator[tuple[str, str]]:
    """Shipped claims as sentences, each with one word misspelt, doubled or followed by a stray word."""
    chance = random.Random(7)
    claims = [Statement(claim.predicate, claim.subject, claim.object) for claim in language.vocabulary.claims]
    for claim in chance.sample(claims, number):
        sentence = language.print(claim)
        words = sentence.split()
        at = chance.choice([index for index, word in enumerate(words) if len(word) > 3 and word.isascii() and word.replace("-", "").isalpha()] or [0])
        way = chance.randrange(6)
        changed = words[at] if way == 4 else "really" if way == 5 else slip(words[at], chance)
        mutated = [*words[:at], changed, *words[at + (way < 4) :]]
        yield sentence, " ".join(mutated)


def test_one_word_mutations(language: Language) -> None:
    """Of sentences with one word wrong every one is repaired to something readable, and 95 in 100 to what was meant."""
    tried = right = 0
    for sentence, mutated in _mutations(language, 300):
        if language.readable(mutated):
            continue  # it happens to say something else
        tried += 1
        error = error_of(language, mutated)
        assert language.readable(error.repair), str(error)
        right += error.repair == sentence
    assert tried > 250
    assert right >= 0.95 * tried, f"{right} of {tried}"


def test_shipped_phrases_share_no_sentence(language: Language) -> None:
    """No two shipped phrases can make the same sentence."""
    assert confusable(language) == []


_LADEN = Name("laden", "laden", "parcel", "on parcel p0")


@pytest.mark.parametrize(
    ("first", "second", "names"),
    [
        (Phrase("a1", "stands", "trait", ("parcel",)), Phrase("a2", "stands", "trait", ("shelf",)), ()),
        (Phrase("a1", "stands", "relation", ("parcel",), ("parcel",)), Phrase("a2", "stands on", "relation", ("parcel",), ("parcel",)), (_LADEN,)),
        (
            Phrase("a1", "leans", "trait", ("parcel",)),
            Phrase("a2", "by night leans", "trait", ("parcel",)),
            (Name("owl", "owl", "parcel", "owl"), Name("owl-2", "owl-2", "parcel", "owl by night")),
        ),
        (Phrase("a1", "leans", "trait", ("step",)), Phrase("a2", "7 leans", "trait", ("parcel",)), (Name("s", "s", "parcel", "step"),)),
        (Phrase("a1", "worth", "quantity", ("parcel",), (), ("kg",)), Phrase("a2", "worth", "naming", ("shelf",), ("box",)), ()),
        (
            Phrase("a1", "side", "naming", ("parcel",), ("shelf",)),
            Phrase("a2", "side of top", "naming", ("parcel",), ("shelf",)),
            (Name("odd", "odd", "parcel", "top of parcel p0"),),
        ),
        (
            Phrase("a1", "points to", "relation", ("parcel",), ("parcel",)),
            Phrase("a2", "points to parcel", "relation", ("parcel",), ("mark",)),
            (Name("m", "m", "mark", "p0"),),
        ),
    ],
)
def test_seeded_confusion_is_found(first: Phrase, second: Phrase, names: tuple[Name, ...]) -> None:
    """Phrases made to be confused are found, with a sentence that indeed reads both ways."""
    vocabulary = invented(first, second)
    vocabulary.names.update({name.id: name for name in names})
    language = Language(vocabulary)
    found = confusable(language)
    assert ("a1", "a2") in {(one, other) for one, other, _ in found}
    sentence = next(sentence for one, other, sentence in found if (one, other) == ("a1", "a2"))
    assert "ways" in error_of(language, sentence).why


_WORDS = st.lists(st.sampled_from(["is", "on", "by", "it"]), min_size=1, max_size=3).map(" ".join)


@given(st.tuples(_WORDS, _WORDS), st.tuples(st.booleans(), st.booleans()), st.lists(_WORDS, min_size=1, max_size=3, unique=True))
def test_confusion_equals_enumeration(words: tuple[str, str], traits: tuple[bool, bool], labels: list[str]) -> None:
    """For small random phrases and names the search finds exactly the pairs that trying all sentences finds."""
    names = {f"n{number}": Name(f"n{number}", f"n{number}", "parcel", label) for number, label in enumerate(labels)}
    phrases = {}
    for identifier, said, trait in zip("ab", words, traits, strict=True):
        phrases[identifier] = Phrase(identifier, said, "trait" if trait else "relation", ("parcel",), () if trait else ("parcel",))
    assume(words[0] != words[1] or traits[0] != traits[1])
    language = Language(Vocabulary(names, phrases, {}, INVENTED.units, (), ()))
    spoken = [*labels, *names, "?x"]

    def made(phrase: Phrase) -> set[str]:
        return {f"{subject} {phrase.words} {value}".strip() for subject in spoken for value in (spoken if phrase.objects else [""])}

    shared = made(phrases["a"]) & made(phrases["b"])
    found = confusable(language)
    assert bool(found) == bool(shared)
    for _, _, sentence in found:
        assert re.sub(r"\?[a-z-]+", "?x", sentence) in shared
