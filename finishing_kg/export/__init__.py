"""What is known, and what was proved, in open vocabularies. This room needs rdflib; whoever calls it imports it late."""

from finishing_kg.export.formats import to_json_ld, to_turtle
from finishing_kg.export.graph import export_graph
from finishing_kg.export.proofs import export_proofs, read_proofs
from finishing_kg.export.rules import read_rules
from finishing_kg.export.words import ExportUnreadable
from finishing_kg.whole_file import CannotWrite, place_of, write_whole

__all__ = [
    "CannotWrite",
    "ExportUnreadable",
    "export_graph",
    "export_proofs",
    "place_of",
    "read_proofs",
    "read_rules",
    "to_json_ld",
    "to_turtle",
    "write_whole",
]
