"""The same size on another grading scale, and the scales by the names that makers give them."""

import re
from decimal import Decimal

from finishing_kg.quantities.scales import designation, grades_on, grain
from finishing_kg.vocabulary import Vocabulary

# Letters and short names of the scales, as they stand in front of a grade.
_SHORT = {"f": "fepa-f", "p": "fepa-p", "d": "fepa-d", "ansi": "ansi-coated", "cami": "ansi-coated", "mesh": "us-mesh", "pumice": "pumice-grades"}
_COMPARING = re.compile(r"\b(?:nearest|closest|next)\b(?:\s+to|\s+on|\s+in)?", re.IGNORECASE)


def find_scale(vocabulary: Vocabulary, text: str) -> str | None:
    """The grading scale that a text names: ``P``, ``FEPA P``, ``JIS``, ``mesh``, ``P grades``, or ``None``."""
    words = " ".join(text.casefold().split())
    if words in _SHORT:
        return _SHORT[words]
    for scale in vocabulary.things("grading scale"):
        if words in {scale.id, scale.label.casefold(), *(other.casefold() for other in scale.alternatives)}:
            return scale.id
    return None


def nearest_on(vocabulary: Vocabulary, grade: str, scale: str, most: int = 2) -> list[str]:
    """The grades of a scale nearest in size to a grade, nearest first.

    Sizes compare by their middle, and as ratios: from 10 to 20 µm is as far as from 100 to 200 µm.
    """
    size = grain(vocabulary, grade).mid

    def apart(other: str) -> tuple[Decimal, str]:
        middle = grain(vocabulary, other).mid
        return max(middle / size, size / middle) if middle and size else Decimal(10**9), designation(vocabulary, other)

    return sorted((other for other in grades_on(vocabulary, scale) if other != grade), key=apart)[:most]


def comparing(vocabulary: Vocabulary, text: str) -> tuple[str, str] | None:
    """A question such as ``which P belt is nearest to F400 loose?`` as the grade's words and the scale's id."""
    parts = _COMPARING.split(text.strip(" ?."), maxsplit=1)
    if len(parts) != 2:
        return None
    scale = next((found for word in parts[0].split() if (found := find_scale(vocabulary, word))), None)
    words = [
        word for word in parts[1].split() if word.casefold() not in {"to", "the", "a", "loose", "bonded", "coated", "grit", "grain", "belt", "paper"}
    ]
    return (" ".join(words), scale) if scale and words else None
