"""The ways from the conversation to the rooms beside it: plan check, studio, and the route card. Each is loaded when it is entered."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual import work
from textual.screen import Screen

from finishing_kg_tui.library import why
from finishing_kg_tui.plain import clean
from finishing_kg_tui.widgets.adviser import Adviser

if TYPE_CHECKING:
    from finishing_kg.advice.contract import Answer, ProposedRule
    from finishing_kg.engine import Knowledge
    from finishing_kg_tui.piece import Piece
    from finishing_kg_tui.screens.form import Form


class RoomsBeside(Screen[Any]):
    """What a screen with a piece on it offers beside the conversation."""

    piece: Piece

    def action_plan_check(self) -> None:
        """Open the plan check, with the route shown as the plan."""
        from finishing_kg_tui.planning import sheet_of_route
        from finishing_kg_tui.screens.plan import PlanScreen

        from_answer, route = self.piece.routes_from, self.piece.route
        sheet = sheet_of_route(from_answer, route) if from_answer and route else None
        self.app.push_screen(PlanScreen(self.app.open_knowledge, sheet))  # type: ignore[attr-defined]

    def action_studio(self) -> None:
        """Open the studio."""
        from finishing_kg_tui.screens.studio import StudioScreen

        self.app.push_screen(StudioScreen())

    def write_rule(self, rule: ProposedRule) -> None:
        """Open the form of a rule, filled in as it was proposed."""
        self._open_rule(rule)

    @work(thread=True, exclusive=True, exit_on_error=False, group="rule")
    def _open_rule(self, rule: ProposedRule) -> None:
        try:
            form = form_of(rule)
        except Exception as error:
            said = clean(f"The rule cannot be written here. {why(error)}")
            self.app.call_from_thread(self.notify, said, severity="error", markup=False, timeout=12)
        else:
            self.app.call_from_thread(self._show_rule, form)

    def _show_rule(self, form: Form | None) -> None:
        if form is None:
            self.notify("There is no studio yet to keep a rule in: F10, then A, makes one.", markup=False, timeout=8)
            return
        from finishing_kg_tui.screens.form import FormScreen

        self.app.push_screen(FormScreen(form))

    def action_write_card(self) -> None:
        """Write the route shown on a card, into a file that the maker names."""
        from finishing_kg.record import replace
        from finishing_kg_tui.screens.choose import ChooseScreen

        answer, route = self.piece.routes_from, self.piece.route
        if answer is None or route is None:
            return
        shown = replace(answer, routes=[route, *(other for other in answer.routes if other is not route)])
        hint = "The ending tells the form: .html prints on one sheet, .pdf, or .md. A file that is there stays as it is."
        question = ChooseScreen("Write the route card to", [], written=lambda _: "", now=_free("route-card.html"), hint=hint)

        def take(file: str | None) -> None:
            if file:
                self._write_card(self.query_one(Adviser).knowledge, shown, file)

        self.app.push_screen(question, take)

    @work(thread=True, exclusive=True, exit_on_error=False, group="card")
    def _write_card(self, knowledge: Knowledge | None, answer: Answer, file: str) -> None:
        try:
            steps = write_card(knowledge or self.app.open_knowledge(), answer, file)  # type: ignore[attr-defined]
        except Exception as error:
            self.app.call_from_thread(self.notify, clean(f"No card was written. {why(error)}"), severity="error", markup=False, timeout=12)
        else:
            said = clean(f"Wrote a card of {steps} step{'s' * (steps != 1)} to {file}")
            self.app.call_from_thread(self.notify, said, markup=False, timeout=8)


def _free(file: str) -> str:
    """The name of a file, with a number where there is one of this name already."""
    place = Path(file)
    numbered = (place.with_stem(f"{place.stem}-{number}") for number in range(2, 1000))
    return str(next((each for each in (place, *numbered) if not each.exists()), place))


def form_of(rule: ProposedRule) -> Form | None:
    """The form of a rule of the studio, filled in as a rule was proposed; None where no studio is found.

    Raises:
        StudioError: the studio's files are not in order.
    """
    from finishing_kg.engine import Knowledge
    from finishing_kg.studio import find
    from finishing_kg_tui.keeping import read
    from finishing_kg_tui.studio_forms import rule_form

    folder = find()
    return rule_form(read(folder, Knowledge.shipped()), rule) if folder is not None else None


def write_card(knowledge: Any, answer: Answer, file: str) -> int:
    """Write the card of an answer's first route; a file that is there stays as it is.

    Returns:
        How many steps stand on it.

    Raises:
        CannotMake: a library for the format is not installed.
        CannotWrite: the file is there already, or cannot be written.
    """
    from finishing_kg.card import card_of, format_of, written
    from finishing_kg.files import place_of, write_whole

    place = Path(file).expanduser()
    place_of(place, overwrite=False)
    card = card_of(answer, knowledge.vocabulary)
    write_whole(place, written(card, format_of(file, None)), overwrite=False)
    return len(card.steps)
