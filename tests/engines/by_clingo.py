"""``clingo`` (MIT), an answer-set solver: rules and facts as a logic program, which must have exactly one stable model."""

from collections.abc import Iterable, Iterator

import clingo

from engines.program import Atom, Clause, Program, Row


class Clingo:
    """Grounds and solves anew for each question; its own order of strata."""

    def __init__(self, program: Program) -> None:
        self.program = program
        rules = [line for number, clause in enumerate(program.clauses) for line in _lines(number, clause)]
        self._text = "\n".join((*rules, *map(_fact, program.static_rows)))
        self._found: list[list[clingo.Symbol]] = []

    def ask(self, rows: Iterable[Row]) -> None:
        """Derive all that follows with a question's rows; two models at most are looked for."""
        control = clingo.Control(["2", "--warn=none"])
        control.add("base", [], "\n".join((self._text, *map(_fact, rows))))
        control.ground([("base", [])])
        self._found = []
        control.solve(on_model=lambda model: self._found.append(model.symbols(atoms=True)))

    def answers(self) -> list[set[Row]]:
        """All stable models, two at most."""
        return [
            {(int(atom.name[1:]), *(argument.number for argument in atom.arguments)) for atom in model if atom.name[0] == "p"}
            for model in self._found
        ]

    def conclusions(self) -> set[Row]:
        """What holds in the only stable model."""
        (only,) = self.answers()
        return only


def _fact(row: Row) -> str:
    return f"p{row[0]}({','.join(map(str, row[1:]))})."


def _atom(atom: Atom) -> str:
    return f"p{atom.predicate}({','.join(str(term).upper() for term in atom.terms)})"


def _lines(number: int, clause: Clause) -> Iterator[str]:
    """A rule; what stands in one exception only becomes a predicate of its own, so that it means anything."""
    body = [_atom(atom) for atom in clause.body]
    for place, block in enumerate(clause.blocks):
        known = set(clause.variables())
        shared = [name.upper() for name in dict.fromkeys(name for atom in block for name in atom.variables()) if name in known]
        head = f"x{number}_{place}({','.join(shared) or '0'})"
        yield f"{head} :- {', '.join(map(_atom, block))}."
        body.append(f"not {head}")
    for head_atom in clause.heads:
        yield f"{_atom(head_atom)} :- {', '.join(body)}."
