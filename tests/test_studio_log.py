"""What a bench log teaches: paces, how sure they are, and what they change."""

import random
from dataclasses import replace
from decimal import Decimal
from math import exp, log
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing_kg.advice import advise
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.quantities import computations, corrected, expect_step
from finishing_kg.routes import Case
from finishing_kg.studio import init, read_studio
from finishing_kg.studio import log as bench
from finishing_kg.studio.pace import SHARE, Prior, estimate, prior, student_probability, student_quantile
from finishing_kg.studio.paced import compare
from finishing_kg.vocabulary import Vocabulary

pytestmark = pytest.mark.usefixtures("shipped_once")

CANAL = Path(__file__).parent.parent / "examples" / "studio"
JOB = {"mineral": "silicon-carbide", "hold": "loose", "carrier": "flat-lap", "glass": "lead-crystal"}
JOB |= {"grade": "F400", "found": "F220", "found_hold": "loose"}
BEFORE = Prior(log(3), log(1.5), 4)
SEEDS = 2000


def covered(before: Prior, jobs: int, seeds: int) -> int:
    """In how many of as many simulated studios the interval covers the true pace; truth and log are drawn as the model says."""
    hits = 0
    for seed in range(seeds):
        chance = random.Random(seed)
        pull = (before.between_jobs / before.between_studios) ** 2
        spread = before.between_jobs * (before.weight / chance.gammavariate(before.weight / 2, 2)) ** 0.5
        truth = chance.gauss(0, spread / pull**0.5)
        pace = estimate([exp(chance.gauss(truth, spread)) for _ in range(jobs)], before)
        hits += pace.low <= exp(truth) <= pace.high
    return hits


@pytest.mark.parametrize("jobs", [1, 2, 5, 20])
def test_the_interval_covers_the_truth_as_often_as_it_claims(jobs: int) -> None:
    """Over two thousand simulated studios it covers the true pace in nine tenths, within four standard errors."""
    error = (SHARE * (1 - SHARE) / SEEDS) ** 0.5
    assert abs(covered(BEFORE, jobs, SEEDS) / SEEDS - SHARE) < 4 * error


@pytest.mark.parametrize("truth", [0.5, 1.0, 1.7])
def test_the_interval_holds_for_one_studio_too(truth: float) -> None:
    """Of a studio of one given pace whose jobs differ as expected, logs of thirty jobs cover it in nine tenths, give or take a twentieth."""
    hits = 0
    for seed in range(SEEDS):
        chance = random.Random(seed)
        pace = estimate([truth * exp(chance.gauss(0, BEFORE.between_jobs)) for _ in range(30)], BEFORE)
        hits += pace.low <= truth <= pace.high
    assert abs(hits / SEEDS - SHARE) < 0.05


@given(st.lists(st.floats(0.01, 100), min_size=1, max_size=12), st.randoms(use_true_random=False))
def test_the_order_of_jobs_does_not_matter(ratios: list[float], chance: random.Random) -> None:
    """The same jobs in another order give the same pace to the last digit."""
    shuffled = list(ratios)
    chance.shuffle(shuffled)
    assert estimate(shuffled, BEFORE) == estimate(ratios, BEFORE)


@given(st.floats(1.05, 50), st.integers(1, 30))
def test_the_factor_is_drawn_towards_one_and_less_with_every_job(ratio: float, jobs: int) -> None:
    """Jobs that all took as many times longer give a factor between 1 and that, closer to it with each job."""
    one, more = estimate([ratio] * jobs, BEFORE), estimate([ratio] * (jobs + 1), BEFORE)
    assert 1 < one.middle < more.middle < ratio


@given(st.lists(st.floats(0.02, 50), min_size=1, max_size=8))
def test_taking_the_inverse_inverts_the_pace(ratios: list[float]) -> None:
    """Jobs that took the inverse give the inverse factor and interval: faster and slower are treated alike."""
    one, other = estimate(ratios, BEFORE), estimate([1 / ratio for ratio in ratios], BEFORE)
    assert one.middle * other.middle == pytest.approx(1)
    assert one.low * other.high == pytest.approx(1)


def test_students_t_is_that_of_the_tables() -> None:
    """Quantiles agree with the printed table of Student's t at 95 and 97.5 % (Abramowitz and Stegun, table 26.10)."""
    printed = {(0.95, 1): 6.314, (0.95, 4): 2.132, (0.95, 5): 2.015, (0.95, 30): 1.697, (0.975, 2): 4.303, (0.975, 7): 2.365, (0.975, 60): 2.000}
    for (probability, freedom), value in printed.items():
        assert student_quantile(probability, freedom) == pytest.approx(value, abs=0.0006)
        assert student_probability(student_quantile(probability, freedom), freedom) == pytest.approx(probability)


_TIMES = st.decimals("0.1", 10, places=3)


@given(st.decimals("0.1", 1000, places=3), _TIMES, _TIMES)
def test_corrected_minutes_have_the_range_of_the_factor(vocabulary: Vocabulary, taken: Decimal, one: Decimal, other: Decimal) -> None:
    """The middle is taken times the factor, the ends of what was expected no longer count, and the computation is in the table."""
    low, high = sorted([one, other])
    factor, wide = Quantity.between(low, high, "times"), Quantity.between(taken / 10, taken * 10, "min", taken)
    found = corrected(wide, factor, vocabulary.units)
    assert found == corrected(Quantity(taken, "min"), factor, vocabulary.units)
    assert found == computations(vocabulary.units)["corrected minutes"]((wide, factor))
    assert found.lowest <= taken * low and taken * high <= found.highest


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new studio."""
    init(tmp_path)
    return tmp_path


def logged(folder: Path, knowledge: Knowledge, *minutes: str, **other: str) -> Vocabulary:
    """The vocabulary of a studio after some jobs."""
    for each in minutes:
        bench.write(folder, bench.Record(at="2026-02-03T10:00:00+00:00", minutes=each, **{**JOB, **other}))
    return read_studio(folder, knowledge).knowledge.vocabulary


def minutes(vocabulary: Vocabulary, glass: str = "lead-crystal") -> Quantity:
    """What is expected of the job of these tests."""
    grains = {"entering": Quantity.of(58, "µm"), "grain": Quantity.of("17.3", "µm")}
    found = expect_step(vocabulary, mineral="silicon-carbide", hold="loose", carrier="flat-lap", glass=glass, entering_hold="loose", **grains)
    assert found.minutes is not None
    return found.minutes


def test_without_a_log_nothing_changes(folder: Path, knowledge: Knowledge) -> None:
    """A studio without records, or with records that cannot be compared, uses the shipped vocabulary itself."""
    assert read_studio(folder, knowledge).knowledge is knowledge
    assert logged(folder, knowledge, "12 min", grade="") is knowledge.vocabulary


def test_jobs_narrow_what_is_expected_of_their_operation_on_their_glass(folder: Path, knowledge: Knowledge) -> None:
    """After jobs that took three times as long the expected minutes rise and their range narrows; on another glass nothing changes."""
    before = minutes(knowledge.vocabulary)
    each = f"{round(3 * expected_of_the_job(knowledge), 2)} min"
    after = minutes(logged(folder, knowledge, *[each] * 5))
    assert before.mid * 2 < after.mid < before.mid * 3
    assert after.highest / after.lowest < before.highest / before.lowest / 10
    widened = logged(folder, knowledge)
    assert minutes(widened, "borosilicate") == minutes(knowledge.vocabulary, "borosilicate")


def expected_of_the_job(knowledge: Knowledge) -> Decimal:
    """The middle of the minutes that are expected of the job of these tests."""
    found = compare(knowledge.vocabulary, bench.Record(at="2026-02-03T10:00:00+00:00", minutes="1 min", **JOB)).expected
    assert found is not None
    return found.mid


def test_a_pace_is_a_fact_with_the_log_as_its_basis(folder: Path, knowledge: Knowledge) -> None:
    """The factor is a statement that reads back, and its basis says how many records it comes from and of which days."""
    logged(folder, knowledge, "12 min", "14 min")
    known = read_studio(folder, knowledge).knowledge
    (claim,) = [claim for claim in known.vocabulary.claims if claim.predicate == "minutesFactor"]
    assert (claim.basis.kind, claim.basis.locator) == ("bench log", "2 records of 2026-02-03")
    (fact,) = [fact for fact in known.facts if fact.predicate == "minutesFactor"]
    assert known.language.parse(known.language.print(fact)) == fact


def test_a_record_of_something_forgotten_counts_for_nothing(folder: Path, knowledge: Knowledge) -> None:
    """A record of a thing that is no longer known stays in the log and says why it does not count."""
    logged(folder, knowledge, "12 min", carrier="our-old-lap")
    (job,) = read_studio(folder, knowledge).jobs
    assert job.expected is None and "our-old-lap" in job.why_not


def test_the_prior_is_that_of_the_ontology(vocabulary: Vocabulary) -> None:
    """The three numbers that the model begins with are read from the ontology, and another ontology gives others."""
    assert prior(vocabulary) == BEFORE
    claims = tuple(
        replace(claim, object=Quantity.of(2, "times")) if claim.predicate == "spreadOfPaces" else claim for claim in vocabulary.claims
    )
    assert prior(replace(vocabulary, claims=claims)).between_studios == log(2)


def test_the_next_answer_shows_the_studios_own_minutes(folder: Path, knowledge: Knowledge) -> None:
    """Minutes of a shown route are the studio's once its log tells them, and their reason rests on the log."""
    case = Case(glass="lead-crystal", make="cast", form="flat-face", surface="pre-polished", finish="polish")
    step = advise(knowledge, case).routes[0].steps[-1]
    job = {"mineral": step.mineral, "hold": step.hold, "carrier": step.carrier, "area": "60 cm²", "found": "2F", "found_hold": "", "grade": ""}
    logged(folder, knowledge, "8 min", "9 min", "10 min", **job)
    known = read_studio(folder, knowledge)
    assert [str(each.why_not) for each in known.jobs if each.expected is None] == []
    answer = advise(known.knowledge, case)
    before, after = step.minutes, answer.routes[0].steps[-1].minutes
    assert before is not None and after is not None
    assert None not in (before.low, before.high, after.low, after.high)
    assert after.mid < before.mid / 2 and after.high / after.low < before.high / before.low / 10  # type: ignore[operator]
    assert [reason.statement for reason in answer.reasons.values() if reason.basis.kind == "bench log"]


def test_the_log_names_things_to_people(capsys: pytest.CaptureFixture[str]) -> None:
    """What is shown of the log tells things by their names; a program gets their ids."""
    assert main(["studio", "log", "--show", "--studio", str(CANAL)]) == 0
    assert "loose silicon carbide F400 on flat lap" in capsys.readouterr().out
    assert main(["studio", "log", "--show", "--json", "--studio", str(CANAL)]) == 0
    assert "loose silicon-carbide F400 on flat-lap" in capsys.readouterr().out


@pytest.mark.parametrize(("factor", "changes"), [(12, True), (1, False)])
def test_a_log_can_change_which_route_is_first(folder: Path, knowledge: Knowledge, factor: int, *, changes: bool) -> None:
    """Where felt takes a studio many times as long as expected, a way that polishes on something else comes first, and the answer says so."""
    case = Case(glass="lead-crystal", form="flat-face", surface="sawn", finish="polish")
    job = {"mineral": "cerium-oxide", "hold": "loose", "carrier": "felt-wheel", "area": "60 cm²", "found": "2F", "found_hold": "", "grade": ""}
    usual = compare(knowledge.vocabulary, bench.Record(at="2026-02-03T10:00:00+00:00", minutes="1 min", **{**JOB, **job})).expected
    assert usual is not None
    logged(folder, knowledge, *[f"{round(factor * usual.mid, 2)} min"] * 8, **job)
    before, after = advise(knowledge, case).routes[0], advise(read_studio(folder, knowledge).knowledge, case).routes[0]
    assert before.steps[-1].carrier == "felt-wheel" and before.minutes_from_log is None
    assert (after.steps[-1].carrier != "felt-wheel") is changes
    told = str(after.minutes_from_log)
    assert ("Without the log another way would come first" in told) is changes
    assert ("cerium oxide on the felt wheel" in told) is changes
