"""Whether comparisons can hold together, and numbers for which they do."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from finishing_kg.health.terms import Order
from finishing_kg.measure import Quantity
from finishing_kg.statements import Comparison, Statement, Term, Variable
from finishing_kg.vocabulary import Vocabulary

_TURNED: dict[Comparison, Comparison] = {"above": "below", "below": "above", "at least": "at most", "at most": "at least", "is": "is"}


def ends(vocabulary: Vocabulary, predicate: str, quantity: Quantity) -> tuple[Decimal, Decimal]:
    """The ends of a quantity in the base unit of its dimension, both its middle where the property compares by that."""
    factor = vocabulary.units.by_symbol[quantity.unit].factor
    if vocabulary.phrases[predicate].by_middle:
        return quantity.mid * factor, quantity.mid * factor
    return quantity.lowest * factor, quantity.highest * factor


def holds(vocabulary: Vocabulary, order: Order, left: Quantity, right: Quantity) -> bool:
    """Whether a comparison of two known quantities holds, or cannot be excluded where it is lenient."""
    operator = order.condition.comparison
    (low, high), (other_low, other_high) = ends(vocabulary, order.condition.predicate, left), ends(vocabulary, order.condition.predicate, right)
    if operator in ("below", "at most"):
        low, high, other_low, other_high, operator = other_low, other_high, low, high, _TURNED[operator]
    if order.lenient:
        return high > other_low if operator == "above" else high >= other_low
    return low > other_high if operator == "above" else low >= other_high


def implies(vocabulary: Vocabulary, known: Statement, wanted: Statement) -> bool:
    """Whether one comparison of the same property of the same thing holds whenever another does."""
    if known.comparison == wanted.comparison and known.object == wanted.object:
        return True
    sides = [operator in ("above", "at least") for operator in (known.comparison, wanted.comparison)]
    if sides[0] != sides[1]:
        return False
    if not isinstance(known.object, Quantity) or not isinstance(wanted.object, Quantity):
        return known.object == wanted.object and known.comparison in ("above", "below")
    (low, high), (other_low, other_high) = (ends(vocabulary, known.predicate, quantity) for quantity in (known.object, wanted.object))
    strict = known.comparison in ("above", "below") or wanted.comparison in ("at least", "at most")
    # Both ends count: a range as the limit is met by what lies beyond its far end, and by safety rules beyond its near one.
    gaps = (low - other_low, high - other_high) if sides[0] else (other_low - low, other_high - high)
    return all(gap > 0 or (gap == 0 and strict) for gap in gaps)


@dataclass
class _Room:
    """Between which numbers a variable must lie; an end that is not included is marked."""

    low: Decimal = Decimal(0)
    low_open: bool = False
    high: Decimal | None = None
    high_open: bool = False

    def raise_low(self, low: Decimal, is_open: bool) -> bool:
        """Narrow from below; says whether anything changed."""
        if low > self.low or (low == self.low and is_open and not self.low_open):
            self.low, self.low_open = low, is_open
            return True
        return False

    def cut_high(self, high: Decimal, is_open: bool) -> bool:
        """Narrow from above; says whether anything changed."""
        if self.high is None or high < self.high or (high == self.high and is_open and not self.high_open):
            self.high, self.high_open = high, is_open
            return True
        return False

    def empty(self) -> bool:
        """Whether no number is left."""
        return self.high is not None and (self.low > self.high or (self.low == self.high and (self.low_open or self.high_open)))

    def some(self, unit: Decimal) -> Decimal:
        """A number in the room."""
        if self.high is None:
            return self.low * 2 if self.low else 10 * unit
        return self.low if self.low == self.high else (self.low + self.high) / 2


@dataclass
class _Rooms:
    """The rooms of some variables and the comparisons between them: each a left, a right, and whether they must differ."""

    of: dict[str, _Room] = field(default_factory=dict)
    between: list[tuple[str, str, bool]] = field(default_factory=list)

    def settle(self) -> bool:
        """Narrow each room by the others; false if one ends up empty."""
        for _ in range(len(self.of) + 1):
            changed = False
            for left, right, strict in self.between:  # left is above right
                a, b = self.of[left], self.of[right]
                changed |= a.raise_low(b.low, strict or b.low_open)
                if a.high is not None:
                    changed |= b.cut_high(a.high, strict or a.high_open)
            if any(room.empty() for room in self.of.values()):
                return False
            if not changed:
                return True
        return False  # a circle of "above" never comes to rest


def numbers(vocabulary: Vocabulary, orders: Iterable[Order], units: Mapping[str, str]) -> dict[str, Quantity] | None:
    """Quantities for variables so that all comparisons hold, or ``None`` if none exist.

    Args:
        vocabulary: for units.
        orders: with their sides filled as far as is known.
        units: for each variable that is to be chosen the symbol of its unit; others only need some value.
    """
    rooms = _Rooms({name: _Room() for name in units})
    for order in orders:
        left, right, operator = order.left, order.condition.object, order.condition.comparison
        if isinstance(left, Variable) and isinstance(right, Variable):
            pair = (left.name, right.name) if operator in ("above", "at least") else (right.name, left.name)
            for name in pair:
                rooms.of.setdefault(name, _Room())
            rooms.between.append((*pair, operator in ("above", "below")))
        elif isinstance(left, Variable):
            _bound(vocabulary, rooms.of.setdefault(left.name, _Room()), order, right, operator)
        elif isinstance(right, Variable):
            _bound(vocabulary, rooms.of.setdefault(right.name, _Room()), order, left, _TURNED[operator])
    found: dict[str, Quantity] = {}
    if not rooms.settle():
        return None
    for name, unit in units.items():
        factor = vocabulary.units.by_symbol[unit].factor
        chosen = rooms.of[name].some(factor)
        rooms.of[name] = _Room(chosen, high=chosen)
        found[name] = Quantity((chosen / factor).normalize(), unit)
        if not rooms.settle():
            return None
    return found


def _bound(vocabulary: Vocabulary, room: _Room, order: Order, limit: Term | None, operator: Comparison) -> None:
    if not isinstance(limit, Quantity):
        return
    low, high = ends(vocabulary, order.condition.predicate, limit)
    if operator in ("above", "at least"):
        room.raise_low(low if order.lenient else high, operator == "above")
    else:
        room.cut_high(high if order.lenient else low, operator == "below")
