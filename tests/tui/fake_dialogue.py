"""A dialogue with canned answers about one piece: a blown borosilicate beaker whose rim was cracked off."""

import threading
from functools import cache
from typing import Any

from finishing_kg_tui.dialogue import Shortened

from finishing_kg.advice.contract import (
    Answer,
    AskBack,
    Assumption,
    BasisNote,
    CautionNote,
    Compared,
    ComputedBy,
    Leaves,
    Range,
    Reason,
    ReasonLine,
    Route,
    RouteStep,
    RuledOut,
    SurfaceRead,
    Understood,
)
from finishing_kg.engine import Knowledge

SAID = BasisNote(kind="you said")
HANDBOOK = BasisNote(kind="handbook", source="A handbook of bench work", locator="chapter 4, table 2")
CUSTOM = BasisNote(kind="common practice")


def _step(number: int, mineral: str, hold: str, carrier: str, state: str, **more: Any) -> RouteStep:
    return RouteStep(
        purpose=f"stage {number} of the rim",
        mineral=mineral,
        hold=hold,
        carrier=carrier,
        wet=True,
        grain_um=Range(low=48 / number**2, mid=56 / number**2, high=64 / number**2),
        leaves=Leaves(
            state=state, effective_um=Range(mid=20 / number), damage_um=Range(low=0 if number == 3 else 4, mid=12 / number, high=30 / number)
        ),
        how="Turn the rim slowly and keep the water on it.",
        done_when="no mark of the step before is left under a lens",
        reason=f"r{number}",
        **more,
    )


STEPS = [
    _step(
        1,
        "diamond",
        "metal-bond",
        "flat-lap",
        "ground",
        grade="D64",
        surface_speed_m_s=Range(low=5, mid=8, high=10),
        minutes=Range(low=3, mid=5, high=9),
    ),
    _step(2, "silicon-carbide", "loose", "plate", "ground", grade="F400", removal_um=Range(mid=40), before_next="Rinse rim and plate."),
    _step(3, "cerium-oxide", "loose", "felt-wheel", "polished", surface_speed_m_s=Range(low=4, mid=6, high=8)),
]

REASONS = {
    "r1": Reason(
        statement="diamond metal bond on flat lap suits the form",
        rule="laps-for-rims",
        because="A lap keeps the rim in one plane.",
        basis=CUSTOM,
        from_=["r4"],
    ),
    "r2": Reason(
        statement="loose silicon carbide on plate clears the damage of step 1",
        rule="clear-the-damage",
        because="What the last grain cracked must be gone.",
        basis=HANDBOOK,
        comparison=Compared(
            left="40 µm", operator="at least", right="0.03 mm", left_common="40 µm", right_common="30 µm", margin="10 µm", outcome="holds"
        ),
        computed=ComputedBy(function="damage-depth", inputs=["64 µm"], result="30 µm"),
        absent=["nothing here says that the wall of the piece is thin"],
        overridden=["r5"],
        from_=["r4", "r6"],
    ),
    "r3": Reason(statement="cerium oxide on felt polishes borosilicate", basis=HANDBOOK),
    "r4": Reason(statement="the piece has form rim", basis=SAID),
    "r5": Reason(statement="loose silicon carbide on plate is discouraged", basis=CUSTOM),
    "r6": Reason(statement="the hardness of silicon carbide is 9.5 Mohs", basis=HANDBOOK),
    "r7": Reason(statement="dry grinding raises dust", basis=CUSTOM, from_=["r8"]),
    "r8": Reason(statement="the dust turns round", basis=CUSTOM, from_=["r7"]),
    "r9": Reason(statement="felt belt is ruled out", rule="no-belts-on-thin-rims", basis=CUSTOM, from_=["r4", "r99"]),
}

UNDERSTOOD = Understood(
    glass="borosilicate",
    make="blown",
    form="rim",
    surface=SurfaceRead(state="broken"),
    finish="polish",
    restrictions=["no belt"],
    measures={"wallThickness": "3 mm"},
    unused_words=["please"],
    statements=[
        "the piece has glass borosilicate",
        "the piece has make blown",
        "the piece has form rim",
        "the piece has surface broken",
        "the piece wants finish polish",
        "belt is unwanted",
        "the wall thickness of the piece is 3 mm",
    ],
)

ROUTE = Answer(
    kind="route",
    text="Grind the rim flat with diamond, go over it with loose silicon carbide, and polish with cerium oxide on felt.",
    understood=UNDERSTOOD,
    assumed=[Assumption(statement="the wall of the piece is even", because="Nothing else was said.")],
    cautions=[CautionNote(id="dry-dust", text="Keep it wet; the dust harms the lungs.", reason="r7")],
    routes=[
        Route(
            name="lap, plate, felt",
            chosen_because="Fewest minutes among the routes that the rules allow.",
            minutes=Range(low=15, mid=25, high=45),
            steps=STEPS,
        ),
        Route(name="without the plate", chosen_because="One carrier less.", steps=[STEPS[0], STEPS[2]]),
    ],
    ruled_out=[RuledOut(carrier="felt-belt", reason="r9", stage="polish")],
    reasons=REASONS,
    weakest_basis="common practice",
)

QUESTION = Answer(
    kind="question",
    text="One thing is missing.",
    understood=Understood(finish="polish", statements=["the piece wants finish polish"]),
    ask_back=[AskBack(about="form", text="Which form is it where the work is?", choices=["flat-face", "rim"])],
)


SHORT = [
    ReasonLine(depth=0, text="the plate clears the damage: what the last grain cracked must be gone.", reason="r2"),
    ReasonLine(depth=1, text="the piece has form rim (you said 'rim')", reason="r4"),
    ReasonLine(depth=1, text="the hardness of silicon carbide is 9.5 Mohs", reason="r6"),
]


@cache
def _knowledge() -> Knowledge:
    return Knowledge.shipped()


class FakeDialogue:
    """Answers by the first word: ``why`` and ``break`` are special, everything else gets the route."""

    def __init__(self, gate: threading.Event | None = None) -> None:
        self.heard: list[str] = []
        self.answer: Answer | None = None
        self._gate = gate

    @property
    def knowledge(self) -> Knowledge:
        """The shipped knowledge, loaded once."""
        return _knowledge()

    def shortened(self) -> Shortened:
        """Only the second step has a short form."""
        return lambda rid: SHORT if rid == "r2" else []

    def fork(self) -> "FakeDialogue":
        """What is canned needs no second conversation."""
        return self

    def say(self, text: str) -> Answer:
        """Answer as canned."""
        if self._gate:
            self._gate.wait(10)
        self.heard.append(text)
        first = text.split(maxsplit=1)[0]
        if first == "break":
            raise RuntimeError("the [bold]knowledge[/bold] is\nbroken")
        if first == "polish":
            self.answer = QUESTION
        elif first == "why":
            self.answer = Answer(kind="why", text="Because of the damage.", understood=UNDERSTOOD, reasons=REASONS, reason="r2")
        else:
            self.answer = ROUTE
        return self.answer
