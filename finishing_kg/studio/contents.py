"""All of a studio's folder, checked together: the shipped knowledge with the studio's own, or everything that is wrong at once."""

import re
import tomllib
from collections.abc import Iterable, Sequence, Set
from dataclasses import dataclass, replace
from pathlib import Path

from finishing_kg.casebook import Case, load_cases
from finishing_kg.engine import Knowledge
from finishing_kg.health.base import faults_of_base
from finishing_kg.rules import Rule, RuleBase, RuleFault, RuleFileError, load_rules
from finishing_kg.statements import Language
from finishing_kg.studio import log
from finishing_kg.studio.errors import StudioError, StudioFault
from finishing_kg.studio.folder import Settings, settings
from finishing_kg.studio.guard import Guard, faults_between, guard_of, rule_faults
from finishing_kg.studio.paced import Compared, Paced, compare, paces, with_paces
from finishing_kg.studio.pack import Pack
from finishing_kg.studio.shelf import Shelf, read_shelf
from finishing_kg.studio.sources import Source, read_packs, sources
from finishing_kg.studio.things import read_things
from finishing_kg.studio.write import is_pending, locked
from finishing_kg.texts import NotReadable

_SENTENCE = re.compile(r"(?:if|unless|then) \d+$")
# A file of this name would pass for the rules that make verdicts of proposals.
_KEPT_NAMES = frozenset({"verdicts"})


@dataclass(frozen=True)
class Studio:
    """A studio's folder, all of it in order.

    Attributes:
        folder: where it is.
        settings: its name and the version of its format.
        knowledge: the shipped knowledge with the studio's things, rules and paces.
        own_rules: its rules; one that came in a pack says so by its file.
        own_things: for each thing that it adds or names anew the file and the line.
        shelf: what is there.
        cases: what the studio stands for.
        jobs: the bench log, each record beside what was expected.
        paces: what follows from it.
        torn: a half-written last line of the log, empty if there is none.
        packs: what was taken in from others.
    """

    folder: Path
    settings: Settings
    knowledge: Knowledge
    own_rules: tuple[Rule, ...]
    own_things: dict[str, tuple[str, int]]
    shelf: Shelf
    cases: tuple[Case, ...]
    jobs: tuple[Compared, ...]
    paces: tuple[Paced, ...]
    torn: str
    packs: tuple[Pack, ...] = ()


def open(folder: Path | str) -> Knowledge:
    """The shipped knowledge with a studio's own.

    Raises:
        StudioError: with everything that is wrong in the folder; nothing of it is then used.
        DataMissing, OntologyError, RuleFileError: the shipped files are missing or spoilt.
    """
    return read_studio(Path(folder)).knowledge


def read_studio(folder: Path, upon: Knowledge | None = None) -> Studio:
    """Read and check all of a studio's folder; nothing in it is changed.

    Args:
        folder: the studio's.
        upon: the shipped knowledge, if it is at hand.

    Raises:
        StudioError: with everything that is wrong in the folder.
        DataMissing, OntologyError, RuleFileError: the shipped files are missing or spoilt.
    """
    told = settings(folder)
    if is_pending(folder):
        with locked(folder):
            pass  # a change that was cut off is finished by whoever locks
    shipped = upon or Knowledge.shipped()
    guard = guard_of(shipped.vocabulary, shipped.base)
    faults: list[StudioFault] = []
    packs = read_packs(folder, faults)
    widened = read_things(sources(folder, "things", packs), shipped.vocabulary, guard, faults, shipped.compiled)
    things_are_wrong = bool(faults)
    shelf = read_shelf(folder, widened.vocabulary, faults)
    held = log.read(folder, widened.vocabulary, faults)
    jobs = [compare(widened.vocabulary, record) for record in held.records]
    cases = _cases(sources(folder, "cases", packs), faults)
    found = paces(widened.vocabulary, jobs)
    vocabulary = with_paces(widened.vocabulary, found) if found else widened.vocabulary
    language = shipped.language if vocabulary is shipped.vocabulary else Language(vocabulary)
    base = _rules(sources(folder, "rules", packs), language, shipped.base, guard, faults, sentences=not things_are_wrong)
    if faults:
        raise StudioError(sorted(faults, key=lambda fault: (fault.file, fault.line)))
    own = tuple(rule for rule in base.rules if rule.id not in shipped.base.by_id)
    same = base is shipped.base and vocabulary is shipped.vocabulary
    knowledge = shipped if same else Knowledge(vocabulary, language, base, shipped.listener)
    return Studio(folder, told, knowledge, own, widened.own, shelf, tuple(cases), tuple(jobs), tuple(found), held.torn, tuple(packs))


def contradictions(language: Language, base: RuleBase, own: Set[str], kinds: frozenset[str]) -> list[RuleFault]:
    """What is wrong with a studio's rules among the others and shows without a case, of some kinds."""
    found = []
    for each in faults_of_base(language, base, frozenset(own), kinds):
        # Of other faults the first rule is the one to change, and a studio changes none that is shipped.
        if each.fault == "conflict" or each.rules[0] in own:
            rule = base.by_id[next(rule for rule in each.rules if rule in own)]
            shown = each.witness(language)
            found.append(RuleFault(rule.file, rule.line, rule.id, "", each.text + (f"\nIt shows where: {shown}" if shown else "")))
    return found


def _rules(files: Sequence[Source], language: Language, before: RuleBase, guard: Guard, faults: list[StudioFault], *, sentences: bool) -> RuleBase:
    """The shipped rules with the studio's; where ``sentences`` is false, faults of sentences are left out: they may come from the things."""
    if not files:
        return before
    places = {file.name: str(file) for file in files}

    def add(wrong: Iterable[RuleFault]) -> None:
        for fault in wrong:
            if sentences or not _SENTENCE.match(fault.part):
                part = ", ".join(filter(None, [f'rule "{fault.rule}"' if fault.rule else "", fault.part]))
                faults.append(StudioFault(places.get(fault.file, fault.file), fault.line, part, fault.text, fault.column))

    known = len(faults)
    add(RuleFault(file.name, 1, "", "", "A file of this name is shipped. Give it another.") for file in files if file.stem in _KEPT_NAMES)
    try:
        base = load_rules(files, language, before)
    except RuleFileError as error:
        add(error.faults)
        return before
    own = [rule for rule in base.rules if rule.id not in before.by_id]
    if not own:
        return before
    add(rule_faults(guard, language, own))
    add(faults_between(guard, language, before, own))
    if len(faults) == known:
        add(contradictions(language, base, {rule.id for rule in own}, frozenset({"conflict"})))
    return base


def _cases(files: Sequence[Source], faults: list[StudioFault]) -> list[Case]:
    """The studio's cases, each file by itself, so that every fault is found."""
    cases: list[Case] = []
    for file in files:
        name = str(file)
        try:
            cases += [replace(case, file=name) for case in load_cases([file])]
        except NotReadable as error:
            faults.append(StudioFault(name, error.line, "", str(error)))
        except tomllib.TOMLDecodeError as error:
            faults.append(StudioFault(name, 1, "", f"This is not TOML: {error}."))
        except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            text = f"A case is a [[question]], [[dialogue]] or [[setup]] table with an id ({type(error).__name__}: {error})."
            faults.append(StudioFault(name, 1, "", text))
    return cases
