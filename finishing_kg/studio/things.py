"""The studio's things: Turtle beside the shipped ontology, which it may widen and never change."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finishing_kg.compiled import Sections, shaped
from finishing_kg.places import shipped
from finishing_kg.record import replace as renewed
from finishing_kg.studio.errors import StudioFault
from finishing_kg.studio.guard import Guard, owed_traits
from finishing_kg.studio.names import TakenWords
from finishing_kg.studio.pack import Inside
from finishing_kg.studio.sources import Source, read_packs, sources
from finishing_kg.studio.turtle import line_of
from finishing_kg.texts import text_of
from finishing_kg.vocabulary import OntologyError, Vocabulary
from finishing_kg.vocabulary.load import FK, joined, parse_turtle, turtle_files, vocabulary_of
from finishing_kg.vocabulary.plain import vocabulary_as_plain, vocabulary_from_plain

if TYPE_CHECKING:
    from rdflib import Graph

KINDS = (
    *("glass", "make", "form", "mineral", "grade", "grading scale", "hold", "carrier", "machine"),
    *("fault", "cause", "finding", "caution", "operation"),
)
"""The kinds of thing that a studio may add. Phrases, kinds, units and stages are the language itself and stay as they are."""

SOURCE = "https://finishing-kg.example/source#"
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_SKOS = "http://www.w3.org/2004/02/skos/core#"
_TYPE, _ALSO, _LABEL = _RDF + "type", _SKOS + "altLabel", _SKOS + "prefLabel"
_SECTION = "studio things"
_ID = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


@dataclass(frozen=True)
class Widened:
    """The shipped vocabulary with the studio's things.

    Attributes:
        vocabulary: both together.
        own: for each thing that the studio adds or names anew the file and the line where it stands.
    """

    vocabulary: Vocabulary
    own: dict[str, tuple[str, int]]


@dataclass(frozen=True)
class _File:
    name: str
    text: str
    graph: Graph

    def fault(self, text: str, local: str = "", within: str = "") -> StudioFault:
        return StudioFault(self.name, line_of(self.text, local, within) if local else 1, local, text)


def read_things(written: Sequence[Source], before: Vocabulary, guard: Guard, faults: list[StudioFault], compiled: Sections | None = None) -> Widened:
    """Read Turtle files; what is wrong is added to ``faults``, and then the shipped vocabulary is given back.

    Args:
        written: the files; each is read once.
        before: the shipped vocabulary.
        guard: of the shipped rules.
        faults: to add to.
        compiled: what is kept of exactly this vocabulary and these rules. What is in order is kept beside it, and not held against them again.
    """
    if not written:
        return Widened(before, {})
    try:
        held = [Inside(str(source), source.read_bytes()) for source in written]
    except OSError:
        return _read_things(written, before, guard, faults)  # which says so
    sections = compiled.upon((file.name, file.data) for file in held) if compiled is not None else Sections()
    try:
        return _from_plain(sections, before)
    except (TypeError, ValueError, ArithmeticError, LookupError):
        known, widened = len(faults), _read_things(held, before, guard, faults)
    if len(faults) > known:
        return widened
    if widened.vocabulary is before:
        sections.give(_SECTION, ())
        return widened
    sections.give(_SECTION, (vocabulary_as_plain(widened.vocabulary), widened.own))
    return replace(widened, vocabulary=renewed(widened.vocabulary, sections=sections))


def _from_plain(sections: Sections, before: Vocabulary) -> Widened:
    """What is kept.

    Raises:
        TypeError, ValueError, ArithmeticError, LookupError: nothing is, or in another shape.
    """
    plain = sections.get(_SECTION)
    if plain == ():
        return Widened(before, {})
    vocabulary, own = shaped(plain, tuple, dict)
    places = {local: shaped(place, str, int) for local, place in own.items()}
    return Widened(renewed(vocabulary_from_plain(vocabulary), sections=sections), places)


def _read_things(written: Sequence[Source], before: Vocabulary, guard: Guard, faults: list[StudioFault]) -> Widened:
    known = len(faults)
    files = [file for source in written if (file := _read(source, faults))]
    if not any(_things_of(file) for file in files) and len(faults) == known and not any(_strange(file) for file in files):
        return Widened(before, {})
    graph = _ontology()
    there = {str(node) for node in graph.subjects()}
    phrases = {FK + phrase for phrase in before.phrases}  # some are used by no shipped thing
    predicates = phrases | {str(node) for node in graph.predicates()}
    kinds = {str(node): str(kind) for node, kind in graph.subject_objects(_uri(FK + "kind"))}
    for file in files:
        faults += _form_faults(file, there, predicates, kinds)
    faults += _said_twice(files)
    if len(faults) > known:
        return Widened(before, {})
    try:
        after = vocabulary_of(joined(graph, *(file.graph for file in files)))
    except OntologyError as error:
        faults.append(_placed(files, str(error)))
        return Widened(before, {})
    own = {local: (file.name, line_of(file.text, local)) for file in files for local in _things_of(file)}
    at: Callable[[str, str], StudioFault] = lambda local, text: StudioFault(*own.get(local, (files[0].name, 1)), local, text)  # noqa: E731
    if changed := list(_changed(before, after, at)):
        updated = any(_changed(before, vocabulary_of(graph), at))
        faults += [StudioFault("", 0, "", "The program was updated while it ran. Leave it and start it anew.")] if updated else changed
    faults += _content_faults(before, after, guard, own, at)
    return Widened(before, {}) if len(faults) > known else Widened(after, own)


def against_shapes(folder: Path) -> list[str]:
    """What the shipped shapes find wrong with a studio's things, a sentence each.

    The shipped things satisfy them and a studio changes none. So of the shipped things and phrases that it names only the kind is taken
    along, and only what the studio says is looked at and told; the whole graph would take many times as long.

    Raises:
        OntologyError: a file that is no Turtle.
        ShapesError: the shapes cannot be checked here.
    """
    from finishing_kg.vocabulary.shapes import check_shapes

    own = parse_turtle(sources(folder, "things", read_packs(folder, [])))
    kinds, rest = _parted()
    graph = rest + own
    for thing in {node for triple in own for node in triple}.intersection(kinds):
        graph.add((thing, _uri(_TYPE), kinds[thing]))
    said = {(str(thing), str(path)) for thing, path in own.subject_predicates()}
    made = {str(thing) for thing in own.subjects() if thing not in kinds}
    return check_shapes(graph, lambda thing, path: thing in made or (thing, path) in said, set(own.subjects()))


@cache
def _parted() -> tuple[dict[Any, Any], Graph]:
    """The shipped things and phrases with their kinds; and what is shipped but says nothing of things: phrases, kinds, units, sources."""
    from rdflib import RDF, Graph

    whole = _ontology()
    classes = {kind for kind, word in whole.subject_objects(_uri(FK + "kind")) if str(word) in (*KINDS, "cue")}
    things = {thing: kind for kind in classes for thing in whole.subjects(_uri(_TYPE), kind)}
    told = {*things, *(value for thing in things for value in whole.objects(thing) if not hasattr(value, "defrag"))}
    told.update(statement for statement, thing in whole.subject_objects(_uri(_RDF + "subject")) if thing in things)
    phrases = dict.fromkeys(whole.subjects(RDF.type, RDF.Property), RDF.Property)
    rest = Graph(bind_namespaces="none")
    for triple in whole:
        if triple[0] not in told and triple[1:] != (RDF.type, RDF.Property):
            rest.add(triple)
    return {**things, **phrases}, rest


@cache
def _ontology() -> Graph:
    """The shipped ontology, read once: what a studio is held against does not change while the program runs. Nobody adds to it."""
    return parse_turtle(turtle_files(shipped("ontology")))


def speaks_of_things(source: Source) -> bool:
    """Whether a file of Turtle says more than where knowledge comes from."""
    file = _read(source, [])
    return file is not None and _strange(file)


def _strange(file: _File) -> bool:
    """Whether a file speaks of anything but sources."""
    return any(not str(subject).startswith(SOURCE) for subject in file.graph.subjects())


def _uri(iri: str) -> Any:
    from rdflib import URIRef

    return URIRef(iri)


def _read(source: Source, faults: list[StudioFault]) -> _File | None:
    name = str(source)
    try:
        graph = parse_turtle([source])
        return _File(name, text_of(source), graph)
    except OntologyError as error:
        found = re.match(r"(?:, line (\d+))?: ?(.*)", str(error).removeprefix(name), re.DOTALL)
        line, text = (int(found[1] or 0), found[2]) if found else (0, str(error))
        faults.append(StudioFault(name, line, "", text))
        return None


def _things_of(file: _File) -> list[str]:
    return sorted({str(node).removeprefix(FK) for node in file.graph.subjects() if str(node).startswith(FK)})


def _form_faults(file: _File, there: set[str], predicates: set[str], kinds: dict[str, str]) -> Iterator[StudioFault]:
    """What a file says that no studio may say: of whom, of which kind, with which properties."""
    allowed = {iri for iri, kind in kinds.items() if kind in KINDS}
    listed = ", ".join(kind for kind in KINDS)
    for subject in sorted(set(file.graph.subjects()), key=str):
        iri = str(subject)
        local = iri.removeprefix(FK)
        said = {str(predicate) for predicate in file.graph.predicates(subject)}
        types = {str(node) for node in file.graph.objects(subject, _uri(_TYPE))}
        shown = local if iri.startswith(FK) else iri.removeprefix(SOURCE)
        blank = not hasattr(subject, "defrag")
        for predicate in sorted(said - predicates):
            near = get_close_matches(predicate, predicates, 1, 0.8)
            hint = f" Write {_short(near[0])}." if near else " A studio adds things and uses the properties that there are."
            yield file.fault(f"I know no property {_short(predicate)}.{hint}", shown, _short(predicate))
        if blank:
            about = next((str(node) for node in file.graph.objects(subject, _uri(_RDF + "subject"))), "")
            if about in there:
                yield file.fault(f"What {_short(about)} rests on is shipped and stays as it is. Take this statement out.", about.removeprefix(FK))
            if types - {_RDF + "Statement"}:
                yield file.fault("A thing needs an identifier of its own, such as fk:our-wheel.")
        elif iri in there:
            if said - {_ALSO}:
                what = _short(min(said - {_ALSO}))
                hint = "A studio may give it further names (skos:altLabel) and nothing else; make a thing of your own, or write a rule."
                yield file.fault(f"{_short(iri)} is shipped, and {what} would change it. {hint}", shown, what)
        elif iri.startswith(SOURCE) and types == {FK + "Source"}:
            continue
        elif not iri.startswith(FK) or not _ID.fullmatch(local):
            how = "Write fk: with small letters, digits and single hyphens, such as fk:our-wheel."
            yield file.fault(f"{_short(iri)} is no identifier of a thing. {how}", re.split("[#/]", iri)[-1])
        elif len(types) != 1 or not types <= allowed:
            named = ", ".join(_short(kind) for kind in sorted(types)) or "nothing"
            how = f"A studio's thing is of one kind among: {listed} (such as: fk:our-wheel a fk:Carrier)."
            yield file.fault(f"It is said to be {named}. {how}", shown)
        elif _SKOS + "notation" in said:
            yield file.fault("A studio's thing is printed by its own identifier. Take skos:notation out.", shown, "skos:notation")


def _said_twice(files: list[_File]) -> Iterator[StudioFault]:
    """Things that two files describe: their statements would run together."""
    first: dict[str, str] = {}
    for file in files:
        for local in _things_of(file):
            if (_uri(FK + local), _uri(_TYPE), None) in file.graph:
                if local in first:
                    yield file.fault(f"{local} is described in {first[local]} too. Keep one of the two.", local)
                first.setdefault(local, file.name)


def _placed(files: list[_File], text: str) -> StudioFault:
    """A fault of the whole, put where the thing stands that it begins with."""
    local = re.split(r"[\s,:]", text, maxsplit=1)[0]
    file = next((file for file in files if local in _things_of(file)), files[0])
    return file.fault(text, local)


def _changed(before: Vocabulary, after: Vocabulary, at: Callable[[str, str], StudioFault]) -> Iterator[StudioFault]:
    """Shipped knowledge that is not what it was: whatever the form of the statement that did it."""
    for local, name in before.names.items():
        now = after.names.get(local)
        if now is None or replace(now, alternatives=()) != replace(name, alternatives=()) or now.texts != name.texts:
            yield at(local, f"{name.label} is shipped, and would no longer be what it was. Make a thing of your own.")
    if [claim for claim in after.claims if claim.subject in before.names] != list(before.claims):
        yield at("", "What is shipped of things would change. A studio says things of its own things only.")
    same = (after.phrases, after.parents, after.basis_order) == (before.phrases, before.parents, before.basis_order)
    if not same or after.units.by_symbol != before.units.by_symbol:
        yield at("", "The phrases, kinds, units and bases are shipped and stay as they are.")


def _content_faults(
    before: Vocabulary, after: Vocabulary, guard: Guard, own: dict[str, tuple[str, int]], at: Callable[[str, str], StudioFault]
) -> Iterator[StudioFault]:
    """Names that are taken, sentences that are closed, and hazards of which nothing is said."""
    taken = TakenWords(before, guard)
    given: dict[tuple[str, str], str] = {}
    for local in sorted(own.keys() & after.names.keys()):
        name = after.names[local]
        old = before.names.get(local)
        new = [words for words in (name.label, *name.alternatives) if old is None or words not in (old.label, *old.alternatives)]
        for words in new:
            for text in taken.faults(local, words, after):
                yield at(local, text)
            if given.setdefault((name.kind, words.casefold()), local) != local:
                yield at(local, f"{words!r} is a name of {given[name.kind, words.casefold()]} too. A word names one thing of a kind.")
        for hazard, denial in owed_traits(after, guard, name.kind) if old is None else ():
            if not after.holds(local, hazard) and not after.holds(local, denial):
                said, denied = after.phrases[hazard].words, after.phrases[denial].words
                yield at(local, f"Nothing says whether it {said}. Write fk:{hazard} true or fk:{denial} true ({said!r} or {denied!r}).")
            if after.holds(local, hazard) and after.holds(local, denial):
                yield at(local, f"It cannot be that it {after.phrases[hazard].words} and {after.phrases[denial].words}. Take one out.")
    for claim in after.claims:
        if claim.subject in own and claim.subject not in before.names and claim.predicate in guard.closed:
            yield at(claim.subject, f"{after.phrases[claim.predicate].words!r} is not a studio's to say: {guard.closed[claim.predicate]}.")


def _short(iri: str) -> str:
    for prefix, long in (("fk:", FK), ("src:", SOURCE), ("skos:", _SKOS), ("rdf:", _RDF), ("dcterms:", "http://purl.org/dc/terms/")):
        if iri.startswith(long):
            return prefix + iri.removeprefix(long)
    return f"<{iri}>"
