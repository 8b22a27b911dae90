"""The command line."""

from finishing_kg.cli.main import main, run

__all__ = ["main", "run"]
