"""A number or a range with its unit, kept exactly as it was written."""

import re
from decimal import Decimal

from finishing_kg.record import record

# A number is plain digits with an optional point: no exponent, no comma, no sign. Twelve digits on either
# side are more than any bench needs, and keep arithmetic exact in the default decimal context.
_NUMBER = r"\d{1,12}(?:\.\d{1,12})?"
_RANGE = re.compile(rf"(?P<low>{_NUMBER})\s+(?i:to)\s+(?P<high>{_NUMBER})\s*(?P<unit>\S.*)?$")
_SPREAD = re.compile(rf"(?P<mid>{_NUMBER})\s*\(\s*(?P<low>{_NUMBER})\s+(?i:to)\s+(?P<high>{_NUMBER})\s*\)\s*(?P<unit>\S.*)?$")
_SINGLE = re.compile(rf"(?P<mid>{_NUMBER})\s*(?P<unit>[^\d\s].*)?$")
_COMMA = re.compile(r"\d+,\d+")
_LONGEST = 200  # characters; to look for a comma behind digits takes time that grows with the square of them


class QuantityError(ValueError):
    """A quantity that cannot be read; ``repair`` is an example that would be accepted."""

    def __init__(self, text: str, why: str, repair: str) -> None:
        super().__init__(f"{text!r}: {why} Write {repair!r}.")
        self.text, self.why, self.repair = text, why, repair


@record(frozen=True, slots=True)
class Quantity:
    """A value with its unit.

    Attributes:
        mid: the value; of a range its stated middle, or the arithmetic mean where none is stated.
        low, high: the ends of the range; both ``None`` for a single value, whose spread is not known.
        unit: the unit's symbol as ``Units`` knows it, e.g. ``"µm"``.
    """

    mid: Decimal
    unit: str
    low: Decimal | None = None
    high: Decimal | None = None

    @classmethod
    def of(cls, value: str | int | Decimal, unit: str) -> "Quantity":
        """A single value; text and integers only, since a float has no exact decimal writing."""
        return cls(Decimal(value), unit)

    @classmethod
    def between(cls, low: str | int | Decimal, high: str | int | Decimal, unit: str, mid: str | int | Decimal | None = None) -> "Quantity":
        """A range; its middle is the arithmetic mean unless stated."""
        lowest, highest = Decimal(low), Decimal(high)
        middle = (lowest + highest) / 2 if mid is None else Decimal(mid)
        if not lowest <= middle <= highest:
            rising = f"{plain(min(lowest, highest))} to {plain(max(lowest, highest))} {unit}"
            raise QuantityError(f"{low} to {high} {unit}", "the ends of a range come in rising order, its middle between them.", rising)
        return cls(middle, unit, lowest, highest)

    @property
    def lowest(self) -> Decimal:
        """The low end, or the value itself."""
        return self.mid if self.low is None else self.low

    @property
    def highest(self) -> Decimal:
        """The high end, or the value itself."""
        return self.mid if self.high is None else self.high

    def __str__(self) -> str:
        if self.low is None or self.high is None:
            return f"{plain(self.mid)} {self.unit}"
        spread = f"{plain(self.low)} to {plain(self.high)}"
        return f"{spread} {self.unit}" if self.mid == (self.low + self.high) / 2 else f"{plain(self.mid)} ({spread}) {self.unit}"


def plain(number: Decimal) -> str:
    """A decimal without exponent or trailing zeros: ``Decimal("1.50")`` gives ``1.5``."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def two_figures(value: float) -> str:
    """A number that is only roughly known, to two figures."""
    return f"{float(f'{value:.2g}'):g}"


def read_quantity(text: str) -> Quantity:
    """Read ``9.3 µm``, ``3 to 19 µm`` or ``9.3 (3 to 19) µm``. The unit is not looked up here.

    Raises:
        QuantityError: no number, no unit, a decimal comma, or a range that runs backwards.
    """
    stripped = text.strip()
    if len(stripped) > _LONGEST:
        raise QuantityError(stripped[:60], "this is too long for a number with a unit.", "60 µm")
    if _COMMA.search(stripped):
        raise QuantityError(
            stripped, "a decimal comma can be taken for a thousands mark.", _COMMA.sub(lambda m: m.group().replace(",", "."), stripped)
        )
    match = _SPREAD.match(stripped) or _RANGE.match(stripped) or _SINGLE.match(stripped)
    if match is None:
        raise QuantityError(stripped[:60], "this is not a number with a unit.", "60 µm")
    found = match.groupdict()
    unit = (found["unit"] or "").strip()
    if not unit:
        raise QuantityError(stripped, "the number has no unit.", f"{stripped} µm")
    if found.get("low") is None:
        return Quantity(Decimal(found["mid"]), unit)
    return Quantity.between(found["low"], found["high"], unit, found.get("mid"))
