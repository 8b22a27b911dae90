"""The answers of ``finishing-kg speed``: diameter, turning speed and surface speed, each from the other two."""

import difflib
from decimal import ROUND_HALF_EVEN, Context
from typing import Literal

from finishing_kg.advice.contract import Range, SpeedAnswer
from finishing_kg.cli.errors import Unusable
from finishing_kg.measure import Quantity, QuantityError, Units, read_quantity
from finishing_kg.quantities import surface_speed, turning_speed
from finishing_kg.vocabulary import Name, Vocabulary

_LONGEST = 60
_SHOWN = Context(prec=4, rounding=ROUND_HALF_EVEN)
_EXAMPLE = 'finishing-kg speed --diameter "12 in" --turning "400 rpm"'


def answer_for(vocabulary: Vocabulary, diameter: str | None, turning: str | None, surface: str | None, carrier: str | None) -> SpeedAnswer:
    """The third of the three from two of them, and how it lies to the working speed of a carrier.

    Args:
        vocabulary: for units and carriers.
        diameter, turning, surface: quantities as written; the diameter and one other, or the diameter and a carrier.
        carrier: what is driven, by its name.

    Raises:
        Unusable: too few or too many are given, one cannot be read, or the carrier is not known.
    """
    units = vocabulary.units
    if diameter is None:
        raise Unusable(f"Give the diameter of the wheel. Write for example: {_EXAMPLE}")
    if turning is not None and surface is not None:
        raise Unusable("Give the turning speed or the surface speed, not both: one follows from the other.")
    width = _quantity(units, "--diameter", diameter, "mm")
    if not width.lowest:
        raise Unusable(f"--diameter {diameter[:_LONGEST]!r}: a wheel has a diameter above nought. Write '300 mm'.")
    driven = _carrier(vocabulary, carrier) if carrier is not None else None
    limits = _limits(vocabulary, driven) if driven else None
    if turning is not None:
        turns = _quantity(units, "--turning", turning, "rpm")
        speed = surface_speed(width, turns, units)
    elif surface is not None:
        speed = units.convert(_quantity(units, "--surface", surface, "m/s"), "m/s")
        turns = turning_speed(width, speed, units)
    elif limits is not None:
        speed, turns = limits, turning_speed(width, limits, units)
    else:
        raise Unusable(f"Give the turning speed, the surface speed or a carrier beside the diameter. Write for example: {_EXAMPLE}")
    asked = turning is not None or surface is not None
    return SpeedAnswer(
        diameter=str(width),
        turning_rpm=_range(turns),
        surface_m_s=_range(speed),
        surface_sfpm=_range(_shown(units.convert(speed, "sfpm"))),
        carrier=driven.notation if driven else None,
        carrier_m_s=_range(limits) if limits else None,
        carrier_rpm=_range(turning_speed(width, limits, units)) if limits else None,
        verdict=_verdict(speed, limits) if limits and asked else None,
    )


def _quantity(units: Units, option: str, text: str, symbol: str) -> Quantity:
    """A quantity of the dimension of ``symbol``; an error repairs it in that unit."""
    try:
        if len(text) > _LONGEST:
            raise QuantityError(text[:_LONGEST], "this is far too long for a quantity.", f"300 {symbol}")
        return units.settle(read_quantity(text), (symbol,))
    except QuantityError as error:
        repair = error.repair.removesuffix("µm") + symbol if error.repair.endswith(" µm") and "µm" not in text else error.repair
        raise Unusable(f"{option} {error.text!r}: {error.why} Write {repair!r}.") from error


def _carrier(vocabulary: Vocabulary, text: str) -> Name:
    """The carrier of a name.

    Raises:
        Unusable: there is none, or it turns at no speed.
    """
    wanted = " ".join(text.casefold().replace("-", " ").split())
    by_words = {
        words.casefold().replace("-", " "): name for name in vocabulary.things("carrier") for words in (*name.alternatives, name.notation, name.label)
    }
    if wanted not in by_words:
        near = difflib.get_close_matches(wanted, by_words, 3, 0.5)
        turning = [name.label for name in vocabulary.things("carrier") if vocabulary.holds(name.id, "spins")]
        known = [by_words[words].label for words in near] or turning
        raise Unusable(f"I know no carrier {text[:_LONGEST]!r}. Write {', or '.join(dict.fromkeys(known))}.")
    return by_words[wanted]


def _limits(vocabulary: Vocabulary, carrier: Name) -> Quantity:
    least, greatest = (vocabulary.quantity(carrier.id, limit) for limit in ("leastSpeed", "greatestSpeed"))
    if least is None or greatest is None or not vocabulary.holds(carrier.id, "isPowered"):
        raise Unusable(f"No machine runs a {carrier.label} at a surface speed, so there is none to hold it against.")
    slow, fast = (vocabulary.units.convert(limit, "m/s").mid for limit in (least, greatest))
    return Quantity.between(slow, fast, "m/s")


def _verdict(speed: Quantity, limits: Quantity) -> Literal["below", "within", "above", "partly"]:
    if speed.highest < limits.lowest:
        return "below"
    if speed.lowest > limits.highest:
        return "above"
    return "within" if limits.lowest <= speed.lowest and speed.highest <= limits.highest else "partly"


def _shown(quantity: Quantity) -> Quantity:
    """To as many digits as the computed speeds have."""
    low, high = (None if value is None else _SHOWN.plus(value) for value in (quantity.low, quantity.high))
    return Quantity(_SHOWN.plus(quantity.mid), quantity.unit, low, high)


def _range(quantity: Quantity) -> Range:
    low, high = quantity.low, quantity.high
    return Range(low=None if low is None else float(low), mid=float(quantity.mid), high=None if high is None else float(high))
