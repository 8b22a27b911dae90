"""Explanations every way round: each line has its node, each blocker blocks, each change flips, each comparison tells only differences.

``HYPOTHESIS_PROFILE=thorough pytest tests/test_explanations.py`` looks at every case, and at everything that could be named in it.
"""

from itertools import combinations
from pathlib import Path
from typing import Any

import case_files
import pytest
from effort import one_in

from finishing_kg.advice.ask import Advice
from finishing_kg.advice.blockers import blocker_of, of_shortfall
from finishing_kg.advice.change import candidates, changed, smallest_change, standing
from finishing_kg.advice.compare import contrast
from finishing_kg.advice.contract import Answer, Blocker
from finishing_kg.advice.levels import MOST_LINES, explained
from finishing_kg.advice.why import as_first_steps, options_with, why_not
from finishing_kg.advice.without import CannotLeaveOut, what_if_without, without_rules
from finishing_kg.chat import Dialogue
from finishing_kg.engine import Knowledge, compare, evaluate, shortfall
from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact, Proof, ProofChecker
from finishing_kg.record import replace
from finishing_kg.rules import Rule, make_base
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Basis, Name

CASES = [case for case in case_files.load("question") if "faults" not in case]
SAID = {"you said", "assumed", "bench log"}
TOOLS = ("mineral", "carrier", "hold", "machine")


@pytest.fixture(scope="module")
def dialogues(knowledge: Knowledge) -> list[Dialogue]:
    """A conversation for every second case that a route, or a reasoned no, answers."""
    found = []
    for case in one_in(2, CASES):
        dialogue = Dialogue(knowledge, asking=False)
        if dialogue.say(case["ask"]).kind in ("route", "no_route"):
            found.append(dialogue)
    assert len(found) > 40
    return found


def state(dialogue: Dialogue) -> tuple[Advice, Answer]:
    """The judged case of a conversation and its answer."""
    assert dialogue.advice is not None and dialogue.answer is not None
    return dialogue.advice, dialogue.answer


def named(knowledge: Knowledge, *notations: str) -> list[Name]:
    """Things by what commands call them."""
    tools = {name.notation: name for kind in TOOLS for name in knowledge.vocabulary.things(kind)}
    return [tools[notation] for notation in notations]


def test_every_line_maps_to_a_node_that_says_it(dialogues: list[Dialogue]) -> None:
    """A line is the sentence of its node with the rule's reason, or with where the leaf comes from; at most seven are shown."""
    shown = 0
    for dialogue in dialogues:
        advice, answer = state(dialogue)
        for step in answer.routes[0].steps if answer.routes else []:
            told = explained(replace(answer, kind="why", reason=step.reason), advice.book, "short")
            assert 1 <= len(told.lines) <= MOST_LINES
            for line in told.lines:
                node = answer.reasons[line.reason]
                assert line.text.startswith(node.statement)
                assert not node.rule or str(node.because) in line.text
                rest = line.text.removeprefix(node.statement)
                assert node.rule or any(word in rest for word in ("you said", "the ontology holds", "assumed", "bench log", "computed"))
                shown += 1
            assert explained(told, advice.book, "line").lines == told.lines[:1]
    assert shown > 500


def test_what_a_route_says_because_comes_from_its_rules(dialogues: list[Dialogue]) -> None:
    """Each clause of a why's text is the reason of a rule that speaks for that very step in the judged model, and nothing else."""
    for dialogue in dialogues:
        advice, answer = state(dialogue)
        rules = advice.knowledge.base.by_id
        for number, step in enumerate(answer.routes[0].steps if answer.routes else [], 1):
            text = dialogue.say(f"why step {number}?").text.removeprefix(f"Step {number}: ")
            subject = advice.book.proved[step.reason][1].statement.subject
            held = [
                rules[str(rule).removeprefix("rule/")].because
                for predicate in ("isProposedAsPreferredBy", "isProposedAsSuitingBy")
                for rule in advice.judged.model.objects(predicate, str(subject))
            ]
            for because in sorted([*held, str(answer.reasons[step.reason].because)], key=len, reverse=True):
                text = text.replace(because, "")
            assert text.split() == []


def test_each_comparison_of_a_node_is_exact(knowledge: Knowledge, dialogues: list[Dialogue]) -> None:
    """Each comparison that a reason shows has both quantities as written, both in the common unit, and the distance between them."""
    seen, convert = 0, knowledge.vocabulary.units.convert
    for dialogue in dialogues:
        _, answer = state(dialogue)
        for rid, reason in answer.reasons.items():
            proof = dialogue.book.proved[rid][1]
            notes = [note for note in (reason.comparison, *reason.further_comparisons) if note]
            assert len(notes) == len(proof.compared)
            for note, made in zip(notes, proof.compared, strict=True):
                unit = knowledge.vocabulary.phrases[made.predicate].units[0]
                left, right = convert(made.left, unit), convert(made.right, unit)
                assert (note.left, note.right, note.left_common, note.right_common) == (str(made.left), str(made.right), str(left), str(right))
                assert note.margin == str(Quantity(abs(left.mid - right.mid), unit))
                seen += 1
    assert seen > 100


def test_all_that_is_said_in_statements_reads_back(knowledge: Knowledge, dialogues: list[Dialogue]) -> None:
    """Reasons, what is absent, what is lacking and what would change are read back to the same statement."""
    language, sentences = knowledge.language, set[str]()
    for dialogue in one_in(2, dialogues):
        advice, answer = state(dialogue)
        roots = [step.reason for step in answer.routes[0].steps] if answer.routes else []
        for root in roots[-1:]:
            told = explained(replace(answer, reason=root), advice.book, "whole")
            sentences.update(each for ways in told.reason_sets for each in ways)
            sentences.update(absence.statement for absence in told.absences)
            sentences.update(near.lacking for absence in told.absences for near in absence.could_follow)
            assert all(len(absence.could_follow) <= 3 and (absence.more == 0 or len(absence.could_follow) == 3) for absence in told.absences)
        sentences.update(reason.statement for reason in answer.reasons.values())
        for rival in rivals(knowledge, advice)[:6]:
            change, blocked = smallest_change(advice, rival), blocker_of(advice, rival)
            sentences.update(change.changes if change else [])
            sentences.update([blocked.statement, blocked.about + " is ruled out"] if blocked else [])
    assert len(sentences) > 500
    assert [each for each in sorted(sentences) if language.print(language.parse(each)) != each] == []


def rivals(knowledge: Knowledge, advice: Advice) -> list[list[Name]]:
    """Every mineral, carrier, hold and machine alone, and some of them together."""
    vocabulary = knowledge.vocabulary
    single = [[name] for kind in TOOLS for name in vocabulary.things(kind)]
    pairs = one_in(23, [[mineral, carrier] for mineral in vocabulary.things("mineral") for carrier in vocabulary.things("carrier")])
    return [about for about in (*one_in(3, single), *pairs) if options_with(advice, about)]


def test_every_rejected_option_has_a_blocker_that_blocks(knowledge: Knowledge, dialogues: list[Dialogue]) -> None:
    """What is not offered, or not from this surface, has a named rule and a condition of it that indeed stands in the way."""
    kinds: dict[str, int] = {}
    for dialogue in one_in(3, dialogues):
        advice, answer = state(dialogue)
        for about in rivals(knowledge, advice):
            verdict = why_not(advice, answer, about).verdict
            blocked = blocker_of(advice, about)
            if verdict in ("ruled out", "nothing speaks for it", "discouraged"):
                assert blocked is not None and blocked.text
            if blocked is not None:
                kinds[blocked.kind] = kinds.get(blocked.kind, 0) + 1
                verify(advice, blocked)
    assert kinds["unless"] > 20 and kinds["speaks against"] > 3


def verify(advice: Advice, blocked: Blocker) -> None:
    """Look up in the model that a blocker is as it says."""
    kind, rule, parse = blocked.kind, blocked.rule, advice.knowledge.language.parse
    statement = parse(blocked.statement)
    subject = str(statement.subject)
    if statement.predicate in ("isCautionedFor", "showsSignOf"):  # of the method as a first step, which another model judges
        option = str(parse(f"{blocked.about} is ruled out").subject)
        assert str(statement.object) in as_first_steps(advice, [option]).model.objects(statement.predicate, subject)
    elif kind == "missing":
        assert not [value for value in advice.model.objects(statement.predicate, subject) if statement.object in (value, None)]
        assert any(each.predicate == statement.predicate for each in advice.knowledge.base.by_id[rule].conditions)
    elif kind in ("unless", "speaks against"):
        assert any(True for value in advice.model.objects(statement.predicate, subject)) or advice.model.holds(statement.predicate, subject)
        if statement.predicate in ("isRuledOut", "isDiscouraged"):
            proposal = {"isRuledOut": "isProposedAsRuledOutBy", "isDiscouraged": "isProposedAsDiscouragedBy"}[statement.predicate]
            assert advice.model.holds(proposal, subject, f"rule/{rule}") and not advice.model.holds("isFreedFrom", subject, f"rule/{rule}")


COMPARED = [("30 mm", "false comparison", "fails"), ("15 to 30 mm", "unknown", "unknown"), (None, "missing", None)]


@pytest.mark.parametrize(("held", "kind", "outcome"), COMPARED)
def test_a_comparison_that_blocks_is_told_with_its_margin(knowledge: Knowledge, held: str | None, kind: str, outcome: str | None) -> None:
    """A value beyond the limit is a false comparison, one that overlaps it unknown, and none at all is missing."""
    language = knowledge.language
    parse, basis = language.parse, Basis("common practice")
    then = parse("?option is proposed as suiting by rule bristles-for-relief")
    conditions = (parse("?option uses mineral pumice"), parse("the diameter of the piece is below 20 mm"))
    rule = Rule("made-up", "test", "test.toml", 1, conditions, (), (then,), "Because.", basis)
    option = "option/pumice/loose/brush-wheel/pre-polish"
    facts = {Statement("usesMineral", option, parse("?option uses mineral pumice").object): Fact(basis)}
    if held:
        facts[parse(f"the diameter of the piece is {held}")] = Fact(basis)
    model = evaluate(knowledge.vocabulary, make_base([rule]), facts)
    lacked = shortfall(model, rule, then, option)
    assert lacked is not None
    blocked = of_shortfall(language, model, lacked, option)
    assert blocked.kind == kind
    assert (blocked.comparison.outcome if blocked.comparison else None) == outcome
    assert outcome != "fails" or (blocked.comparison is not None and blocked.comparison.margin == "10 mm")


@pytest.mark.parametrize("case", one_in(9, CASES), ids=lambda case: case["id"])
def test_a_smallest_change_flips_and_no_smaller_one_does(knowledge: Knowledge, case: dict[str, Any]) -> None:
    """Applied, it lets the thing in; of all smaller sets of what blocks names, and of all of that size where there is none, not one does."""
    dialogue = Dialogue(knowledge)
    if dialogue.say(case["ask"]).kind not in ("route", "no_route"):
        pytest.skip("the case asks back")
    advice, _ = state(dialogue)
    for about in one_in(3, rivals(knowledge, advice)):
        now, change = standing(advice, about), smallest_change(advice, about)
        assert (change is None) == (now == 2)
        if change is None:
            continue
        choices = candidates(advice, about)
        statements = [knowledge.language.parse(each) for each in change.changes]
        assert all(knowledge.vocabulary.phrases[each.predicate].changeable for each in statements)
        if statements:
            after = changed(knowledge, advice.case, statements)
            assert after is not None and standing(Advice(knowledge, after), about) > now
            assert (after.glass, after.form) == (advice.case.glass, advice.case.form)
        smaller = range(1, len(statements)) if statements else range(1, 2 if len(choices) > 12 else 3 if len(choices) > 8 else 4)
        for size in smaller:
            for some in combinations(choices, size):
                after = changed(knowledge, advice.case, some)
                assert after is None or standing(Advice(knowledge, after), about) <= now


SHELVES = [
    ("sawn lead crystal, flat face, to polish, only silicon carbide and pumice, no felt", ["cerium-oxide", "felt-wheel"], 3),
    ("satin on a float edge, sawn, no belt sander", ["belt"], 1),
    ("float edge ground F120 to pre-polish", ["pumice", "cork-wheel"], 1),
    ("Relief cast panel in studio soda-lime glass, straight from the mould, to pre-polish", ["felt-wheel"], 0),
]


@pytest.mark.parametrize(("asked", "about", "size"), SHELVES)
def test_changes_of_the_bench_are_found(knowledge: Knowledge, asked: str, about: list[str], size: int) -> None:
    """What is not on the shelf, refused, or wants the surface worked first is found; a form that a tool does not reach has no change."""
    dialogue = Dialogue(knowledge)
    dialogue.say(asked)
    change = smallest_change(state(dialogue)[0], named(knowledge, *about))
    assert change is not None and len(change.changes) == size and change.text


RIVALS = [("pumice", "cerium-oxide"), ("felt-wheel", "brush-wheel"), ("diamond", "silicon-carbide"), ("flat-lap", "belt")]


@pytest.mark.parametrize(("one", "other"), RIVALS)
def test_a_comparison_shows_no_shared_premise_and_mirrors(knowledge: Knowledge, dialogues: list[Dialogue], one: str, other: str) -> None:
    """No sentence stands on both sides, and swapping the sides swaps what is told."""
    told = 0
    for dialogue in one_in(2, dialogues):
        advice, answer = state(dialogue)
        first, second = named(knowledge, one), named(knowledge, other)
        there, back = contrast(advice, answer, first, second), contrast(advice, answer, second, first)
        sides = [[line.text for line in side] for side in (there.only_first, there.only_second)]
        assert [[line.text for line in side] for side in (back.only_second, back.only_first)] == sides
        assert not set(sides[0]) & set(sides[1])
        assert all(line.reason in there.reasons for line in (*there.only_first, *there.only_second))
        told += len(sides[0]) + len(sides[1])
    assert told > 10


def test_what_if_equals_a_cold_answer(knowledge: Knowledge) -> None:
    """The answer after one changed fact is the one that is given when it is said from the start."""
    dialogue, cold = Dialogue(knowledge), Dialogue(knowledge)
    dialogue.say("Cast lead crystal bas-relief, ground with F400, to pre-polish")
    after = dialogue.say("what if it were a flat face?")
    expected = cold.say("Cast lead crystal flat face, ground with F400, to pre-polish")
    assert after.differences
    assert [(step.mineral, step.grade, step.hold, step.carrier) for step in after.routes[0].steps] == [
        (step.mineral, step.grade, step.hold, step.carrier) for step in expected.routes[0].steps
    ]
    assert [caution.id for caution in after.cautions] == [caution.id for caution in expected.cautions]


def test_without_a_rule_equals_a_base_that_never_had_it(knowledge: Knowledge) -> None:
    """Leaving a rule out gives what rules give that were loaded without it; a safety rule is never left out."""
    dialogue = Dialogue(knowledge)
    dialogue.say("Relief cast panel in studio soda-lime glass, straight from the mould, to pre-polish")
    advice, before = state(dialogue)
    told, _ = what_if_without(before, advice, ["bristles-for-relief"])
    fewer = make_base(rule for rule in knowledge.base.rules if rule.id != "bristles-for-relief")
    cold = Dialogue(Knowledge(knowledge.vocabulary, knowledge.language, fewer))
    assert told.routes == cold.say("Relief cast panel in studio soda-lime glass, straight from the mould, to pre-polish").routes
    assert told.differences and told.left_out == ["bristles-for-relief"]
    assert dialogue.say("what if rule bristles-for-relief were left out?").differences == told.differences
    safety = next(rule.id for rule in knowledge.base.rules if rule.safety)
    for refused in (safety, "no-such-rule"):
        with pytest.raises(CannotLeaveOut):
            without_rules(knowledge, [refused])


def test_how_much_is_told_follows_what_is_asked(knowledge: Knowledge) -> None:
    """In one line, in short and in full give one line, at most seven, and what must be absent as well."""
    dialogue = Dialogue(knowledge)
    dialogue.say("Sawn lead crystal, flat face, to polish")
    line, short, full = (dialogue.say(f"why step 1, {level}?") for level in ("in one line", "in short", "in full"))
    assert [len(line.lines), bool(short.absences), bool(full.absences)] == [1, False, True]
    assert 1 < len(short.lines) <= MOST_LINES
    assert line.about == short.about == full.about == "step 1"


def test_minimal_reasons_name_only_what_was_said_or_assumed(knowledge: Knowledge, dialogues: list[Dialogue]) -> None:
    """Each set holds statements that the maker said or that were assumed, and no set holds another."""
    seen = 0
    for dialogue in one_in(2, dialogues):
        advice, answer = state(dialogue)
        given = {knowledge.language.print(each) for each, fact in advice.case.facts().items() if fact.basis.kind in SAID}
        for step in answer.routes[0].steps if answer.routes else []:
            sets = explained(replace(answer, reason=step.reason), advice.book, "short").reason_sets
            assert all(set(each) <= given for each in sets)
            assert not any(set(one) < set(other) for one in sets for other in sets)
            seen += len(sets)
    assert seen > 20


def test_another_grade_is_refused_by_the_rule_that_compares(knowledge: Knowledge) -> None:
    """Why not a much finer grade first is answered with the jump, both values and the margin; the route's own grade is in it."""
    dialogue = Dialogue(knowledge)
    route = dialogue.say("Sawn lead crystal, flat face, to polish").routes[0]
    graded = next(step for step in route.steps if step.grade)
    told = dialogue.say("why not F1200 first?")
    assert (told.kind, told.verdict) == ("why_not", "not at this step")
    made = told.blocked_by.comparison if told.blocked_by else None
    assert made is not None and made.outcome == "holds"
    phrase = knowledge.vocabulary.phrases["grainRatio"]
    left, right = (Quantity.of(value.split()[0], "times") for value in (made.left, made.right))
    assert compare(phrase, knowledge.vocabulary.units, left, "above", right)
    assert dialogue.say(f"why not {graded.grade} first?").verdict == "in the route"


def test_exported_proofs_of_shipped_rules_are_checked_again(knowledge: Knowledge, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A proof file that the command wrote passes the checker; with a binding, premise, rule or value altered it never does."""
    from rdflib import Graph

    from finishing_kg.cli.main import main
    from finishing_kg.export import read_proofs

    asked = "Cast lead crystal bas-relief, ground with F400, to pre-polish"
    dialogue = Dialogue(knowledge)
    dialogue.say(asked)
    book = state(dialogue)[0].book
    old = book.proved[state(dialogue)[1].routes[0].steps[-1].reason][0].checker
    for form, name in (("turtle", "turtle"), ("json-ld", "json-ld")):
        file = tmp_path / f"proof.{form}"
        assert main(["why", asked, "--proof", str(file), "--format", form]) == 0
        assert "Wrote" in capsys.readouterr().out
        proofs = read_proofs(Graph().parse(file, format=name), knowledge.language)
        assert proofs
        for proof in proofs:
            assert ProofChecker(old.vocabulary, old.rules, old.facts, old.computations).fault(proof) is None
            for step in proof.walk():
                for bad in corrupted(step):
                    checker = ProofChecker(old.vocabulary, old.rules, old.facts, old.computations)
                    assert checker.fault(bad) is not None, (step.statement, bad)


def corrupted(step: Proof) -> list[Proof]:
    """One step of a proof, altered in one place each."""
    bad = [replace(step, statement=step.statement._replace(subject="step/77"))]
    if step.rule is None:
        assert step.fact is not None
        return [*bad, replace(step, fact=replace(step.fact, basis=Basis("from memory", "somebody", "somewhere")))]
    bad.append(replace(step, rule="back-to-coarser" if step.rule != "back-to-coarser" else "rinse-between-grades"))
    bad += [replace(step, premises=(*step.premises[:at], *step.premises[at + 1 :])) for at in range(len(step.premises))]
    bad += [replace(step, bindings=(*step.bindings[:at], (name, "nothing"), *step.bindings[at + 1 :])) for at, (name, _) in enumerate(step.bindings)]
    doubled = [replace(made, left=replace(made.left, mid=made.left.mid * 2 + 1)) for made in step.compared]
    bad += [replace(step, compared=(*step.compared[:at], made, *step.compared[at + 1 :])) for at, made in enumerate(doubled)]
    bad += [replace(step, absent=(*step.absent[:at], *step.absent[at + 1 :])) for at in range(len(step.absent))]
    return bad


def test_the_command_tells_as_much_as_it_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """The three lengths, a change and a refused rule on the command line."""
    from finishing_kg.cli.main import main

    asked = "float edge ground F120 to pre-polish"
    printed = []
    for more in (["--step", "1", "--line"], ["--step", "1", "--short"], ["--step", "1"]):
        assert main(["why", asked, *more]) == 0
        printed.append(len(capsys.readouterr().out))
    assert printed == sorted(set(printed))
    assert main(["why", asked, "--not", "pumice on a cork wheel", "--json"]) == 0
    assert '"smallest_change"' in capsys.readouterr().out
    assert main(["why", asked, "--without-rule", "lead-in-the-glass"]) == 2
    assert "safety rule" in capsys.readouterr().err
