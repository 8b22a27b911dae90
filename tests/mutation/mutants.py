"""Which mutants there are of a room, and a sample of them: mutmut says how code may be spoilt, libcst spoils it."""

import difflib
import random
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

import libcst as cst
from libcst.metadata import MetadataWrapper
from mutmut.mutation.file_mutation import Mutation, MutationVisitor
from mutmut.mutation.mutators import mutation_operators
from mutmut.mutation.pragma_handling import IgnoredCode

ROOT = Path(__file__).resolve().parents[2]


class Mutant(NamedTuple):
    """A module with one thing in it changed.

    Attributes:
        name: the module and the number of the change in it; it changes with the source.
        place: the module and, below it, the function or class.
        was, now: the lines that differ, before and after, in one line each.
        lines: the first and the last of them in the source.
        code: all of the module, changed.
    """

    name: str
    place: str
    was: str
    now: str
    lines: tuple[int, int]
    code: str

    @property
    def module(self) -> str:
        """The file of the module, seen from the root."""
        return self.name.split("#")[0]


class Module:
    """A module and the changes that can be made in it."""

    def __init__(self, file: str) -> None:
        self.file, self.source = file, (ROOT / file).read_text(encoding="utf-8")
        visitor = MutationVisitor(mutation_operators, IgnoredCode(set(), set(), set()))
        self.tree = MetadataWrapper(cst.parse_module(self.source)).visit(visitor)
        self._owners = dict(_owners(self.tree))
        meaningless = {id(node) for statement in self.tree.body if _means_nothing(statement) for node in _below(statement)}
        self.mutations: list[Mutation] = [one for one in visitor.mutations if id(one.original_node) not in meaningless]

    def name_of(self, number: int) -> str:
        """The name of the mutant by one of the mutations."""
        return f"{self.file}#{number}"

    def mutant(self, number: int) -> Mutant:
        """The module after one of its mutations."""
        made = self.mutations[number]
        code = self.tree.deep_replace(made.original_node, made.mutated_node).code  # type: ignore[arg-type]
        before, after = self.source.splitlines(), code.splitlines()
        parts = [part for part in difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes() if part[0] != "equal"]
        first, last = parts[0][1], parts[-1][2]
        changed_last = len(after) - (len(before) - last)
        was, now = (" ".join(line.strip() for line in lines) for lines in (before[first:last], after[first:changed_last]))
        owner = self._owners.get(id(made.original_node), "")
        dotted = self.file.removesuffix(".py").replace("/", ".")
        return Mutant(self.name_of(number), f"{dotted}:{owner}" if owner else dotted, was, now, (first + 1, max(last, first + 1)), code)


def modules_of(room: str) -> list[Module]:
    """The modules of a room; ``__init__`` only passes on what the others define."""
    files = sorted((ROOT / "finishing_kg" / room).glob("*.py"))
    return [Module(str(file.relative_to(ROOT))) for file in files if file.name != "__init__.py"]


def sampled(rooms: Mapping[str, Sequence[Module]], size: int | None, seed: int) -> dict[str, list[tuple[Module, int]]]:
    """For each room the mutants to try: an equal share for each room, in it for each module as many as its part of the room, drawn by chance.

    Args:
        rooms: the modules of each.
        size: how many in all; ``None`` for every mutant.
        seed: begins the chance.
    """
    chosen: dict[str, list[tuple[Module, int]]] = {}
    for number, (room, modules) in enumerate(rooms.items()):
        chance = random.Random(f"{seed} {room}")  # the same whether the other rooms are looked at or not
        counts = [len(module.mutations) for module in modules]
        share = sum(counts) if size is None else min(sum(counts), size // len(rooms) + (number < size % len(rooms)))
        quotas = [share * count / sum(counts) for count in counts]
        parts = [int(quota) for quota in quotas]
        for index in sorted(range(len(counts)), key=lambda index: parts[index] - quotas[index])[: share - sum(parts)]:
            parts[index] += 1
        drawn = [(module, one) for module, part in zip(modules, parts, strict=True) for one in chance.sample(range(len(module.mutations)), part)]
        chance.shuffle(drawn)  # a run that is stopped has tried some of every module
        chosen[room] = drawn
    return chosen


def _below(node: cst.CSTNode) -> Iterator[cst.CSTNode]:
    yield node
    for child in node.children:
        yield from _below(child)


def _owners(tree: cst.Module) -> Iterator[tuple[int, str]]:
    """For each node in a function or class the name of it."""
    for statement in tree.body:
        if isinstance(statement, cst.FunctionDef | cst.ClassDef):
            yield from ((id(node), statement.name.value) for node in _below(statement))
        if isinstance(statement, cst.ClassDef):
            for method in statement.body.body:
                if isinstance(method, cst.FunctionDef):
                    yield from ((id(node), f"{statement.name.value}.{method.name.value}") for node in _below(method))


def _means_nothing(statement: cst.CSTNode) -> bool:
    """Whether a statement outside of functions says nothing to a running program: ``__all__``, and a type's other name."""
    if not isinstance(statement, cst.SimpleStatementLine) or not isinstance(statement.body[0], cst.Assign):
        return False
    target = statement.body[0].targets[0].target
    return isinstance(target, cst.Name) and (target.value == "__all__" or (target.value.lstrip("_")[:1].isupper() and not target.value.isupper()))
