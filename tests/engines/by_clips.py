"""CLIPS (``clipspy``, BSD and public domain): rules as productions, ordered by salience.

Two ways of using it. *logical*: what is asserted hangs on what it was derived from, and goes when that goes; CLIPS keeps every
derivation. *logged*: plain assertions, each firing noted in a list; a question's facts are all retracted before the next.
"""

from collections.abc import Iterable
from typing import Any

import clips

from engines.program import Atom, Clause, Program, Row


class Clips:
    """A CLIPS environment.

    Support that goes in a circle is not noticed by CLIPS: under ``logical`` facts that rest on each other stay after a retraction. So
    with recursive rules only the first question after loading is right that way.

    Args:
        program: what to derive from.
        logical: dependent facts, rather than a log of firings.
        differences: under ``logical`` leave asserted what the last question said too, so that only what hangs on the rest is derived anew.
        changing: the predicates that questions speak of; all of them unless given. Only rules that do not depend on them run while
            loading, if firings are logged.
    """

    def __init__(self, program: Program, *, logical: bool, differences: bool = False, changing: Iterable[int] | None = None) -> None:
        self.program = program
        self.log: list[tuple[int, ...]] = []
        self._logical, self._differences = logical, differences
        self._asked: dict[Row, Any] = {}
        self._mark, self._gate = 0, None
        self._environment = clips.Environment()
        self._environment.define_function(self._note, "note")
        unsettled = set(range(len(program.arities))) if changing is None else program.depending(changing)
        for predicate in range(len(program.arities)):
            self._environment.build(f"(deftemplate p{predicate} {'(slot s)(slot o)' if program.arities[predicate] == 2 else '(slot s)'})")
        self._environment.build("(deftemplate asking (slot s))")
        numbers = {clause.name: number for number, clause in enumerate(program.clauses)}
        for place, stratum in enumerate(program.strata):
            for clause in stratum.clauses:
                late = any(head.predicate in unsettled for head in clause.heads)
                self._environment.build(self._production(numbers[clause.name], clause, -place, gated=late and not logical))
        self._templates = [self._environment.find_template(f"p{predicate}") for predicate in range(len(program.arities))]
        self._assert(program.static_rows)
        self._environment.run()

    def ask(self, rows: Iterable[Row]) -> None:
        """Derive all that follows with a question's rows, after taking the last question back."""
        wanted = set(rows)
        if self._logical:
            for row in self._asked.keys() - wanted if self._differences else [*self._asked]:
                self._asked.pop(row).retract()
            self._asked |= self._assert(wanted - self._asked.keys())
        else:
            if self._gate is not None:
                for fact in [fact for fact in self._environment.facts() if fact.index >= self._mark]:
                    fact.retract()
            self.log = []
            self._gate = self._environment.find_template("asking").assert_fact(s=1)
            self._mark = self._gate.index
            self._assert(wanted)
        self._environment.run()

    def conclusions(self) -> set[Row]:
        """Everything that holds."""
        spoken = set(self.program.spoken())
        found = set()
        for fact in self._environment.facts():
            name = fact.template.name
            if name[0] == "p" and int(name[1:]) in spoken:
                found.add((int(name[1:]), *(value for _, value in fact)))
        return found

    def _note(self, *firing: int) -> None:
        self.log.append(firing)

    def _assert(self, rows: Iterable[Row]) -> dict[Row, Any]:
        made = {}
        for row in rows:
            template, (subject, *rest) = self._templates[row[0]], row[1:]
            made[row] = template.assert_fact(s=subject, o=rest[0]) if rest else template.assert_fact(s=subject)
        return made

    def _production(self, number: int, clause: Clause, salience: int, *, gated: bool) -> str:
        # The gate comes last: what a question does not touch is joined while loading, and only waits.
        conditions = [*map(_pattern, clause.body), *(["(asking)"] if gated else [])]
        for block in clause.blocks:
            inner = " ".join(map(_pattern, block))
            conditions.append(f"(not (and {inner}))" if len(block) > 1 else f"(not {inner})")
        left = " ".join(conditions)
        noted = "" if self._logical else f"(note {number} {' '.join(f'?{name}' for name in clause.variables())})"
        right = " ".join(f"(assert {_pattern(head)})" for head in clause.heads)
        return f"(defrule r{number} (declare (salience {salience})) {f'(logical {left})' if self._logical else left} => {noted} {right})"


def _pattern(atom: Atom) -> str:
    slots = [f"({slot} {f'?{term}' if isinstance(term, str) else term})" for slot, term in zip("so", atom.terms, strict=False)]
    return f"(p{atom.predicate} {' '.join(slots)})"
