"""The parts of ``tests/benchmarks/engines.py``: each takes figures into one table."""
