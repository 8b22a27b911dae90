"""What ``studio add`` and ``studio remove`` write: the same TOML and Turtle as one would write by hand."""

import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from finishing_kg.measure import Quantity
from finishing_kg.measure.quantity import plain
from finishing_kg.statements import Language, Statement, StatementError
from finishing_kg.studio.contents import Studio, read_studio
from finishing_kg.studio.edit import change, tried, without_table
from finishing_kg.studio.errors import StudioError, StudioFault, fault
from finishing_kg.studio.folder import BEGUN
from finishing_kg.studio.shelf import FILE as SHELF
from finishing_kg.studio.shelf import find_thing
from finishing_kg.studio.sources import in_pack
from finishing_kg.studio.things import KINDS
from finishing_kg.studio.turtle import without
from finishing_kg.vocabulary import Name, Vocabulary
from finishing_kg.vocabulary.load import FK, TEXTS

RULES, THINGS = "rules/ours.toml", "things/ours.ttl"
_LONG = 100
_SOURCE = "src:studio"


def add_rule(folder: Path, entry: Mapping[str, Any]) -> Studio:
    """Write a rule into ``rules/ours.toml``.

    Args:
        folder: the studio's.
        entry: the keys of a ``[[rule]]`` table; what is empty is left out.

    Raises:
        StudioError: the rule, or anything else in the studio, is not in order; nothing was changed.
    """
    return change(folder, RULES, _with_rule(entry))


def try_rule(folder: Path, entry: Mapping[str, Any]) -> Studio:
    """The studio as it would be with a rule; nothing is written.

    Raises:
        StudioError: as ``add_rule``.
    """
    return tried(folder, RULES, _with_rule(entry))


def _with_rule(entry: Mapping[str, Any]) -> Callable[[str], str]:
    return lambda text: with_table(text, "rule", {key: value for key, value in entry.items() if value})


def add_to_shelf(folder: Path, thing: str, grades: Sequence[str], marked_speed: str | None) -> Studio:
    """Write a thing into ``shelf.toml``.

    Raises:
        StudioError: as ``add_rule``.
    """
    entry: dict[str, Any] = {"thing": thing, "grades": list(grades), "marked_speed": marked_speed}
    return change(folder, SHELF, lambda text: with_table(text, "shelf", {key: value for key, value in entry.items() if value}))


def with_table(text: str, header: str, entry: Mapping[str, Any]) -> str:
    """A TOML text with one more table at the end of an array of tables, all comments kept."""
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    table = tomlkit.table()
    for key, value in entry.items():
        if isinstance(value, Mapping):
            inline = tomlkit.inline_table()
            inline.update({inner: each for inner, each in value.items() if each})
            table.add(key, inline)
        elif isinstance(value, list):
            array = tomlkit.array()
            array.extend(value)
            table.add(key, array.multiline(len(str(value)) > _LONG))
        else:
            table.add(key, value)
    made = tomlkit.aot()
    made.append(table)
    document = tomlkit.document()
    document.add(header, made)
    block = tomlkit.dumps(document)
    try:
        tomlkit.parse(text)
    except TOMLKitError as error:
        raise fault(f"This file is not TOML: {error}. Mend it first. Nothing was changed.") from error
    # An array that is begun anew further down goes on: so nothing that stands in the file moves.
    return text.rstrip("\n") + "\n\n" * bool(text.strip()) + block


def add_thing(
    folder: Path,
    thing: str,
    *,
    kind: str | None = None,
    label: str | None = None,
    also: Sequence[str] = (),
    definition: str | None = None,
    says: Sequence[str] = (),
    texts: Sequence[Sequence[str]] = (),
    only_try: bool = False,
) -> Studio:
    """Write a thing, or further names of one that is there, into ``things/ours.ttl``.

    Args:
        folder: the studio's.
        thing: its id.
        kind: of a new thing, one of ``KINDS``; without it only names are added.
        label: how a new thing is printed.
        also: other names.
        definition: of a new thing, one sentence.
        says: what is held of it, in sentences of the one language.
        texts: pairs of a role, such as ``how``, and a sentence.
        only_try: whether nothing is to be written: what is given is the studio as it would be.

    Raises:
        StudioError: as ``add_rule``; a thing must pass the shapes too.
    """
    vocabulary = read_studio(folder).knowledge.vocabulary
    if kind is None:
        if thing not in vocabulary.names:
            raise fault(f"There is no thing {thing!r}. For a new one say --kind, --label and --definition too.", part=thing)
        if not also or label or definition or says or texts:
            raise fault("To a thing that is there only names are added: --also NAME. For a new thing say its --kind.", part=thing)
        block = f"fk:{thing} skos:altLabel {_names(also)} .\n"
    else:
        named = Name(thing, thing, kind, label or "", tuple(also), definition or "")
        block = _block(vocabulary, named, says, texts)
    changing = tried if only_try else change
    return changing(folder, THINGS, lambda text: (text.rstrip("\n") or BEGUN[THINGS].rstrip("\n")) + "\n\n" + block, shapes=True)


def _block(vocabulary: Vocabulary, named: Name, says: Sequence[str], texts: Sequence[Sequence[str]]) -> str:
    thing, kind, label = named.id, named.kind, named.label
    faults: list[StudioFault] = []
    if kind not in KINDS:
        faults.append(StudioFault("", 0, "--kind", f"There is no kind {kind!r} that a studio adds to. Write one of: {', '.join(KINDS)}."))
    if not label:
        faults.append(StudioFault("", 0, "--label", "A new thing needs a name. Write for example: --label 'leather wheel'"))
    if thing in vocabulary.names:
        faults.append(StudioFault("", 0, thing, f"This identifier is taken by {vocabulary.names[thing].label}. Take another."))
    roles = {role: iri.removeprefix(FK) for iri, role in TEXTS.items()}
    for role, _ in texts:
        if role not in roles:
            faults.append(StudioFault("", 0, "--text", f"There is no text {role!r}. Write one of: {', '.join(roles)}."))
    language = Language(replace(vocabulary, names={**vocabulary.names, thing: replace(named, label=label or thing)}))
    held: list[Statement] = []
    for number, sentence in enumerate(says, 1):
        try:
            statement = language.parse(sentence)
        except StatementError as error:
            faults.append(StudioFault("", 0, f"--say {number}", str(error)))
            continue
        if statement.subject != thing or statement.comparison != "is" or any(statement.variables()):
            faults.append(StudioFault("", 0, f"--say {number}", f"{sentence!r} does not say something of {label}. Begin with its name."))
        held.append(statement)
    if faults:
        raise StudioError(faults)
    lines = [f"fk:{thing} a fk:{''.join(word.capitalize() for word in kind.split())} ; skos:prefLabel {_text(label)}@en"]
    lines += [f"skos:altLabel {_names(named.alternatives)}"] if named.alternatives else []
    lines += [f"skos:definition {_text(named.note)}@en"] if named.note else []
    lines += [f"dcterms:source {_SOURCE}"]
    lines += [_said(vocabulary, statement) for statement in held]
    lines += [f"fk:{roles[role]} {_text(words)}@en" for role, words in texts]
    return " ;\n    ".join(lines) + " .\n"


def _said(vocabulary: Vocabulary, statement: Statement) -> str:
    if statement.object is None:
        return f"fk:{statement.predicate} true"
    if not isinstance(statement.object, Quantity):
        return f"fk:{statement.predicate} fk:{statement.object}"
    quantity = statement.object
    unit = vocabulary.units.by_symbol[quantity.unit]
    named = f"unit:{unit.qudt}" if unit.qudt else f"fk:{unit.own or unit.symbol}"
    numbers = [("low", quantity.low), ("mid", quantity.mid), ("high", quantity.high)]
    said = " ; ".join(f"fk:{part} {plain(number)}" for part, number in numbers if number is not None)
    return f"fk:{statement.predicate} [ {said} ; qudt:unit {named} ; dcterms:source {_SOURCE} ]"


def _text(words: str) -> str:
    from rdflib import Literal

    return Literal(words).n3()


def _names(names: Sequence[str]) -> str:
    return ", ".join(f"{_text(name)}@en" for name in names)


def remove_rule(folder: Path, rule: str) -> Studio:
    """Take a rule out of the file that it stands in.

    Raises:
        StudioError: there is no such rule of the studio, or the rest would not be in order without it.
    """
    studio = read_studio(folder)
    found = next((each for each in studio.own_rules if each.id == rule), None)
    if found is None:
        shipped = " It is shipped; a rule of your own can override it." if rule in studio.knowledge.base.by_id else ""
        raise fault(f"The studio has no rule {rule!r}.{shipped} See: finishing-kg studio list", part=rule)
    _not_of_a_pack(found.file, rule)
    return change(folder, f"rules/{found.file}", _without(lambda entry: entry.get("id") == rule, "rule", rule))


def remove_thing(folder: Path, thing: str) -> Studio:
    """Take a thing, or the names that the studio gives to a shipped one, out of the file that they stand in.

    Raises:
        StudioError: as ``remove_rule``.
    """
    studio = read_studio(folder)
    if thing not in studio.own_things:
        raise fault(f"The studio says nothing of a thing {thing!r}. See: finishing-kg studio list", part=thing)
    _not_of_a_pack(studio.own_things[thing][0], thing)
    return change(folder, studio.own_things[thing][0], lambda text: without(text, thing))


def _not_of_a_pack(place: str, what: str) -> None:
    if pack := in_pack(place):
        raise fault(f"{what} came with the pack {pack}, which is taken out as a whole: finishing-kg studio remove pack {pack}", place)


def remove_from_shelf(folder: Path, thing: str) -> Studio:
    """Take a thing off the shelf.

    Raises:
        StudioError: it is not there.
    """
    studio = read_studio(folder)
    if all(item.thing != thing for item in studio.shelf.items):
        raise fault(f"{thing!r} is not on the shelf. See: finishing-kg studio list", part=thing)
    known = studio.knowledge.vocabulary
    return change(folder, SHELF, _without(lambda entry: thing == getattr(find_thing(known, str(entry.get("thing"))), "id", None), "shelf", thing))


def _without(is_meant: Callable[[Mapping[str, Any]], bool], header: str, what: str) -> Callable[[str], str]:
    """Takes one table out of a text, which is looked for only when nobody else writes: where it stood before says nothing then."""

    def out(text: str) -> str:
        try:
            index = next((place for place, entry in enumerate(tomllib.loads(text).get(header, [])) if is_meant(entry)), None)
        except (ValueError, AttributeError) as error:
            raise fault(f"This file cannot be read any more ({error}). Mend it first. Nothing was changed.", part=what) from error
        if index is None:
            raise fault(f"Another program has taken {what} out in the meantime. Nothing was changed.", part=what)
        return without_table(text, header, index)

    return out
