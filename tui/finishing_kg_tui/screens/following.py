"""What becomes of a follow-up: a turn of the dialogue, another root of the reasons, or a screen to choose from."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from finishing_kg_tui.chips import Chip, values_of
from finishing_kg_tui.follow import Kind, Subject
from finishing_kg_tui.plain import words
from finishing_kg_tui.widgets.adviser import Adviser

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge
    from finishing_kg_tui.screens.bench import BenchScreen
    from finishing_kg_tui.screens.pick import Choice
    from finishing_kg_tui.telling import Part

_OUT = "\x00out"  # what choosing *take it out* gives back; no turn can be it
_TOOLS = ("carrier", "mineral", "hold", "machine")


class Following:
    """Answers the follow-ups of one screen."""

    def __init__(self, screen: BenchScreen) -> None:
        self._screen = screen

    @property
    def _knowledge(self) -> Knowledge | None:
        return self._screen.query_one(Adviser).knowledge

    def follow(self, kind: Kind, subject: Subject | None) -> None:
        """Answer one.

        Args:
            kind: What is asked.
            subject: About what; None for the piece as a whole.
        """
        subject = subject or Subject()
        if kind == "why":
            self._why(subject)
        elif kind == "why_not":
            self._why_not(subject)
        elif kind == "what_if":
            self._what_if(subject)
        elif kind == "around":
            self._around(subject)
        elif subject.rid and subject.reasons is not None:
            self._screen.look_into(self._screen.piece.resting_root(subject.reasons, subject.rid))
        else:
            self._say_nothing("Choose a line that is a reason: what rests on it is shown.")

    def why_step(self, number: int) -> None:
        """Why a step is as it is: of the first route the adviser tells it, of another, or of one that is only supposed, its reasons are opened."""
        if self._screen.piece.place == 0 and self._screen.piece.supposed is None:
            self._screen.ask(f"why step {number}")
        else:
            self._screen.look_into(self._screen.piece.step_root(number))

    def _why(self, subject: Subject) -> None:
        from finishing_kg_tui.knots import reason_knot

        if subject.step is not None:
            self.why_step(subject.step)
        elif subject.rid and subject.reasons is not None:
            self._screen.look_into(reason_knot(subject.reasons, subject.rid))
        elif self._screen.piece.route is not None:
            self._screen.ask("why")
        else:
            self._say_nothing("There is no reason for this yet.")

    def _why_not(self, subject: Subject) -> None:
        knowledge = self._knowledge
        if knowledge is None:
            return
        tools = [each for each in self._named(subject, knowledge) if knowledge.vocabulary.names[each].kind in _TOOLS]
        if subject.option:
            self._screen.ask(f"why not {subject.option}")
        elif subject.step is None and len(tools) == 1:
            self._screen.ask(f"why not {knowledge.vocabulary.names[tools[0]].label}")
        else:
            self._pick("Why not …", [self._choice(f"why not {name.label}", name.id) for kind in _TOOLS for name in knowledge.vocabulary.things(kind)])

    def _what_if(self, subject: Subject) -> None:
        if self._knowledge is None:
            return
        if subject.part:
            self._what_if_part(subject.part)
        elif subject.rule:
            self._screen.ask(f"what if rule {subject.rule} were left out")
        else:
            from finishing_kg_tui.screens.pick import Choice

            chips = [chip for chip in self._screen.query_one("Taken").chips if chip.can_change]  # type: ignore[attr-defined]
            self._pick("What if … were different?", [Choice(chip.part, f"{chip.name}: {chip.value}") for chip in chips], self._what_if_part)

    def _what_if_part(self, part: str) -> None:
        knowledge = self._knowledge
        assert knowledge is not None
        chip = next((each for each in self._screen.piece.chips if each.part == part), None)
        name = "surface" if part == "surface_grade" else part
        choices = [
            self._choice(f"what if the {name} is {value.label}", value.thing, now=chip is not None and chip.thing == value.thing)
            for value in values_of(part, knowledge)
        ]
        self._pick(f"What if the {name} were …", choices)

    def _around(self, subject: Subject) -> None:
        knowledge = self._knowledge
        if knowledge is None:
            return
        starts = self._named(subject, knowledge)
        if not starts:
            self._say_nothing("Nothing that the ontology knows is named here.")
            return
        from finishing_kg_tui.screens.around import AroundScreen

        self._screen.app.push_screen(AroundScreen(knowledge, starts))

    def _named(self, subject: Subject, knowledge: Knowledge) -> list[str]:
        """Ids of what a subject is or names, a rule last."""
        from finishing_kg.chat.named import things_named

        things = [subject.thing] if subject.thing else []
        things += [name.id for name in things_named(knowledge.vocabulary, subject.text) if name.id in self._sayable(knowledge)]
        rules = [f"rule/{subject.rule}"] if subject.rule in knowledge.base.by_id else []
        return list(dict.fromkeys([*things, *rules]))

    def _sayable(self, knowledge: Knowledge) -> set[str]:
        return {name.id for name in knowledge.language.names.sayable}

    def ladder(self) -> None:
        """The ladder of the route shown."""
        piece, knowledge = self._screen.piece, self._knowledge
        if piece.routes_from is None or not piece.count or knowledge is None:
            return
        from finishing_kg_tui.screens.ladder import LadderScreen

        self._screen.app.push_screen(LadderScreen(piece.routes_from.routes, piece.place, knowledge.vocabulary))

    def change(self, chip: Chip) -> None:
        """Choose another value for what was understood, or take it out."""
        self._choose_value(chip.part, chip)

    def open(self, part: Part) -> None:
        """A paragraph was entered: what may be answered to it, or its reasons."""
        if part.choices:
            self._choose_value(part.asks, None, part.choices, part.text)
        elif part.turn:
            self._screen.ask(part.turn)
        elif part.rule is not None:
            self._screen.write_rule(part.rule)
        elif part.role == "caution" and not part.subject.rid:
            self._screen.action_all_reasons()
        elif part.subject.rid:
            self._why(part.subject)

    def _choose_value(self, part: str, chip: Chip | None, only: tuple[str, ...] = (), text: str = "") -> None:
        from finishing_kg.routes import PARTS
        from finishing_kg_tui.screens.pick import Choice

        knowledge = self._knowledge
        if knowledge is None:
            return
        if part not in PARTS:
            self._pick(text.partition("\n")[0], [Choice(words(each), words(each)) for each in only])
            return
        names = knowledge.vocabulary.names
        values = [value for value in values_of(part, knowledge) if not only or names[value.thing].notation in only]
        choices = [
            Choice(f"correction: {value.statement}", value.label, value.note, chip is not None and value.thing == chip.thing) for value in values
        ]
        if chip and chip.can_go:
            choices.append(Choice(_OUT, "Take it out", "Nothing is said of it any more."))

        def chosen(turn: str) -> None:
            self._screen.ask(chip.taking_out if chip and turn == _OUT else turn)

        self._pick(text.partition("\n")[0] if only else f"{chip.name if chip else words(part)}: what is it?", choices, chosen)

    def _choice(self, says: str, thing: str, *, now: bool = False) -> Choice:
        from finishing_kg_tui.screens.pick import Choice

        knowledge = self._knowledge
        assert knowledge is not None
        name = knowledge.vocabulary.names[thing]
        return Choice(says, name.label, name.note, now)

    def _pick(self, title: str, choices: list[Choice], then: Callable[[str], None] | None = None) -> None:
        from finishing_kg_tui.screens.pick import PickScreen

        def picked(says: str | None) -> None:
            if says is not None:
                (then or self._screen.ask)(says)

        self._screen.app.push_screen(PickScreen(title, choices), picked)

    def _say_nothing(self, text: str) -> None:
        self._screen.notify(text, markup=False)
