"""A conversation about one piece: the same object for the command line and the terminal interface."""

from collections.abc import Sequence

from finishing_kg.advice.ask import Advice, answer_of, understood
from finishing_kg.advice.complete import complete
from finishing_kg.advice.contract import Answer, AskBack
from finishing_kg.advice.planned import Intention, with_intention
from finishing_kg.advice.why import what_if, why, why_not
from finishing_kg.chat.merge import merge
from finishing_kg.chat.read import read
from finishing_kg.chat.reading import Doubt, Reading
from finishing_kg.engine import Knowledge
from finishing_kg.routes import Case

_CAN_BE_ASKED = (
    "what to use for a piece (which glass, how it was made, where the work is, what the surface is like, how it should end)",
    "why a step is as it is, or why not something else",
    "what if one thing were different",
)


class Dialogue:
    """Remembers the piece from turn to turn.

    Attributes:
        knowledge: ontology and rules.
        case: what has been said so far, without what was supposed.
        answer: the last answer that was about the piece, or ``None``.
        advice: the judged case behind it, or ``None``.
    """

    def __init__(self, knowledge: Knowledge) -> None:
        self.knowledge = knowledge
        self.case = Case()
        self.answer: Answer | None = None
        self.advice: Advice | None = None

    @classmethod
    def open(cls) -> "Dialogue":
        """A new conversation over the shipped knowledge.

        Raises:
            DataMissing, OntologyError, RuleFileError: the shipped files are missing or spoilt.
        """
        return cls(Knowledge.shipped())

    def say(self, text: str) -> Answer:
        """The answer to one turn, whatever was typed."""
        waiting = tuple(question.about for question in self.answer.ask_back) if self.answer and self.answer.kind == "question" else ()
        reading = read(self.knowledge.vocabulary, text, waiting)
        answer = self._answer(reading)
        answer.understood.unused_words = list(reading.unused)
        return answer

    def _answer(self, reading: Reading) -> Answer:
        if reading.intent == "out_of_scope":
            return self._aside(
                "out_of_scope", "That is outside cold working: acid, hot work and the kiln belong to people licensed or trained for them."
            )
        if reading.intent == "restart":
            self.case, self.answer, self.advice = Case(), None, None
            return self._aside("question", "Begun anew. What is on the bench, and how should it end?")
        if reading.intent in ("why", "why_not", "compare") and self.advice is not None and self.answer is not None:
            return self._about_the_last(reading)
        if reading.intent == "what_if" and self.advice is not None and self.answer is not None:
            return self._supposing(reading)
        if reading.dont_know and self.answer is not None and not reading.slots:
            return self.answer.model_copy(
                update={"text": f"Then I cannot go on safely: {self.answer.text}" if self.answer.kind == "question" else self.answer.text}
            )
        return self._told(reading)

    def _about_the_last(self, reading: Reading) -> Answer:
        assert self.advice is not None and self.answer is not None
        if reading.intent == "why":
            return why(self.advice, self.answer, reading.about, reading.step)
        return why_not(self.advice, self.answer, reading.about)

    def _supposing(self, reading: Reading) -> Answer:
        assert self.answer is not None
        case, doubts = merge(self.knowledge.vocabulary, self.case, reading)
        changed = [
            statement
            for statement in understood(self.knowledge, case).statements
            if statement not in understood(self.knowledge, self.case).statements
        ]
        if not changed:
            return self._aside("not_understood", "I did not find what should be different. Say it such as: what if it were a flat face?")
        advice = Advice(self.knowledge, complete(self.knowledge.vocabulary, case))
        return self._with_doubts(what_if(self.answer, advice, changed), doubts)

    def _told(self, reading: Reading) -> Answer:
        before = self.case
        self.case, doubts = merge(self.knowledge.vocabulary, self.case, reading)
        nothing = self.case == before and not reading.planned and not reading.mentioned and not doubts
        if nothing and self.answer is None:
            return self._aside(
                "not_understood", "I did not find anything about a piece of glass in that. You can ask " + "; ".join(_CAN_BE_ASKED) + "."
            )
        if nothing:
            return self._aside("not_understood", "I found nothing new in that. You can ask " + "; ".join(_CAN_BE_ASKED) + ".")
        self.advice = Advice(self.knowledge, complete(self.knowledge.vocabulary, self.case))
        self.answer = self._with_doubts(with_intention(self.advice, answer_of(self.advice), _intention(reading)), doubts)
        return self.answer

    def _with_doubts(self, answer: Answer, doubts: Sequence[Doubt]) -> Answer:
        """Doubts are put to the maker as questions, before those that the answer asks anyway."""
        names = self.knowledge.vocabulary.names
        asked = [
            AskBack(about=doubt.about, text=doubt.text, choices=[names[each].notation for each in doubt.choices if each in names]) for doubt in doubts
        ]
        if not asked:
            return answer
        already = {question.about for question in asked}
        return answer.model_copy(update={"ask_back": [*asked, *(question for question in answer.ask_back if question.about not in already)]})

    def _aside(self, kind: str, text: str) -> Answer:
        """An answer that leaves the piece as it is."""
        return Answer.model_validate({"kind": kind, "text": text, "understood": understood(self.knowledge, self.case)})


def _intention(reading: Reading) -> Intention:
    """What a turn says of a step that the maker has in mind."""
    return Intention(reading.planned)
