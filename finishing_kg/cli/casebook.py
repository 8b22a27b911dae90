"""``finishing-kg rules test`` and ``rules audit``."""

import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from finishing_kg.casebook import Case, audit, faults_of, load_cases, load_waivers, survivors
from finishing_kg.cli.errors import STOPPED, USED, Unusable
from finishing_kg.cli.output import print_json
from finishing_kg.engine import Knowledge
from finishing_kg.places import shipped


def _cases(folder: str | None) -> list[Case]:
    """The cases of a folder, or the shipped ones.

    Raises:
        Unusable: there are none, or a file cannot be read.
    """
    place = Path(folder) if folder else shipped("rules") / "cases"
    try:
        cases = load_cases(sorted(place.glob("*.toml")))
    except (OSError, ValueError, KeyError) as error:
        raise Unusable(f"The cases cannot be read: {error}.", str(place)) from error
    if not cases:
        raise Unusable("There are no case files (*.toml) here.", str(place))
    return cases


def run_cases(knowledge: Knowledge, folder: str | None, more: Sequence[Case] = (), *, as_json: bool) -> int:
    """Run every case, and ``more`` of a studio, and print what falls short."""
    cases = [*_cases(folder), *more]
    found = []
    for place, case in enumerate(cases, 1):
        progress(f"{place} of {len(cases)}: {case.id}")
        found += [{"case": case.id, "file": case.file, "text": text} for text in faults_of(knowledge, case)]
    progress("")
    if as_json:
        print_json(found)
    else:
        for fault in found:
            print(f"{fault['case']} ({fault['file']}): {fault['text']}")
        print(f"{len(cases)} cases, {len({fault['case'] for fault in found})} fall short.")
    return STOPPED if found else USED


def run_mutations(knowledge: Knowledge, folder: str | None, only: Sequence[str], *, as_json: bool) -> int:
    """Take out or turn round each rule and print the changes that no case notices."""
    found = survivors(knowledge, _cases(folder), only, progress)
    progress("")
    if as_json:
        print_json([asdict(survivor) for survivor in found])
    else:
        for survivor in found:
            print(f"{survivor.rule}: {survivor.how}, and no case answers differently")
        print(f"{len(only) or len(knowledge.base.rules)} rules, {len(found)} changes that no case notices.")
    return STOPPED if found else USED


def run_audit(knowledge: Knowledge, more: Sequence[Case] = (), files: Sequence[Path] = (), *, static: bool, as_json: bool) -> int:
    """Print the faults of the rule base; those that are waived are printed with the reason and do not count.

    Args:
        knowledge: ontology and rules, with a studio's where there is one.
        more: cases of the studio.
        files: case files of the studio, for what it waives.
        static: only what shows without running the cases.
        as_json: print JSON.
    """
    waivers = load_waivers([*sorted((shipped("rules") / "cases").glob("*.toml")), *files])
    found = audit(knowledge, [] if static else [*_cases(None), *more], waivers, progress)
    progress("")
    if as_json:
        print_json([asdict(fault) for fault in found])
    else:
        for fault in found:
            print(f"{fault.fault}: {fault.text}" + (f" Waived: {fault.waived}" if fault.waived else ""))
            if fault.witness:
                print(f"  {fault.witness}")
        waived = sum(bool(fault.waived) for fault in found)
        print(f"{len(knowledge.base.rules)} rules, {len(found) - waived} faults, {waived} waived.")
    return STOPPED if any(not fault.waived for fault in found) else USED


def progress(line: str) -> None:
    """One line that says what runs now, on a terminal only; it is overwritten by the next."""
    if sys.stderr.isatty():
        print(f"\r\x1b[K{line[:78]}", end="", file=sys.stderr, flush=True)
