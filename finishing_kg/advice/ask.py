"""From a case to an answer: judge the options, find the routes, let the rules check each step, and say why."""

from collections.abc import Callable, Iterable
from functools import cached_property
from typing import TypeVar

from finishing_kg.advice.additions import is_restricted, smallest_addition, unrestricted, with_things
from finishing_kg.advice.amounts import Amounts, face, for_this_piece, known_minutes, of_step, range_of, total_minutes, untimed
from finishing_kg.advice.asking import helpful, needed
from finishing_kg.advice.choices import chosen_because, from_log, name_of, too_long
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer, Assumption, CautionNote, Leaves, Route, RouteStep, SurfaceRead, Understood
from finishing_kg.advice.deciding import settled
from finishing_kg.advice.machine import planned_steps
from finishing_kg.advice.objections import DISCOURAGED, RULED_OUT, objections
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.engine import Knowledge, Model
from finishing_kg.quantities import designation
from finishing_kg.record import record, replace
from finishing_kg.routes import (
    PARTS,
    PIECE,
    Case,
    Choice,
    Found,
    Judged,
    Place,
    Search,
    choices,
    first_choice,
    in_order,
    in_time,
    judge,
    options_for,
    stages_to,
)
from finishing_kg.statements import Statement, option_parts
from finishing_kg.vocabulary import Name

_Result = TypeVar("_Result")


@record(frozen=True)
class Advice:
    """A judged case: everything that questions about it can be answered from.

    Attributes:
        knowledge: ontology and rules.
        case: with what was supposed.
        whole: whether the answer tells all that the rules object to, or only what this piece and bench bring about.
        wished: things that the maker wishes to work with; a stage that offers one of them is worked with it.
        asking: whether the answer looks for what would help to know; it takes about as long as the rest.
    """

    knowledge: Knowledge
    case: Case
    whole: bool = True
    wished: tuple[str, ...] = ()
    asking: bool = True

    @cached_property
    def book(self) -> ReasonBook:
        """The reasons of the answer to the case, with their proofs."""
        return ReasonBook()

    @cached_property
    def model(self) -> Model:
        """All that follows about the options."""
        return self.knowledge.evaluate(self.case.facts(), upon=options_for(self.knowledge.vocabulary, self.case.finish))

    @cached_property
    def search(self) -> Search:
        """The search for routes in this case."""
        return Search(self.knowledge.vocabulary, self.model, self.case)

    @cached_property
    def choices(self) -> list[Choice]:
        """The best route and up to three that differ from it, none if there is no way; one that keeps to the maker's time comes first."""
        if self._best is None:
            return []
        offered = self._looked_for("choices", lambda: choices(self.search, first=self._best))
        limit = self.case.measures.get("atMostMinutes")
        if limit is None:
            return offered
        return in_time(self.search, offered, float(self.knowledge.vocabulary.units.convert(limit, "min").highest))

    @cached_property
    def first_otherwise(self) -> Found | None:
        """The route that would come first if the bench log said nothing, where that is another by its methods."""
        if not self.choices or not any(True for _ in self.knowledge.vocabulary.things("pace")):
            return None
        search = Search(self.knowledge.vocabulary, self.model, self.case, paced=False)
        first, otherwise = (first_choice(each, self.set_aside) for each in (self.search, search))
        assert first is not None and otherwise is not None
        return otherwise if [place.option for place in otherwise.places] != [place.option for place in first.places] else None

    @property
    def found(self) -> list[Found]:
        """The routes of these choices."""
        return [choice.found for choice in self.choices]

    @cached_property
    def _best(self) -> Found | None:
        return self._looked_for("first choice", lambda: first_choice(self.search, self.set_aside))

    def _looked_for(self, what: str, look: Callable[[], _Result]) -> _Result:
        """What a search of this case finds."""
        return self.knowledge.worked_out(what, lambda: (self.case, self.wished, self.search.hangs_on), look)

    @property
    def first(self) -> Found | None:
        """The first of these routes, without looking for the others unless it hangs on them."""
        return self._best if "atMostMinutes" not in self.case.measures else next(iter(self.found), None)

    @cached_property
    def set_aside(self) -> frozenset[str]:
        """What is passed over for a wish: the other options of every stage that offers something wished for."""
        aside: set[str] = set()
        for stage in stages_to(self.knowledge.vocabulary, self.case.finish) if self.wished and self.case.finish else ():
            options = self.search.offered(stage)
            meant = [option for option in options if self.meets_wish(option)]
            aside.update(set(options).difference(meant) if meant else ())
        return frozenset(aside)

    def meets_wish(self, option: str) -> bool:
        """Whether an option works with something that is wished for: all kinds named must fit, one of each kind is enough."""
        mineral, hold, carrier, _ = option_parts(option)
        vocabulary = self.knowledge.vocabulary
        uses = {mineral, hold, carrier, *vocabulary.related(carrier, "isDrivenBy")}
        kinds: dict[str, set[str]] = {}
        for thing in self.wished:
            kinds.setdefault(vocabulary.names[thing].kind, set()).add(thing)
        return bool(kinds) and all(not uses.isdisjoint(things) for things in kinds.values())

    @cached_property
    def judged(self) -> Judged:
        """The steps of those routes, judged by the rules like any plan."""
        routes = [planned_steps(self.knowledge, self.case, route) for route in self.found]
        return judge(self.knowledge, self.case, routes, expecting=True)


def advise(knowledge: Knowledge, case: Case) -> Answer:
    """The answer to a case: routes, a question back, or a reasoned no."""
    return answer_of(settled(Advice(knowledge, complete(knowledge.vocabulary, case))))


def answer_of(advice: Advice, book: ReasonBook | None = None) -> Answer:
    """As ``advise``, for a case that was judged already.

    Args:
        advice: the judged case, settled.
        book: takes the reasons, after what it holds.
    """
    knowledge, case, book = advice.knowledge, advice.case, book or advice.book
    taken, supposed = understood(knowledge, case), assumptions(knowledge, case)
    asked = needed(advice)
    if asked:
        text = " ".join(question.text for question in asked[:2])
        question = Answer(kind="question", text=text, ask_back=[*asked, *helpful(advice)], understood=taken, assumed=supposed)
        return with_cautions(knowledge, case, question, book, certain=True)
    about_options = Reasons(knowledge, advice.model, book)
    about_steps = Reasons(knowledge, advice.judged.model, book)
    routes = list(_routes(advice, about_steps))
    ruled_out = list(objections(knowledge, advice.model, about_options, case.finish, RULED_OUT, whole=advice.whole))
    discouraged = list(objections(knowledge, advice.model, about_options, case.finish, DISCOURAGED)) if advice.whole else []
    cautions = list(caution_notes(knowledge, advice.judged.model, about_steps))
    hints = list(hint_notes(knowledge, advice.judged.model, about_steps))
    weakest = _weakest(book, [step.reason for route in routes[:1] for step in route.steps], knowledge)
    missing, told_missing = ([], "") if routes else _missing(advice)
    text = " ".join(filter(None, [_told(knowledge, routes), too_long(knowledge, case, routes)])) if routes else told_missing or _no_route(advice)
    return Answer(
        kind="route" if routes else "no_route",
        text=text,
        understood=taken,
        assumed=supposed,
        ask_back=helpful(advice),
        routes=routes,
        ruled_out=ruled_out,
        discouraged=discouraged,
        cautions=cautions,
        hints=hints,
        missing=missing,
        reasons=book.ordered(),
        weakest_basis=weakest,
    )


def _weakest(book: ReasonBook, roots: list[str], knowledge: Knowledge) -> str | None:
    order = knowledge.vocabulary.basis_order
    kinds = [kind for root in roots if (kind := book.weakest(root, order)) is not None]
    return max(kinds, key=order.index) if kinds else None


def understood(knowledge: Knowledge, case: Case) -> Understood:
    """What was taken from the maker's words; supposed parts are not among it."""
    vocabulary, language = knowledge.vocabulary, knowledge.language

    def notation(part: str) -> str | None:
        value = case.part(part)
        return vocabulary.names[value].notation if value and part not in case.assumed else None

    def label(thing: str) -> str:
        return vocabulary.names[thing].label

    surface, grade = notation("surface"), case.surface_grade
    restrictions = [f"has {label(thing)}" for thing in case.at_hand] + [f"without {label(thing)}" for thing in case.unwanted]
    restrictions += [f"{label(thing)} in {label(grade)}" for thing, grade in case.stock]
    restrictions += [f"only the {kind}s named" for kind in sorted(case.limited_in)]
    restrictions += [f"at most {case.measures['atMostMinutes']}"] if "atMostMinutes" in case.measures else []
    restrictions += ["little dust"] if ("isToMakeLittleDust", None) in case.remarks else []
    said = {statement: fact.basis.locator for statement, fact in case.facts().items() if fact.basis.kind == "you said"}
    return Understood(
        glass=notation("glass"),
        make=notation("make"),
        form=notation("form"),
        surface=SurfaceRead(state=surface, grade=case.words.get("surface_grade") or (label(grade) if grade else None)) if surface or grade else None,
        finish=notation("finish"),
        restrictions=restrictions,
        measures={
            vocabulary.phrases[predicate].words: str(quantity) for predicate, quantity in case.measures.items() if predicate not in case.assumed
        },
        statements=[language.print(statement) for statement in said],
        words={language.print(statement): words for statement, words in said.items() if words},
    )


def assumptions(knowledge: Knowledge, case: Case) -> list[Assumption]:
    """What nobody said, as statements with the reason for supposing it."""
    language = knowledge.language
    made = []
    for part, because in case.assumed.items():
        value = case.part(part) if part in PARTS else case.measures.get(part)
        if value:
            made.append(Assumption(statement=language.print(Statement(PARTS.get(part, part), PIECE, value)), because=because))
    return made


def _routes(advice: Advice, reasons: Reasons) -> Iterable[Route]:
    """The found routes in which the rules find every step in order; a route that they object to is not shown."""
    model, judged = advice.judged.model, advice.judged
    for number, (choice, steps) in enumerate(zip(advice.choices, judged.routes, strict=True)):
        if not in_order(model, steps):
            continue
        told, expected = [of_step(advice.knowledge, judged, step) for step in steps], [judged.expected[step] for step in steps]
        shown = [_step(advice, place, step, reasons, amount) for place, step, amount in zip(choice.found.places, steps, told, strict=True)]
        yield Route(
            name=name_of(choice, advice.knowledge),
            chosen_because=chosen_because(advice.knowledge, advice.choices, number, judged, _kept_wish(advice, choice.found) if number == 0 else ""),
            minutes=range_of(total_minutes(expected)),
            minutes_for=face(advice.knowledge, advice.case, judged, steps),
            minutes_known=range_of(known_minutes(expected)),
            minutes_unknown=untimed(advice.knowledge, judged, steps),
            minutes_from_log=from_log(advice.knowledge, expected, advice.first_otherwise if number == 0 else None),
            steps=shown,
            ask_back=for_this_piece(advice.knowledge, advice.case, judged, steps),
        )


def _kept_wish(advice: Advice, found: Found) -> str:
    """What is wished for, in words, if a route keeps to it."""
    kept = any(place.option and advice.meets_wish(place.option) for place in found.places)
    return " and ".join(advice.knowledge.vocabulary.names[thing].label for thing in advice.wished) if kept else ""


def _step(advice: Advice, place: Place, step: str, reasons: Reasons, amount: Amounts) -> RouteStep:
    vocabulary, model = advice.knowledge.vocabulary, advice.judged.model
    assert place.option is not None
    mineral, hold, carrier, stage = option_parts(place.option)
    names = vocabulary.names
    planned_machine = next((value for value in model.objects("runsOn", step) if isinstance(value, str)), None)
    size = model.quantity("grainSize", step)
    texts, how = names[stage].texts, names[carrier].texts
    return RouteStep(
        purpose=texts.get("purpose", names[stage].note),
        mineral=names[mineral].notation,
        grade=designation(vocabulary, place.grade) if place.grade else None,
        grain_um=range_of(size),
        hold=names[hold].notation,
        carrier=names[carrier].notation,
        machine=names[planned_machine].notation if planned_machine else None,
        wet=model.holds("runsWet", step),
        surface_speed_m_s=amount.speed,
        removal_um=amount.removal,
        minutes=amount.minutes,
        minutes_unknown=amount.minutes_unknown,
        minutes_a_millimetre=amount.a_millimetre,
        leaves=Leaves(
            state=names[place.surface].notation,
            effective_um=None if vocabulary.holds(stage, "isABlast") else range_of(place.grain),
            damage_um=amount.damage,
        ),
        if_stopped=amount.if_stopped,
        how=how.get("how", names[carrier].note),
        done_when=texts.get("done-when", ""),
        before_next=texts.get("before-next"),
        because=spoken_for_by(advice, step),
        mix=_mix(names[mineral], names[hold]),
        pressure=how.get("pressure"),
        loses=how.get("loses"),
        reason=reasons.of(Statement("isInOrder", step)),
        amounts_reason=reasons.of(amount.root) if advice.whole and amount.root else None,
    )


def _mix(mineral: Name, hold: Name) -> str | None:
    """How loose grain is mixed; grain that is held takes what its hold says, since nothing is mixed with it."""
    return hold.texts.get("mix", mineral.texts.get("mix") if hold.id == "loose" else None)


def spoken_for_by(advice: Advice, step: str) -> list[str]:
    """The reasons of the rules that speak for a judged step, those that prefer it before those that only find it suits."""
    model, rules = advice.judged.model, advice.knowledge.base.by_id
    proposals = ("isProposedAsPreferredBy", "isProposedAsSuitingBy")
    return list(
        dict.fromkeys(rules[rule.removeprefix("rule/")].because for made in proposals for rule in sorted(map(str, model.objects(made, step))))
    )


def caution_notes(knowledge: Knowledge, model: Model, reasons: Reasons, *, certain: bool = False) -> Iterable[CautionNote]:
    """The cautions that the piece or any step calls for; a conditional one only where the plain one does not stand, and none if ``certain``."""
    names = knowledge.vocabulary.names
    plain = sorted(str(value) for value in model.objects("callsForCaution", PIECE))
    for caution in plain:
        yield CautionNote(id=names[caution].notation, text=in_full(names[caution]), reason=reasons.of(Statement("callsForCaution", PIECE, caution)))
    for value in sorted(str(value) for value in model.objects("mayCallForCaution", PIECE)) if not certain else ():
        if value not in plain:
            text = f"If it applies here, which nobody has said: {in_full(names[value])}"
            yield CautionNote(id=names[value].notation, text=text, reason=reasons.of(Statement("mayCallForCaution", PIECE, value)))


def with_cautions(knowledge: Knowledge, case: Case, answer: Answer, book: ReasonBook, *, certain: bool = False) -> Answer:
    """An answer that no route goes with, with the cautions of a case; only the certain ones if ``certain``.

    Args:
        knowledge, case: for the rules that call for them.
        answer: without cautions.
        book: of the answer's reasons; takes those of the cautions.
        certain: whether to leave out those that hang on what nobody said.
    """
    reasons = Reasons(knowledge, knowledge.evaluate(case.facts()), book)
    cautions = list(caution_notes(knowledge, reasons.model, reasons, certain=certain))
    return replace(answer, cautions=cautions, reasons=book.ordered())


def hint_notes(knowledge: Knowledge, model: Model, reasons: Reasons) -> Iterable[CautionNote]:
    """What the rules note about the piece itself."""
    names = knowledge.vocabulary.names
    for value in sorted(map(str, model.objects("isNotedFor", PIECE))):
        yield CautionNote(id=names[value].notation, text=in_full(names[value]), reason=reasons.of(Statement("isNotedFor", PIECE, value)))


def in_full(caution: Name) -> str:
    """What a caution means and what is usually done about it."""
    return " ".join(filter(None, [caution.texts.get("says", caution.note), caution.texts.get("remedy", "")]))


def _told(knowledge: Knowledge, routes: list[Route]) -> str:
    """The first route in one sentence."""
    names = {name.notation: name.label for kind in ("mineral", "carrier", "hold") for name in knowledge.vocabulary.things(kind)}
    steps = [
        f"{names[step.hold]} {names[step.mineral]}{' ' + step.grade if step.grade else ''} on the {names[step.carrier]}" for step in routes[0].steps
    ]
    count = "One step" if len(steps) == 1 else f"{len(steps)} steps"
    return f"{count}: " + ", then ".join(steps) + "."


def _missing(advice: Advice) -> tuple[list[str], str]:
    """The fewest things that the bench lacks for a route, and the route with them; nothing where no limit was named."""
    knowledge, case, names = advice.knowledge, advice.case, advice.knowledge.vocabulary.names
    if not is_restricted(case):
        return [], ""
    free = Advice(knowledge, unrestricted(case))
    things = knowledge.worked_out("smallest addition", lambda: (case, free.search.hangs_on), lambda: smallest_addition(case, free.search))
    widened = Advice(knowledge, with_things(case, things))
    routes = list(_routes(widened, Reasons(knowledge, widened.judged.model, ReasonBook()))) if things else []
    if not routes:
        return [], ""
    used = [place.option for place in widened.found[0].places if place.option and _uses(advice, place.option, things)]
    stage = option_parts(used[0])[3] if used else str(case.finish)
    refused = " You ruled that out; nothing less opens a way." if set(things) <= set(case.unwanted) else ""
    text = f"{_no_way(advice, stage)} What is missing: {' and '.join(names[thing].label for thing in things)}.{refused}"
    return [names[thing].notation for thing in things], f"{text} With that: {_told(knowledge, routes)}"


def _uses(advice: Advice, option: str, things: tuple[str, ...]) -> bool:
    """Whether an option is made of, or runs on, one of some things."""
    mineral, hold, carrier, _ = option_parts(option)
    return not {mineral, hold, carrier, *advice.knowledge.vocabulary.related(carrier, "isDrivenBy")}.isdisjoint(things)


def _no_way(advice: Advice, stage: str) -> str:
    """That nothing is left for a stage."""
    names, finish = advice.knowledge.vocabulary.names, advice.case.finish
    assert finish is not None
    label = names[stage].label
    told = f"I find no way to the finish {names[finish].label}: with what the maker has and the rules allow, nothing is left for the stage {label}."
    # A danger in the piece itself that stops the work is the reason, and is not left to the cautions.
    dangers = [each for each in sorted(map(str, advice.model.objects("callsForCaution", PIECE))) if advice.model.subjects("isStoppedBy", each)]
    return " ".join([told, *(in_full(names[each]) for each in dangers)])


def _no_route(advice: Advice) -> str:
    """Why there is no way, told by the first stage that nothing is offered for."""
    vocabulary, case, search = advice.knowledge.vocabulary, advice.case, advice.search
    assert case.finish is not None
    finish, limit, start = vocabulary.names[case.finish].label, vocabulary.quantity(case.finish, "finestResult"), search.start()
    if start is not None and limit is not None and start.grain.mid < limit.mid:
        return f"The surface is already finer than {finish}: leave it as it is, or say what is wrong with it."
    coarsest = vocabulary.quantity(case.finish, "coarsestResult")
    if (
        start is not None
        and coarsest is not None
        and start.grain.mid <= coarsest.mid
        and start.surface in vocabulary.related(case.finish, "leavesSurface")
    ):
        return f"The surface is {finish} already: leave it as it is, or say what is wrong with it."
    if advice.found:
        return f"I find no way to the finish {finish} in which the rules find every step in order."
    stages = stages_to(vocabulary, case.finish)
    shaping = case.surface is None or vocabulary.holds(case.surface, "isOutOfShape")
    missing = [stage for stage in (stages if shaping or len(stages) == 1 else stages[1:]) if not search.offered(stage)]
    if missing:
        return _no_way(advice, missing[0])
    return f"I find no way to the finish {finish}: the grades at hand do not step down from this surface to it without too large a jump."
