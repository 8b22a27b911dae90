"""No studio takes a caution away: random rules and names of one never silence what safety rules find."""

import shutil
from pathlib import Path

import pytest
from effort import tries
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from studio_folders import HEAD, REFUSED_RULES, things, written_rule

from finishing_kg.advice import as_json
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, Model
from finishing_kg.proofs import Fact
from finishing_kg.routes.options import Options
from finishing_kg.rules import RuleFileError, load_rules
from finishing_kg.statements import Statement
from finishing_kg.studio import StudioError, init, read_studio
from finishing_kg.studio.guard import guard_of, rule_faults
from finishing_kg.studio.pack import Pack
from finishing_kg.studio.packs import put
from finishing_kg.vocabulary import Basis


def safety_findings(model: Model) -> set[Statement]:
    """What shipped safety rules conclude, with the verdicts that follow from their proposals."""
    predicates = {conclusion.predicate for each in model.base.rules if each.safety for conclusion in each.conclusions}
    concluded = {statement for statement in model.statements() if statement.predicate in predicates}
    found = {statement for statement in concluded if any(model.base.rules[index].safety for index, _ in model.firings(statement))}
    return found | {Statement("isRuledOut", each.subject) for each in found if each.predicate == "isProposedAsRuledOutBy"}


SAID = Fact(Basis("you said"))
MADE = Fact(Basis("computed"))


# What may hold of any step and piece, so that a random rule fires where there is danger; with the kinds that its variables stand for.
CONDITIONS = {
    "?step uses mineral ?mineral": {"?step": "step", "?mineral": "mineral"},
    "?step has hold ?hold": {"?step": "step", "?hold": "hold"},
    "?step uses carrier ?carrier": {"?step": "step", "?carrier": "carrier"},
    "the piece has form ?form": {"?form": "form"},
    "the piece has glass ?glass": {"?glass": "glass"},
    "the piece has make ?make": {"?make": "make"},
}
DANGEROUS = {"mineral": ["quartz-sand", "pumice"], "hold": ["air-borne", "loose"], "glass": [None, "lead-crystal"], "make": ["cast", "blown"]}


@st.composite
def benches(draw: st.DrawFn, knowledge: Knowledge) -> dict[Statement, Fact]:
    """The facts of a piece, of all options of a stage, and of a step that is often dangerous."""
    vocabulary = knowledge.vocabulary

    def thing(kind: str, *also: None) -> str | None:
        every = [*also, *(name.id for name in vocabulary.things(kind))]
        return draw(st.one_of(st.sampled_from(DANGEROUS.get(kind, every)), st.sampled_from(every)))

    facts: dict[Statement, Fact] = {}
    for predicate, kind in (("hasGlass", "glass"), ("hasMake", "make"), ("hasForm", "form"), ("hasSurface", "surface"), ("wantsFinish", "finish")):
        found = thing(kind, None)
        facts |= {Statement(predicate, "piece", found): SAID} if found else {}
    for trait in ("isToughened", "willHoldFood", "isToMeetAcid"):
        facts |= {Statement(trait, "piece"): SAID} if draw(st.booleans()) else {}
    facts.update(Options(vocabulary, draw(st.sampled_from([("blast-fine",), ("pre-polish",)]))))
    for predicate, kind in (("usesMineral", "mineral"), ("hasHold", "hold"), ("usesCarrier", "carrier"), ("worksToward", "finish")):
        facts[Statement(predicate, "step/1", thing(kind))] = MADE
    facts[Statement(draw(st.sampled_from(["runsWet", "runsDry"])), "step/1")] = MADE
    return facts


@st.composite
def rules_of_a_studio(draw: st.DrawFn, knowledge: Knowledge, closed: list[str]) -> str:
    """Rules that fire readily and may conclude anything that the phrases allow, what is closed to them in every second one."""
    vocabulary, names = knowledge.vocabulary, knowledge.language.names
    everything = [phrase.id for phrase in vocabulary.phrases.values() if phrase.shape in ("trait", "relation")]
    written = ""
    for number in range(draw(st.integers(1, 3))):
        conditions = draw(st.lists(st.sampled_from(sorted(CONDITIONS)), min_size=1, max_size=2, unique=True))
        kinds = {"the piece": "piece", **{name: kind for each in conditions for name, kind in CONDITIONS[each].items()}}
        phrase = vocabulary.phrases[draw(st.sampled_from(draw(st.sampled_from([closed, everything]))))]
        subjects = [name for name, kind in kinds.items() if vocabulary.fits(kind, phrase.subjects)]
        objects = [name for name, kind in kinds.items() if vocabulary.fits(kind, phrase.objects)]
        objects += [names.label(name.id) for kind in phrase.objects for name in vocabulary.things(kind)]
        objects += [f"rule {each.id}" for each in knowledge.base.rules if each.safety and "rule" in phrase.objects]
        if not subjects or (phrase.shape == "relation" and not objects):
            continue
        then = f"{draw(st.sampled_from(subjects))} {phrase.words}" + (f" {draw(st.sampled_from(objects))}" if phrase.shape == "relation" else "")
        listed = ", ".join(f'"{condition}"' for condition in conditions)
        written += written_rule(f"random-{number}", listed, f'"{then}"')
        if phrase.verdict and draw(st.booleans()):
            written += f'overrides = ["{draw(st.sampled_from(sorted(knowledge.base.by_id)))}"]\n'
    return written


def accepted(folder: Path, knowledge: Knowledge, text: str) -> Knowledge | None:
    """The knowledge with the studio's rules; ``None`` if loading or the guard refuses them. Contradictions alone are let through here."""
    file = folder / "ours.toml"
    file.write_text(text, encoding="utf-8")
    try:
        base = load_rules([file], knowledge.language, knowledge.base)
    except RuleFileError:
        return None
    own = [each for each in base.rules if each.id not in knowledge.base.by_id]
    refused = list(rule_faults(guard_of(knowledge.vocabulary, knowledge.base), knowledge.language, own))
    return None if refused else Knowledge(knowledge.vocabulary, knowledge.language, base)


def spoilt(knowledge: Knowledge, widened: Knowledge, facts: dict[Statement, Fact], also: dict[Statement, Fact] | None = None) -> list[str]:
    """What safety rules found before and does not hold now, and what they ruled out and is now let in; ``also`` is known only now."""
    found, after = safety_findings(knowledge.evaluate(facts)), widened.evaluate({**facts, **(also or {})})
    now = after.statements()
    let_in = {Statement(predicate, each.subject) for each in found if each.predicate == "isRuledOut" for predicate in ("isOffered", "isInOrder")}
    return sorted(knowledge.language.print(each) for each in (found - now) | (let_in & now))


@given(data=st.data())
@settings(max_examples=tries(40), suppress_health_check=[HealthCheck.filter_too_much])
def test_no_rules_take_a_caution_away(knowledge: Knowledge, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    """Of the same piece and step, whatever rules a studio adds, safety rules find all they found, and let nothing in that they ruled out."""
    closed = sorted(guard_of(knowledge.vocabulary, knowledge.base).closed)
    text, facts = data.draw(rules_of_a_studio(knowledge, closed)), data.draw(benches(knowledge))
    widened = accepted(tmp_path_factory.mktemp("studio"), knowledge, text)
    if widened is not None:
        assert spoilt(knowledge, widened, facts) == []


@pytest.mark.parametrize("what", ["what silences", "a glass that nobody named", "freed", "let in", "in order"])
def test_the_guard_is_needed(knowledge: Knowledge, tmp_path: Path, what: str) -> None:
    """Without the guard, rules that it refuses do take a caution away or let in what is ruled out: the law above is no empty one."""
    table = REFUSED_RULES[what]
    listed = {key: ", ".join(f'"{each}"' for each in table[key]) for key in ("if", "then")}
    file = tmp_path / "ours.toml"
    file.write_text(written_rule(table["id"], listed["if"], listed["then"]), encoding="utf-8")
    widened = Knowledge(knowledge.vocabulary, knowledge.language, load_rules([file], knowledge.language, knowledge.base))
    facts = {Statement("hasForm", "piece", "flat-face"): SAID, **Options(knowledge.vocabulary, ("blast-fine",))}
    if what == "what silences":
        facts[Statement("hasGlass", "piece", "lead-crystal")] = SAID
    assert spoilt(knowledge, knowledge, facts) == []
    step = {"usesMineral": "quartz-sand", "hasHold": "air-borne", "usesCarrier": "blast-nozzle", "worksToward": "blast-fine"}
    facts |= {Statement(predicate, "step/1", thing): MADE for predicate, thing in step.items()}
    assert spoilt(knowledge, widened, facts)


WORDS = ["lead", "crystal", "our", "old", "fine", "panel", "in", "cast", "glass", "blown", "vase", "sand", "mould", "acid", "batch", "clear", "free"]


@given(data=st.data())
@settings(max_examples=tries(2), suppress_health_check=[HealthCheck.filter_too_much])
def test_no_name_takes_a_caution_away(knowledge: Knowledge, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    """Whatever words a studio gives to a harmless glass, questions about lead crystal and cast glass still bring their cautions."""
    folder = tmp_path_factory.mktemp("studio")
    init(folder)
    name = " ".join(data.draw(st.lists(st.sampled_from(WORDS), min_size=1, max_size=3)))
    things(folder, f'fk:soda-lime-studio skos:altLabel "{name}"@en .')
    try:
        widened = read_studio(folder, knowledge).knowledge
    except StudioError:
        assume(False)
    question = data.draw(st.sampled_from(QUESTIONS))
    before, after = (Dialogue(known).say(question) for known in (knowledge, widened))
    assert {caution.id for caution in before.cautions} <= {caution.id for caution in after.cautions}


QUESTIONS = [
    "Cast panel in lead crystal, relief, straight from the mould, to pre-polish",
    "fine lead crystal vase, flat base, sawn, to polish",
    "old cast glass block in lead glass, flat face, sawn, to polish",
    "blown crystal glass vase, lead crystal, flat base ground F220, to polish",
]


def test_what_is_closed_is_worked_out_from_the_rules(knowledge: Knowledge) -> None:
    """What silences a safety rule, frees what it rules out or lets work go ahead is closed; what a studio's rules are for is open."""
    guard = guard_of(knowledge.vocabulary, knowledge.base)
    assert {"runsOn", "hasHold", "hasGlass", "isFreedFrom", "isJudgedBy", "overrides", "isOffered", "isInOrder"} <= guard.closed.keys()
    assert not guard.closed.keys() & {"isProposedAsRuledOutBy", "isProposedAsPreferredBy", "callsForCaution", "isCautionedFor", "isNotedFor"}


HAZARDS = {"fk:Glass": ["fk:containsLead", "fk:isFreeOfLead"], "fk:Mineral": ["fk:holdsCrystallineSilica", "fk:isFreeOfCrystallineSilica"]}
TRAITS = ["fk:containsLead", "fk:isFreeOfLead", "fk:holdsCrystallineSilica", "fk:isSoft", "fk:spins", "fk:isPowered"]
PLAIN_NAMES = ["canal batch", "bims", "the grey one", "hill stuff"]


@st.composite
def turtle_of_a_studio(draw: st.DrawFn) -> str:
    """Things with any traits, and any names for them and for shipped things."""
    plain = draw(st.permutations(PLAIN_NAMES))

    def name() -> str:
        """Mostly one that means nothing yet: names of warning words are refused, and the whole folder with them."""
        words = st.lists(st.sampled_from(WORDS), min_size=1, max_size=2).map(" ".join)
        return draw(words) if draw(st.integers(0, 7)) == 7 else plain.pop()

    written = ""
    for number in range(draw(st.integers(0, 2))):
        kind = draw(st.sampled_from(["fk:Glass", "fk:Mineral"]))
        said = {draw(st.sampled_from(HAZARDS[kind])), *draw(st.lists(st.sampled_from(TRAITS), max_size=1))}
        traits = "".join(f" ; {trait} true" for trait in sorted(said))
        written += f'fk:our-{number} a {kind} ; skos:prefLabel "{name()} {number}"@en ; skos:definition "Ours."@en ; '
        written += f"dcterms:source src:studio{traits} .\n"
    for thing in draw(st.lists(st.sampled_from(["pumice", "soda-lime-studio", "quartz-sand", "brush-wheel"]), max_size=2, unique=True)):
        written += f'fk:{thing} skos:altLabel "{name()}"@en .\n'
    return written


SHELF = ["felt-wheel", "brush-wheel", "pumice", "quartz-sand", "diamond", "flat-lap"]


@given(data=st.data())
@settings(max_examples=tries(4), suppress_health_check=[HealthCheck.filter_too_much])
def test_no_folder_takes_a_caution_away(knowledge: Knowledge, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    """Whatever a folder holds, rules, things, names, a shelf and packs, what opens takes nothing away; and taken away it leaves nothing behind."""
    folder = tmp_path_factory.mktemp("studio")
    init(folder)
    # What is closed is refused with the whole folder, and the law above tries it; here most folders are to open.
    closed, phrases = guard_of(knowledge.vocabulary, knowledge.base).closed, knowledge.vocabulary.phrases
    open_to_all = sorted(name for name, phrase in phrases.items() if name not in closed and phrase.shape in ("trait", "relation"))
    rules, turtle = data.draw(rules_of_a_studio(knowledge, open_to_all)), data.draw(turtle_of_a_studio())
    shelf = data.draw(st.lists(st.sampled_from(SHELF), max_size=3, unique=True))
    (folder / "shelf.toml").write_text("".join(f'[[shelf]]\nthing = "{thing}"\n' for thing in shelf), encoding="utf-8")
    packed: dict[str, bytes] = {}
    for file, text in (("rules/more.toml", rules), ("things/more.ttl", HEAD + turtle if turtle else "")):
        if text and data.draw(st.booleans()):
            packed[file] = text.encode()
        elif text:
            (folder / file).write_text(text, encoding="utf-8")
    if packed:
        put(folder, Pack("theirs", "1.0", "0.1.0", "CC0", "Theirs", packed))
    question, bench = data.draw(st.sampled_from(QUESTIONS)), data.draw(benches(knowledge))
    before = as_json(Dialogue(knowledge).say(question))
    try:
        opened = read_studio(folder, knowledge)
    except StudioError:
        return
    on_shelf = opened.shelf.case(opened.knowledge.vocabulary).facts() if shelf else {}
    assert spoilt(knowledge, opened.knowledge, bench, on_shelf) == []
    after = as_json(Dialogue(opened.knowledge).say(question))
    assert {caution["id"] for caution in before["cautions"]} <= {caution["id"] for caution in after["cautions"]}
    shutil.rmtree(folder)
    assert as_json(Dialogue(knowledge).say(question)) == before
