"""A studio's own knowledge on disk: its rules, things, shelf, cases and bench log, put together with the shipped knowledge."""

from finishing_kg.studio.contents import Studio, open, read_studio
from finishing_kg.studio.errors import StudioError, StudioFault
from finishing_kg.studio.folder import find, init

__all__ = ["Studio", "StudioError", "StudioFault", "find", "init", "open", "read_studio"]
