"""How grave a finding is follows from what it threatens, which the ontology says in one place."""

import tomllib
from pathlib import Path

import case_files
import pytest

from finishing_kg.casebook.cases import Case, check_setup
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.rules import RuleFileError, load_rules
from finishing_kg.rules.levels import level_of
from finishing_kg.statements import Language
from finishing_kg.vocabulary import Vocabulary

FILES = sorted((Path(__file__).parent.parent / "rules").glob("*.toml"))
RULES = [rule for file in FILES for rule in tomllib.loads(file.read_text(encoding="utf-8"))["rule"]]
WORDS = {"isStoppedBy": "stop", "isCautionedFor": "caution", "isNotedFor": "note"}
OF_CONSEQUENCE = {
    "harm-to-a-person": "stop",
    "danger-unseen": "stop",
    "loss-of-the-piece": "stop",
    "work-in-vain": "stop",
    "harm-to-the-piece": "caution",
    "a-day-lost": "caution",
    "time-lost": "note",
}


def test_the_levels_of_the_consequences(vocabulary: Vocabulary) -> None:
    """What hurts a person or loses the piece stops, what marks the piece or costs a day wants care, and what costs time is noted."""
    assert {name.id for name in vocabulary.things("consequence")} == set(OF_CONSEQUENCE)
    for kind in ("finding", "caution"):
        for finding in vocabulary.things(kind):
            (threatened,) = vocabulary.related(finding.id, "threatens")
            assert WORDS[str(level_of(vocabulary, finding.id))] == OF_CONSEQUENCE[threatened]


def test_a_hazard_to_people_threatens_a_person(vocabulary: Vocabulary) -> None:
    """Every caution, as a hazard to people, threatens a person; of open pores the piece too, whose stain is what a check finds."""
    assert {name.id for name in vocabulary.things("caution") if vocabulary.related(name.id, "threatens") != ["harm-to-a-person"]} == {"open-pores"}


def test_no_rule_says_how_grave_a_finding_is() -> None:
    """Rules say what they bring up; only the one that picks the cause among signs names a level, and looks it up."""
    levels = (" is stopped by ", " is cautioned for ", " is noted for ")
    graded = [rule["id"] for rule in RULES for sentence in rule["then"] if any(level in sentence for level in levels)]
    assert graded == ["root-cause-of-a-trouble"]
    assert sum(" brings up " in sentence for rule in RULES for sentence in rule["then"]) > 60


@pytest.mark.parametrize("setup", case_files.load("setup"), ids=lambda setup: setup["id"])
def test_findings_have_the_level_of_what_they_threaten(knowledge: Knowledge, setup: dict[str, str]) -> None:
    """The level that a check reports is that of the finding's consequence; one lower where its rule only holds it possible."""
    possible = {(rule["id"], sentence.rsplit(" ", 1)[1]) for rule in RULES for sentence in rule["then"] if " may bring up " in sentence}
    called_for = {rule["id"] for rule in RULES for sentence in rule["then"] if " calls for caution " in sentence}
    checked = check_setup(knowledge, Case(setup["id"], "setup", "", setup))
    for finding in checked.findings:
        rule = checked.reasons[str(finding.reason)].rule
        if rule in called_for:  # the usual hazards of the work, no faults of the plan
            assert finding.level == "note"
        else:
            level = level_of(knowledge.vocabulary, finding.code, possible=(rule, finding.code) in possible)
            assert finding.level == WORDS[str(level)]


def test_the_ontology_alone_decides(vocabulary: Vocabulary) -> None:
    """Another consequence in the ontology gives the same rules another level."""
    claims = tuple(
        replace(claim, object="time-lost") if (claim.subject, claim.predicate) == ("dry-grinding", "threatens") else claim
        for claim in vocabulary.claims
    )
    changed = Language(replace(vocabulary, claims=claims))
    (rule,) = [rule for rule in load_rules(FILES, changed).rules if rule.id == "driven-tools-run-wet"]
    assert [made.predicate for made in rule.conclusions] == ["isNotedFor"]


@pytest.mark.parametrize(
    ("then", "says"),
    [
        ("?step is noted for dry-grinding", "Write: ?step brings up dry grinding"),
        ("?step is stopped by under-speed", "Write: ?step brings up under speed"),
        ("?step brings up ?finding", "names the finding"),
    ],
)
def test_a_rule_with_another_level_is_refused(vocabulary: Vocabulary, tmp_path: Path, then: str, says: str) -> None:
    """A rule that states a level which does not follow is refused with what to write."""
    file = tmp_path / "ours.toml"
    told = 'because = "It is so in each such step."\nbasis = { kind = "common practice" }\n'
    file.write_text(f'[[rule]]\nid = "a"\nif = ["?step runs dry", "?step shows sign of ?finding"]\nthen = ["{then}"]\n{told}', "utf-8")
    with pytest.raises(RuleFileError) as raised:
        load_rules([file], Language(vocabulary))
    assert says in str(raised.value)
