"""The rule engine against ``clingo`` (MIT), an answer-set solver that shares no code with it, on the shipped rules.

Rules and facts are written out as a logic program: every name and every quantity becomes an integer, every predicate a predicate.
Comparisons are worked out beforehand with exact fractions, by trying the ends of both ranges, and given as facts: a rule of safety goes on
where they overlap, another does not, and an exception never does. The program must have exactly one stable model, which says the same.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.complete import complete
from finishing_kg.advice.plan import read_plan
from finishing_kg.engine import Knowledge, Model
from finishing_kg.measure import Quantity
from finishing_kg.routes import Case, judge
from finishing_kg.rules import Rule
from finishing_kg.statements import Statement, Term, Variable
from finishing_kg.vocabulary import Vocabulary

clingo = pytest.importorskip("clingo")

CASES = {
    "relief in crystal": Case(glass="lead-crystal", make="cast", form="bas-relief", surface="mould-marked", finish="polish"),
    "float edge": Case(glass="soda-lime-float", make="float-sheet", form="edge", surface="broken", finish="polish"),
    "frosted vessel": Case(glass="soda-lime-studio", make="blown", form="whole-body", surface="fire-polished", finish="blast-fine"),
    "silica face": Case(glass="fused-silica", form="flat-face", surface="sawn", finish="pre-polish"),
    "open frit": Case(glass="soda-lime-studio", make="frit-cast", form="deep-recess", surface="mould-marked", finish="satin"),
    "what is at hand": Case(
        glass="borosilicate",
        form="rim",
        surface="ground",
        finish="polish",
        at_hand=("silicon-carbide", "pumice", "cerium-oxide", "quartz-sand", "felt-wheel", "hand-pad"),
        unwanted=("belt",),
        limited_in=frozenset({"mineral"}),
    ),
    "thin wall": Case(
        glass="opal-glass", make="blown", form="rim", surface="broken", finish="fine-ground", measures={"wallThickness": Quantity.of(2, "mm")}
    ),
}
PLANS = {
    "fast felt": """
[piece]
glass = "lead-crystal"
make = "cast"
form = "flat-face"
surface = { state = "ground", grade = "F400" }
finish = "polish"
[[step]]
mineral = "cerium-oxide"
hold = "loose"
carrier = "felt-wheel"
wheel_diameter = "300 mm"
spindle_speed = "3000 rpm"
""",
    "dry belt, stiff lap": """
[piece]
glass = "soda-lime-float"
form = "bas-relief"
surface = "sawn"
finish = "fine-ground"
[[step]]
mineral = "silicon-carbide"
grade = "P80"
hold = "coated"
carrier = "belt"
wet = false
[[step]]
mineral = "silicon-carbide"
grade = "F800"
hold = "loose"
carrier = "plate"
wet = true
[[step]]
mineral = "aluminium-oxide"
grade = "F220"
hold = "loose"
carrier = "plate"
""",
    "sand in the jet": """
[piece]
glass = "lead-crystal"
form = "whole-body"
surface = "fire-polished"
finish = "blast-coarse"
[[step]]
mineral = "quartz-sand"
hold = "air-borne"
carrier = "blast-nozzle"
wet = false
""",
    "in order": """
[piece]
glass = "borosilicate"
form = "flat-face"
surface = "sawn"
finish = "pre-polish"
[[step]]
mineral = "silicon-carbide"
grade = "F220"
hold = "loose"
carrier = "flat-lap"
machine = "flat-lap-machine"
wet = true
[[step]]
mineral = "silicon-carbide"
grade = "F600"
hold = "loose"
carrier = "flat-lap"
wet = true
[[step]]
mineral = "pumice"
grade = "2F"
hold = "loose"
carrier = "cork-wheel"
wheel_diameter = "200 mm"
spindle_speed = "600 rpm"
wet = true
""",
}


@pytest.fixture(scope="module")
def models(knowledge: Knowledge, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Model]:
    """What our engine derives in each case: about all options of a case, and about the steps of a plan."""
    found = {name: Advice(knowledge, complete(knowledge.vocabulary, case)).model for name, case in CASES.items()}
    for name, text in PLANS.items():
        file = tmp_path_factory.mktemp("plans") / "plan.toml"
        file.write_text(text, encoding="utf-8")
        plan = read_plan(knowledge, file)
        found[name] = judge(knowledge, plan.case, [plan.steps]).model
    return found


# The translation.


def ends(vocabulary: Vocabulary, predicate: str, value: Quantity) -> tuple[Fraction, ...]:
    """The ends of a value in the base unit of its dimension, or its middle where the phrase compares by that."""
    factor = Fraction(vocabulary.units.by_symbol[value.unit].factor)
    numbers = [value.mid] if vocabulary.phrases[predicate].by_middle or value.low is None else [value.low, value.high]
    return tuple(Fraction(number) * factor for number in numbers if number is not None)


def outcome(vocabulary: Vocabulary, condition: Statement, left: Quantity, right: Quantity) -> bool | None:
    """A comparison by trying the ends of both ranges: all pairs, no pair, or some."""
    pairs = product(ends(vocabulary, condition.predicate, left), ends(vocabulary, condition.predicate, right))
    tests = {"above": lambda a, b: a > b, "below": lambda a, b: a < b, "at least": lambda a, b: a >= b, "at most": lambda a, b: a <= b}
    found = {tests[condition.comparison](a, b) for a, b in pairs}
    return found.pop() if len(found) == 1 else None


@dataclass
class Program:
    """A logic program in the making.

    Attributes:
        vocabulary: for units.
        held: the quantities that occur, by the predicate that they are values of.
        numbers: the integer of each name and quantity.
        predicates: the predicate of each phrase.
        lines: what was written.
    """

    vocabulary: Vocabulary
    held: dict[str, set[Quantity]]
    numbers: dict[str | Quantity, int] = field(default_factory=dict)
    predicates: dict[str, str] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)

    def number(self, value: str | Quantity) -> int:
        return self.numbers.setdefault(value, len(self.numbers))

    def term(self, term: Term) -> str:
        return f"V_{term.name.replace('-', '_')}" if isinstance(term, Variable) else str(self.number(term))

    def atom(self, statement: Statement, value: str | None = None) -> str:
        """A statement, or with ``value`` the statement that its property has that value."""
        name = self.predicates.setdefault(statement.predicate, f"p{len(self.predicates)}")
        parts = [self.term(statement.subject)]
        if value is not None:
            parts.append(value)
        elif statement.object is not None:
            parts.append(self.term(statement.object))
        return f"{name}({', '.join(parts)})"

    def body(self, condition: Statement, place: str, rule: Rule, *, unknown_counts: bool) -> Iterator[str]:
        """A condition of a rule, its comparison worked out."""
        if condition.comparison == "is":
            yield self.atom(condition)
            return
        assert condition.object is not None
        yield self.atom(condition, f"L_{place}")
        yield f"c_{place}(L_{place}, {self.term(condition.object)})"
        naming = [one.predicate for one in rule.conditions if one.comparison == "is" and one.object == condition.object]
        rights = set().union(*(self.held.get(predicate, set()) for predicate in naming)) if naming else {condition.object}
        for left, right in product(self.held.get(condition.predicate, set()), rights):
            assert isinstance(right, Quantity)
            found = outcome(self.vocabulary, condition, left, right)
            if found or (found is None and unknown_counts):
                self.lines.append(f"c_{place}({self.number(left)}, {self.number(right)}).")

    def rule(self, index: int, rule: Rule) -> None:
        """A rule; what stands in one exception only becomes a predicate of its own, so that it means anything."""
        parts = [
            part for at, condition in enumerate(rule.conditions) for part in self.body(condition, f"{index}_{at}", rule, unknown_counts=rule.safety)
        ]
        bound = {name for condition in rule.conditions for name in condition.variables()}
        for at, exception in enumerate(rule.exceptions):
            place = f"{index}_x{at}"
            shared = [self.term(Variable(name)) for name in dict.fromkeys(exception.variables()) if name in bound]
            head = f"x_{place}({', '.join(shared) or '0'})"
            inner = list(self.body(exception, place, rule, unknown_counts=False))
            if exception.comparison != "is" and isinstance(exception.object, Variable):
                # The value compared with comes from outside the exception: it is any that occurs.
                inner.append(f"value({self.term(exception.object)})")
            self.lines.append(f"{head} :- {', '.join(inner)}.")
            parts.append(f"not {head}")
        self.lines += [f"{self.atom(conclusion)} :- {', '.join(parts)}." for conclusion in rule.conclusions]


def values_of(model: Model) -> dict[str, set[Quantity]]:
    """The quantities that can be a value of each phrase: those given, and where rules conclude it any of its dimension."""
    held: dict[str, set[Quantity]] = {}
    for statement in model.facts:
        if isinstance(statement.object, Quantity):
            held.setdefault(statement.predicate, set()).add(statement.object)
    conclusions = [part for rule in model.base.rules for part in rule.conclusions]
    every = {part.object for part in conclusions if isinstance(part.object, Quantity)}.union(*held.values())
    units = model.vocabulary.units.by_symbol
    for part in conclusions:
        phrase = model.vocabulary.phrases[part.predicate]
        if phrase.shape == "quantity":
            dimensions = {units[unit].dimension for unit in phrase.units}
            held[part.predicate] = {value for value in every if units[value.unit].dimension in dimensions}
    return held


def solve(model: Model) -> list[set[Statement]]:
    """All stable models of a model's facts and rules, two at most, as statements."""
    held = values_of(model)
    program = Program(model.vocabulary, held)
    program.lines += [f"{program.atom(statement)}." for statement in model.facts]
    for index, rule in enumerate(model.base.rules):
        program.rule(index, rule)
    program.lines += [f"value({number})." for value, number in program.numbers.items() if isinstance(value, Quantity)]
    names = {number: value for value, number in program.numbers.items()}
    phrases = {short: predicate for predicate, short in program.predicates.items()}
    control = clingo.Control(["2", "--warn=none"])
    control.add("base", [], "\n".join(program.lines))
    control.ground([("base", [])])
    found = []
    with control.solve(yield_=True) as handle:
        for answer in handle:
            statements = set()
            for symbol in answer.symbols(atoms=True):
                if symbol.name in phrases:
                    subject, *value = [names[argument.number] for argument in symbol.arguments]
                    assert isinstance(subject, str)
                    statements.add(Statement(phrases[symbol.name], subject, value[0] if value else None))
            found.append(statements)
    return found


@pytest.mark.parametrize("name", [*CASES, *PLANS])
def test_the_engine_derives_what_clingo_derives(models: dict[str, Model], name: str) -> None:
    """clingo: exactly one stable model, with the same statements, given and derived."""
    model = models[name]
    answers = solve(model)
    assert len(answers) == 1
    ours = model.statements()
    assert answers[0] - ours == set()
    assert ours - answers[0] == set()
    assert len(ours) > len(model.facts), "nothing was derived, so nothing was compared"


def test_the_cases_set_off_many_rules(models: dict[str, Model]) -> None:
    """clingo is asked about cases in which a hundred of the shipped rules fire, so that agreement means something."""
    fired = {index for model in models.values() for firings in model.firings.values() for index, _ in firings}
    assert len(fired) >= 100


def test_a_rule_left_out_is_noticed(models: dict[str, Model], knowledge: Knowledge) -> None:
    """The comparison can fail: without one rule that fired, clingo's answer is another than ours."""
    model = models["fast felt"]
    key, firings = next((key, firings) for key, firings in sorted(model.firings.items(), key=str) if len(firings) == 1 and key not in model.facts)
    index = next(iter(firings))[0]
    without = tuple(rule for at, rule in enumerate(model.base.rules) if at != index)
    lamed = Model(model.vocabulary, type(model.base)(without, model.base.strata, model.base.facts), model.facts, [])
    (answer,) = solve(lamed)
    assert Statement(*key) not in answer
    assert answer != model.statements()


def test_plans_are_read(tmp_path: Path, knowledge: Knowledge) -> None:
    """Each plan has at least one step that the reader took in."""
    for text in PLANS.values():
        file = tmp_path / "plan.toml"
        file.write_text(text, encoding="utf-8")
        assert read_plan(knowledge, file).steps
