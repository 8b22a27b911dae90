"""Where compiled forms are kept, and whether that place can be trusted."""

import os
import stat
import sys

VARIABLE = "FINISHING_KG_CACHE"
"""The environment variable that names another folder; empty, nothing is kept at all."""

_NAME = "finishing-kg"
_OTHERS_WRITE = stat.S_IWGRP | stat.S_IWOTH


def cache_folder() -> str | None:
    """The folder for compiled forms, whether it is there or not; ``None`` where nothing is to be kept."""
    named = os.environ.get(VARIABLE)
    if named is not None:
        return os.path.abspath(named) if named else None
    if sys.platform == "linux" and "ANDROID_DATA" not in os.environ:
        # As platformdirs has it, whose import would take a quarter of the time to an answer.
        base = os.environ.get("XDG_CACHE_HOME", "")
        base = base if os.path.isabs(base) else os.path.expanduser("~/.cache")
        return os.path.join(base, _NAME) if os.path.isabs(base) else None
    from platformdirs import user_cache_dir

    return user_cache_dir(_NAME, appauthor=False)


def is_own(found: os.stat_result) -> bool:
    """Whether a file or folder belongs to whoever runs the program, and nobody else can write to it.

    Windows has no such marks; there the folder of the user is trusted.
    """
    if not hasattr(os, "geteuid"):
        return True
    return found.st_uid == os.geteuid() and not found.st_mode & _OTHERS_WRITE


def own_folder(folder: str, *, make: bool) -> bool:
    """Whether a folder is there and can be trusted.

    Args:
        folder: its path.
        make: make it, for its owner alone, if it is not there.
    """
    try:
        if make:
            os.makedirs(folder, mode=0o700, exist_ok=True)
        found = os.stat(folder)
    except OSError:
        return False
    return stat.S_ISDIR(found.st_mode) and is_own(found)
