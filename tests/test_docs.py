"""The documents: every command stands in README, what is shown is what is printed, and what is to be copied works."""

import argparse
import re
import shutil
import tomllib
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import case_files
import findings_page
import pytest
import refresh_docs

from finishing_kg.advice import check_plan
from finishing_kg.chat import Dialogue
from finishing_kg.cli.main import _parser
from finishing_kg.engine import Knowledge
from finishing_kg.quantities import describe_grade
from finishing_kg.statements.confusable import confusable
from finishing_kg.vocabulary import Vocabulary
from finishing_kg.vocabulary.load import parse_turtle, turtle_files
from finishing_kg.vocabulary.shapes import check_shapes

ROOT = refresh_docs.ROOT
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
EXAMPLES = [example for document in (*refresh_docs.DOCUMENTS, *refresh_docs.WALKS) for example in refresh_docs.examples(document)]
ROOMS = {folder.name for folder in (ROOT / "finishing_kg").iterdir() if (folder / "__init__.py").exists()}
FOLDERS = ("finishing_kg", "tui", "rules", "ontology", "tests", "examples", ".ci")


def parsers(parser: argparse.ArgumentParser, name: str) -> Iterator[tuple[str, argparse.ArgumentParser]]:
    """All commands below a parser with their full names; one that only holds others is left out."""
    below = [action for action in parser._actions if isinstance(action, argparse._SubParsersAction)]
    if not below:
        yield name, parser
    for action in below:
        for word, inner in action.choices.items():
            yield from parsers(inner, f"{name} {word}")


COMMANDS = dict(parsers(_parser([]), "finishing-kg"))


@pytest.mark.parametrize("command", COMMANDS)
def test_readme_names_every_command(command: str) -> None:
    """Each command stands in README's table, and README or the examples show it at work."""
    assert re.search(rf"^\| `{command}\b", README, re.MULTILINE)
    assert any(example.command.startswith(f"{command} ") or example.command == command for example in EXAMPLES)


@pytest.mark.parametrize("command", COMMANDS)
def test_readme_names_every_option(command: str) -> None:
    """Each option of a command stands in README."""
    options = {option for action in COMMANDS[command]._actions for option in action.option_strings if option.startswith("--")}
    assert [option for option in sorted(options) if f"{option}`" not in README and f"{option} " not in README] == []


# `rules test` and `rules audit` run every case, which takes minutes; tests/test_casebook.py tries them with a few.
QUICK = [example for example in EXAMPLES if not example.takes_minutes and example.document not in refresh_docs.WALKS]


@pytest.mark.parametrize("example", QUICK, ids=lambda example: f"{example.document}:{example.line}")
def test_what_is_shown_is_what_is_printed(example: refresh_docs.Example, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """A command ends with the status that the document states, and prints what stands below it, line breaks aside."""
    monkeypatch.setattr(Knowledge, "shipped", lambda: knowledge)
    status, printed = refresh_docs.run(example.command)
    assert status == example.status, printed
    if example.output is not None:
        assert refresh_docs.shortened(printed, example.output).split() == example.output.split(), "run: python tests/refresh_docs.py"


@pytest.mark.parametrize("document", refresh_docs.WALKS)
def test_a_walk_goes_as_it_is_told(document: str, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """The commands of a walk, one after another in one folder, end and print as the page says."""
    monkeypatch.setattr(Knowledge, "shipped", lambda: knowledge)
    steps = list(zip(refresh_docs.examples(document), refresh_docs.walk(document), strict=True))
    assert len(steps) > 3
    for example, (status, printed) in steps:
        assert status == example.status, f"{example.command}\n{printed}"
        if example.output is not None:
            assert refresh_docs.shortened(printed, example.output).split() == example.output.split(), "run: python tests/refresh_docs.py"


def test_undone_is_undone() -> None:
    """The last answer of the walk is the first one, to the byte."""
    steps = dict(zip(refresh_docs.examples(refresh_docs.WALKS[0]), refresh_docs.walk(refresh_docs.WALKS[0]), strict=True))
    asked = [printed for example, (_, printed) in steps.items() if example.command.startswith("finishing-kg ask")]
    assert len(asked) == 3 and asked[0] == asked[2] != asked[1]


def test_the_page_of_findings_shows_each_kind(knowledge: Knowledge) -> None:
    """Every code is shown by a plan, one of them beside a shelf, and the page says what the check says."""
    assert set(findings_page.CODES) <= findings_page.setups_by_code().keys()
    assert findings_page.findings_page(knowledge) == findings_page.PAGE.read_text(encoding="utf-8"), "run: python tests/refresh_docs.py"


def test_shortening_says_so() -> None:
    """An output is shortened only where a line says so, and that line finds its place again when the output has changed."""
    shown = "a\n[left out: from “b” up to “d”]\nd\n[left out: from “e” to the end]\n"
    assert refresh_docs.shortened("a\nb\nc\nd\nnew\ne\nf\n", shown) == "a\n[left out: from “b” up to “d”]\nd\nnew\n[left out: from “e” to the end]\n"
    assert refresh_docs.shortened("a\nb\nz\n", "[left out: from “b” up to the last line]") == "a\n[left out: from “b” up to the last line]\nz\n"
    assert refresh_docs.shortened("abcdef\nab\n", "[each line is cut after 3 characters]") == "abc…\nab\n[each line is cut after 3 characters]\n"
    with pytest.raises(LookupError):
        refresh_docs.shortened("a\n", "[left out: from “b” to the end]")


def test_readme_lists_the_kinds_of_basis_in_their_order(vocabulary: Vocabulary) -> None:
    """README ranks the kinds of basis as the ontology does."""
    assert ", ".join(vocabulary.basis_order) in " ".join(README.split())


@pytest.mark.parametrize("document", ["README.md", "DEVELOPERS.md", "examples/examples.md", *refresh_docs.WALKS])
def test_links_lead_somewhere(document: str) -> None:
    """Every link and picture of a document is a file of the project."""
    targets = re.findall(r"\]\(([^)#]+)\)", (ROOT / document).read_text(encoding="utf-8"))
    assert [target for target in targets if not (ROOT / document).parent.joinpath(target).exists()] == []


def test_developers_names_what_exists() -> None:
    """Files, functions and classes that DEVELOPERS.md names are there; ``room.module.name`` stands below ``finishing_kg``."""
    named = set(re.findall(r"`([\w./-]+)`", DEVELOPERS))
    paths = {name for name in named if name.split("/")[0] in FOLDERS and "/" in name}
    dotted = {name for name in named if name.split(".")[0] in ROOMS and "." in name and "/" not in name}
    assert len(paths) > 20 and len(dotted) > 20, "nothing would be tested"
    assert sorted(path for path in paths if not (ROOT / path).exists()) == []
    assert sorted(name for name in dotted if not _is_there(name)) == []
    assert sorted(room for room in ROOMS if f"| `finishing_kg/{room}` |" not in DEVELOPERS) == []


def _is_there(name: str) -> bool:
    """Whether a dotted name below ``finishing_kg`` is a module, or something in one."""
    parts = name.split(".")
    for length in range(len(parts), 0, -1):
        try:
            found: Any = import_module(".".join(["finishing_kg", *parts[:length]]))
        except ModuleNotFoundError:
            continue
        for part in parts[length:]:
            if not hasattr(found, part) and part not in getattr(found, "__annotations__", {}):
                return False
            found = getattr(found, part, None)
        return True
    return False


def blocks(kind: str) -> list[str]:
    """The fenced blocks of one kind in DEVELOPERS.md."""
    return re.findall(rf"^```{kind}\n(.*?)^```$", DEVELOPERS, re.MULTILINE | re.DOTALL)


@pytest.fixture(scope="module")
def widened(tmp_path_factory: pytest.TempPathFactory) -> tuple[Knowledge, Path]:
    """The shipped knowledge with everything that DEVELOPERS.md shows how to add."""
    folder = tmp_path_factory.mktemp("widened")
    shutil.copytree(ROOT / "ontology", folder / "ontology")
    shutil.copytree(ROOT / "rules", folder / "rules")
    (folder / "ontology" / "added.ttl").write_text("\n".join(blocks("turtle")), encoding="utf-8")
    (folder / "rules" / "added.toml").write_text("\n".join(block for block in blocks("toml") if "[[rule]]" in block), encoding="utf-8")
    return Knowledge.load(folder / "ontology", sorted((folder / "rules").glob("*.toml"))), folder


def test_the_turtle_shown_to_developers_can_be_added(widened: tuple[Knowledge, Path]) -> None:
    """What DEVELOPERS.md adds passes the shapes, makes no sentence ambiguous, and its grade is read."""
    knowledge, folder = widened
    assert check_shapes(parse_turtle(turtle_files(folder / "ontology"))) == []
    assert confusable(knowledge.language) == []
    assert describe_grade(knowledge.vocabulary, "5F").mid == 20


def test_the_rule_shown_to_developers_fires_in_its_case(widened: tuple[Knowledge, Path]) -> None:
    """The case of DEVELOPERS.md is met with the rule beside it, and is not met without."""
    knowledge, folder = widened
    cases = [case for block in blocks("toml") for case in tomllib.loads(block).get("setup", [])]
    assert cases
    for case in cases:
        (folder / "plan.toml").write_text(case["plan"], encoding="utf-8")
        assert list(case_files.setup_faults(case, check_plan(knowledge, folder / "plan.toml"))) == []
        assert list(case_files.setup_faults(case, check_plan(Knowledge.shipped(), folder / "plan.toml"))) != []


def test_the_thing_shown_to_developers_is_advised_on(widened: tuple[Knowledge, Path]) -> None:
    """The carrier of DEVELOPERS.md is understood and used where it is all there is."""
    answer = Dialogue(widened[0]).say("Bevel in lead crystal, pre-polished, to a full polish. I only have a leather wheel.")
    assert [step.carrier for step in answer.routes[0].steps] == ["leather-wheel"]
