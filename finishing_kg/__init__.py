"""Advice for cold-working glass: statements, rules, proofs and routes from a knowledge graph.

The interface on top of this library is ``finishing_kg_tui``; nothing here imports it, except that
``finishing_kg.cli`` opens it on request.
"""

__version__ = "0.1.0"
