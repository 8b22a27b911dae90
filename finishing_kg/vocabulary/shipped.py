"""The vocabulary that comes with the program, from its compiled form or from Turtle."""

from finishing_kg import places
from finishing_kg.compiled import Sections
from finishing_kg.record import replace
from finishing_kg.vocabulary.model import Vocabulary
from finishing_kg.vocabulary.plain import vocabulary_as_plain, vocabulary_from_plain

_SECTION = "vocabulary"


def shipped_vocabulary(sections: Sections) -> Vocabulary:
    """The shipped vocabulary; what is not compiled yet is, and kept among the sections.

    Raises:
        DataMissing, OntologyError: the shipped files are missing or spoilt.
    """

    def read() -> Vocabulary:
        from finishing_kg.vocabulary.load import load_vocabulary

        return load_vocabulary(places.shipped("ontology"))

    return replace(sections.made(_SECTION, read, vocabulary_as_plain, vocabulary_from_plain), sections=sections)
