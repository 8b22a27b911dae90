"""Rule files that cannot be used are refused with everything that is wrong, each at its place."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from finishing_kg.rules import RuleBase, RuleFileError, load_rules
from finishing_kg.statements import Language, Statement, Variable

DATA = Path(__file__).parent / "data"
BROKEN: dict[str, Any] = tomllib.loads((DATA / "broken_rules.toml").read_text(encoding="utf-8"))
RULES = sorted((Path(__file__).parent.parent / "rules").glob("*.toml"))

GOOD = """
[[rule]]
id = "stiff-on-relief"
if = ["the piece has form ?form", "?form has recesses", "?option uses carrier ?carrier", "?carrier is stiff"]
unless = ["?any is powered"]
then = ["?option is ruled out"]
because = "A stiff face rides on the high spots."
basis = { kind = "handbook", source = "A book", locator = "page 3" }
safety = true
"""


def load(tmp_path: Path, text: str, language: Language) -> RuleBase:
    """Rules from a text."""
    file = tmp_path / "studio-rules.toml"
    file.write_bytes(text.encode())
    return load_rules([file], language)


@pytest.mark.parametrize("name", BROKEN)
def test_broken_file(name: str, language: Language) -> None:
    """Each broken file is refused with exactly its faults, each with line, rule, part and what to do."""
    with pytest.raises(RuleFileError) as caught:
        load_rules([DATA / "broken_rules" / f"{name}.toml"], language)
    faults, expected = caught.value.faults, BROKEN[name]["faults"]
    assert [(fault.line, fault.rule, fault.part) for fault in faults] == [(want["line"], want["rule"], want["part"]) for want in expected]
    for fault, want in zip(faults, expected, strict=True):
        assert want["says"] in fault.text
        assert fault.file == f"{name}.toml"
        assert str(fault) in str(caught.value)


def test_every_broken_file_is_in_the_table() -> None:
    """No broken file is left untested."""
    assert {file.stem for file in (DATA / "broken_rules").glob("*.toml")} == set(BROKEN)


def test_faults_of_all_files_at_once(language: Language) -> None:
    """Several files are reported together."""
    files = [DATA / "broken_rules" / f"{name}.toml" for name in ("not_toml", "missing_unit")]
    with pytest.raises(RuleFileError) as caught:
        load_rules(files, language)
    assert [fault.file for fault in caught.value.faults] == ["not_toml.toml", "missing_unit.toml"]


def test_good_rule(tmp_path: Path, language: Language) -> None:
    """A rule keeps its sentences and basis; its verdict becomes a proposal under its own name."""
    (rule,) = load(tmp_path, GOOD, language).rules
    assert [language.print(condition) for condition in rule.conditions][1:3] == ["?form has recesses", "?option uses carrier ?carrier"]
    assert rule.conclusions == (Statement("isProposedAsRuledOutBy", Variable("option"), "rule/stiff-on-relief"),)
    assert (rule.subject, rule.line, rule.safety) == ("studio-rules", 2, True)
    assert (rule.basis.kind, rule.basis.source, rule.basis.locator) == ("handbook", "A book", "page 3")


def test_missing_file(tmp_path: Path, language: Language) -> None:
    """A file that is not there is a fault like any other."""
    with pytest.raises(RuleFileError, match="cannot be read"):
        load_rules([tmp_path / "none.toml"], language)


def test_not_text(tmp_path: Path, language: Language) -> None:
    """A file that is not UTF-8 is refused with the place of the first bad byte."""
    file = tmp_path / "bad.toml"
    file.write_bytes(b"# \xff\n")
    with pytest.raises(RuleFileError, match="byte 2"):
        load_rules([file], language)


def test_deep_nesting(tmp_path: Path, language: Language) -> None:
    """A file made to exhaust the reader is refused, not crashed on."""
    with pytest.raises(RuleFileError):
        load(tmp_path, "rule = " + "[" * 20000, language)


@pytest.mark.parametrize(
    ("before", "line"),
    [
        ("# one\n# two\n", 6),
        ('# a fence in a comment: """\n', 5),
        ("# a line separator \u2028 is no end of line\n", 5),
        ("\r\n\r\n", 6),
    ],
)
def test_lines_are_those_of_the_file(tmp_path: Path, language: Language, before: str, line: int) -> None:
    """Comments, fences and other line ends do not shift the line of a fault."""
    with pytest.raises(RuleFileError) as caught:
        load(tmp_path, before + GOOD.replace("?form has recesses", "?form has reccesses"), language)
    assert [(fault.line, fault.part) for fault in caught.value.faults] == [(line, "if 2")]


def test_basis_as_a_table_of_its_own(tmp_path: Path, language: Language) -> None:
    """A basis written under a header of its own is found at its line."""
    text = GOOD.replace('basis = { kind = "handbook", source = "A book", locator = "page 3" }\nsafety = true', '[rule.basis]\nkind = "hearsay"')
    with pytest.raises(RuleFileError) as caught:
        load(tmp_path, text, language)
    assert [(fault.line, fault.part) for fault in caught.value.faults] == [(8, "basis")]


def test_order_of_files_does_not_matter(language: Language) -> None:
    """The shipped rules load, and give the same base in any order of their files."""
    assert load_rules(RULES, language) == load_rules(reversed(RULES), language)


def test_every_shipped_sentence_reads_back(language: Language) -> None:
    """Each sentence of a shipped rule is printed so that it is read back as the same."""
    for rule in load_rules(RULES, language).rules:
        for sentence in (*rule.conditions, *rule.exceptions, *rule.conclusions):
            assert language.parse(language.print(sentence)) == sentence
