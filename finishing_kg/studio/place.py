"""Where a studio's folder can be; asked at every start, so it loads next to nothing."""

import os
import sys

VARIABLE = "FINISHING_KG_STUDIO"
"""The environment variable that names a studio's folder."""

SETTINGS = "studio.toml"
"""The file that makes a folder a studio's."""

UNNAMED = "Our studio"
"""What a studio is called as long as nobody has given it a name."""

_NAME = "finishing-kg"


def usual_folder() -> str:
    """Where the system keeps data of programs for one person."""
    if sys.platform == "linux" and "ANDROID_DATA" not in os.environ:
        # As platformdirs has it, whose import would take a quarter of the time to an answer.
        base = os.environ.get("XDG_DATA_HOME", "")
        return os.path.join(base if os.path.isabs(base) else os.path.expanduser("~/.local/share"), _NAME, "studio")
    from platformdirs import user_data_dir

    return os.path.join(user_data_dir(_NAME, appauthor=False), "studio")


def may_be_studio(given: str | None = None) -> bool:
    """Whether a studio was named, or one lies in the current folder or in the usual place."""
    return bool(given or os.environ.get(VARIABLE)) or any(os.path.isfile(os.path.join(folder, SETTINGS)) for folder in (".", usual_folder()))
