"""Rules and facts over integers, with comparisons worked out beforehand: what every other engine is given.

Each name and each quantity becomes an integer, each phrase a predicate. A comparison becomes a relation between the values that it can
meet, worked out with exact fractions by trying the ends of both ranges: a rule of safety goes on where the ranges overlap, another does
not, and an exception never does. So no engine needs to know of units or ranges, and none can be wrong about them in our way.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import networkx as nx

from engines.comparisons import Comparing, Outcomes, quantities
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule, RuleBase
from finishing_kg.statements import Statement, Variable
from finishing_kg.vocabulary import Vocabulary

Row = tuple[int, ...]
"""Something that holds: the predicate, the subject, and the object where there is one."""


@dataclass(frozen=True)
class Atom:
    """A predicate over terms: an integer is a known thing, a text a variable."""

    predicate: int
    terms: tuple[int | str, ...]

    def variables(self) -> list[str]:
        """Names of the variables, in the order in which they stand."""
        return [term for term in self.terms if isinstance(term, str)]


@dataclass(frozen=True)
class Clause:
    """A rule.

    Attributes:
        name: the rule's id.
        heads: what follows.
        body: what must hold, comparisons among it.
        blocks: any one of which must not hold; a variable of a block that the body has not stands for anything.
    """

    name: str
    heads: tuple[Atom, ...]
    body: tuple[Atom, ...]
    blocks: tuple[tuple[Atom, ...], ...]

    def variables(self) -> list[str]:
        """The variables of the body, in the order in which they stand."""
        return list(dict.fromkeys(name for atom in self.body for name in atom.variables()))


@dataclass(frozen=True)
class Stratum:
    """Clauses to be run together, after all earlier strata; ``recursive`` where they feed themselves."""

    clauses: tuple[Clause, ...]
    recursive: bool


@dataclass
class Program:
    """A rule base and the facts that are there before any question.

    Attributes:
        vocabulary: for shapes and units.
        base: the rules.
        static: what holds whatever is asked; the base's own facts are added.
        arities: number of terms of each predicate, by its number; comparisons come after the phrases.
        values: the name or quantity of each integer.
    """

    vocabulary: Vocabulary
    base: RuleBase
    static: Iterable[Statement]
    arities: list[int] = field(default_factory=list)
    values: list[str | Quantity] = field(default_factory=list)
    clauses: list[Clause] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.static = frozenset(self.static) | self.base.facts.keys()
        self._numbers: dict[str | Quantity, int] = {}
        self._predicates: dict[str | Comparing, int] = {}
        self._outcomes = Outcomes(self.vocabulary, self.base)
        for rule in self.base.rules:
            self.clauses.append(self._clause(rule))
        self._held = quantities(self.static)
        rows = {self.row(statement) for statement in self.static}
        self.static_comparisons = self._comparisons(self._held)
        self.static_rows: frozenset[Row] = frozenset(rows | self.static_comparisons)
        self.strata = list(_strata(self.clauses))

    def number(self, value: str | Quantity) -> int:
        """The integer of a name or quantity; a new one gets the next."""
        found = self._numbers.get(value)
        if found is None:
            found = self._numbers[value] = len(self.values)
            self.values.append(value)
        return found

    def predicate(self, of: str | Comparing) -> int:
        """The integer of a phrase or comparison."""
        found = self._predicates.get(of)
        if found is None:
            found = self._predicates[of] = len(self.arities)
            self.arities.append(1 if isinstance(of, str) and self.vocabulary.phrases[of].shape == "trait" else 2)
        return found

    def row(self, statement: Statement) -> Row:
        """A statement without variables over integers."""
        parts = [part for part in (statement.subject, statement.object) if part is not None]
        return (self.predicate(statement.predicate), *(self.number(part) for part in parts if not isinstance(part, Variable)))

    def question(self, facts: Mapping[Statement, object] | Iterable[Statement]) -> frozenset[Row]:
        """What a question adds to the static rows: its facts, and the comparisons that its quantities come into."""
        asked = set(facts) - self.static
        held = {predicate: set(values) for predicate, values in self._held.items()}
        fresh = False
        for predicate, values in quantities(asked).items():
            fresh = fresh or not values <= held.get(predicate, set())
            held.setdefault(predicate, set()).update(values)
        compared = self._comparisons(held) - self.static_comparisons if fresh else set()
        return frozenset({self.row(statement) for statement in asked} | compared)

    def statements(self, rows: Iterable[Row]) -> set[Statement]:
        """Rows as statements; comparisons, which say nothing new, are left out."""
        phrases = {number: phrase for phrase, number in self._predicates.items() if isinstance(phrase, str)}
        found = set()
        for predicate, subject, *rest in rows:
            if predicate in phrases:
                name = self.values[subject]
                assert isinstance(name, str)
                found.add(Statement(phrases[predicate], name, self.values[rest[0]] if rest else None))
        return found

    def spoken(self) -> list[int]:
        """The predicates that are phrases."""
        return [number for phrase, number in self._predicates.items() if isinstance(phrase, str)]

    def all_at_once(self) -> list[Stratum]:
        """The clauses in one stratum, run until nothing is added: right where nothing is denied."""
        return [Stratum(tuple(self.clauses), recursive=True)]

    def depending(self, given: Iterable[int]) -> set[int]:
        """The given predicates and all that a change in them could reach through the clauses."""
        graph = _graph(self.clauses)
        found = set(given)
        return found.union(*(nx.descendants(graph, predicate) for predicate in found if predicate in graph))

    def _clause(self, rule: Rule) -> Clause:
        names = {name: f"v{place}" for place, name in enumerate(dict.fromkeys(_names(rule)))}
        body = [atom for place, condition in enumerate(rule.conditions) for atom in self._atoms(rule, condition, names, f"l{place}")]
        blocks = [tuple(self._atoms(rule, exception, names, "l", exception=True)) for exception in rule.exceptions]
        heads = [atom for conclusion in rule.conclusions for atom in self._atoms(rule, conclusion, names, "")]
        return Clause(rule.id, tuple(heads), tuple(_joined(body)), tuple(blocks))

    def _atoms(self, rule: Rule, sentence: Statement, names: dict[str, str], value: str, *, exception: bool = False) -> Iterator[Atom]:
        """A sentence of a rule; a comparison is the value that is held, and what that value stands in to the other."""
        terms = [
            names[part.name] if isinstance(part, Variable) else self.number(part) for part in (sentence.subject, sentence.object) if part is not None
        ]
        if sentence.comparison == "is":
            yield Atom(self.predicate(sentence.predicate), tuple(terms))
            return
        yield Atom(self.predicate(sentence.predicate), (terms[0], value))
        rights: Quantity | frozenset[str]
        if isinstance(sentence.object, Variable):
            rights = frozenset(one.predicate for one in rule.conditions if one.comparison == "is" and one.object == sentence.object)
        else:
            assert isinstance(sentence.object, Quantity)
            rights = sentence.object
        comparing = Comparing(sentence.predicate, sentence.comparison, rule.safety and not exception, rights)
        yield Atom(self.predicate(comparing), (value, terms[1]))

    def _comparisons(self, given: Mapping[str, set[Quantity]]) -> set[Row]:
        """Every comparison that holds between values that can be met."""
        made = [one for one in self._predicates if isinstance(one, Comparing)]
        return {(self._predicates[one], self.number(left), self.number(right)) for one, left, right in self._outcomes.pairs(made, given)}


def _names(rule: Rule) -> Iterator[str]:
    for sentence in (*rule.conditions, *rule.exceptions, *rule.conclusions):
        yield from sentence.variables()


def _joined(body: list[Atom]) -> Iterator[Atom]:
    """The atoms so that each, where it can, shares a variable with an earlier one; most terms known first."""
    left, known = list(body), set[str]()
    while left:
        best = min(left, key=lambda atom: (sum(name not in known for name in atom.variables()), left.index(atom)))
        left.remove(best)
        known |= set(best.variables())
        yield best


def _graph(clauses: Iterable[Clause]) -> "nx.DiGraph[int]":
    """From each predicate to those that clauses conclude by looking at it."""
    graph: nx.DiGraph[int] = nx.DiGraph()
    for clause in clauses:
        for head in clause.heads:
            graph.add_node(head.predicate)
            for atom in (*clause.body, *(atom for block in clause.blocks for atom in block)):
                graph.add_edge(atom.predicate, head.predicate)
    return graph


def _strata(clauses: list[Clause]) -> Iterator[Stratum]:
    """Clauses in an order in which each finds settled what it needs."""
    graph = _graph(clauses)
    parts = nx.condensation(graph)
    place = {part: number for number, part in enumerate(nx.topological_sort(parts))}
    place_of = {predicate: place[part] for predicate, part in parts.graph["mapping"].items()}
    at: dict[int, list[Clause]] = {}
    for clause in clauses:
        at.setdefault(min(place_of[head.predicate] for head in clause.heads), []).append(clause)
    for number in sorted(at):
        recursive = any(place_of[atom.predicate] == number for clause in at[number] for atom in clause.body)
        yield Stratum(tuple(at[number]), recursive)
