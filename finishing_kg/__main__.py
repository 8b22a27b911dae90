"""``python -m finishing_kg`` is the command ``finishing-kg``."""

import sys

from finishing_kg.cli import main

sys.exit(main())
