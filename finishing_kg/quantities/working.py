"""A working: numbers worked out one from another, each by a named computation, so that a proof can list them all."""

from finishing_kg.measure import Quantity
from finishing_kg.quantities.computations import computations
from finishing_kg.record import record
from finishing_kg.vocabulary import Claim, Vocabulary


@record(frozen=True, slots=True)
class Held:
    """A quantity and what the ontology holds it by; ``claim`` is ``None`` for what was given or computed."""

    quantity: Quantity
    claim: Claim | None = None


@record(frozen=True, slots=True)
class Computed:
    """One computation.

    Attributes:
        function: its name in ``computations``.
        inputs: the quantities it was given, in order.
        result: what it gave.
        claims: for each input the statement of the ontology that it comes from; ``None`` where it was given or computed.
    """

    function: str
    inputs: tuple[Quantity, ...]
    result: Quantity
    claims: tuple[Claim | None, ...]


class Middles:
    """What searches have worked out of the middles, by what it hangs on.

    Attributes:
        marks: depths in µm that a grain leaves: which, grain, hold, and the glass where it hangs on that.
        operations: what employs a mineral, a hold and a carrier.
        coefficients: of an operation with a mineral and a grain on a glass, corrected by a studio's pace or not.
    """

    def __init__(self) -> None:
        self.marks: dict[tuple[int, Quantity, str | None, str | None], float | None] = {}
        self.operations: dict[tuple[str, str, str], str | None] = {}
        self.coefficients: dict[tuple[str, str, Quantity, str | None, bool], float | None] = {}


class Results:
    """What all workings with one vocabulary share: the table of computations, and each result once it is known."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.middles = Middles()
        self.table = computations(vocabulary.units)
        self.known: dict[tuple[str, tuple[Quantity, ...]], Quantity] = {}


class Working:
    """Works numbers out through the table of computations and keeps each.

    Args:
        vocabulary: the ontology.
    """

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.done: list[Computed] = []
        self._results = vocabulary.derived(Results)

    def held(self, subject: str, predicate: str) -> Held | None:
        """A quantity of the ontology, or ``None`` if it holds none."""
        for claim in self.vocabulary.claims_about(subject, predicate):
            if isinstance(claim.object, Quantity):
                return Held(claim.object, claim)
        return None

    def compute(self, function: str, *inputs: Held) -> Held:
        """Do one computation.

        Raises:
            QuantityError: inputs that it does not take.
        """
        quantities = tuple(part.quantity for part in inputs)
        known = self._results.known
        result = known.get((function, quantities))
        if result is None:
            result = known[function, quantities] = self._results.table[function](quantities)
        self.done.append(Computed(function, quantities, result, tuple(part.claim for part in inputs)))
        return Held(result)
