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
    plain = sections.get(_SECTION)
    if plain is not None:
        try:
            return replace(vocabulary_from_plain(plain), sections=sections)
        except (TypeError, ValueError, ArithmeticError, LookupError):
            pass  # in another shape than this program gives it
    from finishing_kg.vocabulary.load import load_vocabulary

    vocabulary = replace(load_vocabulary(places.shipped("ontology")), sections=sections)
    sections.give(_SECTION, vocabulary_as_plain(vocabulary))
    return vocabulary
