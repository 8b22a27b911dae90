"""Where the tests keep compiled forms: a folder that is thrown away, one for all processes of a run and for those that they start."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

if "PYTEST_XDIST_WORKER" in os.environ:
    # The folder was made, and the shipped knowledge compiled into it, by the process that started this worker.
    # Processes that tests start need not compile the program anew each time, and leave nothing in the checkout.
    os.environ["PYTHONPYCACHEPREFIX"] = str(Path(os.environ["FINISHING_KG_CACHE"], "python"))
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
else:
    os.environ["FINISHING_KG_CACHE"] = tempfile.mkdtemp()
    atexit.register(shutil.rmtree, os.environ["FINISHING_KG_CACHE"], ignore_errors=True)
