"""The rules that come with the program, from their compiled form or from their files."""

import os

from finishing_kg import places
from finishing_kg.compiled import Sections, key_of, load_sections
from finishing_kg.record import replace
from finishing_kg.rules.model import RuleBase
from finishing_kg.rules.plain import base_as_plain, base_from_plain
from finishing_kg.statements import Language

_SECTION = "rules"


def shipped_sections() -> Sections:
    """What is compiled of the shipped files as they are now.

    Raises:
        DataMissing: they are not there.
    """
    folders = ((places.shipped_folder("ontology"), ".ttl"), (places.shipped_folder("rules"), ".toml"))
    try:
        files = [entry.path for folder, ending in folders for entry in os.scandir(folder) if entry.name.endswith(ending)]
        return load_sections(key_of(files))
    except OSError:
        return Sections()  # whoever reads the files themselves says what is wrong with them


def shipped_rules(language: Language, sections: Sections) -> RuleBase:
    """The shipped rules; what is not compiled yet is, and kept among the sections.

    Args:
        language: of the shipped vocabulary.
        sections: as ``shipped_sections`` gives them.

    Raises:
        DataMissing, RuleFileError: the shipped files are missing or spoilt.
    """

    def read() -> RuleBase:
        from finishing_kg.rules.load import load_rules

        return load_rules(sorted(places.shipped("rules").glob("*.toml")), language)

    return replace(sections.made(_SECTION, read, base_as_plain, base_from_plain), sections=sections)
