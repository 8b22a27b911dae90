"""``python -m finishing_kg`` is the command ``finishing-kg``."""

from finishing_kg.cli import run

run()
