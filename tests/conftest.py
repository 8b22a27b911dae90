"""What all tests share: how hard hypothesis tries, and the shipped words, loaded once at the first need."""

import gc
import os

import compiled_here  # noqa: F401 - before anything that keeps a compiled form
import pytest
from hypothesis import HealthCheck, Phase, settings
from shipped_words import KNOWLEDGE

from finishing_kg.engine import Knowledge
from finishing_kg.statements import Language
from finishing_kg.vocabulary import Vocabulary

# What is loaded once stays; looking through all of it for circles, at Python's usual pace, takes a sixth of the tests' time.
gc.set_threshold(100_000, 50, 100)

# HYPOTHESIS_PROFILE=thorough searches twenty times as long, with new examples at each run.
_QUIET = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
settings.register_profile("ci", max_examples=40, deadline=None, derandomize=True, database=None, suppress_health_check=_QUIET)
settings.register_profile("thorough", max_examples=800, deadline=None, suppress_health_check=_QUIET)
# Beside tests/mutation: a fault that is planted is found soon or hardly ever, and its smallest example interests nobody.
settings.register_profile("mutants", settings.get_profile("ci"), max_examples=25, phases=[Phase.explicit, Phase.generate])
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    """The shipped vocabulary."""
    return KNOWLEDGE.vocabulary


@pytest.fixture(scope="session")
def language() -> Language:
    """The language of the shipped vocabulary."""
    return KNOWLEDGE.language


@pytest.fixture(scope="session")
def knowledge() -> Knowledge:
    """The shipped ontology and rules."""
    return KNOWLEDGE


@pytest.fixture
def shipped_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands in this process take the shipped knowledge that is at hand; what they read of it from the disk is in test_compiled.py."""
    monkeypatch.setattr(Knowledge, "shipped", lambda: KNOWLEDGE)
