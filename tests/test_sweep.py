"""The sweep: a spread sample of all combinations is sound, and each invariant notices what breaks it."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from effort import tries

from finishing_kg.advice import Advice, Answer
from finishing_kg.advice.ask import answer_of
from finishing_kg.advice.contract import Leaves, Range
from finishing_kg.casebook import load_waivers
from finishing_kg.casebook.sweep import INVARIANTS, Asked, broken, broken_when_asked_again, combinations, row_of, sample, spread, sweep, twice
from finishing_kg.casebook.sweep.combinations import grade_classes
from finishing_kg.casebook.sweep.run import read_rows
from finishing_kg.cli import main
from finishing_kg.cli.sweep import FAULT
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.proofs import ProofChecker
from finishing_kg.record import replace
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Vocabulary

ROOT = Path(__file__).parent.parent
CASE = Case(glass="lead-crystal", make="cast", form="bas-relief", surface="surface-ground", surface_grade="F220", finish="pre-polish")
WHOLE = 173_954  # combinations; the figure stands in the documents too


@pytest.fixture(scope="module")
def sound(knowledge: Knowledge) -> Asked:
    """A case with its true answer, a route of several steps."""
    return Asked(knowledge.vocabulary, CASE, answer_of(Advice(knowledge, CASE)))


def stepped(asked: Asked, number: int = 0, **changes: Any) -> Asked:
    """The same with one step of the first route altered."""
    first = asked.answer.routes[0]
    steps = [replace(step, **changes) if place == number else step for place, step in enumerate(first.steps)]
    return asked._replace(answer=replace(asked.answer, routes=[replace(first, steps=steps), *asked.answer.routes[1:]]))


def on(asked: Asked, **changes: Any) -> Asked:
    """The same answer to another case."""
    return asked._replace(case=replace(asked.case, **changes))


def ruled_out(asked: Asked) -> Asked:
    """The answer rules out, for the same stage, the grain of its last step."""
    last = asked.answer.routes[0].steps[-1]
    return asked._replace(
        answer=replace(
            asked.answer, ruled_out=[replace(asked.answer.ruled_out[0], mineral=last.mineral, hold=None, carrier=None, stage="pre-polish")]
        )
    )


def without_caution(asked: Asked) -> Asked:
    """The answer does not tell of lead."""
    return asked._replace(answer=replace(asked.answer, cautions=[note for note in asked.answer.cautions if note.id != "lead-dust"]))


def with_damage(asked: Asked) -> Asked:
    """The first step leaves deeper damage than the second takes off."""
    leaves = Leaves(state="ground", effective_um=Range(mid=30), damage_um=Range(mid=20))
    return stepped(stepped(asked, leaves=leaves), 1, removal_um=Range(mid=19))


def on_harder_glass(asked: Asked) -> Asked:
    """The glass is harder than a grain that cuts others."""
    claims = tuple(
        replace(claim, object=Quantity.of("9.9", "Mohs")) if (claim.predicate, claim.subject) == ("hardness", asked.case.glass) else claim
        for claim in asked.vocabulary.claims
    )
    return stepped(asked._replace(vocabulary=replace(asked.vocabulary, claims=claims)), mineral="silicon-carbide")


PLANTED: dict[str, list[Callable[[Asked], Asked]]] = {
    "has-its-reasons": [
        lambda asked: asked._replace(answer=replace(asked.answer, kind="out_of_scope")),
        lambda asked: asked._replace(answer=replace(asked.answer, routes=[])),
        lambda asked: asked._replace(answer=replace(asked.answer, kind="no_route", routes=[], text="")),
        lambda asked: stepped(asked, reason="r0"),
    ],
    "nothing-ruled-out": [ruled_out],
    "never-coarser": [
        lambda asked: stepped(asked, 1, leaves=Leaves(state="ground", effective_um=Range(mid=60))),
        lambda asked: on(asked, surface_grade="F1000"),
    ],
    "takes-what-was-left": [with_damage],
    "soft-grain-takes-no-stock": [lambda asked: stepped(asked, mineral="pumice"), on_harder_glass],
    "grain-is-held-as-it-comes": [
        lambda asked: stepped(asked, mineral="pumice", hold="metal-bond"),
        lambda asked: stepped(asked, hold="loose", carrier=""),
        lambda asked: stepped(asked, mineral="silicon-carbide", hold="coated", carrier="plate"),
    ],
    "tool-fits-the-form": [
        lambda asked: stepped(asked, carrier="flat-lap"),
        lambda asked: stepped(asked, carrier="felt-wheel"),
    ],
    "tool-is-narrow-enough": [
        lambda asked: stepped(
            on(asked, form="concave", measures={"diameter": Quantity.of(40, "mm")}), carrier="grinding-wheel", machine="horizontal-spindle"
        )
    ],
    "nothing-is-ground-dry": [lambda asked: stepped(asked, wet=False)],
    "no-silica-in-the-jet": [lambda asked: stepped(asked, mineral="quartz-sand", hold="air-borne", carrier="blast-nozzle")],
    "under-every-limit": [
        lambda asked: stepped(asked, carrier="brush-wheel", surface_speed_m_s=Range(low=3, mid=8, high=10.5)),
        lambda asked: stepped(asked, carrier="brush-wheel", surface_speed_m_s=Range(mid=11)),
    ],
    "lead-is-told": [without_caution, lambda asked: without_caution(on(asked, glass=None))],
}


def test_every_invariant_has_something_planted() -> None:
    """No invariant is without a violation that it must notice."""
    assert set(PLANTED) == set(INVARIANTS)


def test_a_true_answer_breaks_nothing(sound: Asked) -> None:
    """The answer that the violations are planted in is sound, and has the steps that they need."""
    assert broken(sound) == []
    assert len(sound.answer.routes[0].steps) > 1
    assert sound.answer.ruled_out


@pytest.mark.parametrize(("name", "place"), [(name, place) for name, planted in PLANTED.items() for place in range(len(planted))])
def test_a_planted_violation_is_noticed(sound: Asked, name: str, place: int) -> None:
    """An altered answer is noticed by the invariant that it breaks."""
    assert any(fault.startswith(f"{name}: ") for fault in broken(PLANTED[name][place](sound)))


def test_a_conditional_caution_is_not_enough_for_lead_glass(sound: Asked) -> None:
    """Lead glass brings its caution without an if."""
    notes = [replace(note, text=f"If it applies here, which nobody has said: {note.text}") for note in sound.answer.cautions]
    assert any(fault.startswith("lead-is-told") for fault in broken(sound._replace(answer=replace(sound.answer, cautions=notes))))


def test_another_answer_to_the_same_question_is_noticed(knowledge: Knowledge) -> None:
    """An answer that is not the one given when asked again is a fault; the same one is none."""
    answer = answer_of(Advice(knowledge, CASE, whole=False))
    assert broken_when_asked_again(knowledge, CASE, answer) == []
    assert any(fault.startswith("same-again") for fault in broken_when_asked_again(knowledge, CASE, replace(answer, text="Something else.")))


def test_a_fact_that_works_in_secret_is_noticed(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """Advice that hangs on a fact which nothing derived rests on is a fault."""
    case = replace(CASE, make="pressed")

    def secretive(advice: Advice) -> Answer:
        answer = answer_of(advice)
        return replace(answer, text=f"{answer.text} Pressed, is it?") if advice.case.make == "pressed" else answer

    before = Advice(knowledge, case, whole=False, asking=False)
    assert list(twice.unused_facts_change(before, answer_of(before))) == []
    monkeypatch.setattr(twice, "answer_of", secretive)
    assert any("pressed" in fault for fault in twice.unused_facts_change(before, secretive(before)))


def test_fewer_minutes_on_a_harder_glass_are_noticed(sound: Asked) -> None:
    """Where two glasses get the same steps, the one that grinds less easily must not take fewer minutes."""
    slow, fast = (stepped(sound, minutes=Range(mid=minutes)).answer for minutes in (10, 9))
    assert any("step 1" in fault for fault in twice.quicker_steps(slow, fast, "borosilicate"))
    assert list(twice.quicker_steps(fast, slow, "borosilicate")) == []
    assert list(twice.quicker_steps(sound.answer, sound.answer, "borosilicate")) == []


def test_a_rejected_proof_is_an_exception_in_the_table(knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """A proof that the checker does not accept makes its row a faulty one."""
    monkeypatch.setattr(ProofChecker, "fault", lambda *_: "no")
    row = row_of(knowledge, CASE, again=False)
    assert (row.kind, row.faults.partition(":")[0]) == ("exception", "exception")
    assert "ProofRejected" in row.faults


def test_a_spread_sample_is_sound(knowledge: Knowledge) -> None:
    """Some hundreds of combinations from all over, the full product included, break no invariant."""
    waived = {about for fault, about in load_waivers([ROOT / "rules/cases/bench.toml"]) if fault == FAULT}
    cases = [*sample(list(spread(knowledge.vocabulary)), tries(60)), *sample(list(combinations(knowledge.vocabulary)), tries(60))]
    rows = [row_of(knowledge, case, again=number % 20 == 0) for number, case in enumerate(cases)]
    assert [(row[:6], faults) for row in rows if (faults := row.unwaived(waived))] == []
    assert {row.kind for row in rows} == {"route", "no_route", "question"}


def test_what_makes_sense_stands_in_the_ontology(knowledge: Knowledge, vocabulary: Vocabulary) -> None:
    """Combinations follow what goes with what, and leave each part out as well; the number is the documents'."""
    found = list(combinations(vocabulary))
    assert len(found) == WHOLE
    assert len(found) == len({str(case) for case in found})
    assert {case.form for case in found if case.surface == "sawn"} == {"flat-face", "edge", "bevel", "rim", None}
    assert not any(case.glass == "soda-lime-float" and case.make == "blown" for case in found)
    for part in ("glass", "make", "form", "surface", "finish"):
        assert {case.part(part) for case in found} == {None, *(name.id for name in vocabulary.things(part))}
    assert {case.surface_grade for case in found if case.surface_grade} == {
        grade for surface in vocabulary.things("surface") for grade in grade_classes(vocabulary, surface.id)
    }


def test_the_spread_covers_what_it_says(vocabulary: Vocabulary) -> None:
    """Of the spread combinations all that name three of glass, form, surface and finish occur, and every make meets every finish."""
    all_of, some = list(combinations(vocabulary)), list(spread(vocabulary))

    def named(cases: list[Case], *parts: str) -> set[tuple[str | None, ...]]:
        return {tuple(case.part(part) for part in parts) for case in cases}

    assert {str(case) for case in some} < {str(case) for case in all_of}
    for parts in (
        ("glass", "form", "finish"),
        ("glass", "form", "surface"),
        ("form", "surface", "surface_grade", "finish"),
        ("make", "finish"),
        ("make", "form"),
    ):
        assert named(some, *parts) == named(all_of, *parts)


def test_a_stopped_sweep_goes_on_where_it_was(tmp_path: Path, vocabulary: Vocabulary) -> None:
    """Stopped twice, once in the middle of a line, a sweep ends with the table that it would have had anyway."""
    cases = sample(list(spread(vocabulary)), 9)
    assert sweep(cases, tmp_path / "once.csv", workers=1).done == len(cases)
    stopped = tmp_path / "stopped.csv"
    assert sweep(cases, stopped, workers=1, most=3).done == 3
    stopped.write_bytes(stopped.read_bytes()[:-4])
    assert len(read_rows(stopped)) == 2
    assert sweep(cases, stopped, workers=1).done == len(cases)
    assert stopped.read_bytes() == (tmp_path / "once.csv").read_bytes()


def test_a_table_of_another_state_is_begun_anew(tmp_path: Path, vocabulary: Vocabulary) -> None:
    """Rows that were made with another state of the knowledge are not counted as done."""
    cases = sample(list(spread(vocabulary)), 4)
    sweep(cases, tmp_path / "table.csv", workers=1, most=3, fingerprint="before")
    assert sweep(cases, tmp_path / "table.csv", workers=1, most=1, fingerprint="after").done == 1


def test_several_processes_write_the_same_table(tmp_path: Path, vocabulary: Vocabulary) -> None:
    """The rows stand in the order of the cases, however many processes work on them."""
    cases = sample(list(spread(vocabulary)), 20)
    sweep(cases, tmp_path / "one.csv", workers=1)
    sweep(cases, tmp_path / "two.csv", workers=2)
    assert (tmp_path / "one.csv").read_bytes() == (tmp_path / "two.csv").read_bytes()


def test_an_interrupted_command_tells_how_to_go_on(tmp_path: Path) -> None:
    """Ctrl-C ends the command and its workers with status 130, nothing is left behind, and the table keeps what was done."""
    table = tmp_path / "t.csv"
    command = [sys.executable, "-m", "finishing_kg", "rules", "sweep", "--sample", "3000", "--processes", "2", "--table", str(table)]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(ROOT / "tui")])}
    heard = signal.signal(signal.SIGINT, signal.default_int_handler)  # tests in the background ignore it, and a child would inherit that
    with subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=environment, start_new_session=True) as running:
        signal.signal(signal.SIGINT, heard)
        while running.poll() is None and not (table.exists() and len(read_rows(table)) > 2):
            time.sleep(0.2)
        os.killpg(running.pid, signal.SIGINT)  # a terminal sends it to the workers too
        _, told = running.communicate(timeout=60)
    assert running.returncode == 130
    assert "the same command goes on" in told
    assert "leaked" not in told
    assert "Traceback" not in told
    assert len(read_rows(table)) > 2


def test_the_picture_shows_every_form_and_finish(tmp_path: Path, vocabulary: Vocabulary) -> None:
    """The script of the examples draws a square with the number of cases for each form and finish of a table."""
    cases = [Case(form=form, finish=finish) for form in ("edge", "rim") for finish in ("ground", "polish", None)]
    sweep(cases, tmp_path / "t.csv", workers=1)
    subprocess.run([sys.executable, str(ROOT / "examples/sweep_picture.py"), str(tmp_path / "t.csv"), str(tmp_path / "t.svg")], check=True)
    texts = [text.text for text in ElementTree.parse(tmp_path / "t.svg").getroot().iter("{http://www.w3.org/2000/svg}text")]
    assert texts.count("1") == len(cases)
    assert {"edge", "rim", "ground", "polish", "not said", "question"} <= set(texts)


def test_the_command_sweeps_a_sample(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """``rules sweep --sample`` writes the table, tells how many were asked, and refuses what is no number of cases."""
    assert main(["rules", "sweep", "--sample", "5", "--processes", "1", "--table", str(tmp_path / "t.csv")]) == 0
    told = capsys.readouterr().out
    assert "5 combinations" in told
    assert f"Not covered: {WHOLE - 5:,} of the {WHOLE:,}" in told and "asking 4 of these again" in told
    assert len(read_rows(tmp_path / "t.csv")) == 5
    assert main(["rules", "sweep", "--sample", "0", "--table", str(tmp_path / "t.csv")]) == 2
    assert main(["rules", "sweep", "--sample", "1", "--processes", "1", "--table", str(tmp_path / "no" / "t.csv")]) == 2
