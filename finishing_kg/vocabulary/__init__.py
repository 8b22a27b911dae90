"""The ontology as plain data: the words of the trade, the phrases between them, and what is held of them."""

from typing import TYPE_CHECKING

from finishing_kg.lazy import loaded_late
from finishing_kg.vocabulary.errors import OntologyError
from finishing_kg.vocabulary.model import Basis, Claim, Name, Phrase, Vocabulary

if TYPE_CHECKING:
    from finishing_kg.vocabulary.load import load_vocabulary
else:
    __getattr__ = loaded_late(__name__, {"load_vocabulary": "load"})

__all__ = ["Basis", "Claim", "Name", "OntologyError", "Phrase", "Vocabulary", "load_vocabulary"]
