"""Questions to compare engines on: cases laid evenly over all that can be named, and plans."""

import tomllib
from collections.abc import Iterator
from itertools import islice
from math import gcd, prod
from pathlib import Path
from tempfile import TemporaryDirectory

from finishing_kg.advice.plan_file import read_plan
from finishing_kg.engine import Ground, Knowledge
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact
from finishing_kg.proofs import Facts as Table
from finishing_kg.routes import Case, Options, judge
from finishing_kg.routes.stages import stages_to
from finishing_kg.statements import Statement

ROOT = Path(__file__).resolve().parents[2]
PLANS = (ROOT / "tests" / "data" / "outside" / "plans.toml", ROOT / "rules" / "cases" / "setups.toml")
Facts = dict[Statement, Fact]
_PARTS = ("glass", "make", "form", "surface", "finish")
_SIZES = (None, "2", "3", "40", "150", "400")


def systematic(knowledge: Knowledge, count: int) -> Iterator[tuple[str, Facts]]:
    """Cases taken from all glasses x makes x forms x surfaces x finishes, with all their options; some with measures, things at hand or unwanted.

    Two cases that follow each other lie far apart in that product, so that any number of them is spread over all of it.
    """
    vocabulary = knowledge.vocabulary
    choices = [[name.id for name in vocabulary.things(part)] for part in _PARTS]
    tools = [name.id for kind in ("mineral", "carrier") for name in vocabulary.things(kind)]
    every = prod(map(len, choices))
    stride = round(every * (5**0.5 - 1) / 2)
    while gcd(stride, every) > 1:
        stride += 1
    for number in range(min(count, every)):
        place, parts = number * stride % every, []
        for choice in choices:
            place, index = divmod(place, len(choice))
            parts.append(choice[index])
        size = _SIZES[number % len(_SIZES)]
        measures = {"wallThickness" if number % 2 else "diameter": Quantity.of(size, "mm")} if size else {}
        named = tuple(tools[(number + 7 * step) % len(tools)] for step in range(number % 4))
        limited = frozenset({"mineral"}) if number % 8 == 3 else frozenset()
        case = Case(*parts[:3], surface=parts[3], finish=parts[4], at_hand=named[1:], unwanted=named[:1], limited_in=limited, measures=measures)
        yield " ".join(parts), {**case.facts(), **Options(vocabulary, stages_to(vocabulary, parts[4]))}


def plans(knowledge: Knowledge) -> Iterator[tuple[str, Facts]]:
    """The steps of planned setups, with what is computed from them."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "plan.toml"
        for source in PLANS:
            for setup in tomllib.loads(source.read_text(encoding="utf-8"))["setup"]:
                file.write_text(setup["plan"], encoding="utf-8")
                plan = read_plan(knowledge, file)
                judged = judge(knowledge, plan.case, [plan.steps])
                yield setup["id"], {statement: fact for statement, fact in judged.model.facts.items() if statement not in knowledge.facts}


def asked(facts: Facts) -> tuple[Facts, Ground]:
    """A question as the program asks it: its own facts, and apart from them its options, which many questions share."""
    options = {statement: fact for statement, fact in facts.items() if str(statement.subject).startswith("option/")}
    stages = sorted({str(statement.object) for statement in options if statement.predicate == "worksToward"})
    own = {statement: fact for statement, fact in facts.items() if statement not in options}
    return own, Ground(("asked", str(len(options)), *stages), lambda: Table(options))


def questions(knowledge: Knowledge, count: int) -> Iterator[tuple[str, Facts]]:
    """The plans, and cases up to ``count`` questions in all."""
    made = list(islice(plans(knowledge), count))
    yield from made
    yield from systematic(knowledge, count - len(made))
