"""What a form offers next: every path through it can be read, every sentence can be reached, and a rule made so has no fault of kinds."""

import time

import pytest
from effort import tries
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from strategies import INVENTED, statements

from finishing_kg.engine import Knowledge
from finishing_kg.rules.draft import PARTS, Draft, draft_of
from finishing_kg.rules.kinds import check_variables
from finishing_kg.rules.model import as_written
from finishing_kg.statements import Language, Statement
from finishing_kg.statements.next_words import Next, NextWords, Place, Slot, spoken
from finishing_kg.vocabulary import Vocabulary

PARCEL_LANGUAGE = Language(INVENTED)
_LONGEST = 40


def _filled(draw: st.DrawFn, slot: Slot) -> str:
    """A word for a slot."""
    if slot.name == "variable":
        new = [f"?{name}" for name in "abcdefghijklmnop" if name not in slot.taken] if slot.new else []
        return draw(st.sampled_from([*(f"?{name}" for name in slot.variables), *new]))
    if slot.name in ("number", "opened", "closed"):
        low, high = int(slot.least or 0) + 1, int(slot.most) if slot.most is not None else 900
        number = str(draw(st.integers(min(low, high), max(low, high))))
        return {"number": number, "opened": f"({number}", "closed": f"{number})"}[slot.name]
    return slot.sample


def _step(draw: st.DrawFn, offered: Next) -> list[str] | None:
    """One of the things offered, as words; ``None`` to end the sentence."""
    fillable = [slot for slot in offered.slots if slot.name != "variable" or slot.variables or slot.new]
    ways = ["end"] * offered.complete + ["word"] * bool(offered.words) + ["piece"] * bool(offered.pieces) + ["slot"] * bool(fillable)
    assert ways, "a dead end"
    way = draw(st.sampled_from(ways))
    if way == "end":
        return None
    if way == "slot":
        slot = draw(st.sampled_from(fillable))
        word = _filled(draw, slot)
        assert slot.takes(word), (slot, word)
        return [word]
    return spoken(draw(st.sampled_from(offered.words if way == "word" else offered.pieces)))


@st.composite
def paths(draw: st.DrawFn, language: Language, place: Place) -> str:
    """A sentence made of nothing but what is offered."""
    words: list[str] = []
    form = NextWords(language, place)
    while len(words) < _LONGEST:
        offered = form.after(words)
        assert offered is not None, f"{words} was offered and begins nothing"
        step = _step(draw, offered)
        if step is None:
            return " ".join(words)
        words += step
    raise AssertionError(f"no end in sight: {words}")


@settings(max_examples=40)
@given(data=st.data())
def test_any_path_can_be_read(data: st.DataObject, language: Language) -> None:
    """Whatever is chosen of what is offered, the sentence can be read, in one way."""
    sentence = data.draw(paths(language, Place()))
    assert language.readable(sentence), sentence


@given(data=st.data())
def test_any_path_can_be_read_in_other_words(data: st.DataObject) -> None:
    """The same holds for a vocabulary of another trade."""
    sentence = data.draw(paths(PARCEL_LANGUAGE, Place()))
    assert PARCEL_LANGUAGE.readable(sentence), sentence


def _reached(language: Language, sentence: str) -> bool:
    """Whether each word of a sentence is offered after those before it, and its end too."""
    words, form = spoken(sentence), NextWords(language)
    for index, word in enumerate(words):
        offered = form.after(words[:index])
        if offered is None or not (word in map(str.casefold, offered.words) or any(slot.takes(word) for slot in offered.slots)):
            return False
    offered = form.after(words)
    return offered is not None and offered.complete


@settings(max_examples=25)
@given(data=st.data())
def test_any_sentence_can_be_reached(data: st.DataObject, language: Language) -> None:
    """Each word of whatever can be said is offered after those before it."""
    statement: Statement = data.draw(statements(language))
    # Of one variable in both places the reader lets pass what no rule may say.
    assume(isinstance(statement.subject, str) or statement.subject != statement.object or _of_one_kind(language, statement))
    assert _reached(language, language.print(statement)), language.print(statement)


def _of_one_kind(language: Language, statement: Statement) -> bool:
    return not list(check_variables(language, (Statement(statement.predicate, statement.subject, statement.object),), (), ()))


def test_every_shipped_rule_can_be_written(language: Language, knowledge: Knowledge) -> None:
    """Each sentence of each shipped rule may stand where it stands, after the sentences before it."""
    for rule in knowledge.base.rules:
        draft = Draft()
        # Conditions that bind come first: what is compared with must have been said before.
        conditions = sorted(rule.conditions, key=lambda condition: condition.comparison != "is")
        for part, sentences in (("if", conditions), ("unless", rule.exceptions), ("then", as_written(rule, language.vocabulary))):
            for statement in sentences:
                sentence = language.print(statement)
                assert NextWords(language, draft.place(language, part)).whole(spoken(sentence)), f"{rule.id}: {part}: {sentence}"
                field = {"if": "conditions", "unless": "exceptions", "then": "conclusions"}[part]
                held = {name: getattr(draft, name) for name in ("conditions", "exceptions", "conclusions")}
                draft = Draft(**{**held, field: (*held[field], statement)})


@settings(max_examples=tries(8), phases=set(Phase) - {Phase.shrink})  # to shrink a whole rule takes minutes
@given(data=st.data())
def test_a_rule_of_what_is_offered_has_no_fault(data: st.DataObject, language: Language) -> None:
    """Sentences chosen one after the other from what is offered in their part of a rule make no fault of variables, kinds or exactness."""
    parts: dict[str, list[str]] = {part: [] for part in PARTS}
    for part in ("if", "if", "unless", "unless", "then", "if"):
        place = draft_of(language, parts).place(language, part)
        if NextWords(language, place).after([]) is not None:
            parts[part].append(data.draw(paths(language, place)))
    draft = draft_of(language, parts)
    assert list(check_variables(language, draft.conditions, draft.exceptions, draft.conclusions)) == [], parts


def test_a_name_that_two_things_share_is_no_dead_end(language: Language) -> None:
    """A word that two finishes go by is offered only where a longer name goes on from it, and never ends a sentence."""
    shared = [label for kind, label in _shared(language) if kind == "finish"]
    assert "blast" in shared
    offered = NextWords(language).after(spoken("rough shape comes after"))
    assert offered is not None and "coarse blast" in offered.pieces
    led_on = 0
    for label in shared:
        after = NextWords(language).after(spoken(f"rough shape comes after {label}"))
        assert after is None or not after.complete
        assert label not in offered.pieces or (after is not None and after.pieces)
        led_on += label in offered.pieces
    assert led_on < len(shared)


def _shared(language: Language) -> list[tuple[str, str]]:
    """Kinds and words that name more than one thing of the kind."""
    named: dict[tuple[str, str], set[str]] = {}
    for name in language.names.sayable:
        for label in {name.label, *name.alternatives}:
            named.setdefault((name.kind, label.casefold()), set()).add(name.id)
    return [key for key, ids in named.items() if len(ids) > 1]


def test_kinds_are_checked(language: Language) -> None:
    """After a variable that a condition made a carrier, only what is said of a carrier is offered; a closed phrase is not offered at all."""
    draft = draft_of(language, {"if": ["?step uses carrier ?carrier"]})
    place = draft.place(language, "if")
    offered = NextWords(language, place).after(["?carrier"])
    assert offered is not None and "spins" in offered.pieces and "has recesses" not in offered.pieces and not offered.complete
    assert NextWords(language, place).after(spoken("?carrier has recesses")) is None
    conclusion = draft.place(language, "then", frozenset({"isRuledOut"}))
    offered = NextWords(language, conclusion).after(["?step"])
    assert offered is not None and "is ruled out" not in offered.pieces and "is discouraged" in offered.pieces
    beginning = NextWords(language, conclusion).after([])
    assert beginning is not None
    assert [(slot.variables, slot.new) for slot in beginning.slots if slot.name == "variable"] == [(("carrier", "step"), False)]


@pytest.mark.parametrize(
    ("words", "role", "complete"),
    [
        ("felt wheel is soft", "fact", True),
        ("?x is soft", "fact", False),
        ("the grain size of ?g is at least 60 µm", "condition", True),
        ("the grain size of ?g is 60 µm", "condition", False),
        ("the grain size of ?g is 70 to 60 µm", "any", False),
        ("the grain size of ?g is 60 (50 to 70) µm", "any", True),
        ("the grain size of ?g is 60 (50 to 55) µm", "any", False),
        ("?a follows ?a", "any", True),
        ("?a uses carrier ?a", "any", False),
    ],
)
def test_what_a_role_allows(words: str, role: str, complete: bool, *, language: Language) -> None:
    """A fact has no variables, a condition compares, a spread rises, and a variable is of one kind."""
    offered = NextWords(language, Place(role)).after(spoken(words))  # type: ignore[arg-type]
    assert (offered is not None and offered.complete) is complete


def test_it_is_quick_enough_to_follow_typing(language: Language, vocabulary: Vocabulary) -> None:
    """Once the graph stands, what may follow is there before the next key: well under a tenth of a second on a busy machine."""
    form = NextWords(language)
    form.after([])
    begin = time.perf_counter()
    for _ in range(5):
        NextWords(language, Place()).after(["?step"])
    assert (time.perf_counter() - begin) / 5 < 0.5
