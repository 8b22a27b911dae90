"""What a step has to take off, and what is left of old cracks where it is stopped early."""

from decimal import Decimal

from finishing_kg.measure import Quantity, Units
from finishing_kg.quantities.ranges import across, read_in


def removal_owed(before: Quantity, own: Quantity, units: Units, defect: Quantity | None = None) -> Quantity:
    """The depth that a step has to take off until nothing is left but what it leaves itself.

    Each step must reach the deepest damage of the one before; what it leaves itself is the next one's to clear.

    Args:
        before: depth of the cracks that the step finds.
        own: depth of the cracks that it leaves.
        units: the table of units.
        defect: for a first step the depth of a scratch, step or skin under which those cracks lie.

    Returns:
        Before less own, never below nought, and the defect on top, in µm. The two bands are taken as independent, so that the low
        end may be nought where they overlap: nobody knows the cracks to be deeper then.

    Raises:
        QuantityError: what is no length.
    """
    deep, left = read_in(before, "µm", units), read_in(own, "µm", units)
    if defect is None:
        return across(lambda b, o: max(b - o, Decimal(0)), (deep, left), (True, False), "µm")
    return across(lambda b, o, d: max(b - o, Decimal(0)) + d, (deep, left, read_in(defect, "µm", units)), (True, False, True), "µm")


def cracks_when_stopped(before: Quantity, own: Quantity, done: Quantity, needed: Quantity, units: Units) -> Quantity:
    """How deep cracks still reach where a step is stopped after some of its minutes.

    Glass comes off evenly in time (Preston), so the old cracks lose depth in proportion until they are lost among the step's own.

    Args:
        before: depth of the cracks that the step found.
        own: depth of the cracks that it leaves.
        done: how long it ran, or how much it took off.
        needed: how long it takes to clear the old cracks, or how much it has to take off for that.
        units: the table of units.

    Returns:
        The depth in µm: that before at the start, the step's own once it has run its time.

    Raises:
        QuantityError: what is no length, or no time; done and needed of two kinds.
    """

    def left(b: Decimal, o: Decimal, ran: Decimal, takes: Decimal) -> Decimal:
        share = min(ran / takes, Decimal(1)) if takes else Decimal(1)
        return max(o, b * (1 - share) + o * share)

    depths = (read_in(before, "µm", units), read_in(own, "µm", units))
    known = units.find(done.unit)
    scale = "µm" if known is not None and known.dimension == "length" else "min"
    return across(left, (*depths, read_in(done, scale, units), read_in(needed, scale, units)), (True, True, False, True), "µm")
