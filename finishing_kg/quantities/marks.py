"""What the grain of a step leaves in a glass, by the relations that the ontology holds for its hold."""

from finishing_kg.quantities.computations import DAMAGE_FACTOR, PRODUCT, SIZE_BAND, WIDEST
from finishing_kg.quantities.working import Held, Working

_LAW = ("leastFactor", "leastExponent", "greatestFactor", "greatestExponent", "finestSize", "coarsestSize")
_STIFFNESS = ("youngModulus", "knoopHardness")


def roughness_left(working: Working, grain: Held, hold: str | None) -> Held | None:
    """Height of the roughness that grain leaves, from peak to valley, in µm.

    Args:
        working: takes down each computation.
        grain: size of the grain, or the effective grain of the surface left.
        hold: id of the grain's hold; ``None`` if it is not known, which takes the relations of all holds.

    Returns:
        A range; ``None`` where no relation is known for the hold, as for a jet.
    """
    return _widest(working, [_band(working, law, grain) for law in _laws(working, "givesRoughnessFromGrain", hold)])


def cracks_left(working: Working, grain: Held, hold: str | None, glass: str | None) -> Held | None:
    """Depth of the cracks under a surface that grain has left, in µm.

    Args:
        working: takes down each computation.
        grain: size of the grain, or the effective grain of the surface left.
        hold: id of the grain's hold; ``None`` if it is not known, which takes the relations of all holds.
        glass: id of the glass; ``None`` if it is not known, which takes the shallowest to the deepest of all glasses.

    Returns:
        A range; ``None`` where no relation is known for the hold, as for a jet.
    """
    bands = []
    for law in _laws(working, "givesCracksFromGrain", hold):
        band = _band(working, law, grain)
        factor = _glass_factor(working, glass, next(iter(working.vocabulary.related(law, "wasMeasuredOn")), None))
        bands.append(working.compute(PRODUCT, band, factor) if factor else band)
    return _widest(working, bands)


def cracks_from_roughness(working: Working, roughness: Held, hold: str | None) -> Held | None:
    """Depth of the cracks under a ground surface in µm, from its measured roughness.

    The ratio is taken as the same for all glasses, since roughness and depth of cracks scale alike (Suratwala and others, 2006); it differs
    with the process, and no universal one exists (Blaineau and others, Optics Express, 2013), so the band is wide.

    Args:
        working: takes down each computation.
        roughness: from peak to valley, or the like.
        hold: as for ``cracks_left``.
    """
    return _widest(working, [_band(working, law, roughness) for law in _laws(working, "givesCracksFromRoughness", hold)])


def depth_to_take(working: Working, grain: Held, hold: str | None) -> Held | None:
    """Depth that practice takes off a surface before the next grade is called done, in µm.

    Args:
        working: takes down each computation.
        grain: size of the grain that left the surface.
        hold: as for ``cracks_left``.
    """
    return _widest(working, [_band(working, law, grain) for law in _laws(working, "givesDepthToTake", hold)])


def _laws(working: Working, gives: str, hold: str | None) -> list[str]:
    vocabulary = working.vocabulary
    laws = [law.id for law in vocabulary.things("size relation") if vocabulary.holds(law.id, gives)]
    return laws if hold is None else [law for law in laws if hold in vocabulary.related(law, "countsForHold")]


def _band(working: Working, law: str, size: Held) -> Held:
    constants = [constant for part in _LAW if (constant := working.held(law, part)) is not None]
    return working.compute(SIZE_BAND, size, *constants)


def _widest(working: Working, bands: list[Held]) -> Held | None:
    return working.compute(WIDEST, *bands) if len(bands) > 1 else next(iter(bands), None)


def _glass_factor(working: Working, glass: str | None, reference: str | None) -> Held | None:
    """How the depth in a glass stands to that in the glass measured; ``None`` for the same glass, or where none is named.

    A glass whose stiffness and hardness nobody states may be any: its factor reaches over all glasses that are known.
    """
    if reference is None or glass == reference:
        return None
    measured = _stiffness(working, reference)
    own = _stiffness(working, glass) if glass else None
    if measured is None:
        return None
    if own is not None:
        return working.compute(DAMAGE_FACTOR, *own, *measured)
    known = [found for other in working.vocabulary.things("glass") if (found := _stiffness(working, other.id)) is not None]
    return _widest(working, [working.compute(DAMAGE_FACTOR, *found, *measured) for found in known])


def _stiffness(working: Working, glass: str) -> tuple[Held, Held] | None:
    modulus, hardness = (working.held(glass, part) for part in _STIFFNESS)
    return (modulus, hardness) if modulus and hardness else None
