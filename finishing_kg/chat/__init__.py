"""Free text into statements, and a conversation that remembers the piece."""

from finishing_kg.chat.dialogue import Dialogue
from finishing_kg.chat.read import read
from finishing_kg.chat.reading import Reading

__all__ = ["Dialogue", "Reading", "read"]
