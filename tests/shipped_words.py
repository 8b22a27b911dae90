"""The shipped knowledge as the program has it: of all processes of a run only the first reads the files, the others what it compiled."""

from finishing_kg.engine import Knowledge

KNOWLEDGE = Knowledge.shipped()
"""The shipped ontology and rules; ``test_compiled.py`` shows that they are what their files say."""

VOCABULARY = KNOWLEDGE.vocabulary
