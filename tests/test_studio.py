"""A studio's folder: what it adds, how that is written, and what it may not say."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from studio_folders import ASK, GLASS, HEAD, REFUSED_RULES, ROOT, faults, rule, things

from finishing_kg import studio
from finishing_kg.advice import as_json
from finishing_kg.casebook import load_cases
from finishing_kg.chat import Dialogue
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.studio import StudioError, init, read_studio
from finishing_kg.studio import things as read_things
from finishing_kg.studio.add import add_rule, add_thing, add_to_shelf, remove_from_shelf, remove_rule, remove_thing
from finishing_kg.studio.folder import VARIABLE, find
from finishing_kg.vocabulary.load import parse_turtle, turtle_files
from finishing_kg.vocabulary.shapes import check_shapes


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new studio."""
    init(tmp_path / "studio")
    return tmp_path / "studio"


# What a studio adds


def test_a_new_studio_changes_nothing(folder: Path, knowledge: Knowledge) -> None:
    """What `init` makes holds no knowledge: the shipped knowledge itself is used."""
    assert read_studio(folder, knowledge).knowledge is knowledge


def test_the_studios_rule_counts_and_names_its_basis(folder: Path, knowledge: Knowledge) -> None:
    """A rule of the studio changes the answer, and the reason for that rests on the studio."""
    method = ["the piece has form ?form", "?form has recesses", "?option uses mineral pumice", "?option uses carrier brush wheel"]
    method.append("?option works toward pre-polish")
    with pytest.raises(StudioError, match="bristles-for-relief"):
        add_rule(folder, rule("no-brush-here", method, ["?option is ruled out"]))
    assert read_studio(folder, knowledge).own_rules == ()
    add_rule(folder, rule("no-brush-here", method, ["?option is ruled out"], overrides=["bristles-for-relief"]))
    answer = Dialogue(studio.open(folder)).say(ASK)
    used = {(step.mineral, step.carrier) for route in answer.routes for step in route.steps}
    assert used and ("pumice", "brush-wheel") not in used
    bases = {reason.rule: reason.basis.kind for reason in Dialogue(studio.open(folder)).say(f"{ASK}, why not the brush wheel?").reasons.values()}
    assert bases.get("no-brush-here", "studio") == "studio"


def test_without_the_folder_every_answer_is_as_before(folder: Path, knowledge: Knowledge) -> None:
    """Opening a studio leaves nothing behind: with the folder gone, answers are the shipped ones byte for byte."""
    questions = [case.table["ask"] for case in load_cases([ROOT / "rules" / "cases" / "questions.toml"])[:3] if "ask" in case.table]
    before = [as_json(Dialogue(Knowledge.shipped()).say(question)) for question in questions]
    add_rule(folder, rule("no-tripoli-here", ["?option uses mineral tripoli"], ["?option is ruled out"]))
    add_thing(folder, "pumice", also=["bims"])
    for question in questions:
        Dialogue(studio.open(folder)).say(question)
    shutil.rmtree(folder)
    assert [as_json(Dialogue(Knowledge.shipped()).say(question)) for question in questions] == before
    assert [as_json(Dialogue(knowledge).say(question)) for question in questions] == before


def test_another_name_is_read_as_the_thing(folder: Path) -> None:
    """A name that the studio gives to a shipped thing is read in questions and in sentences."""
    add_thing(folder, "soda-lime-studio", also=["canal batch"])
    known = studio.open(folder)
    assert Dialogue(known).say("Relief cast panel in canal batch, straight from the mould, to pre-polish").understood.glass == "soda-lime-studio"
    assert known.language.parse("the piece has glass canal batch").object == "soda-lime-studio"


def test_the_shelf_limits_only_where_it_is_asked_for(folder: Path, knowledge: Knowledge) -> None:
    """What is on the shelf is at hand, and minerals and carriers are limited to it, in a case that is begun from it and in no other."""
    for thing in ("felt wheel", "diamond", "cerium-oxide"):
        add_to_shelf(folder, thing, [], "1400 rpm" if thing == "felt wheel" else None)
    read = read_studio(folder, knowledge)
    assert read.knowledge is knowledge
    case = read.shelf.case(knowledge.vocabulary)
    assert (case.at_hand, case.limited_in) == (("felt-wheel", "diamond", "cerium-oxide"), frozenset({"mineral", "carrier"}))


# What is written is what one would write by hand


def test_comments_and_all_else_stay(folder: Path) -> None:
    """Adding and removing rules, things and shelf leave every comment and every other line letter for letter."""
    files = {
        "rules/ours.toml": '# ours\n[[rule]] # first\nid = "one" # a name\nif = ["?option uses mineral tripoli"]\nthen = ["?option is ruled out"]\n'
        'because = """\n[[rule]] is no rule here, it is a reason."""\nbasis = { kind = "studio" }\n\n# what comes next\n',
        "shelf.toml": '# what we have\n[[shelf]]\nthing = "pumice" # the grey one\n\n# more\n',
    }
    for file, text in files.items():
        (folder / file).write_text(text, encoding="utf-8")
    add_rule(folder, rule("two", ["?option uses mineral rottenstone"], ["?option is ruled out"]))
    add_to_shelf(folder, "felt-wheel", [], None)
    for file, text in files.items():
        assert (folder / file).read_text(encoding="utf-8").startswith(text.rstrip("\n"))
    before = (folder / "things/ours.ttl").read_text(encoding="utf-8")
    add_thing(folder, "pumice", also=["bims"])
    remove_thing(folder, "pumice")
    assert (folder / "things/ours.ttl").read_text(encoding="utf-8").rstrip() == before.rstrip()
    remove_rule(folder, "two")
    remove_from_shelf(folder, "felt-wheel")
    for file, text in files.items():
        assert (folder / file).read_text(encoding="utf-8").rstrip() == text.rstrip()
    remove_rule(folder, "one")
    assert (folder / "rules/ours.toml").read_text(encoding="utf-8").split() == ["#", "ours", "#", "what", "comes", "next"]


def test_a_thing_is_held_against_the_shapes(folder: Path) -> None:
    """A carrier that says too little is refused with every shape that it breaks, and the file stays as it was."""
    before = (folder / "things/ours.ttl").read_bytes()
    with pytest.raises(StudioError) as caught:
        add_thing(folder, "our-wheel", kind="carrier", label="our wheel", definition="A wheel.", says=["our wheel spins"])
    told = str(caught.value)
    lacking = ("takes some hold", "serves some stage", "reaches some form", "driven by some machine", "how it is worked")
    assert all(what in told for what in lacking)
    assert (folder / "things/ours.ttl").read_bytes() == before


FAULTY_THINGS = """
@prefix rdf: <http://www.w3.org/1999/02/22-rdf-syntax-ns#> .
fk:our-wheel a fk:Carrier ; skos:prefLabel "our wheel"@en ; skos:definition "One."@en, "Two."@en ; fk:isDrivenBy fk:pumice, fk:nothing ;
    fk:containsLead true ; fk:density [ fk:mid 3 ; qudt:unit fk:Mohs ] .
fk:our-glass a fk:Glass ; skos:prefLabel "our glass"@en ; fk:hardness 5 .
fk:our-dust a fk:Mineral ; skos:prefLabel "our dust"@en ; fk:isRuledOut true ;
    fk:hardness [ fk:low 5 ; fk:high 3 ; qudt:unit fk:Mohs, fk:HK ], [ fk:mid 3 ] .
fk:pumice skos:altLabel "bare", "zu Deutsch"@de .
[] a rdf:Statement ; rdf:subject fk:our-dust ; rdf:predicate fk:serves ; rdf:object fk:polish ; dcterms:source src:memory .
"""


def test_what_the_shapes_find_in_a_part_is_what_they_find_in_the_whole(folder: Path) -> None:
    """A studio's things, held against the shapes without the shipped ones, have the faults that they have beside them."""
    file = folder / "things/ours.ttl"
    file.write_text(file.read_text(encoding="utf-8") + FAULTY_THINGS, encoding="utf-8")
    whole = parse_turtle([*turtle_files(ROOT / "ontology"), file])
    found = read_things.against_shapes(folder)
    assert found == check_shapes(whole)
    assert {line.partition(",")[0].partition(":")[0] for line in found} == {"our-wheel", "our-glass", "our-dust", "pumice"}


# What is refused, with its place

REFUSED_THINGS = {
    "a trait of a shipped glass": ("fk:lead-crystal fk:isFreeOfLead true .", "is shipped"),
    "a hazard denied": ("fk:pumice fk:holdsCrystallineSilica false .", "is shipped"),
    "a relation of a shipped mineral": ("fk:quartz-sand fk:comesAs fk:plated .", "is shipped"),
    "a basis of what is shipped": (
        "[] a rdf:Statement ; rdf:subject fk:lead-crystal ; rdf:predicate fk:containsLead ; rdf:object true ; dcterms:source src:memory .",
        "rests on is shipped",
    ),
    "a look-alike elsewhere": (f'<https://elsewhere.example/x#lead-crystal> {GLASS} ; skos:prefLabel "ours"@en .', "no identifier"),
    "a phrase": ('fk:is-harmless a rdf:Property ; fk:phrase "is harmless" ; fk:shape "trait" .', "one kind among"),
    "a kind": ('fk:harmless a rdf:Property ; fk:kind "harmless" .', "one kind among"),
    "a stage": ('fk:our-stage a fk:Finish ; skos:prefLabel "our stage"@en .', "one kind among"),
    "a notation that is taken": (f'fk:ours {GLASS} ; skos:prefLabel "ours"@en ; skos:notation "lead-crystal" .', "printed by its own"),
    "lead unsaid": (f'fk:ours {GLASS} ; skos:prefLabel "ours"@en .', "contains lead"),
    "a name that is taken": (f'fk:ours {GLASS} ; fk:isFreeOfLead true ; skos:prefLabel "lead crystal"@en .', "is the name of"),
    "a name that swallows": (f'fk:ours {GLASS} ; fk:isFreeOfLead true ; skos:prefLabel "fine lead crystal"@en .', "lose its cautions"),
    "another name that swallows": ('fk:soda-lime-studio skos:altLabel "lead crystal panel"@en .', "lose its cautions"),
    "a name that overlaps": ('fk:soda-lime-studio skos:altLabel "panel in lead"@en .', "lose its cautions"),
    "a slip of the pen": ('fk:soda-lime-studio skos:altLabel "castt glas"@en .', "slip of the pen"),
    "a warning in a name": ('fk:soda-lime-studio skos:altLabel "acid glass"@en .', "by which questions are read"),
    "no Turtle": ("fk:ours a fk:Glass", "not Turtle"),
    "an unknown property": ("fk:pumice fk:comesInn fk:loose .", "no property"),
}


@pytest.mark.parametrize("what", REFUSED_THINGS)
def test_what_things_may_not_say(folder: Path, knowledge: Knowledge, what: str) -> None:
    """Turtle that would change what is shipped, or hide a danger, is refused with its file and line."""
    turtle, why = REFUSED_THINGS[what]
    things(folder, turtle)
    found = faults(folder, knowledge)
    assert any(why in text for text in found), found
    line = HEAD.count("\n") + (2 if what == "no Turtle" else 1)
    assert all(text.startswith(f"things/more.ttl, line {line}") for text in found) or what == "no Turtle", found


def test_a_lead_glass_of_the_studio_may_be_called_so(folder: Path, knowledge: Knowledge) -> None:
    """A name that holds the name of a dangerous thing is right for a thing that is as dangerous; its caution is given."""
    things(folder, f'fk:ours {GLASS} ; fk:containsLead true ; skos:prefLabel "our old lead crystal"@en .')
    assert faults(folder, knowledge) == []
    answer = Dialogue(studio.open(folder)).say("Sawn block of our old lead crystal, flat face, to polish")
    assert answer.understood.glass == "ours" and "lead-dust" in {caution.id for caution in answer.cautions}


@pytest.mark.parametrize("what", REFUSED_RULES)
def test_what_rules_may_not_say(folder: Path, what: str) -> None:
    """A rule that would override, free, silence or pass by a safety rule is refused, and nothing is written."""
    before = (folder / "rules/ours.toml").read_bytes()
    with pytest.raises(StudioError) as caught:
        add_rule(folder, REFUSED_RULES[what])
    assert {fault.file for fault in caught.value.faults} == {"rules/ours.toml"}
    assert (folder / "rules/ours.toml").read_bytes() == before


def test_everything_wrong_is_told_at_once(folder: Path, knowledge: Knowledge) -> None:
    """Faults of all files are reported together, each with its file; nothing is half-loaded."""
    (folder / "rules/a.toml").write_text("[[rule]]\nid = 3\n", encoding="utf-8")
    (folder / "rules/verdicts.toml").write_text("", encoding="utf-8")
    things(folder, "fk:pumice fk:isSoft true .")
    (folder / "shelf.toml").write_text('[[shelf]]\nthing = "nothing such"\ncolour = 3\n', encoding="utf-8")
    (folder / "cases/b.toml").write_text("[[question]]\n", encoding="utf-8")
    (folder / "log.jsonl").write_text("{}\n", encoding="utf-8")
    found = {text.split(",")[0] for text in faults(folder, knowledge)}
    assert found == {"rules/a.toml", "rules/verdicts.toml", "things/more.ttl", "shelf.toml", "cases/b.toml", "log.jsonl"}


def test_where_a_studio_is_found(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder given wins over the variable, that over the current folder, and that over the usual place for data."""
    places = {name: tmp_path / name for name in ("given", "named", "here", "data/finishing-kg/studio")}
    for place in places.values():
        init(place)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("finishing_kg.studio.folder.usual_folder", lambda: places["data/finishing-kg/studio"])
    monkeypatch.chdir(tmp_path)
    assert find() == places["data/finishing-kg/studio"]
    monkeypatch.chdir(places["here"])
    assert find() == Path()
    monkeypatch.setenv(VARIABLE, str(places["named"]))
    assert find() == places["named"] and find(str(places["given"])) == places["given"]
    with pytest.raises(StudioError, match="no studio"):
        find(str(tmp_path))


def test_the_commands_end_with_the_statuses_that_they_state(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A change that is in order ends with 0; one that is not with 2 and the place; a case that falls short makes `studio check` end with 1."""
    at = ["--studio", str(folder)]
    assert main(["studio", "add", "shelf", "felt wheel", *at]) == 0
    assert main(["studio", "add", "shelf", "filt whel", *at]) == 2
    assert "shelf.toml, line" in capsys.readouterr().err
    assert main(["studio", "list", *at]) == 0 and "felt-wheel" in capsys.readouterr().out
    (folder / "cases/ours.toml").write_text(f'[[question]]\nid = "relief"\nask = "{ASK}"\nkind = ["no_route"]\n', encoding="utf-8")
    assert main(["studio", "check", *at]) == 1
    assert main(["ask", ASK, "--from-shelf", *at]) in (0, 3)
    assert "felt wheel is at hand" in capsys.readouterr().out


@pytest.fixture
def read_anew() -> Iterator[None]:
    """The shipped ontology is read as if nobody had read it yet, and so once more afterwards."""
    read_things._ontology.cache_clear()
    yield
    read_things._ontology.cache_clear()


@pytest.mark.usefixtures("read_anew")
def test_a_program_updated_while_it_runs_changes_no_answer(tmp_path: Path, knowledge: Knowledge, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is shipped is read once, so that the same folder opens each time; if it was another already, that is said and not blamed on the studio."""
    knowledge = Knowledge(knowledge.vocabulary, knowledge.language, knowledge.base)  # of what is compiled nothing need be held against anything
    init(tmp_path / "studio")
    things(tmp_path / "studio", 'fk:pumice skos:altLabel "bims"@en .')
    updated = shutil.copytree(ROOT / "ontology", tmp_path / "ontology")
    minerals = updated / "minerals.ttl"
    minerals.write_text(minerals.read_text(encoding="utf-8").replace('"pumice"@en', '"pumice stone"@en', 1), encoding="utf-8")
    assert read_studio(tmp_path / "studio", knowledge).own_things
    monkeypatch.setattr(read_things, "shipped", lambda _: updated)
    assert read_studio(tmp_path / "studio", knowledge).own_things
    read_things._ontology.cache_clear()
    with pytest.raises(StudioError, match="start it anew"):
        read_studio(tmp_path / "studio", knowledge)
