"""The export: everything is in it, it reads back as it was, it holds to its shapes, and every value leads to its source."""

import errno
import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import chdir
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from effort import WHOLE, one_in
from graphs import same
from hypothesis import given, settings
from rdflib import BNode, Graph, Literal
from rdflib.compare import isomorphic
from rdflib.namespace import DCTERMS, PROV, RDF, RDFS, VOID
from rdflib.term import Node
from strategies import INVENTED, quantities, rule_sets

import finishing_kg.export
from finishing_kg import __version__
from finishing_kg.cli import main
from finishing_kg.engine import Knowledge
from finishing_kg.export import export_graph, read_rules, to_json_ld, to_turtle
from finishing_kg.export.graph import DATASET, LICENCE
from finishing_kg.export.rules import write_rules
from finishing_kg.export.sentences import SentenceReader, SentenceWriter, unit_node
from finishing_kg.export.words import FK, PREFIXES, QUDT, RULE, SCHEMA, SWRL, empty_graph, identifier_of, iri, list_of
from finishing_kg.measure import Quantity
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Language, option_id, rule_id, step_id
from finishing_kg.vocabulary import Basis, Vocabulary, load_vocabulary
from finishing_kg.vocabulary.load import parse_turtle, turtle_files
from finishing_kg.vocabulary.shapes import check_shapes

pytestmark = pytest.mark.usefixtures("shipped_once")

ROOT = Path(__file__).parent.parent
QUERY = (ROOT / "examples" / "values-to-sources.rq").read_text(encoding="utf-8")
WRITERS: dict[str, Callable[[Graph], str]] = {"turtle": to_turtle, "json-ld": to_json_ld}
PARCELS = Language(INVENTED)


@pytest.fixture(scope="module")
def graph(knowledge: Knowledge) -> Graph:
    """The export of the shipped knowledge."""
    return export_graph(knowledge)


@pytest.fixture(scope="module")
def written(graph: Graph) -> dict[str, str]:
    """Its text in each format."""
    return {name: write(graph) for name, write in WRITERS.items()}


@pytest.fixture(scope="module")
def read_back(written: dict[str, str]) -> dict[str, Graph]:
    """What a reader of each format gets."""
    return {name: Graph(bind_namespaces="none").parse(data=text, format=name) for name, text in written.items()}


def plainly(rules: list[Rule]) -> list[Rule]:
    """Rules without the order of ``overrides``, which means nothing."""
    return [replace(rule, overrides=tuple(sorted(rule.overrides))) for rule in rules]


@pytest.mark.parametrize("name", WRITERS)
def test_a_reader_gets_the_same_graph(graph: Graph, read_back: dict[str, Graph], name: str) -> None:
    """Written and read again, the graph is the same but for the labels of blank nodes."""
    assert same(read_back[name], graph)


def test_another_graph_is_told_apart(graph: Graph) -> None:
    """A single number, or the order of two conditions, makes it another graph."""
    about = Graph()
    for subject in [FK.pumice, *sorted(graph.subjects(RDF.type, FK.Rule), key=str)[:40]]:
        for triple in graph.cbd(subject):
            about.add(triple)
    for change in (_other_number, _other_order):
        changed = Graph()
        for triple in about:
            changed.add(triple)
        assert same(changed, about)
        change(changed)
        assert len(changed) == len(about) and not same(changed, about)


def _other_number(graph: Graph) -> None:
    node, _, number = min(graph.triples((None, FK.mid, None)), key=str)
    graph.remove((node, FK.mid, number))
    graph.add((node, FK.mid, Literal(Decimal(str(number)) + 1)))


def _other_order(graph: Graph) -> None:
    cell = graph.value(min(subject for subject in graph.subjects(RDF.type, FK.Rule) if len(list(list_of(graph, subject, FK["if"]))) > 1), FK["if"])
    assert cell is not None
    rest = graph.value(cell, RDF.rest)
    assert rest is not None
    first, second = graph.value(cell, RDF.first), graph.value(rest, RDF.first)
    assert first is not None and second is not None
    graph.set((cell, RDF.first, second))
    graph.set((rest, RDF.first, first))


def test_parts_are_compared_as_wholes_are(graph: Graph) -> None:
    """The comparison used here agrees with rdflib's on what is said of a few rules."""
    few = sorted(graph.subjects(RDF.type, FK.Rule), key=str)[:6]
    some, without = Graph(), Graph()
    for rule in few:
        for triple in graph.cbd(rule):
            some.add(triple)
    again = Graph().parse(data=to_turtle(some), format="turtle")
    for triple in list(again)[:-1]:
        without.add(triple)
    assert isomorphic(some, again) and same(some, again)
    assert not isomorphic(some, without) and not same(some, without)


@pytest.mark.parametrize("name", WRITERS)
def test_rules_read_back_are_the_rules(knowledge: Knowledge, read_back: dict[str, Graph], name: str) -> None:
    """Each rule comes back with every part, read from the parts of its sentences, and the same order of evaluation."""
    rules = read_rules(read_back[name], knowledge.language)
    assert rules == plainly(list(knowledge.base.rules))
    base = make_base(rules)
    assert (base.strata, base.facts) == (knowledge.base.strata, knowledge.base.facts)


def test_the_words_of_a_sentence_say_its_parts(knowledge: Knowledge, graph: Graph) -> None:
    """The text of every sentence, read by the grammar, is the statement that its parts make."""
    sentences = sorted(graph.subjects(RDF.type, FK.Sentence), key=str)
    reader = SentenceReader(graph, knowledge.language)
    assert len(sentences) > 300
    for node in sentences:
        assert knowledge.language.parse(str(graph.value(node, RDF.value))) == reader.read(node)


@given(rule_sets())
@settings(max_examples=30)
def test_any_rules_read_back_are_the_rules(rules: list[Rule]) -> None:
    """Rules of another trade, with ranges, comparisons and loose variables, come back from both formats."""
    named = [replace(rule, overrides=(rules[0].id,) if rule is not rules[0] else ()) for rule in rules]
    base = make_base(named)
    graph = empty_graph()
    write_rules(graph, base, PARCELS)
    for name, write in WRITERS.items():
        assert read_rules(Graph().parse(data=write(graph), format=name), PARCELS) == list(base.rules)


BASES = [
    Basis("common practice"),
    Basis("common practice", "A workshop's notes", "page 3"),
    Basis("from memory"),
    Basis("you said", None, "Relief"),
    Basis("computed", None, "a step put up for judging"),
    Basis("assumed", "Somewhere", None),
    Basis("standard", None, "table 2"),
    Basis("standard", 'A "title"\nwith odd \\ letters \x1b µ \u202e', "§ 1"),
    Basis("paper", "A title"),
    Basis("handbook", "A title"),
]


@pytest.mark.parametrize("name", WRITERS)
def test_every_sort_of_basis_reads_back(name: str) -> None:
    """A basis keeps kind, source and locator; one without a source gets none, and equal titles of two kinds stay apart."""
    condition, conclusion = PARCELS.parse("?x is open"), PARCELS.parse("?x is lost")
    rules = [Rule(f"r-{number}", "test", "test.toml", 1, (condition,), (), (conclusion,), "So.", basis) for number, basis in enumerate(BASES)]
    graph = empty_graph()
    write_rules(graph, make_base(rules), PARCELS)
    text = WRITERS[name](graph)
    assert [rule.basis for rule in read_rules(Graph().parse(data=text, format=name), PARCELS)] == BASES
    assert text.replace("\n", "").isprintable(), "a terminal would obey something in it"


@given(quantities(("µm", "mm", "kg")))
def test_quantities_are_exact(quantity: Quantity) -> None:
    """Every digit of a value comes back, also where the middle of a range is not its mean."""
    graph = empty_graph()
    node = SentenceWriter(graph, PARCELS).quantity(quantity, None, "here")
    graph.add((FK.here, FK.there, node))
    again = Graph().parse(data=to_turtle(graph), format="turtle")
    (value,) = again.objects(FK.here, FK.there)
    assert SentenceReader(again, PARCELS).quantity(value) == quantity


def test_identifiers_make_iris_and_back(vocabulary: Vocabulary) -> None:
    """Each thing, option, step and rule has an IRI of its own, that tells it."""
    made = [option_id("pumice", "loose", "brush-wheel", "pre-polish"), step_id(2), step_id(2, 3), rule_id("2f-only")]
    identifiers = [*vocabulary.names, *vocabulary.phrases, *made]
    assert [identifier_of(iri(each)) for each in identifiers] == identifiers
    assert len({iri(each) for each in identifiers}) == len(set(identifiers))


def test_things_and_units_are_the_ontologys_own(vocabulary: Vocabulary, graph: Graph) -> None:
    """What rules name is described in the same graph, under the same IRI."""
    assert [name for name in vocabulary.names if (iri(name), RDF.type, None) not in graph] == []
    assert [unit.symbol for unit in vocabulary.units.by_symbol.values() if (unit_node(unit), RDF.type, FK.Unit) not in graph] == []


def test_the_whole_ontology_is_in_it(vocabulary: Vocabulary, read_back: dict[str, Graph], tmp_path: Path) -> None:
    """The vocabulary that is loaded from the export, rules left out, is the one that is loaded from the ontology."""
    without = Graph()
    for subject, predicate, value in read_back["json-ld"]:
        if not str(subject).startswith(str(RULE)):
            without.add((subject, predicate, value))
    without.serialize(tmp_path / "all.ttl", format="turtle")
    again = load_vocabulary(tmp_path)
    for part in ("names", "phrases", "parents", "basis_order"):
        assert getattr(again, part) == getattr(vocabulary, part)
    assert [name.texts for name in again.names.values()] == [name.texts for name in vocabulary.names.values()]
    assert again.units.by_symbol == vocabulary.units.by_symbol
    assert set(again.claims) == set(vocabulary.claims) and len(again.claims) == len(vocabulary.claims)


def test_shapes_hold_for_what_is_read_back(knowledge: Knowledge) -> None:
    """The export satisfies the shapes for things, values and rules."""
    rules = knowledge.base.rules if WHOLE else one_in(5, [rule for rule in knowledge.base.rules if not rule.overrides])
    text = to_turtle(export_graph(Knowledge(knowledge.vocabulary, knowledge.language, make_base(rules))))
    assert check_shapes(Graph(bind_namespaces="none").parse(data=text, format="turtle")) == []


def _retarget(graph: Graph, rule: Node, predicate: Node, value: Node | None) -> None:
    graph.remove((rule, predicate, None))
    if value is not None:
        graph.add((rule, predicate, value))


def _in_first(graph: Graph, rule: Node, key: str, predicate: Node, value: Node | None) -> None:
    _retarget(graph, next(iter(list_of(graph, rule, FK[key]))), predicate, value)


FAULTS: dict[str, Callable[[Graph, Node], None]] = {
    "a rule gives one reason": lambda graph, rule: _retarget(graph, rule, RDFS.comment, None),
    "a rule rests on one source or ground that is described": lambda graph, rule: _retarget(graph, rule, DCTERMS.source, FK.nothing),
    "a rule stands in one file": lambda graph, rule: _retarget(graph, rule, DCTERMS.isPartOf, None),
    "a rule says whether it guards against harm": lambda graph, rule: _retarget(graph, rule, FK.safety, Literal("no")),
    "no rule overrides one that guards against harm": lambda graph, rule: _retarget(graph, rule, FK.overrides, _guarding(graph)),
    "a rule has one list of conditions": lambda graph, rule: _retarget(graph, rule, FK["if"], None),
    "a rule has a conclusion, and its conclusions are sentences": lambda graph, rule: _retarget(graph, rule, FK.then, RDF.nil),
    "a conclusion says what is so and compares nothing": lambda graph, rule: _in_first(graph, rule, "then", FK.comparison, Literal("above")),
    "a conclusion is about a variable that no condition has": lambda graph, rule: _in_first(graph, rule, "then", SWRL.argument1, _stranger(graph)),
    "a sentence is given in its words": lambda graph, rule: _in_first(graph, rule, "if", RDF.value, None),
    "a sentence has one phrase": lambda graph, rule: _in_first(graph, rule, "if", SWRL.propertyPredicate, None),
    "the verb of a sentence is a phrase of the language": lambda graph, rule: _in_first(graph, rule, "if", SWRL.propertyPredicate, FK.low),
    "a sentence has one object, or true where it has none": lambda graph, rule: _in_first(graph, rule, "if", SWRL.argument2, None),
    "a sentence says what is so, or compares": lambda graph, rule: _in_first(graph, rule, "if", FK.comparison, Literal("about")),
}


def _guarding(graph: Graph) -> Node:
    return max(graph.subjects(FK.safety, Literal(True)), key=str)


def _stranger(graph: Graph) -> Node:
    graph.add((FK.stranger, RDF.type, FK.Variable))
    graph.add((FK.stranger, RDFS.label, Literal("stranger")))
    return FK.stranger


def test_shapes_catch_a_faulty_rule(knowledge: Knowledge) -> None:
    """Each fault, seeded in a rule of its own, is reported for that rule or its sentence."""
    alone = [rule for rule in knowledge.base.rules if not rule.overrides]
    few = [*[rule for rule in alone if not rule.safety][: len(FAULTS)], next(rule for rule in alone if rule.safety)]
    spoilt = export_graph(Knowledge(knowledge.vocabulary, knowledge.language, make_base(few)))
    chosen = sorted(spoilt.subjects(FK.safety, Literal(False)), key=str)[: len(FAULTS)]
    names = dict(zip(FAULTS, (str(rule).partition("#")[2] for rule in chosen), strict=True))
    for (fault, spoil), rule in zip(FAULTS.items(), chosen, strict=True):
        assert any(True for _ in list_of(spoilt, rule, FK["if"])), fault
        spoil(spoilt, rule)
    reported = check_shapes(spoilt)
    missed = {fault: name for fault, name in names.items() if not any(line.startswith(name) and fault in line for line in reported)}
    assert missed == {}, reported


def rows_of(graph: Graph) -> list[dict[str, Node]]:
    """The answers of the documented query."""
    return [row.asdict() for row in graph.query(QUERY)]  # type: ignore[union-attr]


def test_every_value_leads_to_its_source(knowledge: Knowledge, read_back: dict[str, Graph]) -> None:
    """One query gives each value and each rule a row with the title and kind of its source."""
    graph = read_back["json-ld"]
    rows = rows_of(graph)
    values, rules = set(graph.subjects(QUDT.unit, None)), set(graph.subjects(RDF.type, FK.Rule))
    assert len(values) > 400 and len(rules) == len(knowledge.base.rules)
    assert values - {row.get("value") for row in rows} == set()
    assert rules - {row["of"] for row in rows if "property" not in row} == set()
    assert all(str(row["title"]) and str(row["kind"]) in knowledge.vocabulary.basis_order for row in rows)


def told_basis(row: dict[str, Node]) -> Basis:
    """The basis that a row tells, as the program words it."""
    kind = str(row["kind"])
    locator = None if row.get("locator") is None else str(row["locator"])
    return Basis(kind, None if kind in ("common practice", "from memory") else str(row["title"]), locator)


def told_quantity(row: dict[str, Node]) -> Quantity:
    """The quantity that a row tells."""
    low, mid, high = (None if row.get(part) is None else Decimal(str(row[part])) for part in ("low", "mid", "high"))
    if low is None or high is None:
        assert mid is not None
        return Quantity(mid, str(row["unit"]))
    return Quantity.between(low, high, str(row["unit"]), mid)


def test_the_source_in_a_row_is_the_basis_that_the_program_works_with(knowledge: Knowledge, graph: Graph) -> None:
    """Numbers, unit and basis of every value, and the basis of every relation and trait, are those that answers rest on."""
    own: dict[tuple[Node, Node, object], set[Basis]] = {}
    whole: dict[Node, set[Basis]] = {}
    for row in rows_of(graph):
        if "property" in row:
            value = told_quantity(row) if "unit" in row else row["value"]
            own.setdefault((row["of"], row["property"], value), set()).add(told_basis(row))
        else:
            whole.setdefault(row["of"], set()).add(told_basis(row))
    quantities = 0
    for claim in knowledge.vocabulary.claims:
        value = iri(claim.object) if isinstance(claim.object, str) else Literal(True) if claim.object is None else claim.object
        told = own.get((iri(claim.subject), iri(claim.predicate), value))
        if isinstance(value, Quantity):
            quantities += 1
            assert told is not None, f"{claim} has no row"
        assert claim.basis in (told or whole[iri(claim.subject)])
    assert quantities > 400
    assert all(rule.basis in whole[RULE[rule.id]] or rule.basis.kind in ("you said", "computed") for rule in knowledge.base.rules)


def test_a_value_without_a_source_has_no_row(graph: Graph) -> None:
    """The query does not make up a source: without one a value is not in the answer."""
    changed = Graph()
    for triple in graph:
        changed.add(triple)
    value = min(graph.subjects(QUDT.unit, None), key=str)
    changed.remove((value, DCTERMS.source, None))
    assert {row.get("value") for row in rows_of(graph)} - {row.get("value") for row in rows_of(changed)} == {value}


def test_open_vocabularies_say_the_same(graph: Graph) -> None:
    """Whoever knows only PROV, QUDT and schema.org finds each source and each number too."""
    assert set(graph.subject_objects(DCTERMS.source)) <= set(graph.subject_objects(PROV.wasDerivedFrom))
    for ours, theirs in ((FK.mid, QUDT.numericValue), (FK.low, SCHEMA.minValue), (FK.high, SCHEMA.maxValue)):
        assert set(graph.subject_objects(ours)) == set(graph.subject_objects(theirs)) != set()
    assert set(graph.objects(None, DCTERMS.source)) <= set(graph.subjects(RDF.type, PROV.Entity))
    assert set(graph.subjects(RDF.type, FK.Rule)) == set(graph.subjects(RDF.type, PROV.Plan))


def test_each_word_of_ours_is_explained(graph: Graph) -> None:
    """A property of our own that structures rules, values and proofs is described in the graph, as each phrase is."""
    used = {predicate for subject, predicate, _ in graph if str(predicate).startswith(str(FK)) and str(subject).startswith((str(RULE), "b"))}
    assert len(used) > 5
    assert [word for word in used if (word, RDF.type, RDF.Property) not in graph] == []


def test_the_header_says_what_it_is(graph: Graph) -> None:
    """Title, licence, version and the number of triples stand in the graph, the licence as the project states it."""
    assert str(graph.value(DATASET, SCHEMA.version)) == __version__
    assert graph.value(DATASET, DCTERMS.license) == LICENCE
    assert f'license = "{str(LICENCE).rpartition("/")[2]}"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert graph.value(DATASET, DCTERMS.title) and graph.value(DATASET, DCTERMS.description)
    assert int(str(graph.value(DATASET, VOID.triples))) == len(graph)


def test_json_ld_needs_nothing_from_elsewhere(written: dict[str, str]) -> None:
    """The context is in the document and only shortens names; no two nodes share a name."""
    document = json.loads(written["json-ld"])
    assert set(document) == {"@context", "@graph"}
    assert all(isinstance(value, str) and not key.startswith("@") for key, value in document["@context"].items())
    names = [node["@id"] for node in document["@graph"] if "@id" in node]
    assert len(names) == len(set(names))


def test_a_shared_blank_node_stays_one(tmp_path: Path) -> None:
    """JSON-LD names a blank node that two things lead to, and keeps lists that are shared or spoilt."""
    shared = """@prefix e: <https://e.example/> . e:a e:p _:x . e:b e:p _:x . _:x e:q 1.50, true, "t"@en, "2026-01-01"^^e:day, 1.0e0 .
        e:c e:list _:l . e:d e:list _:l . _:l <http://www.w3.org/1999/02/22-rdf-syntax-ns#first> 1 ; <http://www.w3.org/1999/02/22-rdf-syntax-ns#rest>
        <http://www.w3.org/1999/02/22-rdf-syntax-ns#nil> . e:e e:list (1 (2 3) [ e:p "x" ] ()) ."""
    graph = Graph().parse(data=shared, format="turtle")
    assert same(Graph().parse(data=to_json_ld(graph), format="json-ld"), graph)
    assert same(Graph().parse(data=to_turtle(graph), format="turtle"), graph)


_DIGESTS = """
import hashlib
from finishing_kg.engine import Knowledge
from finishing_kg.export import export_graph, to_json_ld, to_turtle
graph = export_graph(Knowledge.shipped())
print(*(hashlib.sha256(write(graph).encode()).hexdigest() for write in (to_turtle, to_json_ld)))
"""


def test_it_is_the_same_to_the_byte(written: dict[str, str]) -> None:
    """Neither the order in which sets are walked nor the labels that a parser gives show in the text."""
    expected = [hashlib.sha256(written[name].encode()).hexdigest() for name in ("turtle", "json-ld")]
    for seed in one_in(2, ("4242", "0")):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        done = subprocess.run([sys.executable, "-c", _DIGESTS], env=environment, capture_output=True, text=True, check=True)
        assert done.stdout.split() == expected


def test_ontology_files_can_be_named(knowledge: Knowledge, graph: Graph) -> None:
    """The Turtle that a vocabulary was read from can be named; the shipped one is taken otherwise."""
    kinds = [ROOT / "ontology" / name for name in ("kinds.ttl", "phrases.ttl", "terms.ttl")]
    some = export_graph(knowledge, kinds)
    assert set(some.subjects(RDF.type, FK.Rule)) == set(graph.subjects(RDF.type, FK.Rule))
    assert (FK.pumice, RDF.type, FK.Mineral) in graph and (FK.pumice, RDF.type, FK.Mineral) not in some


def test_no_value_is_merged_with_another(graph: Graph) -> None:
    """As many values are exported as the ontology has, beside those of the rules."""
    shipped = parse_turtle(turtle_files(ROOT / "ontology"))
    of_rules = {node for node in graph.objects(None, SWRL.argument2) if isinstance(node, BNode)}
    assert len(of_rules) > 10
    assert len(set(graph.subjects(QUDT.unit)) - of_rules) == len(set(shipped.subjects(QUDT.unit)))


@pytest.fixture
def quick(knowledge: Knowledge, graph: Graph, monkeypatch: pytest.MonkeyPatch) -> None:
    """The command finds the knowledge loaded and its graph made."""
    monkeypatch.setattr(Knowledge, "shipped", lambda: knowledge)
    monkeypatch.setattr(finishing_kg.export, "export_graph", lambda _: graph)


@pytest.mark.usefixtures("quick")
def test_the_command_writes_to_standard_output(written: dict[str, str], capfdbinary: pytest.CaptureFixture[bytes]) -> None:
    """Without a file the text goes to standard output and nothing else does; Turtle unless told otherwise."""
    for arguments, name in ((["export"], "turtle"), (["export", "--format", "turtle"], "turtle"), (["export", "--format", "json-ld"], "json-ld")):
        assert main(arguments) == 0
        out, err = capfdbinary.readouterr()
        assert out.decode("utf-8") == written[name]
        assert err == b""


@pytest.mark.usefixtures("quick")
def test_the_command_writes_a_file(written: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file is written, and written over, whole; the command says so in a line."""
    file = tmp_path / "knowledge.jsonld"
    file.write_text("old" * 1_000_000, encoding="utf-8")
    file.chmod(0o640)
    assert main(["export", "--format", "json-ld", "--output", str(file)]) == 0
    assert file.read_text(encoding="utf-8") == written["json-ld"]
    assert file.stat().st_mode & 0o777 == 0o640
    assert [each.name for each in tmp_path.iterdir()] == [file.name]
    assert str(file) in capsys.readouterr().out


@pytest.mark.usefixtures("quick")
def test_a_link_stays_a_link(written: dict[str, str], tmp_path: Path) -> None:
    """Where the name is a link, the file behind it is written."""
    (tmp_path / "link.ttl").symlink_to(tmp_path / "real.ttl")
    assert main(["export", "--output", str(tmp_path / "link.ttl")]) == 0
    assert (tmp_path / "link.ttl").is_symlink()
    assert (tmp_path / "real.ttl").read_text(encoding="utf-8") == written["turtle"]


@pytest.mark.usefixtures("quick")
def test_places_that_cannot_be_written_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A folder, a missing folder, a device, a circle of links and an unusable name end with status 2 and say why."""
    (tmp_path / "circle").symlink_to(tmp_path / "circle")
    (tmp_path / "file").write_text("kept", encoding="utf-8")
    os.mkfifo(tmp_path / "pipe")
    before = sorted(tmp_path.iterdir())
    refused = {
        str(tmp_path): "folder",
        "": "folder",
        str(tmp_path / "none" / "k.ttl"): "no folder",
        str(tmp_path / "file" / "k.ttl"): "",
        str(tmp_path / "pipe"): "no ordinary file",
        os.devnull: "no ordinary file",
        str(tmp_path / "circle"): "",
        str(tmp_path / ("long" * 100)): "",
        "a\0b": "",
    }
    for place, why in refused.items():
        assert main(["export", "--output", place]) == 2, place
        out, err = capsys.readouterr()
        assert out == "" and why in err and err.count("\n") == 1, (place, err)
    assert sorted(tmp_path.iterdir()) == before
    assert (tmp_path / "file").read_text(encoding="utf-8") == "kept"


@pytest.mark.usefixtures("quick")
def test_a_full_disk_leaves_what_was_there(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """If the writing fails, the old file is whole, nothing else is left behind, and the status is 2."""
    file = tmp_path / "knowledge.ttl"
    file.write_text("old", encoding="utf-8")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    assert main(["export", "--output", str(file)]) == 2
    assert os.strerror(errno.ENOSPC) in capsys.readouterr().err
    assert {each.name: each.read_text(encoding="utf-8") for each in tmp_path.iterdir()} == {"knowledge.ttl": "old"}


@pytest.mark.usefixtures("quick")
def test_an_interruption_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped while writing, the command leaves no half of a file."""

    def stop(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stop)
    assert main(["export", "--output", str(tmp_path / "knowledge.ttl")]) == 130
    assert list(tmp_path.iterdir()) == []


def test_wrong_formats_are_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown format is refused before anything is read, with those that are known."""
    assert main(["export", "--format", "xml"]) == 2
    assert "json-ld" in capsys.readouterr().err


_LOADED = """
import sys
from finishing_kg.cli import main
main(["rules", "show", "no-such-rule"])
print("pyshacl" in sys.modules, "finishing_kg.export" in sys.modules)
"""


def test_other_commands_do_not_load_the_export() -> None:
    """Nothing of the export is loaded by a command that does not export."""
    done = subprocess.run([sys.executable, "-c", _LOADED], env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]


def test_any_stream_gets_utf_8(written: dict[str, str]) -> None:
    """Standard output gets the same bytes where its encoding has no µ."""
    done = subprocess.run(
        [sys.executable, "-m", "finishing_kg", "export"],
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=True,
    )
    assert done.stdout.decode("utf-8") == written["turtle"]


EXAMPLE = (ROOT / "examples" / "export.md").read_text(encoding="utf-8")


def test_the_example_shows_rows_that_are_so(graph: Graph) -> None:
    """Each row in the table of examples/export.md is among the answers of the query."""
    lines = [line for line in EXAMPLE.splitlines() if line.startswith("| `")]
    shown = {tuple(cell.strip().strip("`") for cell in line.strip("|").split("|")) for line in lines}
    told = {tuple(cells(row)) for row in rows_of(graph)}
    assert len(shown) > 3
    assert shown - told == set()


def cells(row: dict[str, Node]) -> Iterator[str]:
    """A row as the table shows it."""
    yield short(row["of"])
    yield short(row.get("property"))
    yield str(told_quantity(row)) if "unit" in row else short(row.get("value"))
    yield str(row["title"])
    yield str(row["kind"])
    yield str(row.get("locator", ""))


def short(node: Node | None) -> str:
    """A name with its prefix."""
    text = "" if node is None else str(node)
    for prefix, namespace in PREFIXES.items():
        text = text.replace(namespace, f"{prefix}:")
    return text


def test_the_program_in_the_example_runs(written: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The few lines that ask the query print a line for each row."""
    (tmp_path / "knowledge.ttl").write_text(written["turtle"], encoding="utf-8")
    (tmp_path / "examples").symlink_to(ROOT / "examples")
    (program,) = re.findall(r"^```python\n(.*?)^```$", EXAMPLE, re.MULTILINE | re.DOTALL)
    with chdir(tmp_path):
        exec(program, {})
    assert capsys.readouterr().out.count("\n") > 1000
