"""Fuzzing: whatever is put in, it is taken or refused with a reason, soon and without touching anything.

``python tests/fuzz/run.py`` feeds a million inputs to all targets; ``--only``, ``--share`` and ``--guided`` choose. ``tests/fuzz/test_fuzz.py``
is the sample of each check, with what was found before (``tests/data/fuzzed.toml``).
"""
