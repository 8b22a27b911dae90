"""Where the shipped data lies: the one way in which every part finds ``ontology/`` and ``rules/``.

Folders are texts here, since every answer waits for them and ``pathlib`` takes longer to load than they to be found.
"""

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


class DataMissing(Exception):
    """A folder of shipped data was found in neither of the two places it can be."""


def shipped_folder(folder: str) -> str:
    """Find a folder of shipped data.

    In a checkout the folder lies beside the package, and only ``pyproject.toml`` tells a checkout from
    a site-packages folder; a checkout wins, because an editable install leaves a stale copy inside the package.

    Args:
        folder: ``"ontology"`` or ``"rules"``.

    Raises:
        DataMissing: neither place has it; the message names both.
    """
    package = os.path.dirname(os.path.realpath(__file__))
    beside, inside = os.path.join(os.path.dirname(package), folder), os.path.join(package, "data", folder)
    if is_checkout() and os.path.isdir(beside):
        return beside
    if os.path.isdir(inside):
        return inside
    raise DataMissing(f"The shipped folder {folder!r} is neither at {inside} nor at {beside}. Install the program again.")


def is_checkout() -> bool:
    """Whether the program runs from its sources, with the project's file beside it."""
    return os.path.isfile(os.path.join(os.path.dirname(os.path.dirname(os.path.realpath(__file__))), "pyproject.toml"))


def shipped(folder: str) -> "Path":
    """As ``shipped_folder``, for those who go on with paths."""
    from pathlib import Path

    return Path(shipped_folder(folder))
