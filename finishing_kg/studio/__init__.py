"""A studio's own knowledge on disk: its rules, things, shelf, cases and bench log, put together with the shipped knowledge."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late
from finishing_kg.studio.place import SETTINGS, VARIABLE, may_be_studio, usual_folder

if TYPE_CHECKING:
    from finishing_kg.studio.contents import Studio, open, read_studio
    from finishing_kg.studio.errors import StudioError, StudioFault
    from finishing_kg.studio.folder import find, init
else:
    # Whether there is a studio at all is asked at every start; what one holds only where there is one.
    _CONTENTS = dict.fromkeys(("Studio", "open", "read_studio"), "contents")
    _REST = {"StudioError": "errors", "StudioFault": "errors", "find": "folder", "init": "folder"}
    __getattr__ = loaded_late(__name__, {**_CONTENTS, **_REST})

__all__ = [
    "SETTINGS",
    "VARIABLE",
    "Studio",
    "StudioError",
    "StudioFault",
    "find",
    "init",
    "may_be_studio",
    "open",
    "read_studio",
    "usual_folder",
]
