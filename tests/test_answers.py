"""What holds of every answer: its reasons are whole, checked, and the same whenever they are asked for."""

import json
import os
import subprocess
import sys
from typing import Any

import case_files
import pytest
from effort import one_in

from finishing_kg.advice import as_json
from finishing_kg.advice.contract import Answer, Reason
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge
from finishing_kg.routes import stages_to

QUESTIONS = case_files.load("question")
LEAVES = {
    "you said",
    "assumed",
    "standard",
    "regulation",
    "handbook",
    "paper",
    "data set",
    "data sheet",
    "web page",
    "common practice",
    "from memory",
    "studio",
    "bench log",
    "computed",
}


@pytest.fixture(scope="module")
def answers(knowledge: Knowledge) -> dict[str, Answer]:
    """The answers to questions of the case files."""
    return {case["id"]: Dialogue(knowledge).say(case["ask"]) for case in one_in(4, QUESTIONS)}


def roots(answer: Answer) -> list[str]:
    """The reasons that an answer points at."""
    steps = [rid for route in answer.routes for step in route.steps for rid in (step.reason, step.amounts_reason) if rid]
    entries = [entry.reason for entry in (*answer.ruled_out, *answer.discouraged, *answer.cautions, *answer.hints)]
    entries += [cause.reason for cause in answer.diagnosis]
    return steps + entries + [finding.reason for finding in answer.findings if finding.reason]


def depths(reasons: dict[str, Reason]) -> dict[str, int]:
    """How deep each reason's tree is; fails on a reason that is missing or rests on itself."""
    found: dict[str, int] = {}

    def depth(rid: str, above: tuple[str, ...]) -> int:
        assert rid in reasons, f"{rid} is missing"
        assert rid not in above, f"{rid} rests on itself"
        if rid not in found:
            found[rid] = 1 + max((depth(below, (*above, rid)) for below in reasons[rid].from_), default=0)
        return found[rid]

    for rid in reasons:
        depth(rid, ())
    return found


def test_reasons_are_whole(answers: dict[str, Answer]) -> None:
    """Every reason that is pointed at is there, none rests on itself, and none is there that nothing points at."""
    for answer in answers.values():
        depths(answer.reasons)
        reached, work = set[str](), roots(answer)
        while work:
            here = work.pop()
            if here not in reached:
                reached.add(here)
                work += answer.reasons[here].from_
        assert reached == set(answer.reasons)


def test_leaves_have_a_known_basis(answers: dict[str, Answer]) -> None:
    """A reason that rests on no other names its kind of basis, and one that follows by a rule names the rule."""
    for answer in answers.values():
        for reason in answer.reasons.values():
            if not reason.from_ and not reason.rule:
                assert reason.basis.kind in LEAVES
            assert bool(reason.rule) == bool(reason.because and reason.rule)


def test_every_sentence_reads_back(knowledge: Knowledge, answers: dict[str, Answer]) -> None:
    """Every sentence shown, absent ones included, is read back and printed the same."""
    language = knowledge.language
    for answer in answers.values():
        shown = [reason.statement for reason in answer.reasons.values()] + [absent for reason in answer.reasons.values() for absent in reason.absent]
        shown += answer.understood.statements + [assumption.statement for assumption in answer.assumed]
        assert [sentence for sentence in dict.fromkeys(shown) if language.print(language.parse(sentence)) != sentence] == []


def test_weakest_basis_is_the_minimum(knowledge: Knowledge, answers: dict[str, Answer]) -> None:
    """The weakest basis that an answer carries is the weakest along the proofs of its first route."""
    order = knowledge.vocabulary.basis_order
    for answer in answers.values():
        if not answer.routes or answer.kind == "diagnosis":  # tests/test_faults.py looks at the causes
            continue
        ranks, work, seen = [0], [step.reason for step in answer.routes[0].steps], set()
        while work:
            here = work.pop()
            if here not in seen:
                seen.add(here)
                ranks.append(order.index(answer.reasons[here].basis.kind))
                work += answer.reasons[here].from_
        assert answer.weakest_basis == order[max(ranks)]


def test_routes_step_down(knowledge: Knowledge, answers: dict[str, Answer]) -> None:
    """Within a route the effective surface never coarsens, the stages come in their order, and nothing ruled out is used."""
    for case in one_in(4, QUESTIONS):
        answer = answers[case["id"]]
        ruled_out = [entry for entry in answer.ruled_out if entry.stage == answer.understood.finish]
        for route in answer.routes:
            sizes = [step.leaves.effective_um.mid for step in route.steps if step.leaves.effective_um]
            assert sizes == sorted(sizes, reverse=True)
            last = route.steps[-1]
            for entry in ruled_out:
                parts = (("mineral", entry.mineral), ("hold", entry.hold), ("carrier", entry.carrier))
                assert not all(value is None or getattr(last, part) == value for part, value in parts), (case["id"], entry)


def test_loose_grain_is_held_by_nothing_and_only_the_jet_runs_dry(answers: dict[str, Answer]) -> None:
    """Pumice and polishes stay loose, and no driven step runs dry but the jet."""
    for answer in answers.values():
        for step in [step for route in answer.routes for step in route.steps]:
            assert step.wet == (step.hold != "air-borne")
            if step.mineral in {"pumice", "cerium-oxide", "tin-oxide", "zirconium-oxide", "iron-oxide", "tripoli", "rottenstone"}:
                assert step.hold == "loose"


def test_stages_lead_to_their_finish(knowledge: Knowledge) -> None:
    """The chain of stages of each finish ends with it and begins with one that comes after nothing."""
    for finish in knowledge.vocabulary.things("finish"):
        chain = stages_to(knowledge.vocabulary, finish.id)
        assert chain[-1] == finish.id
        assert not knowledge.vocabulary.related(chain[0], "comesAfter")


_ASK = """
import json, sys
from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
dialogue = Dialogue.open()
print(json.dumps([as_json(dialogue.say(turn)) for turn in json.loads(sys.argv[1])], sort_keys=True))
"""


def test_the_same_under_any_hash_seed() -> None:
    """The same conversation gives the same bytes whatever seed Python hashes with."""
    turns = ["Cast bas-relief in lead crystal, from the mould, to pre-polish", "why not a belt?", "what if it were a flat face?"]
    outputs = []
    for seed in ("1", "2", "77"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        run = subprocess.run([sys.executable, "-c", _ASK, json.dumps(turns)], capture_output=True, text=True, check=True, env=environment)
        outputs.append(run.stdout)
    assert outputs[0]
    assert len(set(outputs)) == 1


def asked(knowledge: Knowledge, text: str) -> Any:
    return as_json(Dialogue(knowledge).say(text))


def test_asking_again_gives_the_same(knowledge: Knowledge) -> None:
    """An answer does not depend on what was asked before in another conversation."""
    question = "Sawn lead-free crystal, flat face, to polish"
    first = asked(knowledge, question)
    asked(knowledge, "Deep carving on float glass, no silicon carbide")
    assert asked(knowledge, question) == first
