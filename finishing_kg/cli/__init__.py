"""The command line."""

from finishing_kg.cli.main import main

__all__ = ["main"]
