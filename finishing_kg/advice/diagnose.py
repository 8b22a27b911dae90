"""From a symptom to its causes, how to tell them apart, and the route that repairs it."""

from collections.abc import Iterator, Sequence
from functools import cached_property

from finishing_kg.advice.ask import Advice, answer_of, assumptions, understood
from finishing_kg.advice.asking import needed
from finishing_kg.advice.contract import Answer, AskBack, CauseNote, CautionNote
from finishing_kg.advice.reasons import ReasonBook, Reasons
from finishing_kg.advice.why import NOTHING_CHANGES, differences
from finishing_kg.engine import Knowledge, Model
from finishing_kg.proofs import Fact
from finishing_kg.quantities import grain
from finishing_kg.record import record, replace
from finishing_kg.routes import PIECE, SAID, Case
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Name, Vocabulary

_MOST_TOLD = 2
_LAST_TOOL = AskBack(about="last_worked_with", text="What was the piece last worked with when it showed: which wheel, belt or pad, and which grain?")


@record(frozen=True)
class Diagnosis:
    """A complaint put to the rules.

    Attributes:
        knowledge: ontology and rules.
        case: the piece as it was told.
        faults: ids of what is complained of.
        last_worked_with: ids of the minerals, carriers and machines that it came from or after.
        asking: as for ``Advice``.
    """

    knowledge: Knowledge
    case: Case
    faults: tuple[str, ...]
    last_worked_with: tuple[str, ...] = ()
    asking: bool = True

    @cached_property
    def facts(self) -> dict[Statement, Fact]:
        """The case with the complaint."""
        said = [Statement("showsFault", PIECE, fault) for fault in self.faults]
        said += [Statement("wasLastWorkedWith", PIECE, tool) for tool in self.last_worked_with]
        return {**self.case.facts(), **dict.fromkeys(said, Fact(SAID))}

    @cached_property
    def model(self) -> Model:
        """All that follows about the causes."""
        return self.knowledge.evaluate(self.facts)

    def causes(self, reasons: Reasons) -> Iterator[CauseNote]:
        """Likely causes before possible ones, then by how many rules point to them, then by id."""
        model, names = self.model, self.knowledge.vocabulary.names
        likely = {str(value) for value in model.objects("likelySuffersFrom", PIECE)}
        every = likely | {str(value) for value in model.objects("maySufferFrom", PIECE)}
        for cause in sorted(every, key=lambda each: (each not in likely, -self._weight(each), each)):
            statement = Statement("likelySuffersFrom" if cause in likely else "maySufferFrom", PIECE, cause)
            texts = names[cause].texts
            yield CauseNote(
                id=names[cause].notation,
                text=texts["says"],
                tell_by=texts["tell-by"],
                remedy=texts["remedy"],
                standing="likely" if cause in likely else "possible",
                because=[self.knowledge.base.by_id[rule].because for rule in self._rules("pointsToCause", cause)],
                reason=reasons.of(statement),
            )

    def _weight(self, cause: str) -> int:
        return len(self._rules("pointsToCause", cause)) - len(self._rules("pointsAwayFromCause", cause))

    def _rules(self, predicate: str, cause: str) -> list[str]:
        """The rules that conclude this of the piece and the cause, each once."""
        firings = self.model.firings(Statement(predicate, PIECE, cause))
        return sorted({self.model.base.rules[index].id for index, _ in firings})

    def repair(self) -> Case | None:
        """The piece as the fault leaves it, with the finish that was wanted; ``None`` where no work on the glass repairs it."""
        vocabulary, model = self.knowledge.vocabulary, self.model
        left = sorted(str(value) for value in model.objects("isWorkedAgainFrom", PIECE))
        if not left:
            return None
        labels = " and ".join(vocabulary.names[fault].label for fault in self.faults)
        surface = max(left, key=lambda each: (self._coarseness(each), each))
        case, because = self.case, f"{_start(labels)}: the damage lies as deep as this leaves it, so the work starts again from there."
        case = case.supposing("surface", surface, because)
        case = self._regraded(case, because)
        for part, predicate in (("finish", "showsAt"), ("form", "isSeenOn")):
            usual = [each for fault in self.faults for each in vocabulary.related(fault, predicate)]
            if case.part(part) is None and usual:
                case = case.supposing(part, usual[0], f"Nobody said it; {labels} mostly shows there.")
        return case

    def _coarseness(self, surface: str) -> float:
        size = self.knowledge.vocabulary.quantity(surface, "surfaceGrain")
        return float(size.mid) if size else 0.0

    def _regraded(self, case: Case, because: str) -> Case:
        """A grade that was named counts where it is coarser than the damage, for then its own pits are still there."""
        vocabulary = self.knowledge.vocabulary
        grades = [str(value) for value in self.model.objects("reworkGrade", PIECE)]
        own = self.case.surface_grade
        usual = vocabulary.quantity(str(case.surface), "surfaceGrain")
        if own and case.surface and not grades and usual and grain(vocabulary, own).mid > usual.mid:
            case, grades = case.supposing("surface", "surface-ground", because), [own]
        if not grades:
            return replace(case, surface_grade=None)
        coarsest = max([*grades, *([own] if own else [])], key=lambda grade: (grain(vocabulary, grade).mid, grade))
        return case if coarsest == own else case.supposing("surface_grade", coarsest, because)

    @cached_property
    def advice(self) -> Advice | None:
        """The judged repair, if there is one; questions about its steps are put to it."""
        case = self.repair()
        return Advice(self.knowledge, case, asking=self.asking) if case else None

    @cached_property
    def book(self) -> ReasonBook:
        """The reasons of the answer, with their proofs."""
        return self.advice.book if self.advice else ReasonBook()

    @cached_property
    def answer(self) -> Answer:
        """Causes, and the route that repairs the piece."""
        book = self.book
        reasons = Reasons(self.knowledge, self.model, book)
        causes = list(self.causes(reasons))
        cautions = list(self._cautions(reasons))
        repaired = answer_of(self.advice, book) if self.advice else Answer(kind="question")
        taken = understood(self.knowledge, self.case)
        names, language = self.knowledge.vocabulary.names, self.knowledge.language
        taken.faults = [names[fault].notation for fault in self.faults]
        taken.last_worked_with = [names[tool].notation for tool in self.last_worked_with]
        taken.statements += [language.print(statement) for statement in self.facts if statement.predicate in ("showsFault", "wasLastWorkedWith")]
        order = self.knowledge.vocabulary.basis_order
        case = self.advice.case if self.advice else self.case
        way_back = self._way_back(repaired)
        return replace(
            repaired,
            kind="diagnosis",
            text=f"{self._told(causes)} {way_back}".strip(),
            way_back=way_back or None,
            understood=taken,
            assumed=assumptions(self.knowledge, case),
            ask_back=self._asked(repaired.ask_back),
            diagnosis=causes,
            cautions=[*cautions, *(each for each in repaired.cautions if each.id not in {caution.id for caution in cautions})],
            reasons=book.ordered(),
            weakest_basis=book.weakest(causes[0].reason, order) if causes else None,
            reason=causes[0].reason if causes else None,
        )

    def _asked(self, of_the_repair: list[AskBack]) -> list[AskBack]:
        """What the repair waits for, else what it hangs on."""
        open_ones = needed(self.advice) if self.advice else []
        return [*(open_ones or of_the_repair), *([_LAST_TOOL] if not self.last_worked_with and self._hangs_on_the_tool() else [])]

    def _hangs_on_the_tool(self) -> bool:
        """Whether a rule that looks at what the piece was last worked with points to a cause of these faults."""
        causes = {cause for fault in self.faults for cause in self.knowledge.vocabulary.related(fault, "comesFrom")}
        return any(
            conclusion.predicate == "pointsToCause" and conclusion.object in causes
            for rule in self.knowledge.base.rules
            if any(condition.predicate == "wasLastWorkedWith" for condition in rule.conditions)
            for conclusion in rule.conclusions
        )

    def _cautions(self, reasons: Reasons) -> Iterator[CautionNote]:
        """Only what the fault itself calls for; the repair brings its own."""
        names = self.knowledge.vocabulary.names
        if self.model.holds("mustBeSetAside", PIECE):
            for caution in sorted(str(value) for value in self.model.objects("callsForCaution", PIECE)):
                texts = names[caution].texts
                rid = reasons.of(Statement("callsForCaution", PIECE, caution))
                yield CautionNote(id=names[caution].notation, text=f"{texts['says']} {texts['remedy']}", reason=rid)

    def _told(self, causes: list[CauseNote]) -> str:
        """The causes as a short paragraph: the first two in full, the others by name."""
        names = self.knowledge.vocabulary.names
        told = [_start(" and ".join(names[fault].label for fault in self.faults)) + "."]
        for place, cause in enumerate(causes[:_MOST_TOLD]):
            opening = "Or" if place else "Most likely" if cause.standing == "likely" else "Possibly"
            told.append(f"{opening}: {cause.text} Tell it by this: {cause.tell_by} Cure: {cause.remedy}")
        if len(causes) > _MOST_TOLD:
            told.append(f"It can also be: {', '.join(names[cause.id].label for cause in causes[_MOST_TOLD:])}.")
        return " ".join(told)

    def _way_back(self, repaired: Answer) -> str:
        """What to do with the piece itself."""
        names = self.knowledge.vocabulary.names
        if self.advice is None:
            return " ".join(names[fault].texts["remedy"] for fault in self.faults if "remedy" in names[fault].texts)
        if repaired.routes:
            return f"To repair the piece, once the cause is cured: {repaired.text}"
        return f"For the way back I need to know: {repaired.text}" if repaired.kind == "question" else repaired.text


def _start(words: str) -> str:
    return words[0].upper() + words[1:]


def diagnose(knowledge: Knowledge, case: Case, faults: Sequence[Name], last_worked_with: Sequence[Name] = ()) -> Answer:
    """The answer to a complaint.

    Args:
        knowledge: ontology and rules.
        case: what is known of the piece.
        faults: what is complained of, at least one.
        last_worked_with: minerals, carriers and machines that the piece was worked with when it showed.
    """
    return Diagnosis(knowledge, case, tuple(name.id for name in faults), tuple(name.id for name in last_worked_with)).answer


def with_differences(vocabulary: Vocabulary, before: Answer, after: Answer, changed: list[str]) -> Answer:
    """A diagnosis with something supposed, and how it differs from the one before."""
    told = differences(vocabulary, before, after)
    first, then = (answer.diagnosis[0] for answer in (before, after))
    if first.id != then.id:
        told = [f"First of the causes would be: {then.text}", *(line for line in told if line != NOTHING_CHANGES)]
    return replace(after, kind="what_if", changed=changed, differences=told)


def why_cause(last: Answer) -> Answer:
    """Why the first cause of a diagnosis stands first."""
    first = last.diagnosis[0]
    mostly = (
        "It is what this fault mostly comes from."
        if first.standing == "likely"
        else "Nothing that was said points to one cause more than to another."
    )
    text = " ".join([first.text, *(first.because or [mostly])])
    return replace(last, kind="why", about=first.id, reason=first.reason, text=text, routes=[])
