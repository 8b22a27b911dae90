"""The case library of a studio, shipped cases and its own, with the answers of today; recorded once and kept in the user's cache."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from finishing_kg.casebook import Case, load_cases
from finishing_kg.casebook.recorded import Library, Stopped
from finishing_kg.casebook.telling import tell
from finishing_kg.casebook.told import Asked, Told, Turn, Worked
from finishing_kg.compiled import Sections, key_of, load_sections, shaped
from finishing_kg.engine import Knowledge
from finishing_kg.places import shipped
from finishing_kg.studio.contents import Studio
from finishing_kg.studio.impact import impact
from finishing_kg.studio.trial import speak_alike

_SECTION = "case library"
_OWN = ("rules/*.toml", "things/*.ttl", "cases/*.toml", "packs/*.zip", "log.jsonl")


def shipped_cases() -> list[Case]:
    """The cases that come with the program."""
    return load_cases(sorted((shipped("rules") / "cases").glob("*.toml")))


def library_of(
    studio: Studio | None,
    progress: Callable[[int, int], None] = lambda _done, _of: None,
    stop: Callable[[], bool] = lambda: False,
    upon: Knowledge | None = None,
) -> Library:
    """The case library with what is said to each case now.

    The shipped cases are run once, which takes about half a minute; then only what the studio's rules can change. A studio with
    things of its own has all cases run again once its things change.

    Args:
        studio: whose cases and knowledge; ``None`` for the shipped ones alone.
        progress: told how many cases are done, and how many there are.
        stop: asked between two cases.
        upon: the shipped knowledge, if it is at hand.

    Raises:
        Stopped: ``stop`` became true; what was run is lost.
    """
    plain = upon or Knowledge.shipped()
    cases = shipped_cases()
    if studio is None:
        return _kept(load_sections(key_of(_files(None))), plain, cases, lambda: Library.of(plain, cases, progress, stop))
    own = [*cases, *studio.cases]

    def record() -> Library:
        knowledge = studio.knowledge
        if not speak_alike(knowledge, plain):
            return Library.of(knowledge, own, progress, stop)
        widened = impact(library_of(None, progress, stop, plain), knowledge, progress=progress, stop=stop)
        if widened.left:
            raise Stopped
        return Library(knowledge, tuple(own), {**widened.library.told, **{case.id: tell(knowledge, case) for case in studio.cases}})

    return _kept(load_sections(key_of(_files(studio.folder))), studio.knowledge, own, record)


def kept_library(studio: Studio | None, upon: Knowledge) -> Library | None:
    """The case library as ``library_of`` gives it, if it was recorded before; running the cases now would take too long."""
    knowledge, cases = (upon, shipped_cases()) if studio is None else (studio.knowledge, [*shipped_cases(), *studio.cases])
    plain = load_sections(key_of(_files(studio.folder if studio is not None else None))).get(_SECTION)
    try:
        return _from_plain(plain, knowledge, cases) if plain is not None else None
    except (TypeError, ValueError):
        return None


def keep(library: Library, folder: Path) -> None:
    """Keep the library of a studio as it is after a change that was saved."""
    load_sections(key_of(_files(folder))).give(_SECTION, _as_plain(library))


def _kept(sections: Sections, knowledge: Knowledge, cases: Sequence[Case], record: Callable[[], Library]) -> Library:
    return sections.made(_SECTION, record, _as_plain, lambda plain: _from_plain(plain, knowledge, cases))


def _files(folder: Path | None) -> list[str]:
    files = [*shipped("ontology").glob("*.ttl"), *shipped("rules").glob("*.toml"), *(shipped("rules") / "cases").glob("*.toml")]
    files += [file for pattern in _OWN for file in folder.glob(pattern)] if folder is not None else []
    return [str(file) for file in files]


def _as_plain(library: Library) -> Any:
    return tuple((name, tuple(map(_turn_as_plain, told.turns)), told.reasoned) for name, told in library.told.items())


def _turn_as_plain(turn: Turn) -> tuple[Any, ...]:
    asked = tuple((asked.upon, asked.facts, asked.marks, asked.fired) for asked in turn.asked)
    worked = tuple((each.of, each.first, each.end, each.result) for each in turn.worked)
    return turn.answer, turn.kind, turn.short, turn.fired, asked, worked, turn.looks, turn.known, turn.stood


def _from_plain(plain: Any, knowledge: Knowledge, cases: Sequence[Case]) -> Library:
    entries = (shaped(entry, str, tuple, bool) for entry in plain)
    told = {name: Told(tuple(map(_turn_from_plain, turns)), reasoned) for name, turns, reasoned in entries}
    if told.keys() != {case.id for case in cases}:
        raise ValueError("These are other cases.")
    return Library(knowledge, tuple(cases), told)


def _turn_from_plain(plain: Any) -> Turn:
    answer, kind, short, fired, asked, worked, looks = shaped(plain[:-2], str, str, tuple, frozenset, tuple, tuple, bool)
    known, stood = plain[-2:]
    if not isinstance(known, frozenset | None):
        raise TypeError("What is known is in another shape.")
    evaluations = tuple(Asked(*shaped(each, tuple, tuple, dict, frozenset)) for each in asked)
    return Turn(answer, kind, short, fired, evaluations, tuple(map(_worked_from_plain, worked)), looks, known, stood)


def _worked_from_plain(plain: Any) -> Worked:
    of, first, end = shaped(plain[:-1], str, int, int)
    return Worked(of, first, end, plain[-1])
