"""A sample of the fuzzing, by structure and by chance, and all that was found before."""

import os
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fuzz.guard import Forbidden
from fuzz.mutate import HOSTILE, inputs
from fuzz.run import fed
from fuzz.targets import Target, knowledge, refusals, targets, warm

FOUND = tomllib.loads((Path(__file__).parents[1] / "data" / "fuzzed.toml").read_text(encoding="utf-8"))["found"]
TARGETS = {target.name: target for target in targets()}
QUICK = [target for target in TARGETS.values() if target.again]


@pytest.fixture(scope="module", autouse=True)
def _warm() -> None:
    """What is loaded late is loaded before anything is fed."""
    knowledge()


@pytest.mark.parametrize("target", QUICK, ids=[target.name for target in QUICK])
def test_a_sample_by_chance_finds_nothing(target: Target) -> None:
    """Seeds and inputs near to them are taken or refused in words; some of each, so that both ways are gone."""
    count = min(target.of_a_million, 100 if target.of_a_million > 5_000 else 12)
    told = fed(target, count, 7, float("inf"))
    assert (told["done"], told["findings"]) == (count, [])
    assert told["taken"], "not even a seed is taken"


def _pieces(target: Target) -> st.SearchStrategy[bytes]:
    """Inputs put together of whole pieces of seeds, of what programs stumble over, and of any bytes."""
    pieces = sorted({part for seed in target.seeds[:40] for part in seed.replace(b"\n", b" \n").split(b" ")})
    return st.lists(st.one_of(st.sampled_from(pieces), st.sampled_from(HOSTILE), st.binary(max_size=6)), max_size=25).map(b" ".join)


@pytest.mark.parametrize("name", [name for name, target in TARGETS.items() if target.of_a_million >= 10_000])
@settings(max_examples=settings.default.max_examples // 4)
@given(st.data())
def test_what_is_put_together_of_pieces_does_no_harm(name: str, data: st.DataObject) -> None:
    """Whole words of the format in any order are taken or refused in words."""
    TARGETS[name].feed(data.draw(_pieces(TARGETS[name])))


@pytest.mark.parametrize("case", FOUND, ids=[case["id"] for case in FOUND])
def test_what_was_found_stays_mended(case: dict[str, str], capfd: pytest.CaptureFixture[str]) -> None:
    """An input that once did harm is refused with the reason; nothing goes past the program to the terminal."""
    target = warm(case["into"])
    capfd.readouterr()
    with refusals() as told:
        assert target.feed(case["text"].encode()) is case.get("taken", False)
    assert case.get("says", "") in " ".join(told)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize(
    ("raised", "shown"), [(KeyError("x"), "KeyError"), (RecursionError(), "RecursionError"), (Forbidden("a file is written"), "written")]
)
def test_a_finding_is_told_with_its_input(raised: BaseException, shown: str) -> None:
    """Whatever an input brings about beside a refusal is told, with the input."""

    def feed(data: bytes) -> bool:
        if data == b"bad":
            raise raised
        return True

    told = fed(Target("planted", feed, (b"good", b"bad"), 1), 8, 1, float("inf"))  # a quarter of them are the seeds as they are
    assert told["done"] == 8 and shown in told["findings"][0] and "b'bad'" in told["findings"][0]


def test_chance_is_the_same_again() -> None:
    """The same number gives the same inputs, another one others."""
    seeds = TARGETS["plan-toml"].seeds
    assert list(inputs(seeds, 50, 1)) == list(inputs(seeds, 50, 1)) != list(inputs(seeds, 50, 2))


@pytest.mark.skipif("FUZZ_GUIDED" not in os.environ, reason="takes atheris and half a minute; FUZZ_GUIDED=1 runs it")
def test_the_guided_fuzzer_feeds_a_target() -> None:
    """The coverage-guided fuzzer gets through its inputs."""
    from fuzz.run import guided

    told = guided(TARGETS["plan-csv"], 200, 1, 60)
    assert (told["done"], told["findings"]) == (200, [])
