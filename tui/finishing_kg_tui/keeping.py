"""What a studio keeps, as entries to look at, and how an entry is taken out. All of it loads the library, so it is called in threads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from finishing_kg_tui.plain import called_by, one_line, words

if TYPE_CHECKING:
    from finishing_kg.engine import Knowledge
    from finishing_kg.rules import Rule
    from finishing_kg.studio import Studio

TO_LOOK_AT = "To look at"
SECTIONS = ("Rules", "Things", "Shelf", "Bench log", TO_LOOK_AT)


@dataclass(frozen=True)
class Entry:
    """One thing that a studio keeps, or something to be said of them.

    Attributes:
        id: by which it can be taken out; empty where it cannot.
        line: what it is, in one line.
        detail: all of it, line by line.
        hangs: by how many columns a line of the detail that is broken goes on.
    """

    id: str
    line: str
    detail: tuple[str, ...] = ()
    hangs: int = 0


@dataclass(frozen=True)
class Kept:
    """A studio, read, with its entries by section; of the health only a promise, since that takes seconds."""

    studio: Studio
    shipped: Knowledge
    entries: dict[str, tuple[Entry, ...]]


def read(folder: Path, upon: Knowledge) -> Kept:
    """Read a studio's folder.

    Args:
        folder: the studio's.
        upon: the shipped knowledge.

    Raises:
        StudioError: with everything that is wrong in it.
    """
    from finishing_kg.studio import read_studio

    studio = read_studio(folder, upon)
    lists = (_rules(studio), _things(studio), _shelf(studio), _log(studio))
    return Kept(studio, upon, {name: tuple(entries) for name, entries in zip(SECTIONS[:-1], lists, strict=True)})


_HEAD = len("because")


def _rules(studio: Studio) -> Iterator[Entry]:
    own = {rule.id for rule in studio.own_rules}
    for rule in sorted(studio.knowledge.base.rules, key=lambda rule: (rule.id not in own, rule.subject, rule.id)):
        ours = rule.id in own
        yield Entry(rule.id if ours else "", f"{'●' if ours else ' '} {rule.id}", tuple(_told(studio, rule, ours=ours)), hangs=_HEAD + 1)


def _told(studio: Studio, rule: Rule, *, ours: bool) -> Iterator[str]:
    from finishing_kg.rules.model import as_written

    print_ = studio.knowledge.language.print
    for word, sentences in (("if", rule.conditions), ("unless", rule.exceptions), ("then", as_written(rule, studio.knowledge.vocabulary))):
        yield from (f"{word:<{_HEAD}} {print_(sentence)}" for sentence in sentences)
    yield f"because {rule.because}"
    basis = rule.basis
    yield f"basis   {', '.join(filter(None, (basis.kind, basis.source, basis.locator)))}"
    if rule.overrides:
        yield f"wins over {', '.join(rule.overrides)}"
    if rule.safety:
        yield "▲ a rule of safety: nothing overrides it"
    shipped = "shipped" if rule.safety else "shipped; a rule of your own can win over it"
    yield f"stands in {rule.file}, line {rule.line}" if ours else f"{shipped} (about {rule.subject})"


def _things(studio: Studio) -> Iterator[Entry]:
    names = studio.knowledge.vocabulary.names
    for thing, (file, line) in sorted(studio.own_things.items()):
        if name := names.get(thing):
            also = f"also called {', '.join(name.alternatives)}" if name.alternatives else ""
            texts = (f"{role}: {text}" for role, text in name.texts.items())
            about = [name.note, also, *texts, *_held(studio, thing), f"stands in {file}, line {line}"]
            yield Entry(thing, f"{name.kind:<9} {name.label}", tuple(filter(None, about)))


def _held(studio: Studio, thing: str) -> Iterator[str]:
    """What is held of a thing, in sentences."""
    from finishing_kg.statements import Statement

    for claim in studio.knowledge.vocabulary.claims:
        if claim.subject == thing:
            yield studio.knowledge.language.print(Statement(claim.predicate, claim.subject, claim.object))


def _shelf(studio: Studio) -> Iterator[Entry]:
    from finishing_kg.quantities import designation

    vocabulary = studio.knowledge.vocabulary
    for item in studio.shelf.items:
        name = vocabulary.names[item.thing]
        grades = ", ".join(designation(vocabulary, grade) for grade in item.grades)
        marked = f"marked for at most {item.marked_speed}" if item.marked_speed else ""
        more = ", ".join(filter(None, (grades, marked)))
        yield Entry(item.thing, f"{name.kind:<9} {name.label}" + (f": {more}" if more else ""), (name.note,))


def _log(studio: Studio) -> Iterator[Entry]:
    from finishing_kg.measure.quantity import plain

    called = called_by(studio.knowledge)
    for job in reversed(studio.jobs):
        record = job.record
        day, _, time = record.at.partition("T")
        hold, mineral, carrier, glass = (
            called(thing, kind) if thing else ""
            for thing, kind in ((record.hold, "hold"), (record.mineral, "mineral"), (record.carrier, "carrier"), (record.glass, "glass"))
        )
        grain = " ".join(filter(None, (hold, mineral, record.grade)))
        what = ", ".join(filter(None, (grain, carrier and f"on {carrier}", glass, record.note)))
        beside = f"expected {plain(job.expected.mid)} min" if job.expected else f"not compared: {job.why_not}"
        yield Entry("", f"{day} {record.minutes}: {what}", (what, f"took {record.minutes}; {beside}", f"written {day} {time[:5]}"))
    for pace in studio.paces:
        factor = pace.pace.factor()
        said = f"{words(pace.operation)} on {called(pace.glass, 'glass')}: {float(factor.mid):.2g} times the expected minutes, from {pace.jobs} jobs"
        ends = f"nine chances in ten that it lies between {float(factor.lowest):.2g} and {float(factor.highest):.2g}"
        yield Entry("", f"{'pace':<10} {said}", (said, ends))


def health(studio: Studio) -> tuple[Entry, ...]:
    """What is to be looked at in the studio's rules among the shipped ones."""
    from finishing_kg.studio.advisable import notes

    found = tuple(Entry("", one_line(note.splitlines()[0]), tuple(note.splitlines())) for note in notes(studio))
    count = len(studio.own_rules)
    none = f"Nothing is to be looked at in {count} rule{'s' * (count > 1)} of our own." if count else "There are no rules of our own."
    return found or (Entry("", f"● {none}"),)


def taken_out(folder: Path, section: str, entry: Entry) -> str:
    """Take an entry out of the studio's files.

    Returns:
        A sentence on what was done.

    Raises:
        StudioError: the rest would not be in order without it; nothing was changed.
    """
    from finishing_kg.studio import add

    removers = {"Rules": add.remove_rule, "Things": add.remove_thing, "Shelf": add.remove_from_shelf}
    removers[section](folder, entry.id)
    return f"Taken out: {entry.id}."
