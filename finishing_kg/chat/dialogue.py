"""A conversation about one piece: the same object for the command line and the terminal interface."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from functools import cache
from typing import TYPE_CHECKING

from finishing_kg.advice.ask import Advice, answer_of, understood, with_cautions
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer, AskBack, Kind
from finishing_kg.advice.deciding import settled
from finishing_kg.advice.planned import Intention, finishes_with, with_intention
from finishing_kg.advice.reasons import ReasonBook
from finishing_kg.advice.why import what_if
from finishing_kg.chat.held import Held, begins_another, held_of, intention_of, kept_of, meant_by, told_of
from finishing_kg.chat.merge import left_over, merge
from finishing_kg.chat.pieces import Remarks, noted, remarks_of
from finishing_kg.chat.read import read
from finishing_kg.chat.reading import Doubt, Reading
from finishing_kg.chat.saying_back import TELL_IN_SHORT, agrees, said_back
from finishing_kg.chat.scope import OUTSIDE, PARTING, REMARKED
from finishing_kg.chat.several import first_told, told_apart
from finishing_kg.chat.tentative import deciding
from finishing_kg.engine import Knowledge
from finishing_kg.record import replace
from finishing_kg.routes import PARTS, Case

if TYPE_CHECKING:
    from finishing_kg.advice.diagnose import Diagnosis
    from finishing_kg.chat.rejection import Rank

# Kinds of answer for which something of the piece was taken.
_OF_THE_PIECE = frozenset({"route", "question", "no_route", "diagnosis"})
_QUESTIONS = ("why", "why_not", "compare", "what_if")


class Dialogue:
    """Remembers the piece from turn to turn.

    Attributes:
        knowledge: ontology and rules.
        whole, asking: how much the answers tell, as for ``Advice``.
        case: what has been said so far, without what was supposed.
        answer: the last answer that was about the piece, or ``None``.
        advice: the judged case behind it, or ``None``.
        diagnosis: the last complaint that was put to the rules, or ``None``.
        turns: what was typed, in order.
        book: the reasons of what was said last, with their proofs.
        rank: puts rules that are proposed after a rejected advice into order; without it the narrowest comes first.
        held: pieces that wait, the next one first.
        heard: a long story that was said back and that nobody agreed to yet, or ``None``.
    """

    def __init__(self, knowledge: Knowledge, *, whole: bool = True, asking: bool = True) -> None:
        self.knowledge, self.whole, self.asking = knowledge, whole, asking
        self.rank: Rank | None = None
        self.case = Case()
        self.answer: Answer | None = None
        self.advice: Advice | None = None
        self.diagnosis: Diagnosis | None = None
        self.turns: list[str] = []
        self.book = self._book_of_answer = ReasonBook()
        self.held: list[Held] = []
        self.heard: str | None = None
        self._number = 1
        self._wished: tuple[str, ...] = ()
        self._remarks = Remarks()
        self._meant = Intention()

    @classmethod
    def open(cls) -> Dialogue:
        """A new conversation over the shipped knowledge.

        Raises:
            DataMissing, OntologyError, RuleFileError: the shipped files are missing or spoilt.
        """
        return cls(Knowledge.shipped())

    def say(self, text: str) -> Answer:
        """The answer to one turn, whatever was typed."""
        self.turns.append(text)
        return self._counted(text) if self.heard is None else self._after_a_story(self.heard, text)

    def _after_a_story(self, heard: str, text: str) -> Answer:
        """The answer to the turn after a story that was said back."""
        agreed = agrees(self.knowledge.vocabulary, text)
        if agreed is False:
            self.heard = None
            return self._aside("question", TELL_IN_SHORT)
        so = copy(self)
        so.heard = None
        answer = so._counted(heard, agreed=True)
        if not agreed:
            answer = so._counted(text)
            if so.heard is not None:  # another story takes its place
                self.heard = None
                return self._counted(text)
            if answer.kind not in _OF_THE_PIECE:
                return self._counted(heard)
        self.__dict__.update(so.__dict__)
        return answer

    def _said_back(self, text: str, reading: Reading) -> Answer | None:
        """What was heard in a story, put to the maker; ``None`` where it tells nothing of a piece."""
        heard = copy(self)
        heard.asking = False  # what would be asked back is not told yet
        told = heard._counted(text, agreed=True)
        if told.kind not in _OF_THE_PIECE:
            return None
        self.heard = text
        return said_back(self.knowledge.vocabulary, told, understood(self.knowledge, self.case), reading.unplaced)

    def _counted(self, text: str, *, agreed: bool = False) -> Answer:
        """The answer to one turn; a story is said back first, unless it was ``agreed`` to."""
        if " rule" in text and (told := self._without_rules(text)) is not None:
            return told
        if ":" in text and (right := self._put_right(text)) is not None:
            return right
        waiting = tuple(question.about for question in self.answer.ask_back) if self.answer and self.answer.kind in ("question", "diagnosis") else ()
        graded = self.answer is not None and any(question.about == "surface_grade" for question in self.answer.ask_back)
        waiting += ("surface_grade",) if self.answer and (graded or self.answer.kind == "diagnosis") else ()
        reading = read(self.knowledge.vocabulary, text, waiting, begins=self._begins)
        if reading.is_story and not agreed and (asked := self._said_back(text, reading)) is not None:
            return asked
        self._remarks = remarks_of(self.knowledge.vocabulary, text)
        answer = self._rejected(reading, text) or self._of_several(text, reading) or self._answer(reading)
        unused = dict.fromkeys((*reading.unused, *left_over(reading, answer, self.case)))
        answer.understood.unused_words = [words for words in unused if not self._remarks.tells(words)]
        answer.other_pieces = [understood(self.knowledge, each.case) for each in self.held]
        return answer

    def _of_several(self, text: str, reading: Reading) -> Answer | None:
        """The answer where a turn tells of several pieces, begins another, or takes up one that waits; ``None`` for any other turn."""
        vocabulary = self.knowledge.vocabulary

        @cache  # the same parts are looked at whether they can be told apart and, if not, which comes first
        def read_part(part: str, waits: tuple[str, ...]) -> Reading:
            return read(vocabulary, part, waits, begins=True)

        parts = told_apart(reading, read_part)
        if len(parts) <= 1 and (first := first_told(reading, read_part)) is not None:
            self._remarks = replace(self._remarks, count=None)  # "two things" counts the pieces, not copies of one
            return self._answer(first)
        if len(parts) > 1:
            waiting = [held_of(vocabulary, number, *part, of=len(parts)) for number, part in enumerate(parts, 1)]
            self.held = waiting[1:]
            return self._on_the_bench(waiting[0])
        meant = meant_by(reading, self.held, self.case)
        if meant is not None:
            self.held = [each for each in self.held if each is not meant]
            self._put_by()
            more = held_of(vocabulary, meant.number, text, reading, before=meant.case)
            asked = more.doubts if reading.slots else meant.doubts
            return self._on_the_bench(more._replace(doubts=asked, intention=more.intention or meant.intention, wished=more.wished or meant.wished))
        if begins_another(reading, self.case):
            self._put_by()
            bench = Case(at_hand=self.case.at_hand, unwanted=self.case.unwanted, limited_in=self.case.limited_in)
            return self._on_the_bench(held_of(vocabulary, 1 + max(each.number for each in self.held), text, reading, before=bench))
        return None

    def _put_by(self) -> None:
        """Keep the piece on the bench for later."""
        self.held = [*self.held, Held(self._number, self.case, wished=self._wished)]

    def _on_the_bench(self, piece: Held) -> Answer:
        """The answer for one piece, with what waits beside it."""
        self.case, self._number, self._wished, self.diagnosis = piece.case, piece.number, piece.wished, None
        self._meant = piece.intention
        answer = self._judged(piece.doubts, piece.intention)
        return replace(answer, pieces_told=told_of(len(self.held) + 1, piece.number, [self._in_words(each) for each in self.held]))

    def _in_words(self, piece: Held) -> str:
        """A waiting piece in short, by the labels of what is known of it."""
        names, case = self.knowledge.vocabulary.names, piece.case
        return ", ".join(names[value].label for part in PARTS if (value := case.part(part)) and part not in case.assumed)

    def _without_rules(self, text: str) -> Answer | None:
        """The answer to *what if a rule were left out*; ``None`` for any other turn, or where there is no answer yet."""
        from finishing_kg.chat.followup import rules_left_out

        ids = rules_left_out(text, self.knowledge.base.by_id)
        if not ids or self.advice is None or self.answer is None or self.answer.kind not in ("route", "no_route"):
            return None
        return self.leaving_out(ids)

    def _put_right(self, text: str) -> Answer | None:
        """The answer to a turn that corrects or takes back one statement; ``None`` for any other turn."""
        from finishing_kg.chat.put_right import CannotPutRight, put_right

        try:
            case = put_right(self.knowledge, self.case, text)
        except CannotPutRight as refused:
            return self._aside("not_understood", str(refused))
        if case is None:
            return None
        self.case = case
        if self.diagnosis is not None and self.answer is not None and self.answer.kind == "diagnosis":
            self.diagnosis = replace(self.diagnosis, case=case)
            self.advice = self.diagnosis.advice
            return self._stands(self.diagnosis.answer, self.diagnosis.book)
        self.advice = self._advised(case)
        return self._stands(answer_of(self.advice), self.advice.book)

    def _stands(self, answer: Answer, book: ReasonBook) -> Answer:
        """Note the answer to the case as it stands now; what is only said about it has a book of its own."""
        self.answer, self.book, self._book_of_answer = answer, book, book
        return answer

    def leaving_out(self, ids: Sequence[str]) -> Answer:
        """The last answer as it would be without some rules; a rule that cannot be left out is refused with its reason."""
        from finishing_kg.advice.without import CannotLeaveOut, what_if_without

        assert self.advice is not None and self.answer is not None
        try:
            answer, after = what_if_without(self.answer, self.advice, ids)
        except CannotLeaveOut as refused:
            return self._aside("error", str(refused))
        self.book = after.book
        return answer

    @property
    def _begins(self) -> bool:
        """Whether there is no answer yet that a question could be about."""
        return self.answer is None or self.answer.kind == "question"

    def _answer(self, reading: Reading) -> Answer:
        if reading.intent == "restart":
            self.case, self.answer, self.advice, self.diagnosis = kept_of(self.case, reading.same), None, None, None
            self._wished, self.held, self._number, self._meant = (), [], 1, Intention()
            if not (reading.slots or reading.outside or reading.same):
                return self._aside("question", "Begun anew. What is on the bench, and how should it end?")
        if reading.outside:
            return self._outside(reading)
        if (told := self._complaint(reading)) is not None:
            return told
        if reading.intent in _QUESTIONS and (answered := self._asked(reading)) is not None:
            return answered
        return self._as_before(reading) or self._told(reading)

    def _rejected(self, reading: Reading, text: str) -> Answer | None:
        """The answer to *we never do that*: the work without what is rejected, and rules that would make it so for good."""
        if self.advice is None or self.answer is None or self.answer.kind != "route" or reading.slots or reading.faults:
            return None
        from finishing_kg.chat.rejection import proposed_rules, rejects, things_rejected, told

        things = things_rejected(self.advice, reading) if rejects(text) else None
        if things is None:
            return None
        proposed = proposed_rules(self.advice, things, text, self.rank)
        if not things:
            return replace(self.answer, text=told(proposed), proposed_rules=proposed)
        self.case = replace(self.case, unwanted=tuple(dict.fromkeys((*self.case.unwanted, *things))))
        self.advice = self._advised(self.case)
        return replace(self._stands(answer_of(self.advice), self.advice.book), proposed_rules=proposed)

    def _outside(self, reading: Reading) -> Answer:
        """That a turn is outside this trade, with the cautions that the rules have for it; the piece stays as it is."""
        why = reading.outside
        answer = self._with_askable("out_of_scope", OUTSIDE[why], reading)
        remarks = ((REMARKED[why], None),) if why in REMARKED else ()
        case, self.book = noted(Case(remarks=remarks), replace(self._remarks, forms=(), count=None)), ReasonBook()
        if why == PARTING:
            case, _ = merge(self.knowledge.vocabulary, case, reading)
            answer, self.book = with_intention(Advice(self.knowledge, case), answer, intention_of(reading))
        return with_cautions(self.knowledge, case, answer, self.book, certain=True)

    def _as_before(self, reading: Reading) -> Answer | None:
        """The last answer again, where a turn only asks for more of it or says that the maker does not know."""
        if self.answer is None or reading.slots or reading.restrictions or not (reading.again or reading.dont_know):
            return None
        return self._without_knowing() if reading.dont_know and self.answer.kind in ("question", "route", "no_route") else self.answer

    def _without_knowing(self) -> Answer:
        """The safest route where the maker does not know what was asked first, or why none is safe; the last answer where nothing was."""
        from finishing_kg.advice.asking import slots_asked
        from finishing_kg.advice.unknown import safest, without_knowing

        slots = slots_asked(self.knowledge.vocabulary)
        asked = next((question for question in self.answer.ask_back if question.about in slots), None) if self.answer else None
        assert self.answer is not None
        if asked is None or self.advice is None:
            return self.answer
        found = safest(self.advice, slots[asked.about])
        if found.case is None:
            told, self.book = without_knowing(self.answer, self._book_of_answer, asked.text, found, None)
            return told
        self.case = found.case
        self.advice = self._advised(self.case)
        return self._stands(*without_knowing(self.answer, self._book_of_answer, asked.text, found, self.advice))

    def _complaint(self, reading: Reading) -> Answer | None:
        """The answer to a complaint, or to a plain *why* about one; ``None`` for any other turn."""
        if reading.faults or self._goes_on(reading):
            return self._diagnosed(reading)
        if reading.intent == "why" and self.answer is not None and self.answer.kind == "diagnosis" and not reading.about and reading.step is None:
            from finishing_kg.advice.diagnose import why_cause

            return why_cause(self.answer)
        if reading.intent == "what_if" and self.answer is not None and self.answer.kind == "diagnosis":
            return self._supposing_of_a_fault(reading)
        return None

    def _goes_on(self, reading: Reading) -> bool:
        """Whether a turn only fills in what a diagnosis asked for, tells more of the piece, or what it was last worked with."""
        if self.answer is None or self.answer.kind != "diagnosis" or reading.intent not in ("tell", "not_understood"):
            return False
        more = {"glass", "make", *(("surface",) if reading.surface_grade else ()), *(question.about for question in self.answer.ask_back)}
        return more.issuperset(reading.slots) and bool(reading.slots or reading.surface_grade or reading.after)

    def _supposing_of_a_fault(self, reading: Reading) -> Answer:
        """What would be the likely causes and the way back if something were different."""
        from finishing_kg.advice.diagnose import with_differences

        assert self.answer is not None and self.diagnosis is not None
        case, doubts = merge(self.knowledge.vocabulary, self.case, reading)
        supposed = replace(self.diagnosis, case=case)
        before, after = self.answer, supposed.answer
        changed = [statement for statement in after.understood.statements if statement not in before.understood.statements]
        return self._with_doubts(with_differences(self.knowledge.vocabulary, before, after, changed), doubts)

    def _diagnosed(self, reading: Reading) -> Answer:
        from finishing_kg.advice.diagnose import Diagnosis

        self.case, doubts = merge(self.knowledge.vocabulary, self.case, reading)
        self.case = noted(self.case, self._remarks)
        before = self.diagnosis if not reading.faults else None
        faults = before.faults if before else tuple(name.id for name in reading.faults)
        tools = [*(before.last_worked_with if before else ()), *(name.id for name in reading.after)]
        self.diagnosis = Diagnosis(self.knowledge, self.case, faults, tuple(dict.fromkeys(tools)), self.asking)
        self.advice = self.diagnosis.advice
        return self._stands(self._with_doubts(self.diagnosis.answer, doubts), self.diagnosis.book)

    def _asked(self, reading: Reading) -> Answer | None:
        """The answer to a question about an answer; ``None`` if there is none yet, and the question does not tell the piece."""
        if self._begins and reading.slots:
            return self._first_asked(reading)
        if self.advice is None or self.answer is None:
            return None
        if self.answer.kind == "question" and reading.intent == "why_not" and reading.planned:
            told = self._told(reading)
            if told.findings:
                return told  # what is wrong with a method in any case does not wait for what was asked
        return self._supposing(reading) if reading.intent == "what_if" else self._about_the_last(reading)

    def _about_the_last(self, reading: Reading) -> Answer:
        from finishing_kg.chat.followup import about_the_last

        assert self.advice is not None and self.answer is not None
        answer, self.book = about_the_last(self.advice, self.answer, reading)
        return answer

    def _first_asked(self, reading: Reading) -> Answer:
        """A question that also tells the piece: the piece is answered first, then what was asked about it."""
        supposed = reading.restrictions if reading.intent == "what_if" else ()
        meant = reading.intent in ("why_not", "what_if", "compare")
        planned, mentioned = (reading.planned, reading.mentioned) if meant else ((), ())
        told = self._told(replace(reading, restrictions=() if supposed else reading.restrictions, planned=planned, mentioned=mentioned))
        if told.kind not in ("route", "no_route"):
            return told
        if supposed:
            return self._supposing(replace(reading, doubts=()))
        if not reading.about or reading.intent == "what_if":
            return told
        about = self._about_the_last(reading)
        if about.verdict == "in the route" and told.findings:
            return told  # it comes into the route later; as the next thing it was judged already
        return self._with_doubts(about, reading.doubts)

    def _supposing(self, reading: Reading) -> Answer:
        assert self.answer is not None
        case, doubts = merge(self.knowledge.vocabulary, self.case, reading)
        case = noted(case, self._remarks)
        changed = [
            statement
            for statement in understood(self.knowledge, case).statements
            if statement not in understood(self.knowledge, self.case).statements
        ]
        if not changed:
            return self._aside("not_understood", "I did not find what should be different. Say it such as: what if it were a flat face?")
        advice = settled(Advice(self.knowledge, complete(self.knowledge.vocabulary, case), self.whole, asking=self.asking))
        self.book = advice.book
        return self._with_doubts(what_if(self.answer, advice, changed), doubts)

    def _told(self, reading: Reading) -> Answer:
        before, meant = self.case, self._still_meant(reading)
        carried = tuple(name for name in meant.things if name not in (*reading.planned, *reading.mentioned))
        self.case, doubts = merge(self.knowledge.vocabulary, self.case, replace(reading, planned=(*reading.planned, *carried)))
        self.case = noted(self.case, self._remarks)
        nothing = self.case == before and not intention_of(reading) and not doubts
        if nothing and self.answer is None:
            return self._with_askable("not_understood", "I did not find anything about a piece of glass in that.", reading)
        if nothing:
            return self._with_askable("not_understood", "I found nothing new in that.", reading)
        self._wished = tuple(dict.fromkeys((*reading.wished, *self._wished)))
        return self._judged(doubts, meant)

    def _still_meant(self, reading: Reading) -> Intention:
        """What the maker has in mind, with what was said of it before the last question: that stands until it was judged on a route."""
        asked = self.answer is not None and self.answer.kind == "question"
        dropped = {each for restriction in reading.restrictions if restriction.kind == "without" for each in restriction.ids}
        self._meant = intention_of(reading).still(self._meant, dropped) if asked else intention_of(reading)
        return self._meant

    def _judged(self, doubts: Sequence[Doubt], intention: Intention) -> Answer:
        """The answer to the case as it stands."""
        # What was said in two ways is asked about, and not supposed in a third.
        torn = self.case.surface is None and any(doubt.about == "surface" for doubt in doubts)
        meant = self._ending_as_meant(doubts, intention)
        self.advice = self._advised(meant, supposing=not torn)
        answer, book = with_intention(self.advice, answer_of(self.advice), intention)
        return self._stands(self._with_doubts(answer, deciding(self.advice, doubts)), book)

    def _advised(self, case: Case, *, supposing: bool = True) -> Advice:
        """The advice on a case; what is not said is supposed where the piece tells it, and where nothing hangs on it."""
        full = complete(self.knowledge.vocabulary, case) if supposing else case
        return settled(Advice(self.knowledge, full, self.whole, self._wished, self.asking))

    def _ending_as_meant(self, doubts: Sequence[Doubt], intention: Intention) -> Case:
        """The case with the one finish that can come of what the maker has in mind, where nobody said a finish."""
        if self.case.finish is not None or any(doubt.about == "finish" for doubt in doubts):
            return self.case
        finishes = finishes_with(self.knowledge.vocabulary, intention)
        if len(finishes) != 1:
            return self.case
        names, finish = self.knowledge.vocabulary.names, finishes[0]
        tools = " and ".join(name.label for name in intention.things if name.kind in ("mineral", "carrier"))
        return self.case.supposing("finish", finish, f"Nobody said it; of what {tools} can do, only {names[finish].label} ends so.")

    def _with_doubts(self, answer: Answer, doubts: Sequence[Doubt]) -> Answer:
        """Doubts are put to the maker as questions, before those that the answer asks anyway."""
        names = self.knowledge.vocabulary.names
        asked = [
            AskBack(about=doubt.about, text=doubt.text, choices=[names[each].notation for each in doubt.choices if each in names]) for doubt in doubts
        ]
        if not asked:
            return answer
        already = {question.about for question in asked}
        return replace(answer, ask_back=[*asked, *(question for question in answer.ask_back if question.about not in already)])

    def _with_askable(self, kind: Kind, text: str, reading: Reading) -> Answer:
        """An answer that only says what can be asked instead."""
        from finishing_kg.chat.askable import askable

        asked = askable(self.knowledge.vocabulary, reading, self.case, not self._begins and self.advice is not None)
        listed = "; ".join(f"“{each}”" for each in asked)
        return replace(self._aside(kind, f"{text} You can ask, such as: {listed}."), can_be_asked=asked)

    def _aside(self, kind: Kind, text: str) -> Answer:
        """An answer that leaves the piece as it is."""
        return Answer(kind=kind, text=text, understood=understood(self.knowledge, self.case))
