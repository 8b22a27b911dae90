"""A piece as it stands on the bench, and what is wanted of it."""

from finishing_kg.measure import Quantity
from finishing_kg.proofs import Fact
from finishing_kg.record import field, record, replace
from finishing_kg.statements import Statement
from finishing_kg.vocabulary import Basis

PIECE, BENCH = "piece", "bench"
SAID = Basis("you said")
SHELF = Basis("studio", None, "what is written down of the shelf")

# The parts of a case that are named things, with the phrase that says each.
PARTS = {
    "glass": "hasGlass",
    "make": "hasMake",
    "form": "hasForm",
    "surface": "hasSurface",
    "surface_grade": "surfaceGrade",
    "finish": "wantsFinish",
    "goal_grade": "goalGrade",
}


@record(frozen=True)
class Case:
    """Everything known about one piece.

    Attributes:
        glass, make, form, surface, surface_grade, finish: ids of known things, or ``None`` where nobody said.
        goal_grade: of a finish that is ground, the grade that it should end at.
        at_hand, unwanted: minerals, carriers, machines and holds that the maker has, or does without.
        limited_in: ``"mineral"`` and ``"carrier"``, where the maker has only what is at hand.
        stock: of things on a shelf that lists grades, each thing with each of its grades.
        marks: by the id of a carrier on a shelf the greatest turning speed that is marked on it.
        measures: of the piece, by the id of the property.
        assumed: for each part or measure that nobody said, why it was taken so.
        words: for each part, how the maker put it.
        remarks: what else was said of the piece: a phrase, and its object where it has one.
    """

    glass: str | None = None
    make: str | None = None
    form: str | None = None
    surface: str | None = None
    surface_grade: str | None = None
    finish: str | None = None
    at_hand: tuple[str, ...] = ()
    unwanted: tuple[str, ...] = ()
    limited_in: frozenset[str] = frozenset()
    stock: tuple[tuple[str, str], ...] = ()
    marks: dict[str, Quantity] = field(default_factory=dict)
    measures: dict[str, Quantity] = field(default_factory=dict)
    assumed: dict[str, str] = field(default_factory=dict)
    words: dict[str, str] = field(default_factory=dict)
    remarks: tuple[tuple[str, str | None], ...] = ()
    goal_grade: str | None = None

    def part(self, name: str) -> str | None:
        """One of the named parts, by the keys of ``PARTS``."""
        found = getattr(self, name)
        assert found is None or isinstance(found, str)
        return found

    def supposing(self, part: str, value: str, because: str) -> "Case":
        """The case with a part that nobody said."""
        return replace(self, assumed={**self.assumed, part: because}, **{part: value})

    def facts(self) -> dict[Statement, Fact]:
        """The case as statements, each with its basis: said or assumed."""
        facts: dict[Statement, Fact] = {}
        for part, predicate in PARTS.items():
            value = self.part(part)
            if value is not None:
                because = self.assumed.get(part)
                facts[Statement(predicate, PIECE, value)] = Fact(
                    Basis("assumed", None, because) if because else Basis("you said", None, self.words.get(part))
                )
        for thing in self.at_hand:
            facts[Statement("isAtHand", thing)] = Fact(SAID)
        for thing in self.unwanted:
            facts[Statement("isUnwanted", thing)] = Fact(SAID)
        for kind in sorted(self.limited_in):
            facts[Statement({"mineral": "isLimitedInMinerals", "carrier": "isLimitedInCarriers"}[kind], BENCH)] = Fact(SAID)
        for thing, grade in self.stock:
            facts[Statement("isStockedIn", thing, grade)] = facts[Statement("isLimitedInGrades", thing)] = Fact(SHELF)
        for carrier, mark in self.marks.items():
            facts[Statement("markedSpeed", carrier, mark)] = Fact(SHELF)
        for predicate, quantity in self.measures.items():
            because = self.assumed.get(predicate)
            facts[Statement(predicate, PIECE, quantity)] = Fact(Basis("assumed", None, because) if because else SAID)
        for predicate, value in self.remarks:
            # Another form is another only beside the one that is worked.
            if predicate != "alsoHasForm" or self.form not in (None, value):
                facts[Statement(predicate, PIECE, value)] = Fact(SAID)
        return facts
