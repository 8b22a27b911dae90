"""The shipped knowledge: complete, labelled, sourced, and true to the trade."""

import tomllib
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

import pytest
from rdflib import Graph, URIRef
from shipped_words import VOCABULARY

from finishing_kg.measure import Quantity
from finishing_kg.places import shipped
from finishing_kg.quantities import surface_speed
from finishing_kg.vocabulary import Vocabulary
from finishing_kg.vocabulary import shapes as shapes_module
from finishing_kg.vocabulary.load import FK, parse_turtle, shapes_files, turtle_files
from finishing_kg.vocabulary.shapes import ShapesError, check_shapes

IDENTIFIERS = tomllib.loads((Path(__file__).parent / "data" / "identifiers.toml").read_text(encoding="utf-8"))

# Words that name two things of one kind on purpose: the word alone does not tell which, and the reader has to.
AMBIGUOUS = {
    ("glass", "soda lime"),
    ("glass", "soda lime glass"),
    ("glass", "sodalime"),
    ("glass", "crystal"),
    ("glass", "crystal glass"),
    ("finish", "blast"),
    ("finish", "blast finish"),
    ("finish", "blasted finish"),
    ("finish", "sandblasted finish"),
}

RECESSED = {"bas-relief", "deep-recess", "cut-groove", "engraved-line"}
SHAPED_TO_THE_CUT = {"cutting-wheel", "cork-wheel", "felt-wheel", "fibre-wheel", "wood-wheel", "copper-wheel"}

SEEDS = tomllib.loads((Path(__file__).parent / "data" / "shape_faults.toml").read_text(encoding="utf-8"))
FAULTS = {fault["name"]: fault for fault in SEEDS["fault"]}


@pytest.fixture(scope="module")
def vocabulary() -> Vocabulary:
    """The shipped vocabulary."""
    return VOCABULARY


@pytest.fixture(scope="module")
def reported() -> dict[str, list[str]]:
    """What the shapes say of each seeded fault, under its name; ``""`` holds what is said of anything else.

    All faults are put to the shipped Turtle at once, each on a mineral of its own, because one run takes a second.
    """
    graph = parse_turtle(turtle_files(shipped("ontology")))
    local = {name: f"river-grit-{number}" for number, name in enumerate(FAULTS)}
    for name, fault in FAULTS.items():
        added = fault["add"]
        for part in ("grit", "name", "hard"):
            added = added.replace(f"${part.upper()}", SEEDS[part])
        graph.parse(data=SEEDS["prefixes"] + added.replace("river-grit", local[name]), format="turtle")
    found: dict[str, list[str]] = defaultdict(list)
    for sentence in check_shapes(graph):
        thing = sentence.partition(":")[0].partition(",")[0]
        name = next((name for name, known in local.items() if known == thing), "")
        found[name].append(sentence.replace(thing, "river-grit", 1) if name else sentence)
    return found


def words(name: str) -> str:
    """A label as the reader compares it: case and hyphens do not count."""
    return name.casefold().replace("-", " ")


def codes(kind: str) -> set[str]:
    """The fixed identifiers of a kind."""
    return set(IDENTIFIERS[kind])


# Completeness


@pytest.mark.parametrize("kind", sorted(IDENTIFIERS))
def test_every_fixed_identifier_exists(vocabulary: Vocabulary, kind: str) -> None:
    """Each identifier that commands print names a thing of its kind."""
    assert [name for name in IDENTIFIERS[kind] if vocabulary.identify(name, kind) is None] == []


def test_every_thing_is_explained(vocabulary: Vocabulary) -> None:
    """Each thing but a grade or a cue has a definition that is one sentence."""
    explained = [name for kind in (*IDENTIFIERS, "degree") for name in vocabulary.things(kind)]
    assert len(explained) > 120
    assert [name.id for name in explained if not name.note.endswith(".") or name.note.count(". ")] == []


def test_texts_are_where_steps_and_findings_take_them(vocabulary: Vocabulary) -> None:
    """Carriers, stages and findings carry the sentences that an answer prints."""
    for kind, roles in {"carrier": {"how"}, "finish": {"purpose", "done-when", "before-next"}, "finding": {"says", "remedy"}}.items():
        for name in vocabulary.things(kind):
            assert roles <= set(name.texts), name.id
            assert all(text.endswith(".") for text in name.texts.values()), name.id


def test_hazards_to_people_are_cautions(vocabulary: Vocabulary) -> None:
    """What can hurt a person is a caution, and each caution leaves the decision to codes and licensed practice."""
    hazards = {"silica-blast", "dry-dust", "lead-dust", "blast-dust", "wheel-burst", "electric-shock", "open-pores"}
    cautions = {name.id: name for name in vocabulary.things("caution")}
    assert hazards | {"eye-protection", "entanglement", "strained-piece", "crystalline-silica", "mould-dust"} <= set(cautions)
    assert [id_ for id_, name in cautions.items() if "ocal codes and licensed practice" not in name.texts["says"]] == []


# Properties, by kind. What is held for none of a kind is not asked for; what is not known of one thing is named here, so that
# an absence is meant.

HELD: dict[str, dict[str, set[str]]] = {
    "mineral": {
        "hardness": set(),
        "knoopHardness": {"emery", "pumice", "tripoli", "rottenstone", "cerium-oxide", "zirconium-oxide", "tin-oxide", "iron-oxide"},
        "density": set(),
        "hasFriability": set(),
        "hasSharpness": set(),
        "exposureLimit": set(),
        "bringsHazard": set(),
    },
    "glass": {
        "hardness": set(),
        "knoopHardness": set(),
        "density": set(),
        "youngModulus": set(),
        "poissonRatio": set(),
        "expansion": set(),
        "hasGrindability": set(),
        "bringsHazard": set(),
        "strength": {"glass-ceramic"},
        "thermalConductivity": {"opal-glass"},
        "fractureToughness": {"opal-glass"},
        "annealingPoint": {"opal-glass", "glass-ceramic"},
        "strainPoint": {"opal-glass", "glass-ceramic", "lead-free-crystal", "optical-crown"},
        "softeningPoint": {"opal-glass", "glass-ceramic", "lead-free-crystal"},
    },
    "machine": {
        "bringsHazard": set(),
        "usualTool": {"vibrating-lap-machine", "blast-cabinet", "by-hand"},
        "usualTurning": {"vibrating-lap-machine", "blast-cabinet", "by-hand"},
    },
    "carrier": {"leastSpeed": {"blast-nozzle"}, "greatestSpeed": {"blast-nozzle"}, "workingForce": {"blast-nozzle"}},
}


@pytest.mark.parametrize(("kind", "property_"), [(kind, property_) for kind, held in HELD.items() for property_ in held])
def test_properties_are_complete_by_kind(vocabulary: Vocabulary, kind: str, property_: str) -> None:
    """Every thing of a kind holds each property of its kind, but for the absences that are named."""
    lacking = {code for code in codes(kind) if not list(vocabulary.claims_about(code, property_))}
    assert lacking == HELD[kind][property_]


@pytest.mark.parametrize("kind", ["mineral", "glass", "machine", "carrier"])
def test_every_value_says_what_it_rests_on(vocabulary: Vocabulary, kind: str) -> None:
    """A value from a published source has a locator; one recalled or taken as usual names no source."""
    for claim in vocabulary.claims:
        if claim.subject in codes(kind) and isinstance(claim.object, Quantity):
            told = claim.basis.kind in ("common practice", "from memory")
            assert (claim.basis.source is None) == told, claim
            assert told or claim.basis.locator, claim


def test_shapes_ask_of_what_ships_all_that_is_known_of_its_kind(vocabulary: Vocabulary) -> None:
    """Each property that all of a kind hold is asked of each of them by name, and its loss is reported."""
    asked = {(kind, property_) for kind, held in HELD.items() for property_, absent in held.items() if not absent and kind != "carrier"}
    graph = parse_turtle(turtle_files(shipped("ontology")))
    lost = []
    for place, (kind, property_) in enumerate(sorted(asked)):
        thing = sorted(codes(kind))[place % len(codes(kind))]
        graph.remove((URIRef(FK + thing), URIRef(FK + property_), None))
        lost.append(f"{thing}, {property_}: ")
    graph.remove((URIRef(FK + "lathe"), URIRef(FK + "usualTool"), None))
    graph.remove((URIRef(FK + "saw"), URIRef(FK + "usualTurning"), None))
    found = check_shapes(graph)
    for start in [*lost, "lathe, usualTool: ", "saw, usualTurning: "]:
        assert any(sentence.startswith(start) for sentence in found), start


def test_shapes_name_everything_that_ships() -> None:
    """The shapes that ask for completeness name every glass, mineral and machine, and every machine that drives a spinning carrier."""
    shapes = parse_turtle(shapes_files(shipped("ontology")))
    target = URIRef("http://www.w3.org/ns/shacl#targetNode")
    named = {str(shape).removeprefix(FK): {str(node).removeprefix(FK) for node in shapes.objects(shape, target)} for shape in shapes.subjects(target)}
    for kind in ("glass", "mineral", "machine"):
        assert named[f"Shipped{kind.title()}Shape"] == codes(kind)
    assert named["ShippedTurningMachineShape"] == codes("machine") - HELD["machine"]["usualTurning"]


# Labels


def test_a_label_names_one_thing_of_its_kind(vocabulary: Vocabulary) -> None:
    """Within a kind no word stands for two things, case and hyphens apart, but for those that are ambiguous on purpose."""
    named: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name in vocabulary.names.values():
        kind = "finding" if name.kind == "caution" else name.kind
        if kind not in ("cue", "remark", "grade"):
            for label in (name.label, *name.alternatives):
                named[kind, words(label)].append(name.id)
    assert {key for key, ids in named.items() if len(ids) > 1} == AMBIGUOUS


def test_labels_of_one_kind_are_unique(vocabulary: Vocabulary) -> None:
    """The label that a sentence is printed with stands for one thing of its kind, grades included."""
    labels: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name in vocabulary.names.values():
        labels[name.kind, name.label.casefold()].append(name.id)
    assert {key: ids for key, ids in labels.items() if len(ids) > 1} == {}


@pytest.mark.parametrize(
    ("british", "american"),
    [("grey", "gray"), ("mould", "mold"), ("fibre", "fiber"), ("disc", "disk"), ("mitre", "miter"), ("aluminium", "aluminum"), ("lustre", "luster")],
)
def test_american_spelling_is_known(vocabulary: Vocabulary, british: str, american: str) -> None:
    """Where a label is spelt the British way, the same words in American spelling name the same thing."""
    for kind in ("glass", "make", "form", "surface", "finish", "mineral", "hold", "carrier", "machine"):
        for name in vocabulary.things(kind):
            known = {words(label) for label in (name.label, *name.alternatives)}
            wanted = {label.replace(british, american) for label in known if british in label.split() or label.startswith(british)}
            assert wanted <= known, name.id


# Shapes


def test_shapes_hold_for_the_shipped_knowledge() -> None:
    """Everything that is shipped satisfies the shapes."""
    assert check_shapes(parse_turtle(turtle_files(shipped("ontology")))) == []


@pytest.mark.parametrize("fault", sorted(FAULTS))
def test_shapes_catch_a_seeded_fault(reported: dict[str, list[str]], fault: str) -> None:
    """Each fault is reported with the thing and the property at fault; the sound seed is not reported at all."""
    expected = FAULTS[fault]["says"]
    found = reported[fault]
    assert any(sentence.startswith(expected) for sentence in found) if expected else not found, found


def test_seeded_faults_throw_no_shadow(reported: dict[str, list[str]]) -> None:
    """A fault in one thing is not reported of any other thing."""
    assert reported[""] == []


def test_shapes_are_themselves_shapes() -> None:
    """The shapes files satisfy the shapes that the standard has for shapes."""
    pyshacl = pytest.importorskip("pyshacl")
    shapes = parse_turtle(shapes_files(shipped("ontology")))
    conforms, _, text = pyshacl.validate(parse_turtle(turtle_files(shipped("ontology"))), shacl_graph=shapes, meta_shacl=True)
    assert conforms, text


def test_without_pyshacl_the_error_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where pyshacl is missing the error names it."""

    def missing(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr(shapes_module, "import_module", missing)
    with pytest.raises(ShapesError, match="pip install pyshacl"):
        check_shapes(Graph())


def test_every_source_is_cited(vocabulary: Vocabulary) -> None:
    """No source is carried that nothing rests on."""
    graph = parse_turtle(turtle_files(shipped("ontology")))
    cited = {str(value) for _, path, value in graph if str(path).endswith("/terms/source")}
    described = {str(subject) for subject, path, _ in graph if str(path).endswith("#basisKind")}
    assert described == cited
    assert {claim.basis.kind for claim in vocabulary.claims} <= set(vocabulary.basis_order)


# The trade


def test_pumice_comes_loose_only(vocabulary: Vocabulary) -> None:
    """Nobody makes pumice in a bond, plated or coated."""
    assert vocabulary.related("pumice", "comesAs") == ["loose"]


def test_every_mineral_can_be_put_to_use(vocabulary: Vocabulary) -> None:
    """Each mineral has a hold that some carrier for one of its stages takes."""
    for mineral in codes("mineral"):
        stages = set(vocabulary.related(mineral, "serves"))
        carriers = [carrier for hold in vocabulary.related(mineral, "comesAs") for carrier in vocabulary.subjects("takesHold", hold)]
        assert any(stages & set(vocabulary.related(carrier, "serves")) for carrier in carriers), mineral


def test_a_mineral_works_in_one_way(vocabulary: Vocabulary) -> None:
    """A mineral cuts glass, only rubs, is a polish or is round: one of the four."""
    for mineral in codes("mineral"):
        ways = [way for way in ("cutsGlass", "onlyRubs", "isAPolish", "isRound") if vocabulary.holds(mineral, way)]
        assert len(ways) == 1, mineral


def test_what_rubs_knows_what_it_enters_from_and_leaves(vocabulary: Vocabulary) -> None:
    """Pumice and the polishes are ranked by the surface that they take over and leave, a finer one than they enter from."""
    for mineral in codes("mineral"):
        enters, leaves = vocabulary.quantity(mineral, "coarsestEntry"), vocabulary.quantity(mineral, "leftGrain")
        rubs = vocabulary.holds(mineral, "onlyRubs") or vocabulary.holds(mineral, "isAPolish")
        assert rubs == (enters is not None) == (leaves is not None), mineral
        if enters and leaves:
            assert leaves.highest < enters.lowest, mineral


def test_polishes_only_polish(vocabulary: Vocabulary) -> None:
    """A polish serves the polish and nothing before it, and nothing else serves it."""
    polishes = {mineral for mineral in codes("mineral") if vocabulary.holds(mineral, "isAPolish")}
    assert {mineral for mineral in codes("mineral") if "polish" in vocabulary.related(mineral, "serves")} == polishes
    assert all(vocabulary.related(mineral, "serves") == ["polish"] for mineral in polishes)


def test_hardness_orders_the_grains(vocabulary: Vocabulary) -> None:
    """Diamond is harder than silicon carbide, than aluminium oxide, than garnet, than pumice."""
    order = ["diamond", "cubic-boron-nitride", "boron-carbide", "silicon-carbide", "aluminium-oxide", "garnet", "quartz-sand", "pumice"]
    found = [vocabulary.quantity(mineral, "hardness") for mineral in order]
    assert all(harder and softer and harder.lowest >= softer.highest and harder.mid > softer.mid for harder, softer in pairwise(found))


def test_what_cuts_glass_is_harder_than_soda_lime(vocabulary: Vocabulary) -> None:
    """No mineral is said to cut glass that is softer than float glass throughout."""
    float_glass = vocabulary.quantity("soda-lime-float", "hardness")
    for mineral in vocabulary.things("mineral"):
        hardness = vocabulary.quantity(mineral.id, "hardness")
        assert hardness and float_glass
        if vocabulary.holds(mineral.id, "cutsGlass"):
            assert hardness.lowest > float_glass.highest, mineral.id


def test_silica_is_marked(vocabulary: Vocabulary) -> None:
    """Quartz sand, tripoli and pumice are marked for crystalline silica, with a published source each."""
    for mineral in ("quartz-sand", "tripoli", "pumice"):
        (claim,) = vocabulary.claims_about(mineral, "holdsCrystallineSilica")
        assert claim.basis.source, mineral


def test_lead_is_in_lead_crystal_alone(vocabulary: Vocabulary) -> None:
    """Of the glasses, lead crystal contains lead; optical crown and lead-free crystal do not."""
    assert [glass.id for glass in vocabulary.things("glass") if vocabulary.holds(glass.id, "containsLead")] == ["lead-crystal"]


def test_stiff_carriers_stay_out_of_relief(vocabulary: Vocabulary) -> None:
    """A carrier reaches a relief or a deep recess only if it conforms, and a groove only if it conforms or takes the profile."""
    for carrier in codes("carrier"):
        reached = set(vocabulary.related(carrier, "reaches")) & RECESSED
        if not vocabulary.holds(carrier, "conformsToRecesses"):
            assert reached <= {"cut-groove", "engraved-line"}, carrier
            assert not reached or carrier in SHAPED_TO_THE_CUT, carrier
        assert not (vocabulary.holds(carrier, "isStiff") and vocabulary.holds(carrier, "conformsToRecesses")), carrier


def test_relief_is_reached_by_brushes_and_pads(vocabulary: Vocabulary) -> None:
    """A brush wheel and soft pads reach a relief; laps, plates, belts and felt wheels do not."""
    reached = set(vocabulary.subjects("reaches", "bas-relief"))
    assert {"brush-wheel", "nonwoven-pad", "hand-pad", "blast-nozzle"} <= reached
    assert not reached & {"flat-lap", "plate", "belt", "drum-belt", "felt-wheel", "cork-wheel", "grinding-wheel"}


def test_every_form_can_be_taken_to_polish_and_pre_polish(vocabulary: Vocabulary) -> None:
    """Each form is reached by a carrier of each stage from ground on."""
    for form in codes("form"):
        carriers = vocabulary.subjects("reaches", form)
        for stage in ("fine-ground", "pre-polish", "polish"):
            assert any(stage in vocabulary.related(carrier, "serves") for carrier in carriers), (form, stage)


def test_loose_carriers_take_nothing_else(vocabulary: Vocabulary) -> None:
    """A carrier that needs loose grain takes no other hold, and one with grain in its body takes no loose grain."""
    for carrier in codes("carrier"):
        holds = vocabulary.related(carrier, "takesHold")
        if vocabulary.holds(carrier, "needsLooseGrain"):
            assert holds == ["loose"], carrier
        if vocabulary.holds(carrier, "holdsGrainInItsBody"):
            assert "loose" not in holds, carrier


def test_every_machine_drives_something(vocabulary: Vocabulary) -> None:
    """No machine stands idle, and all but the hands are powered."""
    assert {machine for machine in codes("machine") if not vocabulary.subjects("isDrivenBy", machine)} == set()
    assert {machine for machine in codes("machine") if not vocabulary.holds(machine, "isPowered")} == {"by-hand"}


def test_felt_works_at_polishing_speed(vocabulary: Vocabulary) -> None:
    """Felt works at 7 m/s and not at 47 m/s."""
    least, greatest = vocabulary.quantity("felt-wheel", "leastSpeed"), vocabulary.quantity("felt-wheel", "greatestSpeed")
    assert least is not None
    assert greatest is not None
    assert least.mid < 7 < greatest.mid < 47


def test_bands_step_down_from_stage_to_stage(vocabulary: Vocabulary) -> None:
    """Each stage of grinding is done with finer grain than the one before, the bands meeting or overlapping."""
    bands = [vocabulary.quantity(stage, "grainBand") for stage in ("rough-shape", "ground", "fine-ground", "pre-polish")]
    assert all(a and b and a.lowest > b.lowest and a.highest > b.highest and a.lowest <= b.highest for a, b in pairwise(bands))


def test_stages_leave_the_surface_they_are_named_for(vocabulary: Vocabulary) -> None:
    """What a stage leaves is one of the surfaces that commands print or that the ontology adds."""
    expected = {"ground": "ground", "pre-polish": "pre-polished", "polish": "polished", "satin": "satin", "clean-up": "cleaned"}
    for stage, surface in expected.items():
        assert [vocabulary.names[left].notation for left in vocabulary.related(stage, "leavesSurface")] == [surface]


def test_makes_leave_what_the_maker_finds(vocabulary: Vocabulary) -> None:
    """Cast pieces come mould-marked, blown and sheet glass fire-polished, and only frit-cast glass has open pores."""
    left = {make: vocabulary.related(make, "leavesSurface") for make in codes("make")}
    assert {make for make, surfaces in left.items() if surfaces == ["mould-marked"]} == {"cast", "frit-cast", "sand-cast"}
    assert all(surfaces == ["fire-polished"] for make, surfaces in left.items() if make not in {"cast", "frit-cast", "sand-cast"})
    assert [make for make in codes("make") if vocabulary.holds(make, "hasOpenPores")] == ["frit-cast"]


def test_soda_lime_is_settled_by_the_make(vocabulary: Vocabulary) -> None:
    """No make is usual for both soda-lime glasses, so that the make tells which is meant."""
    assert not set(vocabulary.related("soda-lime-float", "isUsualFor")) & set(vocabulary.related("soda-lime-studio", "isUsualFor"))


def test_surfaces_are_ranked_by_grain(vocabulary: Vocabulary) -> None:
    """A break is coarser than a saw cut, than the mould's skin, than a pre-polish, than a polish."""
    order = ["broken", "sawn", "mould-marked", "blasted", "cleaned", "pre-polished", "polished"]
    grains = [vocabulary.quantity(surface, "surfaceGrain") for surface in order]
    assert all(coarser and finer and coarser.mid > finer.mid for coarser, finer in pairwise(grains))


def test_no_word_for_a_surface_hides_a_form(vocabulary: Vocabulary) -> None:
    """No wording for a surface, everyday ones included, holds a plain word for a form: read as one thing, it would hide the form."""
    surfaces = vocabulary.things("surface")
    everyday = [name for name in vocabulary.things("cue") if name.id.removeprefix("says-") in {surface.id for surface in surfaces}]
    assert everyday
    wordings = {words for name in (*surfaces, *everyday) for words in name.alternatives}
    plain = {words for form in vocabulary.things("form") for words in (form.label, *form.alternatives) if words.isalpha()}
    assert "edge" in plain
    hiding = {words for words in wordings if plain & set(words.replace("-", " ").split())}
    assert hiding == {"saw cuts"}  # a cut by a saw is no cut groove


def test_grindability_agrees_with_the_bench(vocabulary: Vocabulary) -> None:
    """Glasses that grind slowly are those of low grindability, and lead crystal alone grinds more easily than soda-lime."""
    degree = {glass: vocabulary.related(glass, "hasGrindability") for glass in codes("glass")}
    assert all(len(found) == 1 for found in degree.values())
    assert {glass for glass in degree if degree[glass] == ["degree-low"]} == {glass for glass in degree if vocabulary.holds(glass, "grindsSlowly")}
    assert {glass for glass in degree if degree[glass] == ["degree-high"]} == {"lead-crystal"}


def test_glass_flows_above_the_point_where_it_anneals(vocabulary: Vocabulary) -> None:
    """Of each glass the strain point lies below the annealing point and that below the softening point."""
    for glass in codes("glass"):
        points = [vocabulary.quantity(glass, name) for name in ("strainPoint", "annealingPoint", "softeningPoint")]
        known = [point for point in points if point]
        assert all(lower.highest < higher.lowest for lower, higher in pairwise(known)), glass


def test_silica_is_limited_as_silica_and_lead_as_lead(vocabulary: Vocabulary) -> None:
    """What is marked for crystalline silica brings that hazard and its limit, and nothing else has an action level but lead crystal."""
    silica = {mineral for mineral in codes("mineral") if vocabulary.holds(mineral, "holdsCrystallineSilica")}
    assert {mineral for mineral in codes("mineral") if "crystalline-silica" in vocabulary.related(mineral, "bringsHazard")} == silica
    limited = {claim.subject for claim in vocabulary.claims if claim.predicate == "actionLevel"}
    assert limited == {*silica, "lead-crystal"}
    assert {str(vocabulary.quantity(mineral, "exposureLimit")) for mineral in silica} == {"50 µg/m³"}
    for glass in codes("glass"):
        assert ("lead-dust" in vocabulary.related(glass, "bringsHazard")) == vocabulary.holds(glass, "containsLead")


def test_loose_grain_carriers_say_what_they_are_fed_with(vocabulary: Vocabulary) -> None:
    """Each carrier that needs loose grain, and no other, names its usual grains: loose ones, for a stage that both serve."""
    for carrier in codes("carrier"):
        fed = vocabulary.related(carrier, "isUsuallyFedWith")
        assert bool(fed) == vocabulary.holds(carrier, "needsLooseGrain"), carrier
        for mineral in fed:
            assert "loose" in vocabulary.related(mineral, "comesAs"), (carrier, mineral)
            assert set(vocabulary.related(mineral, "serves")) & set(vocabulary.related(carrier, "serves")), (carrier, mineral)


def test_a_machine_can_run_what_it_usually_drives_at_a_working_speed(vocabulary: Vocabulary) -> None:
    """Within a machine's usual tools and turning speeds lies one that gives each carrier it usually drives a speed at which that works."""
    for carrier in codes("carrier"):
        least, greatest = vocabulary.quantity(carrier, "leastSpeed"), vocabulary.quantity(carrier, "greatestSpeed")
        for machine in vocabulary.related(carrier, "isUsuallyDrivenBy"):
            tool, turning = vocabulary.quantity(machine, "usualTool"), vocabulary.quantity(machine, "usualTurning")
            if tool and turning and least and greatest:
                speed = surface_speed(tool, turning, vocabulary.units)
                assert speed.lowest <= greatest.mid, (machine, carrier)
                assert speed.highest >= least.mid, (machine, carrier)


def test_electricity_meets_water_only_at_machines(vocabulary: Vocabulary) -> None:
    """A machine that gives water is powered, and every powered machine but the blast cabinet is marked for electric shock."""
    for machine in codes("machine"):
        powered = vocabulary.holds(machine, "isPowered")
        assert powered or not vocabulary.holds(machine, "givesWater")
        assert ("electric-shock" in vocabulary.related(machine, "bringsHazard")) == (powered and machine != "blast-cabinet"), machine
