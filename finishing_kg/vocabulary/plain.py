"""A vocabulary as plain data and back, for its compiled form."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from finishing_kg.compiled import shaped
from finishing_kg.measure import Quantity, Unit, Units
from finishing_kg.vocabulary.model import Basis, Claim, Name, Phrase, Vocabulary

_PHRASE = Phrase.__match_args__
"""All fields of a phrase, in their order; texts, tuples of texts and truths, every one."""

PlainQuantity = tuple[str, str, str | None, str | None]
"""Middle, unit, low and high end, the numbers as text."""


def quantity_as_plain(quantity: Quantity) -> PlainQuantity:
    """A quantity; its numbers keep every digit."""
    low, high = (None if end is None else str(end) for end in (quantity.low, quantity.high))
    return str(quantity.mid), quantity.unit, low, high


def quantity_from_plain(plain: Any) -> Quantity:
    """The quantity of ``quantity_as_plain``."""
    mid, unit, low, high = plain
    return Quantity(Decimal(mid), unit, None if low is None else Decimal(low), None if high is None else Decimal(high))


def vocabulary_as_plain(vocabulary: Vocabulary) -> tuple[Any, ...]:
    """A vocabulary; each basis is there once, however many claims rest on it."""
    bases: dict[Basis, int] = {}
    claims = []
    for claim in vocabulary.claims:
        value = quantity_as_plain(claim.object) if isinstance(claim.object, Quantity) else claim.object
        claims.append((claim.predicate, claim.subject, value, bases.setdefault(claim.basis, len(bases))))
    return (
        tuple((n.id, n.notation, n.kind, n.label, n.alternatives, n.note, n.texts, n.stocked) for n in vocabulary.names.values()),
        tuple(tuple(getattr(phrase, part) for part in _PHRASE) for phrase in vocabulary.phrases.values()),
        vocabulary.parents,
        tuple((u.symbol, u.spellings, u.dimension, str(u.factor), u.pint, u.qudt, u.own) for u in vocabulary.units.by_symbol.values()),
        tuple((basis.kind, basis.source, basis.locator) for basis in bases),
        tuple(claims),
        vocabulary.basis_order,
    )


def vocabulary_from_plain(plain: Any) -> Vocabulary:
    """The vocabulary of ``vocabulary_as_plain``.

    Raises:
        TypeError, ValueError, ArithmeticError, LookupError: it is in another shape.
    """
    names, phrases, parents, units, bases, claims, basis_order = shaped(plain, tuple, tuple, dict, tuple, tuple, tuple, tuple)
    held = [Basis(*basis) for basis in bases]
    return Vocabulary(
        names={name[0]: Name(*name) for name in names},
        phrases={phrase[0]: Phrase(*phrase) for phrase in phrases},
        parents=parents,
        units=Units(Unit(symbol, spellings, dimension, Decimal(factor), *known) for symbol, spellings, dimension, factor, *known in units),
        claims=tuple(
            [
                Claim(predicate, subject, quantity_from_plain(value) if value.__class__ is tuple else value, held[basis])
                for predicate, subject, value, basis in claims
            ]
        ),
        basis_order=basis_order,
    )
