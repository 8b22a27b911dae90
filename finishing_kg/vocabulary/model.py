"""What the ontology holds, as plain data: names, phrases, units and claims."""

from collections.abc import Iterator
from functools import cached_property
from typing import Literal

from finishing_kg.compiled import Sections
from finishing_kg.measure import Quantity, Units
from finishing_kg.record import Deriving, field, record

Shape = Literal["relation", "trait", "quantity", "naming"]


@record(frozen=True, slots=True)
class Basis:
    """What a statement rests on.

    Attributes:
        kind: one of ``Vocabulary.basis_order``, e.g. ``"common practice"``.
        source: title of the published source, or ``None``.
        locator: where in it, or what is to be said of it, or ``None``.
    """

    kind: str
    source: str | None = None
    locator: str | None = None


@record(frozen=True, slots=True)
class Name:
    """A known thing.

    Attributes:
        id: unique among all things; the local name of its IRI.
        notation: the identifier that commands print; shared by two things only if their kinds differ.
        kind: e.g. ``"mineral"``.
        label: how it is printed in a sentence.
        alternatives: other words for it, plurals and both spellings included.
        note: one sentence on what it is.
        texts: other sentences by role: ``how``, ``done-when``, ``before-next``, ``remedy``, ``purpose``, ``says``, ``tell-by``,
            ``mix``, ``pressure``, ``loses``.
        stocked: a grade that a studio usually has on the shelf.
    """

    id: str
    notation: str
    kind: str
    label: str
    alternatives: tuple[str, ...] = ()
    note: str = ""
    texts: dict[str, str] = field(default_factory=dict, compare=False)
    stocked: bool = False


@record(frozen=True, slots=True)
class Phrase:
    """A way to say something; the only verbs of the language.

    Attributes:
        id: local name of the property in the ontology.
        words: ``"uses carrier"``; for the shapes ``quantity`` and ``naming`` the property's noun, ``"grain size"``.
        shape: ``relation`` (subject, phrase, object), ``trait`` (subject, phrase),
            ``quantity`` (the PROPERTY of SUBJECT is QUANTITY), ``naming`` (the PROPERTY of SUBJECT is NAME).
        subjects, objects: the kinds that may stand in the slots.
        units: symbols of the units allowed, the first the one that comparisons are made in.
        by_middle: compare by the middle value, as grain sizes do; otherwise all of a range must satisfy.
        changeable: a maker can change it at the bench.
        verdict: this trait is a verdict on an option: rules that conclude it only propose it.
        proposed_through: of a verdict, the id of the phrase that a rule's proposal is made with.
        outweighs: of a verdict, the ids of those that it contradicts and beats wherever both come about.
        given: the kinds of which a question, a plan or a computation can say it; of others only the ontology or a rule can.
        single: it is said once of a thing, so that two values exclude each other.
        excludes: ids of phrases that never hold of the same subject and object as this one; listed on one side only.
    """

    id: str
    words: str
    shape: Shape
    subjects: tuple[str, ...]
    objects: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    by_middle: bool = False
    changeable: bool = False
    verdict: bool = False
    proposed_through: str = ""
    outweighs: tuple[str, ...] = ()
    given: tuple[str, ...] = ()
    single: bool = False
    excludes: tuple[str, ...] = ()


@record(frozen=True, slots=True)
class Claim:
    """One statement that the ontology holds, with its basis. ``object`` is ``None`` for a trait."""

    predicate: str
    subject: str
    object: str | Quantity | None
    basis: Basis


@record(frozen=True)
class Vocabulary(Deriving):
    """Everything that was read from Turtle.

    Attributes:
        names: all things by id.
        phrases: all phrases by id.
        parents: each kind's wider kind, where it has one (``step`` is an ``option``).
        units: the table of units.
        claims: what is held of the things.
        basis_order: kinds of basis, strongest first.
        sections: what other rooms compiled for exactly this vocabulary.
    """

    names: dict[str, Name]
    phrases: dict[str, Phrase]
    parents: dict[str, str]
    units: Units
    claims: tuple[Claim, ...]
    basis_order: tuple[str, ...]
    sections: Sections = field(default_factory=Sections, compare=False, repr=False)

    def things(self, kind: str) -> list[Name]:
        """All things of a kind, narrower kinds included, in the order of their ids."""
        return list(self._of_kind.get(kind, ()))

    @cached_property
    def kinds(self) -> frozenset[str]:
        """Every kind of thing, those included of which only a question brings one."""
        said = {kind for phrase in self.phrases.values() for kind in (*phrase.subjects, *phrase.objects)}
        return frozenset({name.kind for name in self.names.values()} | said)

    @cached_property
    def _of_kind(self) -> dict[str, list[Name]]:
        found: dict[str, list[Name]] = {}
        for name in self.names.values():
            kind: str | None = name.kind
            while kind:
                found.setdefault(kind, []).append(name)
                kind = self.parents.get(kind)
        return found

    def is_a(self, kind: str, wider: str) -> bool:
        """Whether a kind is another or narrower than it."""
        while kind != wider:
            if kind not in self.parents:
                return False
            kind = self.parents[kind]
        return True

    def fits(self, kind: str, allowed: tuple[str, ...]) -> bool:
        """Whether a thing of this kind may stand in a slot that allows these kinds."""
        return any(self.is_a(kind, wider) for wider in allowed)

    def identify(self, notation: str, kind: str) -> Name | None:
        """The thing of a kind that commands print as ``notation``."""
        return self._by_notation.get((kind, notation))

    @cached_property
    def _by_notation(self) -> dict[tuple[str, str], Name]:
        found = {}
        for name in self.names.values():
            kind: str | None = name.kind
            while kind:
                found[kind, name.notation] = name
                kind = self.parents.get(kind)
        return found

    @cached_property
    def _about(self) -> dict[tuple[str, str], list[Claim]]:
        about: dict[tuple[str, str], list[Claim]] = {}
        for claim in self.claims:
            about.setdefault((claim.predicate, claim.subject), []).append(claim)
        return about

    @cached_property
    def _reached(self) -> dict[tuple[str, str], list[str]]:
        reached: dict[tuple[str, str], list[str]] = {}
        for claim in self.claims:
            if isinstance(claim.object, str):
                reached.setdefault((claim.predicate, claim.object), []).append(claim.subject)
        return reached

    @cached_property
    def _quantities(self) -> dict[tuple[str, str], Quantity]:
        first: dict[tuple[str, str], Quantity] = {}
        for claim in self.claims:
            if isinstance(claim.object, Quantity):
                first.setdefault((claim.predicate, claim.subject), claim.object)
        return first

    def related(self, subject: str, predicate: str) -> list[str]:
        """The things that a relation leads to from a subject."""
        return [claim.object for claim in self._about.get((predicate, subject), ()) if isinstance(claim.object, str)]

    def subjects(self, predicate: str, object_: str) -> list[str]:
        """The things from which a relation leads to an object."""
        return self._reached.get((predicate, object_), [])

    def holds(self, subject: str, predicate: str) -> bool:
        """Whether a trait is held of a subject."""
        return (predicate, subject) in self._about

    def quantity(self, subject: str, predicate: str) -> Quantity | None:
        """The first quantity held of a subject, or ``None``."""
        return self._quantities.get((predicate, subject))

    def claims_about(self, subject: str, predicate: str) -> Iterator[Claim]:
        """The claims themselves, for their bases."""
        return iter(self._about.get((predicate, subject), ()))
