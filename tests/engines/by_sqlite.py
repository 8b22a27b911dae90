"""sqlite: each rule as an INSERT of a SELECT, stratum by stratum.

Tuned as somebody would who means it to be fast: tables without row ids, an index each way, every statement compiled once, statistics
gathered from a question like those to come, what no question can change derived once, and a question taken back by a rollback.
"""

import sqlite3
from collections.abc import Iterable

from engines.program import Atom, Clause, Program, Row, Stratum


class Sqlite:
    """A database in memory.

    Args:
        program: what to derive from.
        changing: the predicates that questions speak of; all of them unless given.
        sample: the rows of a question, to gather statistics from.
    """

    def __init__(self, program: Program, changing: Iterable[int] | None = None, sample: Iterable[Row] = ()) -> None:
        self.program = program
        self._base = sqlite3.connect(":memory:", isolation_level=None, cached_statements=20_000)
        self._base.execute("PRAGMA journal_mode = MEMORY")
        self._base.execute("PRAGMA temp_store = MEMORY")
        for predicate, arity in enumerate(program.arities):
            columns, key = ("s INTEGER, o INTEGER", "s, o") if arity == 2 else ("s INTEGER", "s")
            self._base.execute(f"CREATE TABLE p{predicate} ({columns}, PRIMARY KEY ({key})) WITHOUT ROWID")
            if arity == 2:
                self._base.execute(f"CREATE INDEX q{predicate} ON p{predicate} (o, s)")
        self._base.execute("BEGIN")
        self._insert(program.static_rows)
        unsettled = set(range(len(program.arities))) if changing is None else program.depending(changing)
        self._strata: list[tuple[Stratum, list[str]]] = []
        for stratum in program.strata:
            late = any(head.predicate in unsettled for clause in stratum.clauses for head in clause.heads)
            ready = (stratum, [_insertion(clause, head) for clause in stratum.clauses for head in clause.heads])
            if late:
                self._strata.append(ready)
            else:
                self._settle(*ready)
        self._base.execute("COMMIT")
        if sample := list(sample):
            self.ask(sample)
            # Statistics go with the transaction; so they are written down outside it and put back.
            self._base.execute("ANALYZE")
            kept = self._base.execute("SELECT tbl, idx, stat FROM sqlite_stat1").fetchall()
            self._base.execute("ROLLBACK")
            self._base.execute("ANALYZE sqlite_schema")
            self._base.execute("ANALYZE")
            self._base.execute("DELETE FROM sqlite_stat1")
            self._base.executemany("INSERT INTO sqlite_stat1 VALUES (?, ?, ?)", kept)
            self._base.execute("ANALYZE sqlite_schema")

    def ask(self, rows: Iterable[Row]) -> None:
        """Derive all that follows with a question's rows, after taking the last question back."""
        if self._base.in_transaction:
            self._base.execute("ROLLBACK")
        self._base.execute("BEGIN")
        self._insert(rows)
        for stratum, insertions in self._strata:
            self._settle(stratum, insertions)

    def conclusions(self) -> set[Row]:
        """Everything that holds."""
        return {(predicate, *row) for predicate in self.program.spoken() for row in self._base.execute(f"SELECT * FROM p{predicate}")}

    def _insert(self, rows: Iterable[Row]) -> None:
        by_predicate: dict[int, list[Row]] = {}
        for predicate, *terms in rows:
            by_predicate.setdefault(predicate, []).append(tuple(terms))
        for predicate, terms_of in by_predicate.items():
            places = ", ".join("?" * self.program.arities[predicate])
            self._base.executemany(f"INSERT OR IGNORE INTO p{predicate} VALUES ({places})", terms_of)

    def _settle(self, stratum: Stratum, insertions: list[str]) -> None:
        while True:
            before = self._base.total_changes
            for insertion in insertions:
                self._base.execute(insertion)
            if not stratum.recursive or self._base.total_changes == before:
                return


def _insertion(clause: Clause, head: Atom) -> str:
    columns: dict[str, str] = {}
    tests = _tests(clause.body, "b", columns)
    for place, block in enumerate(clause.blocks):
        inner = _tests(block, f"x{place}_", dict(columns))
        tests.append(f"NOT EXISTS (SELECT 1 FROM {_tables(block, f'x{place}_')}{_where(inner)})")
    chosen = ", ".join(columns[term] if isinstance(term, str) else str(term) for term in head.terms)
    return f"INSERT OR IGNORE INTO p{head.predicate} SELECT {chosen} FROM {_tables(clause.body, 'b')}{_where(tests)}"


def _tables(atoms: tuple[Atom, ...], prefix: str) -> str:
    return ", ".join(f"p{atom.predicate} AS {prefix}{place}" for place, atom in enumerate(atoms))


def _tests(atoms: tuple[Atom, ...], prefix: str, columns: dict[str, str]) -> list[str]:
    """What the columns of the atoms must be; ``columns`` receives where each variable is first met."""
    tests = []
    for place, atom in enumerate(atoms):
        for column, term in zip("so", atom.terms, strict=False):
            here = f"{prefix}{place}.{column}"
            if isinstance(term, int):
                tests.append(f"{here} = {term}")
            elif term in columns:
                tests.append(f"{here} = {columns[term]}")
            else:
                columns[term] = here
    return tests


def _where(tests: list[str]) -> str:
    return f" WHERE {' AND '.join(tests)}" if tests else ""
