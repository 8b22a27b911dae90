"""Three things that can be asked, built from the ontology around the words that were understood."""

from __future__ import annotations

from collections.abc import Sequence

from finishing_kg.chat.reading import SLOTS, TOOLS, Reading
from finishing_kg.routes import Case
from finishing_kg.vocabulary import Name, Vocabulary

_PIECE = ("glass", "form", "surface", "finish")


def askable(vocabulary: Vocabulary, reading: Reading, case: Case, answered: bool) -> list[str]:
    """Three questions that this program answers, each in words that it reads itself.

    Args:
        vocabulary: the ontology, whose labels and relations they are made of.
        reading: of the turn that was not understood; what it names stands in them.
        case: what is known of the piece.
        answered: there is an answer already, so that it can be asked about.
    """
    named = _named(vocabulary, reading)
    piece = _piece(vocabulary, named, case)
    tool = _tool(vocabulary, named, piece)
    told = _in_words(vocabulary, piece)
    if answered:
        form = next(name for name in vocabulary.things("form") if name.id != piece["form"])
        return [f"why not {_one(tool)}?", f"what if the form were {form.label}?", "how long will it take?"]
    body = {kind: thing for kind, thing in piece.items() if kind != "finish"}
    finish = vocabulary.names[piece["finish"]].label
    return [told, f"can I use {_one(tool)} on {_in_words(vocabulary, body)}, to {finish}?", f"I get {_fault(vocabulary, reading, piece)}"]


def _named(vocabulary: Vocabulary, reading: Reading) -> dict[str, str]:
    """What a turn names for sure, one thing a kind."""
    named = {kind: slot.ids[0] for kind, slot in reading.slots.items() if kind in SLOTS and len(slot.ids) == 1}
    for name in (*reading.planned, *reading.mentioned, *reading.about):
        named.setdefault(name.kind, name.id)
    for restriction in reading.restrictions:
        for thing in restriction.ids:
            named.setdefault(vocabulary.names[thing].kind, thing)
    for doubt in reading.doubts:
        for choice in doubt.choices[:1]:
            if choice in vocabulary.names:
                named.setdefault(vocabulary.names[choice].kind, choice)
    return named


def _piece(vocabulary: Vocabulary, named: dict[str, str], case: Case) -> dict[str, str]:
    """A piece with everything that a route needs: as said, else as the tools named suit, else what most tools suit."""
    known = {kind: thing for kind in _PIECE if (thing := named.get(kind) or case.part(kind))}
    tools = [named[kind] for kind in ("carrier", "mineral") if kind in named]
    for kind, relation in (("form", "reaches"), ("finish", "serves")):
        known.setdefault(kind, _suited(vocabulary, kind, relation, tools))
    if "surface" not in known:
        worked = [name.id for name in vocabulary.things("surface") if vocabulary.holds(name.id, "isOutOfShape")]
        known["surface"] = worked[0]
    return {kind: known[kind] for kind in _PIECE if kind in known}


def _suited(vocabulary: Vocabulary, kind: str, relation: str, tools: Sequence[str]) -> str:
    """The thing of a kind that the tools named suit; of several the one that the most carriers and minerals suit."""

    def place(name: Name) -> tuple[int, int, str]:
        suits = sum(name.id in vocabulary.related(tool, relation) for tool in tools)
        return -suits, -len(vocabulary.subjects(relation, name.id)), name.id

    return min(vocabulary.things(kind), key=place).id


def _tool(vocabulary: Vocabulary, named: dict[str, str], piece: dict[str, str]) -> Name:
    """The tool that was named, else a carrier that serves the finish."""
    for kind in TOOLS:
        if kind in named and kind in ("carrier", "mineral"):
            return vocabulary.names[named[kind]]
    serving = [name for name in vocabulary.things("carrier") if piece["finish"] in vocabulary.related(name.id, "serves")]
    return next(iter(serving or vocabulary.things("carrier")))


def _fault(vocabulary: Vocabulary, reading: Reading, piece: dict[str, str]) -> str:
    """A fault that shows at this finish or on this form, by its label."""
    faults = [*reading.faults, *vocabulary.things("fault")]

    def place(fault: Name) -> tuple[bool, bool]:
        return piece["form"] not in vocabulary.related(fault.id, "isSeenOn"), piece["finish"] not in vocabulary.related(fault.id, "showsAt")

    return (reading.faults[0] if reading.faults else min(faults, key=place)).label


def _one(tool: Name) -> str:
    """A tool with its article; a mineral has none."""
    return tool.label if tool.kind == "mineral" else f"{'an' if tool.label[:1] in 'aeiou' else 'a'} {tool.label}"


def _in_words(vocabulary: Vocabulary, piece: dict[str, str]) -> str:
    """A piece as a maker would write it."""
    words = {kind: vocabulary.names[thing].label for kind, thing in piece.items()}
    said = [" ".join(words[kind] for kind in ("glass", "form") if kind in words)]
    return ", ".join([*said, *([words["surface"]] if "surface" in words else []), *([f"to {words['finish']}"] if "finish" in words else [])])
