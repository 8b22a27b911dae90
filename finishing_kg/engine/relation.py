"""All pairs that a phrase is known to hold for, indexed both ways."""

from finishing_kg.measure import Quantity

Value = str | Quantity | None
Pair = tuple[str, Value]


class Relation:
    """Subject and object pairs of one predicate; the object is ``None`` for a trait."""

    __slots__ = ("by_object", "by_subject", "pairs")

    def __init__(self) -> None:
        self.pairs: dict[Pair, None] = {}
        self.by_subject: dict[str, list[Value]] = {}
        self.by_object: dict[Value, list[str]] = {}

    def add(self, subject: str, value: Value) -> bool:
        """Add a pair; says whether it is new."""
        pair = (subject, value)
        if pair in self.pairs:
            return False
        self.pairs[pair] = None
        self.by_subject.setdefault(subject, []).append(value)
        self.by_object.setdefault(value, []).append(subject)
        return True

    def __len__(self) -> int:
        return len(self.pairs)
