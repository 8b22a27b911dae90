"""Why, why not, and what if: questions about an answer."""

from collections.abc import Iterable, Sequence
from typing import Any

from finishing_kg.advice.ask import Advice, answer_of
from finishing_kg.advice.contract import Answer, Route
from finishing_kg.advice.findings import finding_rule
from finishing_kg.advice.machine import machine_for
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.engine import Model, Prover, Shortfall, shortfall
from finishing_kg.record import replace
from finishing_kg.routes import Judged, PlannedStep, judge, stages_to
from finishing_kg.statements import Statement, option_parts
from finishing_kg.vocabulary import Name, Vocabulary

NOTHING_CHANGES = "Nothing in the advice changes."
_SPEAKING_FOR = ("isProposedAsPreferredBy", "isProposedAsSuitingBy")


def why(advice: Advice, last: Answer, about: Sequence[Name], step: int | None) -> Answer:
    """Why a step of the first route is as it is: the step named, or the one that uses what is named, or the last.

    A question about something that the route does not use is answered as *why not*.
    """
    steps = last.routes[0].steps if last.routes else []
    if not steps:
        return _about_the_answer(last)
    number = _step_meant(last.routes[0], about, step)
    if number is None:
        return why_not(advice, last, about)
    rid = steps[number - 1].reason
    # A step that no rule speaks for by itself is told by the root of its reasoning.
    text = f"Step {number}: " + (" ".join(steps[number - 1].because) or str(advice.book.reasons[rid].because))
    return replace(last, kind="why", about=f"step {number}", reason=rid, text=text, verdict="in order")


def _about_the_answer(last: Answer) -> Answer:
    """Why there is no route, or a question instead: the answer's own words, with its first reason."""
    rid = last.ruled_out[0].reason if last.ruled_out else None
    text = last.text or "There is no answer yet that could be explained; say what is on the bench."
    return replace(last, kind="why", about="the answer", reason=rid, text=text)


def _step_meant(route: Route, about: Sequence[Name], step: int | None) -> int | None:
    count = len(route.steps)
    if step is not None:
        return count if step < 0 or step > count else max(step, 1)
    if not about:
        return count
    for number in range(count, 0, -1):
        shown = route.steps[number - 1]
        if all(name.notation in (shown.mineral, shown.hold, shown.carrier, shown.machine) for name in about):
            return number
    return None


def why_not(advice: Advice, last: Answer, about: Sequence[Name], book: ReasonBook | None = None) -> Answer:
    """Why something named is not in the route, with the rule that rules it out or the condition that it fails.

    The reasons go into ``book``, if there is one.
    """
    base = replace(last, kind="why_not", about=", ".join(name.notation for name in about) or None, reason=None)
    if not about:
        return replace(base, text="Name what you have in mind, such as: why not a felt wheel?", verdict="unknown")
    label = " and ".join(name.label for name in about)
    if advice.case.finish is None or (advice.case.form is None and not advice.knowledge.vocabulary.holds(advice.case.finish, "needsNoForm")):
        return replace(base, text=f"Whether {label} can be used hangs on what was asked: {last.text}", verdict="unknown")
    if last.routes and (number := _step_meant(last.routes[0], about, None)) is not None:
        return replace(
            base,
            text=f"It is in the route: step {number} uses {label}.",
            verdict="in the route",
            reason=last.routes[0].steps[number - 1].reason,
        )
    options = options_with(advice, about)
    if not options:
        return replace(base, text=f"I know no way to use {label} on glass: the grain is not made so, or nothing drives it.", verdict="no such method")
    book = ReasonBook() if book is None else book
    reasons = Reasons(advice.knowledge, advice.model, book)
    update = _verdict(advice, reasons, options, label)
    return replace(base, **update, reasons=book.ordered(), routes=[], ruled_out=[], discouraged=[], cautions=[])


def options_with(advice: Advice, about: Sequence[Name]) -> list[str]:
    """The options that use everything named, of the last stage at which any is of use; without one, of the last that has any."""
    vocabulary, finish = advice.knowledge.vocabulary, advice.case.finish
    assert finish is not None
    driven = {name.id: set(vocabulary.subjects("isDrivenBy", name.id)) for name in about if name.kind == "machine"}

    def uses(option: str) -> bool:
        parts = option_parts(option)
        return all(parts[2] in driven[name.id] if name.kind == "machine" else name.id in parts[:3] for name in about)

    every = [option for option in advice.model.every_subject("worksToward") if option.startswith("option/") and uses(option)]
    by_stage = [[option for option in every if option_parts(option)[3] == stage] for stage in reversed(stages_to(vocabulary, finish))]
    # Of the stages that can be meant the last at which it has a use at all, restrictions of this bench aside.
    return next((here for here in by_stage if any(_serves(vocabulary, option) for option in here)), next(filter(None, by_stage), []))


def _serves(vocabulary: Vocabulary, option: str) -> bool:
    """Whether grain and carrier are of any use at the option's stage."""
    mineral, _, carrier, stage = option_parts(option)
    return stage in vocabulary.related(mineral, "serves") and stage in vocabulary.related(carrier, "serves")


def _verdict(advice: Advice, reasons: Reasons, options: list[str], label: str) -> dict[str, Any]:
    model, names = advice.model, advice.knowledge.vocabulary.names
    stage = names[option_parts(options[0])[3]].label
    offered = [option for option in options if model.holds("isOffered", option)]
    if offered:
        return _behind(advice, reasons, offered, label, stage)
    ruled_out = [option for option in options if model.holds("isRuledOut", option)]
    if ruled_out:
        rule, option = plainest(advice, ruled_out)
        because = advice.knowledge.base.by_id[rule].because
        rid = reasons.of_firing(Statement("isRuledOut", option), "rule", f"rule/{rule}")
        return {"verdict": "ruled out", "blocker": f"rule {rule}", "text": f"For {stage} {label} is ruled out: {because}", "reason": rid}
    nearest = nearest_rule(advice, options)
    lacking = advice.knowledge.language.print(nearest.lacking)
    how = "this stands in the way" if nearest.blocked else "nothing here says that"
    text = f"For {stage} no rule speaks for {label}. The nearest is {nearest.rule.id}; {how}: {lacking}."
    return {"verdict": "nothing speaks for it", "blocker": f"rule {nearest.rule.id}: {lacking}", "text": text}


def _behind(advice: Advice, reasons: Reasons, offered: list[str], label: str, stage: str) -> dict[str, Any]:
    """It could be used, and what stands before it."""
    model, rules = advice.model, advice.knowledge.base.by_id
    discouraged = [option for option in offered if model.holds("isDiscouraged", option)]
    option = min(offered, key=lambda o: (model.holds("isDiscouraged", o), -len(model.objects("isProposedAsPreferredBy", o)), o))
    rid = reasons.of(Statement("isOffered", option))
    if len(discouraged) == len(offered):
        rule = sorted(map(str, model.objects("isProposedAsDiscouragedBy", option)))[0]
        because = rules[rule.removeprefix("rule/")].because
        rid = reasons.of_firing(Statement("isDiscouraged", option), "rule", rule)
        return {
            "verdict": "discouraged",
            "blocker": rule.replace("/", " "),
            "text": f"For {stage} {label} could be used but is discouraged: {because}",
            "reason": rid,
        }
    chosen = advice.found[0].places[-1].option if advice.found else None
    if advice.case.surface is None:
        return {
            "verdict": "unknown",
            "text": f"For {stage} {label} can be used as such; whether it can be used now hangs on the surface.",
            "reason": rid,
        }
    step = first_step_fault(advice, option)
    if step is not None:
        return {
            "verdict": "not from this surface",
            "text": f"{label[0].upper()}{label[1:]} can be used for {stage}, but not from this surface: {step}",
            "reason": rid,
        }
    text = f"For {stage} {label} could be used; nothing speaks against it."
    if chosen:
        speaking = sorted(map(str, model.objects("isProposedAsPreferredBy", chosen)))
        if speaking:
            label = advice.knowledge.language.names.label(chosen)
            text += f" {label[0].upper()}{label[1:]} comes first: {rules[speaking[0].removeprefix('rule/')].because}"
    return {"verdict": "offered", "text": text, "reason": rid}


def first_step_fault(advice: Advice, option: str) -> str | None:
    """Why an option cannot be the first step over the surface as it is, in the words of the rule that says so."""
    judged = as_first_steps(advice, [option])
    fault = cautioned(judged.model, judged.routes[0][0])
    return finding_rule(advice.knowledge, Prover(judged.model).proof(fault)).because if fault else None


def as_first_steps(advice: Advice, options: Sequence[str]) -> Judged:
    """Options, each judged as the first step over the surface as it is, on the machine that would drive it."""
    steps = []
    for option in options:
        mineral, hold, carrier, stage = option_parts(option)
        machine = machine_for(advice.knowledge, advice.case, carrier)
        steps.append([PlannedStep(mineral, hold, carrier, machine=machine, stage=stage, wet=hold != "air-borne")])
    return judge(advice.knowledge, advice.case, steps)


def cautioned(model: Model, step: str) -> Statement | None:
    """What the rules hold against a judged step, if anything."""
    return next((Statement("isCautionedFor", step, finding) for finding in model.objects("isCautionedFor", step)), None)


def plainest(advice: Advice, options: list[str]) -> tuple[str, str]:
    """The option that fewest rules object to, and of those rules the gravest: safety first, then the most particular."""
    rules = advice.knowledge.base.by_id

    def objections(option: str) -> list[str]:
        model = advice.model
        standing = [str(rule) for rule in model.objects("isProposedAsRuledOutBy", option) if not model.holds("isFreedFrom", option, rule)]
        found = (rule.removeprefix("rule/") for rule in standing)
        return sorted(found, key=lambda rule: (not rules[rule].safety, len(rules[rule].exceptions), -len(rules[rule].conditions), rule))

    # Of options that are equally far off, the one with the grain that the route itself uses is the one that was meant.
    used = {option_parts(place.option)[0] for place in (advice.found[0].places if advice.found else ()) if place.option}
    option = min(options, key=lambda each: (len(objections(each)), option_parts(each)[0] not in used, each))
    return objections(option)[0], option


def nearest_rule(advice: Advice, options: Iterable[str]) -> Shortfall:
    """The rule that came nearest to speaking for one of the options."""
    found = []
    for option in options:
        for rule in advice.knowledge.base.rules:
            for conclusion in rule.conclusions:
                if conclusion.predicate in _SPEAKING_FOR:
                    lacked = shortfall(advice.model, rule, conclusion, option)
                    if lacked is not None:
                        found.append(lacked)
    return min(found, key=lambda lacked: (len(lacked.rule.conditions) - lacked.met, lacked.rule.id))


def what_if(before: Answer, after_advice: Advice, changed: list[str]) -> Answer:
    """The answer with something changed, and how it differs from the one before."""
    after = answer_of(after_advice)
    return replace(after, kind="what_if", changed=changed, differences=differences(after_advice.knowledge.vocabulary, before, after))


def differences(vocabulary: Vocabulary, before: Answer, after: Answer) -> list[str]:
    """What is different in the first route and the cautions, in sentences."""
    told = []
    if bool(before.routes) != bool(after.routes):
        told.append("There is a route now." if after.routes else f"There is no route any more: {after.text}")
    old, new = (_lines(vocabulary, answer) for answer in (before, after))
    told += [f"No longer: {line}" for line in old if line not in new]
    told += [f"Instead: {line}" for line in new if line not in old]
    told += [f"A caution more: {caution.id.replace('-', ' ')}" for caution in after.cautions if caution.id not in {c.id for c in before.cautions}]
    told += [f"A caution less: {caution.id.replace('-', ' ')}" for caution in before.cautions if caution.id not in {c.id for c in after.cautions}]
    return told or [NOTHING_CHANGES]


def _lines(vocabulary: Vocabulary, answer: Answer) -> list[str]:
    """The steps of the first route as an answer's text tells them."""
    told = []
    for step in answer.routes[0].steps if answer.routes else []:
        hold, mineral, carrier = (
            found.label if (found := vocabulary.identify(name, kind)) else name
            for name, kind in ((step.hold, "hold"), (step.mineral, "mineral"), (step.carrier, "carrier"))
        )
        told.append(" ".join(filter(None, (hold, mineral, step.grade, "on the", carrier))))
    return told
