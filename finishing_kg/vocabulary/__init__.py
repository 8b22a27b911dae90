"""The ontology as plain data: the words of the trade, the phrases between them, and what is held of them."""

from finishing_kg.vocabulary.load import OntologyError, load_vocabulary
from finishing_kg.vocabulary.model import Basis, Claim, Name, Phrase, Vocabulary

__all__ = ["Basis", "Claim", "Name", "OntologyError", "Phrase", "Vocabulary", "load_vocabulary"]
