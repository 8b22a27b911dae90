"""Questions back: what is asked decides, and what is not asked decides nothing; found out by trying all values.

``HYPOTHESIS_PROFILE=thorough pytest tests/test_asking.py`` tries every case of the library with each said part left out in turn;
otherwise a sample of them is tried.
"""

from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from itertools import product
from random import Random

import case_files
import pytest
from effort import WHOLE

from finishing_kg.advice.ask import Advice, answer_of
from finishing_kg.advice.asking import slots_asked
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer
from finishing_kg.advice.deciding import deciding, lacking, settled
from finishing_kg.advice.findings import finding_rule
from finishing_kg.advice.machine import planned_steps
from finishing_kg.advice.possible import possible
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, Prover
from finishing_kg.measure import Quantity
from finishing_kg.proofs import ProofChecker
from finishing_kg.quantities import computations
from finishing_kg.record import replace
from finishing_kg.routes import PARTS, Case, judge
from finishing_kg.statements import Statement

THICKNESSES = [Quantity(Decimal(each), "mm") for each in ("0.5", "1.9", "2", "2.5", "2.999", "3", "7", "40")]
NOT_TOLD = {"face_area", "last_worked_with", "restrictions"}

# Advice as the contract tells it: whether there is a route, its steps, and the cautions that are given without an *if*.
Told = tuple[bool, tuple[tuple[str, str, str, str], ...], frozenset[str]]


def told(advice: Advice, answer: Answer) -> Told:
    """What counts as advice: the purpose of a step names the band of grain that it is done with; cautions of further routes do not count."""
    steps = answer.routes[0].steps if answer.routes else []
    cautions = frozenset(note.id for note in answer.cautions if not note.text.startswith("If it applies here"))
    if answer.routes:
        model = judge(advice.knowledge, advice.case, [planned_steps(advice.knowledge, advice.case, advice.found[0])]).model
        called_for = {advice.knowledge.vocabulary.names[str(each)].notation for each in model.objects("callsForCaution", "piece")}
        assert called_for <= cautions
        cautions &= called_for
    return answer.kind == "question", tuple((step.mineral, step.hold, step.carrier, step.purpose) for step in steps), cautions


def with_an_if(answer: Answer) -> frozenset[str]:
    """The cautions that are given with an *if*; while a question is open, those on lead are about to be."""
    conditional = {note.id for note in answer.cautions if note.text.startswith("If it applies here")}
    return frozenset(conditional | ({"lead-dust", "lead-in-food"} if answer.kind == "question" and answer.understood.glass is None else set()))


def asked(knowledge: Knowledge, case: Case) -> tuple[Advice, Answer]:
    """A case as it is judged, and its answer."""
    advice = settled(Advice(knowledge, complete(knowledge.vocabulary, case), whole=False))
    return advice, answer_of(advice)


def advice_of(knowledge: Knowledge, case: Case) -> Told:
    """The advice for a case, found by asking it as if nothing had been asked before."""
    advice = Advice(knowledge, complete(knowledge.vocabulary, case), whole=False, asking=False)
    return told(advice, answer_of(advice))


def values(knowledge: Knowledge, case: Case, slot: str) -> list[Case]:
    """The case with every value that a part can have, not only one for each that the rules tell apart; and with some thicknesses."""
    if slot in PARTS:
        return [replace(case, **{slot: value}) for value in possible(knowledge.vocabulary, case, slot)]
    return [replace(case, measures={**case.measures, slot: thickness}) for thickness in THICKNESSES]


@lru_cache(maxsize=1)
def variants() -> tuple[str, ...]:
    """What is asked in the cases."""
    return tuple(case["ask"] for case in case_files.load("question") if "faults" not in case)


def pieces(knowledge: Knowledge) -> Iterator[Case]:
    """Every piece of the cases, as it was told and with each said part left out in turn; each once."""
    seen: set[str] = set()
    for text in variants() if WHOLE else Random(6).sample(variants(), 4):
        dialogue = Dialogue(knowledge)
        if dialogue.say(text).kind not in ("route", "no_route", "question"):
            continue
        told_case = dialogue.case
        without = [{part: None} for part in PARTS if told_case.part(part)] + ([{"surface": None, "surface_grade": None}] if told_case.surface else [])
        for changes in [{}, *without]:
            case = replace(told_case, words={}, **changes)
            if repr(case) not in seen:
                seen.add(repr(case))
                yield case


def chosen(knowledge: Knowledge) -> list[Case]:
    """All pieces, or a few that are the same at every run."""
    every = list(pieces(knowledge))
    return every if WHOLE else Random(6).sample(every, 6)


def test_what_is_asked_decides_and_nothing_else_does(knowledge: Knowledge) -> None:
    """For each question asked two values give different advice; of all that is neither said, supposed nor asked all values give the same."""
    wrong, decided, idle = [], 0, 0
    slots = slots_asked(knowledge.vocabulary)
    for piece in chosen(knowledge):
        advice, answer = asked(knowledge, piece)
        case, base, conditional = advice.case, told(advice, answer), with_an_if(answer)
        questions = [slots[question.about] for question in answer.ask_back if question.about not in NOT_TOLD]
        missing = lacking(advice)
        for slot in [*(part for part in PARTS if case.part(part) is None), *({"wallThickness"} - case.measures.keys())]:
            if slot in missing:
                differ = two_differ(knowledge, case, slot, [part for part in missing if part != slot])
            else:
                outcomes = {tuple_without(advice_of(knowledge, each), conditional) for each in values(knowledge, case, slot)}
                differ = len(outcomes) > 1
            if differ != (slot in questions):
                wrong.append((slot, differ, case, base))
            decided, idle = decided + differ, idle + (not differ)
    assert wrong == []
    assert decided > 3 and idle > 3


def test_the_glass_is_asked_where_only_its_minutes_decide(knowledge: Knowledge) -> None:
    """Of two ways that the rules find equal the quicker comes first, and which that is may hang on the glass."""
    piece = Case(make="frit-cast", form="flat-face", surface="surface-ground", finish="polish")
    advice, _ = asked(knowledge, piece)
    assert len({advice_of(knowledge, each)[1] for each in values(knowledge, advice.case, "glass")}) > 1
    assert "glass" in {each.slot for each in deciding(advice)}


def tuple_without(advice: Told, conditional: frozenset[str]) -> Told:
    """Advice without the cautions that are given with an *if* anyway."""
    return advice[0], advice[1], advice[2] - conditional


def two_differ(knowledge: Knowledge, case: Case, slot: str, others: list[str]) -> bool:
    """Whether two values of what is lacking give different advice for some values of all else that is."""
    for rest in product(*(possible(knowledge.vocabulary, case, each) for each in others)):
        given = replace(case, **dict(zip(others, rest, strict=True)))
        seen: set[Told] = set()
        for each in values(knowledge, given, slot):
            seen.add(advice_of(knowledge, each))
            if len(seen) > 1:
                return True
    return False


UNSURE = [
    ("polish a float rim", "surface"),
    ("float block, flat face, to pre-polish", "surface"),
    ("Sawn lead crystal block, flat face, to polish", "make"),
    ("Cast lead crystal relief, ground, to pre-polish", "surface_grade"),
    ("Cast relief ground with F220, to pre-polish", "glass"),
]


@pytest.mark.parametrize(("text", "slot"), UNSURE, ids=lambda each: each.replace(" ", "-") if each in PARTS else None)
def test_not_knowing_leads_to_a_route_that_no_value_stops(knowledge: Knowledge, text: str, slot: str) -> None:
    """Whatever the value is no rule stops a step of the route; where one objects, its reason is told with what is supposed."""
    dialogue = Dialogue(knowledge)
    while slot not in {question.about for question in dialogue.say(text).ask_back[:1]}:
        text = "I don't know"
        assert len(dialogue.turns) < 4
    before = dialogue.case
    answer = dialogue.say("I don't know")
    assert answer.kind == "route" and dialogue.advice is not None
    supposed = {made.statement: made.because for made in answer.assumed}
    (because,) = [because for statement, because in supposed.items() if "You do not know" in because and dialogue.case.assumed.get(slot) == because]
    steps = planned_steps(knowledge, dialogue.advice.case, dialogue.advice.found[0])
    shown = {note.id for note in answer.cautions}
    for value in values(knowledge, replace(before, **{slot: None}), slot):
        judged = judge(knowledge, value, [steps])
        for step in judged.routes[0]:
            assert not judged.model.objects("isStoppedBy", step)
            for finding in map(str, judged.model.objects("isCautionedFor", step)):
                proof = Prover(judged.model).proof(Statement("isCautionedFor", step, finding))
                assert finding_rule(knowledge, proof).because in because
        assert {str(caution) for caution in judged.model.objects("callsForCaution", "piece")} <= shown


@pytest.mark.parametrize(("text", "about"), [("sawn float, to polish", "form"), ("sawn float, flat face", "finish"), ("pre-polish", "form")])
def test_where_none_is_safe_the_reason_is_a_checked_proof(knowledge: Knowledge, text: str, about: str) -> None:
    """The answer says that it cannot go on safely, and points to the proof of what would go wrong."""
    dialogue = Dialogue(knowledge)
    assert dialogue.say(text).ask_back[0].about == about
    answer = dialogue.say("I don't know")
    assert (answer.kind, answer.routes) == ("question", [])
    assert "cannot go on safely" in answer.text
    assert answer.reason in answer.reasons
    reasons, proof = dialogue.book.proved[str(answer.reason)]
    checker = ProofChecker(knowledge.vocabulary, knowledge.base.by_id, reasons.model.facts, computations(knowledge.vocabulary.units))
    assert checker.fault(proof) is None


def test_nothing_is_asked_that_makes_no_difference(knowledge: Knowledge) -> None:
    """Where a bench has no way for any form, it is not asked for the form but told so, and the form is supposed openly."""
    answer = Dialogue(knowledge).say("sawn float, to polish, I only have quartz sand and a hand pad")
    assert answer.kind == "no_route"
    assert [made.statement for made in answer.assumed if made.statement.startswith("the piece has form")]


@pytest.mark.parametrize("text", ["rough shape a rim", "pre-polished, to satin", "sawn, polish", "polish a float rim"])
def test_what_is_lacking_is_asked_only_where_something_hangs_on_it(knowledge: Knowledge, text: str) -> None:
    """What a shaping takes away needs no name; what is asked has two values that differ."""
    dialogue = Dialogue(knowledge)
    answer = dialogue.say(text)
    assert dialogue.advice is not None
    missing = lacking(dialogue.advice)
    for part in PARTS:
        if part in missing:
            assert two_differ(knowledge, dialogue.case, part, [each for each in missing if each != part])
        elif part in dialogue.advice.case.assumed and dialogue.case.part(part) is None and "is the same" in dialogue.advice.case.assumed[part]:
            assert not two_differ(knowledge, dialogue.case, part, [])
    assert (answer.kind == "question") == bool(missing)


def test_most_deciding_first(knowledge: Knowledge) -> None:
    """What is lacking for any route comes before what would make one surer, and within that the likelier to decide comes first."""
    dialogue = Dialogue(knowledge)
    asked_for = [question.about for question in dialogue.say("cast relief, to pre-polish").ask_back]
    assert asked_for
    for text in ("pre-polish", "ground relief in glass, to pre-polish", "sawn, polish"):
        dialogue = Dialogue(knowledge)
        answer = dialogue.say(text)
        assert dialogue.advice is not None
        missing, slots = lacking(dialogue.advice), slots_asked(knowledge.vocabulary)
        order = [slots[question.about] for question in answer.ask_back]
        assert order[: len(missing)] == missing
        chances = [each.chance for each in deciding(dialogue.advice) if each.slot in PARTS]
        assert order[len(missing) :] == [each.slot for each in deciding(dialogue.advice)]
        assert chances == sorted(chances, reverse=True)
