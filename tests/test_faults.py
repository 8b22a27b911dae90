"""Faults and their causes: complete, told apart, reached by rules, and repaired."""

from collections import defaultdict
from itertools import pairwise

import pytest

from finishing_kg.advice.contract import Answer
from finishing_kg.advice.diagnose import Diagnosis, diagnose
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.chat import Dialogue, read
from finishing_kg.engine import Knowledge
from finishing_kg.quantities import grain
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

FLAT = Case(form="flat-face", surface="surface-ground", surface_grade="F400", finish="polish")
NEEDED = {
    "orange-peel", "deep-scratch", "sleeks", "shelled-edge", "wheel-edge-chips", "grey-haze", "heat-checks", "polishing-crack", "dull-low-spot",
    "rounded-edges", "ripple", "facets-on-a-curve", "ring-marks", "comma-marks", "burnt-film", "drying-streaks", "wavy-image", "stained-pores",
    "loaded-belt", "glazed-disc", "stray-scratches", "blotchy-frost", "resist-undercut",
}  # fmt: skip


def told(knowledge: Knowledge, fault: str, case: Case = FLAT, *tools: str) -> Answer:
    """The diagnosis of one fault."""
    names = knowledge.vocabulary.names
    return diagnose(knowledge, case, [names[fault]], [names[tool] for tool in tools])


def steps(answer: Answer) -> list[tuple[str, float | None]]:
    """The mineral and the middle grain of each step of the repair."""
    return [(step.mineral, step.grain_um.mid if step.grain_um else None) for step in answer.routes[0].steps]


def test_the_faults_of_the_trade_are_known(vocabulary: Vocabulary) -> None:
    """Every fault that makers complain of is there, with at least eight wordings."""
    faults = {fault.id: fault for fault in vocabulary.things("fault")}
    assert set(faults) >= NEEDED
    beside = {complaint.id.removeprefix("complaint-"): complaint.alternatives for complaint in vocabulary.things("complaint")}
    assert [fault for fault, name in faults.items() if len({*name.alternatives, *beside.get(fault, ())}) < 8] == []


def test_every_fault_has_several_causes_with_a_source(vocabulary: Vocabulary) -> None:
    """A fault comes from at least two causes, each relation with a basis, and its usual cause is one of them."""
    for fault in vocabulary.things("fault"):
        claims = list(vocabulary.claims_about(fault.id, "comesFrom"))
        causes = {claim.object for claim in claims}
        assert len(causes) >= 2, fault.id
        assert all(claim.basis.kind in vocabulary.basis_order for claim in claims), fault.id
        usual = set(vocabulary.related(fault.id, "usuallyComesFrom"))
        assert usual
        assert usual < causes, fault.id


def test_every_cause_is_told_apart_and_cured(vocabulary: Vocabulary) -> None:
    """A cause says what it is, how it is told, and what cures it, and no two say the same."""
    said: dict[tuple[str, str], list[str]] = defaultdict(list)
    for cause in vocabulary.things("cause"):
        for role in ("says", "tell-by", "remedy"):
            text = cause.texts[role]
            assert len(text) > 20
            assert text.endswith("."), cause.id
            said[role, text].append(cause.id)
    assert {key: ids for key, ids in said.items() if len(ids) > 1} == {}


def test_every_cause_belongs_to_a_fault_and_no_fault_stands_alone(vocabulary: Vocabulary) -> None:
    """Each cause is reached from some fault; each fault leads back to a surface or says what to do with the piece."""
    assert [cause.id for cause in vocabulary.things("cause") if not vocabulary.subjects("comesFrom", cause.id)] == []
    for fault in vocabulary.things("fault"):
        assert bool(vocabulary.related(fault.id, "takesBackTo")) != ("remedy" in fault.texts), fault.id


def test_every_cause_is_named_in_the_answer_to_its_fault(knowledge: Knowledge) -> None:
    """Each fault, whatever else is known, is answered with all its causes, each with a reason in the answer."""
    vocabulary = knowledge.vocabulary
    for fault in vocabulary.things("fault"):
        found = Diagnosis(knowledge, Case(), (fault.id,))
        book = ReasonBook()
        causes = list(found.causes(Reasons(knowledge, found.model, book)))
        assert {cause.id for cause in causes} == set(vocabulary.related(fault.id, "comesFrom"))
        assert causes[0].standing == "likely"
        assert all(cause.reason in book.reasons for cause in causes)


def test_likely_causes_come_before_possible_ones(knowledge: Knowledge) -> None:
    """The order is likely before possible, then by how many rules point to a cause."""
    answer = told(knowledge, "orange-peel", FLAT, "felt-belt")
    ranks = [(cause.standing != "likely", -len(cause.because)) for cause in answer.diagnosis]
    assert ranks == sorted(ranks)
    assert [cause.id for cause in answer.diagnosis[:2]] == ["hot-polisher", "soft-polisher"]


def test_a_reason_leads_to_what_was_said(knowledge: Knowledge) -> None:
    """The proof of a likely cause, which the checker has accepted, ends in the maker's own words."""
    answer = told(knowledge, "orange-peel", FLAT, "felt-wheel")
    work, leaves = [answer.diagnosis[0].reason], set()
    while work:
        node = answer.reasons[work.pop()]
        work += node.from_
        if not node.from_:
            leaves.add((node.statement, node.basis.kind))
    assert {("the piece shows fault orange peel", "you said"), ("the piece was last worked with felt wheel", "you said")} <= leaves


def test_reasons_have_no_loose_end(knowledge: Knowledge) -> None:
    """Every reason that causes, steps and cautions name is in the answer, and so is all that it rests on."""
    answer = told(knowledge, "grey-haze", FLAT, "cerium-oxide", "felt-wheel")
    roots = [cause.reason for cause in answer.diagnosis] + [caution.reason for caution in answer.cautions]
    roots += [step.reason for route in answer.routes for step in route.steps]
    assert answer.routes
    assert set(roots) <= set(answer.reasons)
    assert {below for node in answer.reasons.values() for below in node.from_} <= set(answer.reasons)


def test_a_haze_goes_back_to_fine_smoothing(knowledge: Knowledge) -> None:
    """A haze is not polished further: grinding grain, then pumice, then the polish."""
    minerals = [mineral for mineral, _ in steps(told(knowledge, "grey-haze"))]
    assert minerals[0] in ("diamond", "silicon-carbide", "aluminium-oxide")
    assert minerals[-1] == "cerium-oxide"


def test_a_deep_scratch_goes_back_further_than_a_haze(knowledge: Knowledge) -> None:
    """A deep scratch is repaired from a coarser grade than a haze, not from one step back."""
    deep, haze = steps(told(knowledge, "deep-scratch"))[0][1], steps(told(knowledge, "grey-haze"))[0][1]
    assert deep is not None
    assert haze is not None
    assert deep > 1.5 * haze


def test_a_coarser_grade_that_was_named_counts(knowledge: Knowledge) -> None:
    """Where the maker ground with a grade coarser than the damage, the repair starts from that one."""
    coarse = Case(form="flat-face", surface="surface-ground", surface_grade="F80", finish="polish")
    for fault in ("grey-haze", "deep-scratch"):
        repaired = Diagnosis(knowledge, coarse, (fault,)).repair()
        assert repaired is not None
        assert repaired.surface_grade == "F80"
    repaired = Diagnosis(knowledge, FLAT, ("grey-haze",)).repair()
    assert repaired is not None
    assert repaired.surface_grade
    assert grain(knowledge.vocabulary, repaired.surface_grade).mid > grain(knowledge.vocabulary, "F400").mid


def test_the_grains_of_a_repair_step_down(knowledge: Knowledge) -> None:
    """Every cutting step of a repair is finer than the one before."""
    for fault in ("deep-scratch", "heat-checks", "ripple"):
        sizes = [size for mineral, size in steps(told(knowledge, fault)) if mineral in ("diamond", "silicon-carbide", "aluminium-oxide") and size]
        assert sizes
        assert all(coarser > finer for coarser, finer in pairwise(sizes)), fault


def test_a_crack_stops_the_work(knowledge: Knowledge) -> None:
    """A cracked piece gets no route, but a caution by a safety rule, whatever other fault is named with it."""
    names = knowledge.vocabulary.names
    answer = diagnose(knowledge, FLAT, [names["grey-haze"], names["polishing-crack"]])
    assert answer.routes == []
    (caution,) = [caution for caution in answer.cautions if caution.id == "cracked-piece"]
    assert knowledge.base.by_id[str(answer.reasons[caution.reason].rule)].safety
    assert "Stop the work" in answer.text


@pytest.mark.parametrize("fault", ["loaded-belt", "glazed-disc", "drying-streaks", "burnt-film", "stained-pores", "resist-undercut"])
def test_what_no_grinding_repairs_gets_no_route(knowledge: Knowledge, fault: str) -> None:
    """A fault of the tool, or of a film on the glass, is answered with what to do and without a route."""
    answer = told(knowledge, fault)
    assert answer.kind == "diagnosis"
    assert (answer.routes, answer.way_back) == ([], knowledge.vocabulary.names[fault].texts["remedy"])


def test_every_other_fault_has_a_route_or_asks(knowledge: Knowledge) -> None:
    """Where the fault takes the work back to a surface, a form and a finish are enough for a route."""
    for fault in knowledge.vocabulary.things("fault"):
        if knowledge.vocabulary.related(fault.id, "takesBackTo"):
            finish = "blast-fine" if fault.id == "blotchy-frost" else "polish"
            repaired = Diagnosis(knowledge, Case(form="flat-face", finish=finish), (fault.id,)).advice
            assert repaired is not None
            assert repaired.search.best() is not None, fault.id


def test_what_is_supposed_is_said(knowledge: Knowledge) -> None:
    """The surface that the repair starts from, and the finish that nobody named, stand among what was supposed."""
    supposed = {assumption.statement for assumption in told(knowledge, "orange-peel", Case(form="convex")).assumed}
    assert supposed == {"the piece has surface ground", "the surface grade of the piece is F320", "the piece wants finish polish"}


COMPLAINTS = [
    ("orange peel after felt", "orange-peel", ("felt-wheel",)),
    ("a deep scratch shows up at polish", "deep-scratch", ()),
    ("edges shell", "shelled-edge", ()),
    ("grey haze stays", "grey-haze", ()),
    ("it cracked on the felt wheel", "polishing-crack", ("felt-wheel",)),
    ("the frost came out patchy", "blotchy-frost", ()),
    ("gray veil under the polish", "grey-haze", ()),
    ("why does the rim chip?", "shelled-edge", ()),
    ("My polish looks like an orange", "orange-peel", ()),
    ("hair lines in the polish after cerium on the pitch lap", "sleeks", ("cerium-oxide", "pitch-lap")),
    ("belt keeps clogging", "loaded-belt", ("belt",)),
]


@pytest.mark.parametrize(("text", "fault", "tools"), COMPLAINTS)
def test_a_complaint_is_heard(vocabulary: Vocabulary, text: str, fault: str, tools: tuple[str, ...]) -> None:
    """A complaint in a maker's words is read as a fault, with what the piece was last worked with."""
    reading = read(vocabulary, text)
    assert (reading.intent, [name.id for name in reading.faults], tuple(name.id for name in reading.after)) == ("diagnose", [fault], tools)


@pytest.mark.parametrize(
    "text",
    [
        "scratched flat face, to polish",
        "the rim got chipped, I want it polished",
        "cracked-off rim on a tumbler, to a full polish",
        "a float panel with rounded corners, sawn, satin",
        "no haze please, flat face sawn to polish",
        "what if there were orange peel",
        "remove the grinding marks from the edge",
        "how do I get the scratches out of a flat face",
        "grey after grinding, make it bright",
    ],
)
def test_a_plain_question_is_no_complaint(vocabulary: Vocabulary, text: str) -> None:
    """A mark that is only described, wished for, denied or supposed is no complaint."""
    reading = read(vocabulary, text)
    assert reading.faults == ()
    assert reading.intent != "diagnose"


def test_tools_at_the_bench_are_not_what_did_it(vocabulary: Vocabulary) -> None:
    """What the maker has stays at hand; only what was used is put to the rules."""
    reading = read(vocabulary, "I have a felt wheel and cerium. There is haze on the flat face after pumice on cork")
    assert {name.id for name in reading.after} == {"pumice", "cork-wheel"}
    assert {each for restriction in reading.restrictions for each in restriction.ids} == {"felt-wheel", "cerium-oxide"}


def test_a_diagnosis_goes_on_with_what_it_asked_for(knowledge: Knowledge) -> None:
    """The answer to its question brings the way back; a new piece ends it."""
    dialogue = Dialogue(knowledge)
    assert [question.about for question in dialogue.say("orange peel after felt").ask_back] == ["form"]
    assert dialogue.say("a flat face").routes
    assert dialogue.say("why?").about == "soft-polisher"
    assert dialogue.say("sawn lead crystal rim, to satin").kind == "route"
