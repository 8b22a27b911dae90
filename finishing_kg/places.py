"""Where the shipped data lies: the one way in which every part finds ``ontology/`` and ``rules/``."""

from pathlib import Path


class DataMissing(Exception):
    """A folder of shipped data was found in neither of the two places it can be."""


def shipped(folder: str) -> Path:
    """Find a folder of shipped data.

    In a checkout the folder lies beside the package, and only ``pyproject.toml`` tells a checkout from
    a site-packages folder; a checkout wins, because an editable install leaves a stale copy inside the package.

    Args:
        folder: ``"ontology"`` or ``"rules"``.

    Raises:
        DataMissing: neither place has it; the message names both.
    """
    package = Path(__file__).resolve().parent
    checkout = package.parent
    beside, inside = checkout / folder, package / "data" / folder
    if (checkout / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    if inside.is_dir():
        return inside
    raise DataMissing(f"The shipped folder {folder!r} is neither at {inside} nor at {beside}. Install the program again.")
