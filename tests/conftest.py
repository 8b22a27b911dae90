"""What all tests share: how hard hypothesis tries, and the shipped words, loaded once at the first need."""

import atexit
import gc
import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings
from shipped_words import VOCABULARY

from finishing_kg.engine import Knowledge
from finishing_kg.rules import load_rules
from finishing_kg.statements import Language
from finishing_kg.vocabulary import Vocabulary

ROOT = Path(__file__).parent.parent

# What is loaded once stays; looking through all of it for circles, at Python's usual pace, takes a sixth of the tests' time.
gc.set_threshold(100_000, 50, 100)

# Compiled forms go where they are thrown away, those of the processes that tests start too; the workers of one run share them.
if "PYTEST_XDIST_WORKER" not in os.environ:
    os.environ["FINISHING_KG_CACHE"] = tempfile.mkdtemp()
    atexit.register(shutil.rmtree, os.environ["FINISHING_KG_CACHE"], ignore_errors=True)
else:
    # Processes that tests start need not compile the program anew each time, and leave nothing in the checkout.
    os.environ["PYTHONPYCACHEPREFIX"] = str(Path(os.environ["FINISHING_KG_CACHE"], "python"))
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

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
    return VOCABULARY


@pytest.fixture(scope="session")
def language(vocabulary: Vocabulary) -> Language:
    """The language of the shipped vocabulary."""
    return Language(vocabulary)


@pytest.fixture(scope="session")
def knowledge(vocabulary: Vocabulary, language: Language) -> Knowledge:
    """The shipped ontology and rules."""
    return Knowledge(vocabulary, language, load_rules(sorted((ROOT / "rules").glob("*.toml")), language))
