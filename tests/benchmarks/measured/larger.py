"""``finishing-kg ask`` with a hundred times the ontology: a checkout of its own, with worlds of further things in Turtle."""

import shutil
import statistics
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from rdflib import URIRef
from rdflib.namespace import SKOS
from rdflib.term import BNode, Literal, Node

from finishing_kg.engine import Knowledge
from finishing_kg.vocabulary.load import FK, parse_turtle, turtle_files
from measured.processes import ASK, QUESTION, ROOT, run
from measured.table import Table

_TIMES, _ROUNDS = 100, 5
# A copied mineral that came in a copied hold would make further options; what is to grow is only what is known.
_MAKES_OPTIONS = {URIRef(FK + "comesAs"), URIRef(FK + "takesHold")}


def ask_larger(table: Table, knowledge: Knowledge) -> None:
    """The same question as for ``start`` with a hundred times the things; the first run may compile, and is told apart."""
    with TemporaryDirectory() as folder, TemporaryDirectory() as cache:
        place = Path(folder)
        shutil.copytree(ROOT / "finishing_kg", place / "finishing_kg", ignore=shutil.ignore_patterns("__pycache__"))
        for part in ("rules", "ontology"):
            shutil.copytree(ROOT / part, place / part)
        shutil.copy(ROOT / "pyproject.toml", place)
        count = _write_worlds(knowledge, place / "ontology" / "worlds.ttl")
        command = [
            sys.executable,
            "-c",
            f"import sys; sys.path.insert(0, {folder!r}); from finishing_kg.cli import main; main(['ask', {QUESTION!r}])",
        ]
        first, answer = run(command, cache)
        table.add(f"{ASK}, {_TIMES} x things, the first ever", first, note=f"{count} further triples")
        taken: list[float] = []
        while len(taken) < _ROUNDS and sum(taken) < table.budget * 1000:
            one, again = run(command, cache)
            assert again == answer
            taken.append(one)
        _, plain = run([sys.executable, "-m", "finishing_kg", "ask", QUESTION], cache)
        same = "the same answer as without them" if plain == answer else "ANOTHER ANSWER than without them"
        table.add(f"{ASK}, {_TIMES} x things", statistics.median(taken), runs=len(taken), note=same)


def _write_worlds(knowledge: Knowledge, file: Path) -> int:
    """Write each known thing again under other names and with other labels, with all that is said of it; gives the number of triples."""
    graph = parse_turtle(turtle_files(ROOT / "ontology"))
    things: set[Node] = {URIRef(FK + name) for name in knowledge.vocabulary.names}
    said = [triple for triple in graph if triple[0] in things and triple[1] not in _MAKES_OPTIONS and triple[1] != SKOS.altLabel]
    said += [triple for value in {value for *_, value in said if isinstance(value, BNode)} for triple in graph.triples((value, None, None))]
    count = 0
    with file.open("w", encoding="utf-8") as out:
        for number in range(1, _TIMES):
            for subject, predicate, value in said:
                node, other = (_again(one, number, things) for one in (subject, value))
                if predicate in (SKOS.prefLabel, SKOS.notation) and subject in things:
                    other = Literal(f"{value}-{number}", lang=value.language if isinstance(value, Literal) else None)
                out.write(f"{node.n3()} {predicate.n3()} {other.n3()} .\n")
                count += 1
    return count


def _again(node: Node, number: int, things: set[Node]) -> Node:
    if node in things:
        return URIRef(f"{node}.{number}")
    return BNode(f"{node}w{number}") if isinstance(node, BNode) else node
